// SPDX-License-Identifier: GPL-3.0-or-later
// Where the lines of a ring's mesh lie: element sizes along the ring and across the wall, and breaks that follow them.
#pragma once

#include "base/status.h"
#include "section/edge_curve.h"

enum { SF_GRADING_SPOTS = 80, SF_GRADING_FIXED = 520 };

/// A place that wants small elements: size `least` there, growing by `growth` per length of distance beyond `radius`.
typedef struct sf_GradingSpot {
    double angle, share; ///< where: angle, and share of the wall from the inner edge
    double at;           ///< its distance from the centre, m
    double least_along;  ///< m, along the ring
    double least_across; ///< m, across the wall; 0: no wish across
    double radius;       ///< m
} sf_GradingSpot;

typedef struct sf_RingGrading {
    const sf_EdgeCurve *inner, *outer;
    double wall, bore; ///< mean wall and mean bore radius, m
    double base_angle; ///< largest element along the ring, rad
    double base_arc;   ///< largest element side on the outer edge, m
    double base_share; ///< largest element across, share of the wall
    double growth;     ///< largest growth of size per distance
    double scale;      ///< all sizes times this
    sf_GradingSpot spots[SF_GRADING_SPOTS];
    size_t spot_count;
} sf_RingGrading;

/// Breaks from the first to the last of `fixed` (rising, count >= 2) that hold every fixed one; between them sizes
/// follow the grading: `along` angles round the ring, else shares across the wall. *breaks is the caller's to free
/// (sf_free), *count the number of elements. SF_E_MEMORY, SF_E_LIMIT.
sf_Status sf_ring_grading_breaks(const sf_RingGrading *grading, bool along, const double *fixed, size_t fixed_count,
                                 double **breaks, size_t *count, sf_Error *err) SF_MUST_USE;
