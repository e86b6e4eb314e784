// SPDX-License-Identifier: GPL-3.0-or-later
// Likely causes of what was measured. Internal to `section`.
#pragma once

#include "section/ring_decision.h"

/// Fills decision->causes, likeliest first, from the measures and the forming record where there is one.
void sf_ring_causes_rank(sf_RingDecision *decision, const sf_RingMeasure *measure, const sf_RingContext *context,
                         const sf_RingLimits *limits);
