// SPDX-License-Identifier: GPL-3.0-or-later
// Taking a wearer's data out of the record, and what of it the maker keeps under the pseudonym: what was made, from
// which lot, how it was formed, measured, fixed and decided, and when. Not kept are name, birth, sex, readings of the
// body but for the mass that the limb was made for, free words, and pictures other than those of rings.
#pragma once

#include "record/store.h"
#include "study/stage_table.h"

/// Removes within the transaction. Commit, then call sf_store_scrub(). SF_E_MISSING: no such
/// wearer; SF_E_INPUT: done before.
sf_Status sf_limb_removal(sf_Transaction *t, const sf_StageTable *table, int64_t wearer, sf_Error *err) SF_MUST_USE;
