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

/// Puts a foot and an adapter of the list, by their names, under the limb (NULL: the document's own stays), and cuts
/// the pylon so that the limb stands as high as with them; the list must outlive the limb. SF_E_MISSING names what is
/// not in the list.
sf_Status sf_parts_put(sf_Limb *limb, const sf_PartsList *list, const char *foot, const char *adapter,
                       sf_Error *err) SF_MUST_USE;

/// Sets every key of docs/parts.schema.json into the result. SF_E_MISSING, SF_E_INPUT, SF_E_LIMIT, SF_E_MEMORY.
sf_Status sf_parts_study(sf_Result *result, const sf_Limb *limb, const sf_PartsAsk *ask, sf_Error *err) SF_MUST_USE;
