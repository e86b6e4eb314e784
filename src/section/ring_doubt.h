// SPDX-License-Identifier: GPL-3.0-or-later
// Propagation of the edges' doubt into every figure of a ring (docs/theory/section.md). Internal to `section`.
#pragma once

#include "section/ring_measure.h"

/// Fills measure->doubt and measure->i_difference_doubt from the outline's doubt and the figures already measured.
void sf_ring_doubt_spread(sf_RingMeasure *measure, const sf_Outline *outline);

/// Share of a narrow groove's depth that readings this far apart (rad) show at the worst: 1 for a picture.
double sf_ring_doubt_shown_share(double spacing);
