// SPDX-License-Identifier: GPL-3.0-or-later
// Taking a wearer's data out of the store. What the maker must keep (lots, rings, forming, dates, decisions) stays
// under the pseudonym; which that is, is decided above the store. The chain stays whole: an entry holds only the keyed
// hash of its row, and the key (the salt) goes with the row's words.
#pragma once

#include "record/attachment.h"
#include "record/fact.h"
#include "record/limb_record.h"

/// What is kept of each row. Texts are made in `arena`. A member that is NULL keeps nothing.
typedef struct sf_Removal {
    /// Sets *kept to the part of a document that stays (JSON without personal data), or to NULL.
    sf_Status (*document)(void *context, sf_Arena *arena, int64_t limb, const sf_LimbVersion *version,
                          const char **kept, sf_Error *err);
    /// The same for the body of a fact.
    sf_Status (*body)(void *context, sf_Arena *arena, const sf_Fact *fact, const char **kept, sf_Error *err);
    /// Whether a picture stays (its name goes in any case).
    bool (*picture)(void *context, const sf_Attachment *attachment);
    /// The limb's line for lists; `head` comes empty but for side, sheet lot, stage and flags.
    void (*head)(void *context, sf_Arena *arena, const sf_LimbRow *row, sf_LimbHead *head);
    void *context;
} sf_Removal;

/// Replaces label, documents, bodies, names and heads of one wearer's rows within the transaction, each with an entry
/// "remove-data". Kept answers of all sessions go too: they may repeat what was removed. Commit, then call
/// sf_store_scrub(). May be done again, for what was written down since. SF_E_MISSING.
sf_Status sf_wearer_remove(sf_Transaction *t, int64_t wearer, const sf_Removal *removal, sf_Error *err) SF_MUST_USE;

/// Removes picture files that no row names any more, and what the database keeps of rewritten rows in its file (SQLite
/// overwrites it and empties its log; PostgreSQL vacuums). May be called at any time and again after a failure. Backups
/// made before still hold everything.
sf_Status sf_store_scrub(sf_Store *store, size_t *files_removed, sf_Error *err) SF_MUST_USE;
