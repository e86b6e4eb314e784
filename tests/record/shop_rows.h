// SPDX-License-Identifier: GPL-3.0-or-later
// A small invented shop, written through the store's own calls, with something in every table.
#pragma once

#include "record/store.h"

typedef struct ShopRows {
    int64_t people[2], wearers[3], limbs[4], facts[8], withdrawn, attachments[2];
    char pictures[2][65];
} ShopRows;

/// Fills the store; the failure is the status.
sf_Status shop_rows_add(sf_Store *store, ShopRows *rows, sf_Error *err);
