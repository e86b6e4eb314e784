// SPDX-License-Identifier: GPL-3.0-or-later
// `align`: what a change at the clamp does to the socket's place and to the moments on it.
#pragma once

#include "align/stance.h"
#include "limb/limb.h"

/// What of a limb the alignment needs, with what had to be assumed.
typedef struct sf_AlignInput {
    sf_Chain chain;
    sf_Settings settings;
    sf_Travel travel;
    double body_weight, body_mass, foot_length, stature; ///< N, kg, m, m (NaN when not given)
    bool cut_from_stack, heel_assumed, rise_assumed, ankle_assumed, attitude_assumed, settings_assumed;
} sf_AlignInput;

/// Takes the chain out of a limb document. SF_E_MISSING names every field that is missing; SF_E_RANGE.
sf_Status sf_align_input(sf_AlignInput *input, const sf_Limb *limb, sf_Error *err) SF_MUST_USE;

/// The whole result (docs/align.schema.json; destroy with sf_json_destroy) for a limb document and signed steps in the
/// settings' own units (deg, mm), indexed by sf_Setting. SF_E_PARSE, SF_E_INPUT, SF_E_MISSING, SF_E_RANGE, SF_E_MEMORY.
sf_Status sf_align_study(sf_Json **json, const char *name, const char *text, size_t size,
                         const double steps[SF_SETTING_COUNT], sf_Error *err) SF_MUST_USE;
