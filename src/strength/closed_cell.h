// SPDX-License-Identifier: GPL-3.0-or-later
// Torsion and shear centre of a closed ring along the middle line of its wall: Bredt's formula with the term that makes
// it exact for a thick round tube.
#pragma once

#include "geom/outline.h"

enum { SF_CELL_RAYS = 360 };

typedef struct sf_ClosedCell {
    sf_Point origin;                                 ///< the bore's centroid
    double outer[SF_CELL_RAYS], inner[SF_CELL_RAYS]; ///< distance to the edges along rays at whole degrees
    double enclosed_area;                            ///< within the middle line, m^2
    double torsion_constant;                         ///< 4 A^2 / int ds/t + int t^3 ds / 4, m^4
    double shear_per_torque;                         ///< greatest (2 A / (t int ds/t) + t / 2) / K, 1/m^3
    double open_shear_area; ///< int t^2/2 ds: torque over it is the shear of the slit wall yielding all through, m^3
    double wall_min;        ///< least wall along rays from the bore's centroid, m
    sf_Point shear_centre;  ///< of the single closed cell, m
} sf_ClosedCell;

/// Computes it on 360 rays from the bore's centroid; line and voids are not looked at. SF_E_GEOMETRY when a ray does
/// not cross both outlines.
sf_Status sf_closed_cell_compute(sf_ClosedCell *cell, const sf_Outline *outline, sf_Error *err) SF_MUST_USE;

/// Distance from `origin` to the polygon along `count` rays at equal angles from +x; NaN where none crosses. One pass.
void sf_polygon_radii(const sf_Polygon *polygon, sf_Point origin, double *radii, size_t count);
