// SPDX-License-Identifier: GPL-3.0-or-later
// Stress over strain beyond first yield (docs/theory/collapse.md).
#pragma once

#include "material/card.h"

enum { SF_LAW_POINTS = SF_STRESS_POINTS };

/// Stress over strain, odd (the same in tension and compression), never falling. Without points: elastic up to yield,
/// then flat. With points: straight between them from (0, 0), flat after the last.
typedef struct sf_StressLaw {
    double modulus, yield;
    double strain_limit; ///< at which the path is ended
    size_t count;
    double strain[SF_LAW_POINTS], stress[SF_LAW_POINTS]; ///< rising; stress[count - 1] is the greatest there is
} sf_StressLaw;

/// The greatest stress of the law, Pa.
double sf_stress_law_most(const sf_StressLaw *law);

/// Stress at a strain, without the small hardening that the solver adds.
double sf_stress_law_at(const sf_StressLaw *law, double strain);

/// Stress and slope at a strain of 0 or more.
double sf_stress_law_branch(const sf_StressLaw *law, double strain, double *slope);

/// The card's law with this modulus, yield and strain limit: its table, when it has one, scaled to them.
sf_StressLaw sf_stress_law_of_card(const sf_Card *card, double modulus, double yield, double strain_limit);
