// SPDX-License-Identifier: GPL-3.0-or-later
// The warping function on a lattice of nine-node elements, and the integrals that follow from it.
#pragma once

#include "section/ring_mesh.h"

/// Solution per unit rate of twist about the mesh's origin, and its section integrals. Places relative to that origin.
typedef struct sf_Warping {
    double *omega; ///< one value per unknown of the mesh, m^2; owned
    double area;
    sf_Point centroid;
    double ixx, iyy, ixy; ///< about the centroid; ixx = int y^2 dA
    double torsion_constant;
    sf_Point shear_centre;
    double warping_constant; ///< about the shear centre, m^6
    double line_rate;        ///< dK / d(length of the line), m^3, by virtual lengthening; 0 without a tip in the wall
    double residual;         ///< |b - A x| / |b|
} sf_Warping;

/// What the edges of the wall tell. tau_hat as in section/torsion.h.
typedef struct sf_WarpingEdges {
    double peak; ///< largest |tau_hat|, m
    sf_Point peak_place;
    bool peak_at_inner;
    double inner_square, outer_square; ///< contour integrals of tau_hat^2, m^3
    double fourth;                     ///< of tau_hat^4 over both edges, m^5
} sf_WarpingEdges;

/// Solves div grad omega = 0 with traction-free edges on the mesh, less `count` voids (in the outline's frame; finite
/// cell method: elements are integrated over the material only). SF_E_GEOMETRY when elements are folded, SF_E_SINGULAR,
/// SF_E_INACCURATE, SF_E_MEMORY.
sf_Status sf_warping_solve(sf_Warping *warping, const sf_RingMesh *mesh, const sf_Polygon *voids, size_t count,
                           sf_Error *err) SF_MUST_USE;

/// Shear along the inner and outer edge. Voids are not looked at.
sf_WarpingEdges sf_warping_edges(const sf_Warping *warping, const sf_RingMesh *mesh);

/// Frees and empties; safe to call twice.
void sf_warping_free(sf_Warping *warping);
