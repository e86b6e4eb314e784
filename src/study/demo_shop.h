// SPDX-License-Identifier: GPL-3.0-or-later
// An invented shop to look around in: about 40 limbs over a year, at all stages, made through the same use cases as
// real work. No such people, limbs, lots or readings exist.
#pragma once

#include "record/store.h"

typedef struct sf_DemoShop {
    size_t limbs, facts, rings;
    const char *sign_in, *password, *pin; ///< of the licensed prosthetist; all invented people share password and PIN
} sf_DemoShop;

/// Fills an empty store. The year ends at `today` ("2026-11-25", NULL: the store's own day); the same day gives the
/// same shop, but for salts and keys. The store's clock runs through that year meanwhile and is the machine's again at
/// the end. SF_E_INPUT when somebody is in the store already; SF_E_MISSING when the typeface of drawings is not
/// installed.
sf_Status sf_demo_shop_seed(sf_Store *store, const char *today, sf_DemoShop *shop, sf_Error *err) SF_MUST_USE;
