// SPDX-License-Identifier: GPL-3.0-or-later
// `vent`: whether, how large, where, and what it costs the wall.
#pragma once

#include "limb/limb.h"
#include "study/result.h"

/// Sets every key of docs/vent.schema.json into the result. SF_E_INPUT, SF_E_MISSING, SF_E_MEMORY.
sf_Status sf_vent_study(sf_Result *result, const sf_Limb *limb, sf_Error *err) SF_MUST_USE;
