// SPDX-License-Identifier: GPL-3.0-or-later
// How sure what is known of a pylon is, and draws of what it may be (docs/theory/band.md).
#pragma once

#include "base/status.h"

#include <stddef.h>
#include <stdint.h>

/// What may differ: multipliers of the card's figures, shifts in m.
typedef enum sf_Doubt {
    SF_DOUBT_YIELD = 0, ///< multiplier
    SF_DOUBT_MODULUS,
    SF_DOUBT_STRAIN_LIMIT,
    SF_DOUBT_OUTER_EDGE,
    SF_DOUBT_INNER_EDGE,
    SF_DOUBT_TOP_WALL, ///< of the inner edge at the pylon's top, outward
    SF_DOUBT_ANKLE_FORWARD,
    SF_DOUBT_ANKLE_OUTWARD,
    SF_DOUBT_KNEE_FORWARD,
    SF_DOUBT_KNEE_OUTWARD
} sf_Doubt;

enum { SF_DOUBT_COUNT = SF_DOUBT_KNEE_OUTWARD + 1 };

/// Least, likeliest, greatest: drawn from the triangle over them.
typedef struct sf_Range {
    double low, value, high;
} sf_Range;

typedef struct sf_DoubtSizes {
    sf_Range yield, modulus, strain_limit; ///< of the card
    double outer_bias, inner_bias;         ///< standard deviations of the edges' places, m
    double both_bias;                      ///< common to both edges, m
    double scale;                          ///< relative, of all lengths
    double outer_radius, inner_radius;     ///< that the scale acts on, m
    sf_Range top_inner;                    ///< shift of the inner edge at the top, m
    double offset;                         ///< standard deviation of each of the four offsets of the load line, m
} sf_DoubtSizes;

/// What one draw is: by sf_Doubt.
typedef struct sf_Draw {
    double of[SF_DOUBT_COUNT];
    double fatigue; ///< standard normal: how far the S-N curve lies from the card's
} sf_Draw;

/// The draw without doubt: multipliers 1, shifts 0.
extern const sf_Draw sf_draw_still;

/// `count` draws. Draw i depends on `seed` and i only, so the same seed gives the same draws whatever their number.
void sf_draws_make(sf_Draw *draws, size_t count, const sf_DoubtSizes *sizes, uint64_t seed);

/// A typical size of each doubt (standard deviation), in its unit.
void sf_doubt_spread(double spread[SF_DOUBT_COUNT], const sf_DoubtSizes *sizes);
