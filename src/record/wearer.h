// SPDX-License-Identifier: GPL-3.0-or-later
// The people who wear the limbs: a label to know them by, and a pseudonym that stays when the label is removed.
#pragma once

#include "record/store.h"

enum { SF_WEARER_LABEL_MOST = 200 };

typedef struct sf_Wearer {
    int64_t id;
    const char *label;     ///< NULL once removed
    const char *pseudonym; ///< random, such as "W-4T0Q2MZC1K"
    const char *made_at;
    const char *removed_at; ///< NULL: not removed
} sf_Wearer;

/// Adds a wearer with a fresh pseudonym. SF_E_INPUT when the label is empty or too long.
sf_Status sf_wearer_add(sf_Transaction *t, const char *label, int64_t *id, sf_Error *err) SF_MUST_USE;
sf_Status sf_wearer_rename(sf_Transaction *t, int64_t id, const char *label, sf_Error *err) SF_MUST_USE;
sf_Status sf_wearer_get(sf_Transaction *t, int64_t id, sf_Wearer *wearer, sf_Error *err) SF_MUST_USE;

/// Those with id greater than `after`, by id, at most `most` of them.
sf_Status sf_wearer_list(sf_Transaction *t, int64_t after, size_t most, sf_Wearer **wearers, size_t *count,
                         sf_Error *err) SF_MUST_USE;
