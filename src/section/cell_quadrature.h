// SPDX-License-Identifier: GPL-3.0-or-later
// Quadrature over the nine-node elements of a ring mesh, with voids cut out point by point.
#pragma once

#include "section/ring_mesh.h"

enum { SF_CELL_NODES = 9 };

/// One quadrature point of one element.
typedef struct sf_CellPoint {
    sf_Point at;                                                   ///< relative to the mesh's origin
    double n[SF_CELL_NODES], nx[SF_CELL_NODES], ny[SF_CELL_NODES]; ///< shape functions and their gradients
    double weight;                                                 ///< area, m^2
    bool filled;                                                   ///< material here, no void
} sf_CellPoint;

typedef void (*sf_CellVisit)(const sf_CellPoint *point, void *context);

/// A list of the voids and their bounding boxes in the mesh's frame.
typedef struct sf_CellVoids {
    const sf_Polygon *polygons; ///< borrowed, in the outline's frame
    size_t count;
    sf_Point shift; ///< the mesh's origin in that frame
    struct sf_CellBox {
        sf_Point low, high;
        double radius; ///< of the circle of the same area
    } box[SF_OUTLINE_MAX_VOIDS];
} sf_CellVoids;

/// Bounding boxes of `count` (at most SF_OUTLINE_MAX_VOIDS) polygons.
void sf_cell_voids_prepare(sf_CellVoids *voids, const sf_Polygon *polygons, size_t count, sf_Point origin);

/// Visits the quadrature points of the element at (column, layer). Points lie 3 x 3; an element that a void cuts is
/// divided in four again and again near the void's edge. Returns false when the element is folded.
bool sf_cell_visit(const sf_RingMesh *mesh, size_t column, size_t layer, const sf_CellVoids *voids, sf_CellVisit visit,
                   void *context);
