// SPDX-License-Identifier: GPL-3.0-or-later
// The ring board: rings of one limb, or those that the shop measured last, beside one another with their decisions.
#pragma once

#include "draw/ring_board.h"
#include "study/limb_case.h"

/// What is asked: the rings of one limb (`limb` above 0), else those of the limbs changed last.
typedef struct sf_BoardAsk {
    int64_t limb;
    size_t most; ///< rings, 1 to SF_BOARD_RINGS
} sf_BoardAsk;

/// { rings[] {limb, label, fact, ring_number, measured_at, decision, evidence, wall_median_mm, wall_min_off_seam_mm,
/// groove_depth_mm, seam_unjoined_depth_mm, drawn} }, last measured first, each ring once as it was measured last.
/// SF_E_MISSING, SF_E_MEMORY. Owned by the caller.
sf_Status sf_ring_board_json(sf_Transaction *t, const sf_StageTable *table, const sf_BoardAsk *ask, sf_Json **json,
                             sf_Error *err) SF_MUST_USE;

/// The same as a drawing (free with sf_free): those whose outline was kept. SF_E_MISSING when the typeface is not
/// there.
sf_Status sf_ring_board_picture(unsigned char **bytes, size_t *size, sf_Transaction *t, const sf_StageTable *table,
                                const sf_BoardAsk *ask, sf_SheetKind kind, sf_Error *err) SF_MUST_USE;
