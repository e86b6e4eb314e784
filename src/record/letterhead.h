// SPDX-License-Identifier: GPL-3.0-or-later
// What papers say of the shop that keeps this store. It lies in the store's own sealed row: it is chained, backed up
// and restored with everything else.
#pragma once

#include "base/doc.h"
#include "record/store.h"

enum { SF_LETTERHEAD_LINE_MOST = 200, SF_LETTERHEAD_STATEMENT_MOST = 4000 }; ///< bytes, as papers take them

typedef struct sf_Letterhead {
    const char *name, *address, *telephone; ///< NULL: not said
    const char *statement;                  ///< of the custom-made limb, as the shop's local law words it
} sf_Letterhead;

/// Texts belong to the transaction. SF_E_STORE.
sf_Status sf_letterhead_get(sf_Transaction *t, sf_Letterhead *letterhead, sf_Error *err) SF_MUST_USE;

/// The four as an object, null where not said: as the interface, papers and exports hold it.
sf_Json *sf_letterhead_json(const sf_Letterhead *letterhead);

/// Replaces all four; an empty text is none. SF_E_INPUT when one is too long or no text.
sf_Status sf_letterhead_set(sf_Transaction *t, const sf_Letterhead *letterhead, sf_Error *err) SF_MUST_USE;
