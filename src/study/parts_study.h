// SPDX-License-Identifier: GPL-3.0-or-later
// `parts`: each foot with each adapter of the shop's list under one limb, side by side (docs/theory/parts.md).
#pragma once

#include "limb/limb.h"
#include "study/parts_list.h"
#include "study/result.h"

typedef enum sf_PartsOrder { SF_PARTS_BY_CYLINDER, SF_PARTS_BY_FACTOR, SF_PARTS_BY_MASS } sf_PartsOrder;

typedef struct sf_PartsAsk {
    const sf_PartsList *list; ///< NULL: the invented starter set
    sf_PartsOrder order;
} sf_PartsAsk;

/// Sets every key of docs/parts.schema.json into the result. SF_E_MISSING, SF_E_INPUT, SF_E_LIMIT, SF_E_MEMORY.
sf_Status sf_parts_study(sf_Result *result, const sf_Limb *limb, const sf_PartsAsk *ask, sf_Error *err) SF_MUST_USE;
