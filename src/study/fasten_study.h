// SPDX-License-Identifier: GPL-3.0-or-later
// `fasten`: torque with its doubt, screw places, and the ways out when the alignment must move afterwards.
#pragma once

#include "limb/limb.h"
#include "study/result.h"

/// Sets every key of docs/fasten.schema.json into the result. SF_E_INPUT, SF_E_MISSING, SF_E_MEMORY.
sf_Status sf_fasten_study(sf_Result *result, const sf_Limb *limb, sf_Error *err) SF_MUST_USE;
