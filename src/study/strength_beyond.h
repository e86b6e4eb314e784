// SPDX-License-Identifier: GPL-3.0-or-later
// What a strength result says beyond the cases: use along the height, stability, repeated and lasting loads.
#pragma once

#include "study/strength_band.h"

typedef struct sf_StrengthBeyond {
    const sf_StrengthInput *input;
    const sf_StrengthAsk *ask;
    const sf_StrengthCases *cases;
    const sf_LoadLevel *level; ///< of the person
    const sf_StrengthBands *bands;
} sf_StrengthBeyond;

/// Actions of one force of a condition at all stations, or first order ones when it lies above the critical force.
sf_Status sf_strength_actions_of(sf_Actions *actions, const sf_StrengthInput *input, const sf_StrengthAsk *ask,
                                 const sf_LoadLevel *level, int condition, double force, double modulus,
                                 sf_LoadLine *line, sf_Error *err) SF_MUST_USE;

/// Moment at each station over what the section there carries (net where a hole is), `used`, and its 90 % band (NULL
/// allowed; NaN without samples), under `actions` on `line`.
sf_Status sf_strength_used(double *used, double (*band)[2], const sf_StrengthBeyond *beyond, const sf_Actions *actions,
                           const sf_LoadLine *line, sf_Error *err) SF_MUST_USE;

/// Set "fatigue", "profile", "stability" and "creep".
sf_Status sf_strength_set_fatigue(sf_Result *result, const sf_StrengthBeyond *beyond, sf_Error *err) SF_MUST_USE;
sf_Status sf_strength_set_profile(sf_Result *result, const sf_StrengthBeyond *beyond, sf_Error *err) SF_MUST_USE;
sf_Status sf_strength_set_stability(sf_Result *result, const sf_StrengthBeyond *beyond, sf_Error *err) SF_MUST_USE;
sf_Status sf_strength_set_creep(sf_Result *result, const sf_StrengthBeyond *beyond, sf_Error *err) SF_MUST_USE;
