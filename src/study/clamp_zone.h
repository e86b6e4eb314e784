// SPDX-License-Identifier: GPL-3.0-or-later
// Clamp zone, foot bolt and glue of one limb as parts of the strength result.
#pragma once

#include "study/strength_cases.h"

/// Sets "clamp_zone", "foot_bolt" and "glue". `proof_at_cut` and `cyclic_at_joint` are actions of condition II of the
/// person's level: proof at the sawn end, cyclic at the bolted joint.
sf_Status sf_clamp_zone_result(sf_Result *result, const sf_StrengthInput *input, const sf_MaterialState *state,
                               const sf_Actions *proof_at_cut, const sf_Actions *cyclic_at_joint,
                               sf_Error *err) SF_MUST_USE;
