// SPDX-License-Identifier: GPL-3.0-or-later
// Staff: who they are, what they may do, and how often signing in has failed.
#pragma once

#include "record/store.h"

typedef enum sf_PersonRole {
    SF_ROLE_PROSTHETIST,
    SF_ROLE_TECHNICIAN,
    SF_ROLE_READER,
    SF_ROLE_ADMIN,
    SF_ROLE_COUNT
} sf_PersonRole;

extern const char *const sf_person_role_words[SF_ROLE_COUNT]; ///< "prosthetist", "technician", "reader", "admin"

enum { SF_PERSON_NAME_MOST = 100, SF_PERSON_INITIALS_MOST = 8, SF_PERSON_LICENSE_MOST = 100 };

typedef struct sf_Person {
    int64_t id;
    const char *name; ///< of one person only, whatever the case of its letters
    const char *initials;
    sf_PersonRole role;
    const char *license;       ///< number or words of the licence; NULL: none
    const char *password_hash; ///< of seal/password.h; NULL: none yet
    const char *pin_hash;      ///< the same
    bool inch;                 ///< sees inch-pound units
    bool active;               ///< may sign in
} sf_Person;

/// Adds; `id` of the struct is not read. SF_E_INPUT when a field is empty, too long or the name is taken.
sf_Status sf_person_add(sf_Transaction *t, const sf_Person *person, int64_t *id, sf_Error *err) SF_MUST_USE;

/// Replaces every field of the person with this id. SF_E_MISSING, SF_E_INPUT.
sf_Status sf_person_change(sf_Transaction *t, const sf_Person *person, sf_Error *err) SF_MUST_USE;

/// SF_E_MISSING when there is none.
sf_Status sf_person_get(sf_Transaction *t, int64_t id, sf_Person *person, sf_Error *err) SF_MUST_USE;

/// By name, whatever the case of its letters. SF_E_MISSING.
sf_Status sf_person_by_name(sf_Transaction *t, const char *name, sf_Person *person, sf_Error *err) SF_MUST_USE;

/// All, by id.
sf_Status sf_person_list(sf_Transaction *t, sf_Person **people, size_t *count, sf_Error *err) SF_MUST_USE;

/// Failed sign-ins since the last good one, and until when signing in is shut (NULL: it is not).
sf_Status sf_person_failures(sf_Transaction *t, int64_t id, int64_t *failures, const char **locked_until,
                             sf_Error *err) SF_MUST_USE;
sf_Status sf_person_set_failures(sf_Transaction *t, int64_t id, int64_t failures, const char *locked_until,
                                 sf_Error *err) SF_MUST_USE;
