// SPDX-License-Identifier: GPL-3.0-or-later
// Several scans of one ring: how well each figure repeats.
#pragma once

#include "study/ring_study.h"

/// Index of the finding with the hardest decision; the first of equals.
size_t sf_ring_repeat_hardest(const sf_RingFinding *findings, size_t count);

/// Standard deviation (n - 1) over the findings of one figure; angles are taken round the circle (`principal_deg` round
/// the half circle). NaN when fewer than two findings have it.
double sf_ring_repeat_sd(const sf_RingFinding *findings, size_t count, size_t figure);

/// Sets "repeatability": an object of standard deviations, or null with the reason for a single picture.
void sf_ring_repeat_result(sf_Result *result, const sf_RingFinding *findings, size_t count);
