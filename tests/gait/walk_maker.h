// SPDX-License-Identifier: GPL-3.0-or-later
// Made-up walks whose truth is known: footfall tables and accelerations.
#pragma once

#include "base/text.h"

#include <stdint.h>

typedef struct WalkTruth {
    double left, right;     ///< mean step times that end with this foot's contact, s
    double step_sd;         ///< of every step, s
    double missed, doubled; ///< shares of contacts
} WalkTruth;

/// Uniform in (0, 1) and standard normal; the same numbers on every machine.
double walk_uniform(uint64_t *state);
double walk_normal(uint64_t *state);

/// A footfall table of `contacts` contacts, header and all.
void walk_table(sf_Text *text, uint64_t *state, WalkTruth truth, int contacts);

/// An acceleration table at `rate` Hz with jittered sample times: a pulse at every contact (of one side only when
/// `side` is 0 left or 1 right; of both when -1), a slow sway, gravity and noise.
void walk_acceleration(sf_Text *text, uint64_t *state, WalkTruth truth, int contacts, double rate, int side);
