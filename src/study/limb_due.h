// SPDX-License-Identifier: GPL-3.0-or-later
// What is due of a limb, held in its line for lists: a forecast of growth is worked out when what it rests on has
// changed, not whenever somebody looks at the shop. Internal to limb_case.
#pragma once

#include "study/limb_case.h"

/// Sets around.growth: as the line for lists holds it, or worked out anew where the person's readings are others than
/// those it was made from. A person who does not grow, or without the readings for it, has none. SF_E_MEMORY.
sf_Status sf_limb_due_look(sf_LimbCase *limb, sf_Error *err) SF_MUST_USE;

/// What the line for lists keeps of it, in the case's arena: {of, growth[], due[]} as JSON; NULL: nothing is due.
/// SF_E_MEMORY.
sf_Status sf_limb_due_text(const sf_LimbCase *limb, const char **text, sf_Error *err) SF_MUST_USE;

/// Everything due up to `today` in the shop, earliest first, added to `list`: {limb, label, side, what, date, overdue,
/// rule, short_mm}. Of a child's steps the last one that was reached speaks alone.
sf_Status sf_limb_due_list(sf_Transaction *t, const char *today, sf_Json *list, sf_Error *err) SF_MUST_USE;
