// SPDX-License-Identifier: GPL-3.0-or-later
// Working rows of the server: sessions, and answers kept for a tablet that asks again after it lost the network. They
// are sealed against change but have no entries in the chain.
#pragma once

#include "record/store.h"

typedef struct sf_Session {
    const char *token_hash; ///< sf_token_digest() of the cookie
    int64_t person;
    const char *csrf; ///< token that every change must bring along
    const char *made_at, *expires_at;
    const char *device; ///< what the browser calls itself, shortened; may be NULL
} sf_Session;

/// Keeps a new one, or replaces the one with this token hash. `made_at` NULL: now.
sf_Status sf_session_keep(sf_Transaction *t, const sf_Session *session, sf_Error *err) SF_MUST_USE;

/// SF_E_MISSING when there is none or it has expired by the transaction's time.
sf_Status sf_session_find(sf_Transaction *t, const char *token_hash, sf_Session *session, sf_Error *err) SF_MUST_USE;

sf_Status sf_session_list(sf_Transaction *t, int64_t person, sf_Session **sessions, size_t *count,
                          sf_Error *err) SF_MUST_USE;
sf_Status sf_session_remove(sf_Transaction *t, const char *token_hash, sf_Error *err) SF_MUST_USE;
sf_Status sf_session_remove_all(sf_Transaction *t, int64_t person, sf_Error *err) SF_MUST_USE; ///< of one person

/// The answer given before to (`person`, `key`); *answer is NULL when there was none. `request` is a fingerprint of the
/// request: SF_E_CONFLICT when the key was used for another one.
typedef struct sf_KeptAnswer {
    int64_t status; ///< HTTP status
    const char *text;
} sf_KeptAnswer;

enum { SF_REPEAT_KEY_MOST = 128 };
sf_Status sf_repeat_find(sf_Transaction *t, int64_t person, const char *key, const char *request, sf_KeptAnswer *answer,
                         sf_Error *err) SF_MUST_USE;

/// Keeps an answer, in the same transaction as what it answers.
sf_Status sf_repeat_keep(sf_Transaction *t, int64_t person, const char *key, const char *request,
                         const sf_KeptAnswer *answer, sf_Error *err) SF_MUST_USE;

/// Removes expired sessions, and answers kept before `answers_before`.
sf_Status sf_session_sweep(sf_Transaction *t, const char *answers_before, sf_Error *err) SF_MUST_USE;
