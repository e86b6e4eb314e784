// SPDX-License-Identifier: GPL-3.0-or-later
// The use case: how far is this pylon from first yield at each level, what governs, and what the clamp zone does.
// Keys: docs/strength.schema.json.
#pragma once

#include "study/strength_cases.h"

/// Solves one limb and sets every key into `result` (begun by the caller, who also adds the input's bytes). Errors of
/// sf_strength_input_make and sf_strength_cases_solve.
sf_Status sf_strength_study(sf_Result *result, const sf_Limb *limb, const sf_StrengthAsk *ask,
                            sf_Error *err) SF_MUST_USE;

/// Sets "choices": several limbs side by side, each at the level of its person and, for all, at the highest of these.
sf_Status sf_strength_compare(sf_Result *result, const sf_Limb *const *limbs, const char *const *names, size_t count,
                              const sf_StrengthAsk *ask, sf_Error *err) SF_MUST_USE;

/// The safety sentence of strength results.
const char *sf_strength_safety(void);

/// The word for what dominates a peak.
const char *sf_peak_cause_word(sf_PeakCause cause);
