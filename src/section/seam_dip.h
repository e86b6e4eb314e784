// SPDX-License-Identifier: GPL-3.0-or-later
// The narrow dip that the seam leaves in the wall, told from the slow waves of an off-centre or oval ring. Internal to
// `section`.
#pragma once

#include "section/wall.h"

typedef struct sf_SeamDip {
    double angle;        ///< rad, [0, 2 pi)
    double depth;        ///< below a smooth curve through the wall on both sides, m
    double width;        ///< angle over which it is deeper than half of that, rad
    double eccentricity; ///< amplitude of the wall's first harmonic, m
    double thick_angle;  ///< where that harmonic is thickest, rad
    bool counts;         ///< deep enough and narrow enough for a groove
} sf_SeamDip;

/// Finds the deepest narrow dip. `threshold` is the depth from which a groove counts, m. SF_E_MEMORY.
sf_Status sf_seam_dip_find(sf_SeamDip *dip, const double wall[SF_WALL_STATIONS], double threshold,
                           sf_Error *err) SF_MUST_USE;
