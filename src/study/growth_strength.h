// SPDX-License-Identifier: GPL-3.0-or-later
// The limb of a growing child at the end of an interval: heavier, and on a thicker stack.
#pragma once

#include "study/strength_cases.h"

/// Body mass grows with this power of stature between two visits (judgement: between the square of a body mass index
/// that stays and the cube of a body that keeps its shape).
#define SF_GROWTH_MASS_POWER 2.5

typedef struct sf_GrowthStrength {
    char level[16];
    char governing[40];     ///< name of the governing case
    double factor;          ///< multiplier on the force at first yield
    double collapse_factor; ///< and at collapse, NaN when its path could not be followed
    double mass;            ///< body mass taken, kg
} sf_GrowthStrength;

/// Solves the limb raised by `added` (m; + more spacers) for a person grown by `stature_ratio`. Failures of the
/// strength study come through, such as SF_E_MISSING.
sf_Status sf_growth_strength(sf_GrowthStrength *out, const sf_Limb *limb, double added, double stature_ratio,
                             sf_Error *err) SF_MUST_USE;
