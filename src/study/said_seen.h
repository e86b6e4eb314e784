// SPDX-License-Identifier: GPL-3.0-or-later
// Said and seen: each prediction about a limb beside what then happened, for one limb and for the shop, so that the
// shop learns how far to trust it (docs/theory/said-and-seen.md).
#pragma once

#include "draw/sheet.h"
#include "study/limb_case.h"

/// Share of the expected wall within which a measured one came true (judgement: the spread of formed walls in one
/// shop).
#define SF_SAID_WALL_SHARE 0.1

/// Of one limb: { limb, label, rows[], counts[] }; rows are {kind, what, unit, said, seen, low, high, said_words,
/// seen_words, said_at, seen_at, came_true}. SF_E_MISSING, SF_E_MEMORY. Owned by the caller.
sf_Status sf_said_seen_limb(sf_Transaction *t, const sf_StageTable *table, int64_t id, sf_Json **json,
                            sf_Error *err) SF_MUST_USE;

/// Of the `most` limbs that were changed last: { limbs, rows[] (with limb and label), counts[] {kind, came_true,
/// did_not, waiting} }.
sf_Status sf_said_seen_shop(sf_Transaction *t, const sf_StageTable *table, size_t most, sf_Json **json,
                            sf_Error *err) SF_MUST_USE;

/// Their walls, seen against said, as a drawing (free with sf_free). SF_E_MISSING when the typeface is not there.
sf_Status sf_said_seen_picture(unsigned char **bytes, size_t *size, sf_Transaction *t, const sf_StageTable *table,
                               size_t most, sf_SheetKind kind, sf_Error *err) SF_MUST_USE;
