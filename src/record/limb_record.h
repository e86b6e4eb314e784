// SPDX-License-Identifier: GPL-3.0-or-later
// Limbs: every version of the document as text, and one line per limb for lists and search, filled by the caller.
#pragma once

#include "record/store.h"

/// What lists show and search finds. NULL where there is nothing to say. Texts of at most SF_LIMB_HEAD_TEXT bytes.
enum { SF_LIMB_HEAD_TEXT = 1000, SF_LIMB_DUES_TEXT = 4000 };
typedef struct sf_LimbHead {
    const char *label;       ///< how the wearer is called on the bench
    const char *side;        ///< "left" or "right"
    const char *sheet_lot;   ///< for recall
    const char *stage;       ///< where the work stands
    const char *next_action; ///< a sentence
    const char *next_due;    ///< a date, "2026-12-09"
    const char *flags;       ///< codes, separated by blanks, such as "out-of-use out-of-order"
    const char *dues;        ///< everything that is due and when, as JSON; at most SF_LIMB_DUES_TEXT bytes
} sf_LimbHead;

typedef struct sf_LimbRow {
    int64_t id, wearer, version;
    const char *made_at, *changed_at;
    sf_LimbHead head;
    const char *origin; ///< JSON: the store and limb it was imported from; NULL: made here
} sf_LimbRow;

typedef struct sf_LimbVersion {
    int64_t version, who;
    const char *at;
    const char *document; ///< JSON; NULL when it was removed with the wearer's data
} sf_LimbVersion;

/// Adds a limb with version 1 of its document. SF_E_MISSING when there is no such wearer.
sf_Status sf_limb_record_add(sf_Transaction *t, int64_t wearer, const sf_LimbHead *head, const char *document,
                             int64_t *id, sf_Error *err) SF_MUST_USE;

/// The same for a limb that comes from another store; `origin` says from where, as JSON.
sf_Status sf_limb_record_import(sf_Transaction *t, int64_t wearer, const sf_LimbHead *head, const char *origin,
                                const char *document, int64_t *id, sf_Error *err) SF_MUST_USE;

/// Saves a new version when the current one is still `expected`, else SF_E_CONFLICT. *version becomes the current one
/// either way. SF_E_MISSING.
sf_Status sf_limb_record_save(sf_Transaction *t, int64_t id, int64_t expected, const sf_LimbHead *head,
                              const char *document, int64_t *version, sf_Error *err) SF_MUST_USE;

/// Replaces the line for lists only, after a fact has changed what comes next. Nothing is written when it is the same.
sf_Status sf_limb_record_set_head(sf_Transaction *t, int64_t id, const sf_LimbHead *head, sf_Error *err) SF_MUST_USE;

sf_Status sf_limb_record_get(sf_Transaction *t, int64_t id, sf_LimbRow *row, sf_Error *err) SF_MUST_USE;

/// The document of a version; 0: the current one. SF_E_MISSING, also when it was removed.
sf_Status sf_limb_record_document(sf_Transaction *t, int64_t id, int64_t version, const char **document,
                                  sf_Error *err) SF_MUST_USE;

/// All versions, oldest first; `documents` says whether their texts are read too.
sf_Status sf_limb_record_versions(sf_Transaction *t, int64_t id, bool documents, sf_LimbVersion **versions,
                                  size_t *count, sf_Error *err) SF_MUST_USE;

typedef enum sf_LimbOrder {
    SF_LIMB_NEWEST,   ///< by id, newest first
    SF_LIMB_NEXT_DUE, ///< by next_due, earliest first; those without a date are left out
    SF_LIMB_CHANGED   ///< last changed first
} sf_LimbOrder;

/// What is looked for; all conditions hold together. NULL and 0: any.
typedef struct sf_LimbAsk {
    const char *search; ///< beginnings of words of label, pseudonym, sheet lot, side, stage and flags, or "#17"
    const char *sheet_lot, *stage, *flag;
    const char *due_until; ///< date
    int64_t wearer;
    sf_LimbOrder order;
    const char *after; ///< the cursor of the page before
    size_t count;      ///< rows of a page, 1 to 1000
} sf_LimbAsk;

/// One page. *next is the cursor for the page after, NULL at the end. SF_E_INPUT when the cursor is none of ours.
sf_Status sf_limb_record_list(sf_Transaction *t, const sf_LimbAsk *ask, sf_LimbRow **rows, size_t *count,
                              const char **next, sf_Error *err) SF_MUST_USE;

/// Number of limbs in the store.
sf_Status sf_limb_record_count(sf_Transaction *t, int64_t *count, sf_Error *err) SF_MUST_USE;

/// Number of limbs whose line for lists says this stage.
sf_Status sf_limb_record_count_at(sf_Transaction *t, const char *stage, int64_t *count, sf_Error *err) SF_MUST_USE;
