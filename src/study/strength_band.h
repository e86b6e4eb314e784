// SPDX-License-Identifier: GPL-3.0-or-later
// The 90 % bands of a limb's governing cases: what is in doubt about this limb, drawn and run through the quick law.
#pragma once

#include "strength/band.h"
#include "study/strength_cases.h"

typedef struct sf_StrengthBands {
    sf_Draw *draws; ///< owned
    size_t count;
    sf_DoubtSizes sizes;
    const sf_StrengthCase *own; ///< the case that `band` and `stress` are of: governs the level asked for
    sf_Band band;               ///< N
    double *stress;             ///< owned: of every draw, elastic stress at a given force over that without doubt
} sf_StrengthBands;

/// Finds the bands of all cases on the governing line of every level and writes them into `cases`; keeps those of
/// `level`. Names what was assumed in `result`. Nothing is done (count 0) when ask->samples is 0. SF_E_CONVERGE,
/// SF_E_MEMORY. Free with sf_strength_bands_free.
sf_Status sf_strength_bands_find(sf_StrengthBands *bands, sf_StrengthCases *cases, const sf_StrengthInput *input,
                                 const sf_StrengthAsk *ask, const char *level, sf_Result *result,
                                 sf_Error *err) SF_MUST_USE;

/// Frees and empties; safe to call twice.
void sf_strength_bands_free(sf_StrengthBands *bands);

/// Sets "elastic_band" and "collapse_band" of a case; null where it has none, or is NULL.
void sf_strength_case_set_bands(sf_Json *json, const sf_StrengthCase *at);

/// Sets "band": samples, seed, coverage, what dominates and each group's share; null with a note without samples.
void sf_strength_bands_set(sf_Result *result, const sf_StrengthBands *bands, const sf_StrengthAsk *ask);
