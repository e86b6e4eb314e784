// SPDX-License-Identifier: GPL-3.0-or-later
// How a ring sits in a clamp adapter: round on the outside for the rim, round on the inside for the shank. Lengths in
// m.
#pragma once

#include "geom/circle.h"
#include "geom/outline.h"

typedef struct sf_RingFit {
    sf_Circle inscribed;     ///< largest circle inside the bore
    sf_Circle circumscribed; ///< least circle round the outside
    sf_CaliperWidth outer;   ///< least and largest outer caliper diameter
    double ovality;          ///< (largest - least) / their mean
} sf_RingFit;

/// SF_E_MEMORY, SF_E_GEOMETRY.
sf_Status sf_ring_fit(sf_RingFit *fit, const sf_Outline *outline, sf_Error *err) SF_MUST_USE;

/// Play (positive) or squeeze (negative) on the diameter: bore over shank and rim over outside. NaN where not given.
typedef struct sf_ClampFit {
    double shank_play; ///< inscribed diameter - shank diameter
    double rim_play;   ///< rim diameter - circumscribed diameter
    double offset; ///< distance between the two circles' centres: how far the outside stands off a shank that is full
} sf_ClampFit;

/// `shank` and `rim` are diameters in m; NaN when unknown.
sf_ClampFit sf_clamp_fit(const sf_RingFit *fit, double shank, double rim);
