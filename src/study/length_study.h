// SPDX-License-Identifier: GPL-3.0-or-later
// `length`: cut line, error budget, and the spacer that mends a limb that came out short.
#pragma once

#include "limb/limb.h"
#include "study/result.h"

typedef struct sf_LengthAsk {
    double leave_long; ///< m, 0 or more
} sf_LengthAsk;

/// Sets every key of docs/length.schema.json into the result. SF_E_INPUT, SF_E_MISSING, SF_E_MEMORY.
sf_Status sf_length_study(sf_Result *result, const sf_Limb *limb, const sf_LengthAsk *ask, sf_Error *err) SF_MUST_USE;
