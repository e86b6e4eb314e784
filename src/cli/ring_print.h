// SPDX-License-Identifier: GPL-3.0-or-later
// A ring's figures and decision as text for a terminal.
#pragma once

#include "study/ring_repeat.h"

void sf_ring_print_figures(const sf_RingFinding *finding);
void sf_ring_print_decision(const sf_RingFinding *finding);

/// Standard deviations over repeat scans.
void sf_ring_print_repeats(const sf_RingFinding *findings, size_t count);
