// SPDX-License-Identifier: GPL-3.0-or-later
// The chain: one entry for every row written, each holding the hash of the one before and the store's signature.
#pragma once

#include "record/store.h"

typedef struct sf_AuditEntry {
    int64_t seq;
    const char *at;
    int64_t who;
    const char *action;       ///< such as "add", "save", "sign-in"
    const char *subject;      ///< such as "fact/17"; NULL: none
    int64_t limb;             ///< 0: concerns no limb
    const char *payload_hash; ///< of the row as it was written; NULL: no row
    const char *previous_hash, *entry_hash, *signature;
} sf_AuditEntry;

/// Notes that something happened which writes no row of its own: a sign-in, a refusal, an export. No personal data in
/// `action` and `subject`: they stay for ever.
sf_Status sf_audit_note(sf_Transaction *t, const char *action, const char *subject, int64_t limb,
                        sf_Error *err) SF_MUST_USE;

/// Entries before `before` (0: from the newest on), newest first, at most `most`; `limb` 0: of all.
sf_Status sf_audit_list(sf_Transaction *t, int64_t limb, int64_t before, size_t most, sf_AuditEntry **entries,
                        size_t *count, sf_Error *err) SF_MUST_USE;
