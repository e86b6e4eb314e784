// SPDX-License-Identifier: GPL-3.0-or-later
// A growing person's limb at the end of the follow-up interval: heavier, and on the spacers that it will need then.
#pragma once

#include "study/strength_input.h"

/// Follow-up interval of children, months: inspection every three (the shop's own rule; a choice, not a source).
enum { SF_STRENGTH_INTERVAL_MONTHS = 3 };

/// Sets "at_interval_end": null with the reason for whoever does not grow or has no stature on record. SF_E_INPUT for a
/// date that is none, SF_E_MEMORY; what the growth forecast or the strength of that limb lacks becomes the reason.
sf_Status sf_strength_set_interval_end(sf_Result *result, const sf_Limb *limb, const sf_StrengthAsk *ask,
                                       sf_Error *err) SF_MUST_USE;
