// SPDX-License-Identifier: GPL-3.0-or-later
// One limb of the store as a case: its document, its facts, where it stands. Every change goes through here, so that
// the rules of the stages are asked each time. The caller opens and commits the transaction; nothing is kept otherwise.
#pragma once

#include "record/fact.h"
#include "record/limb_record.h"
#include "record/people.h"
#include "study/stage_rules.h"

/// A limb opened from the store. Texts live as long as the transaction, documents as long as the case.
typedef struct sf_LimbCase {
    sf_Transaction *transaction;
    const sf_StageTable *table;
    sf_LimbRow row;
    const char *text; ///< the document; NULL: removed with the wearer's data
    sf_Doc *document;
    sf_Fact *rows;       ///< as the store has them
    sf_StageFact *facts; ///< as the rules read them
    sf_Doc **bodies;
    size_t count;
    sf_StageAround around;
    sf_LimbState *state;
    sf_Arena *arena;
} sf_LimbCase;

/// Opens and works out the state at the transaction's time. SF_E_MISSING. Close with sf_limb_case_close.
sf_Status sf_limb_case_open(sf_LimbCase **limb, sf_Transaction *t, const sf_StageTable *table, int64_t id,
                            sf_Error *err) SF_MUST_USE;
void sf_limb_case_close(sf_LimbCase **limb);

/// Adds a limb of a new wearer (`wearer` 0; named by the document's label) or of one that is there. The document is
/// checked as a whole. SF_E_INPUT with every problem.
sf_Status sf_limb_case_add(sf_Transaction *t, const sf_StageTable *table, int64_t wearer, const char *document,
                           size_t size, int64_t *id, sf_Error *err) SF_MUST_USE;

/// Saves the document as version `expected` + 1. SF_E_CONFLICT: somebody else did; *version is the current one.
sf_Status sf_limb_case_save(sf_Transaction *t, const sf_StageTable *table, int64_t id, int64_t expected,
                            const char *document, size_t size, int64_t *version, sf_Error *err) SF_MUST_USE;

/// What is written down by the person of the transaction.
typedef struct sf_CaseFact {
    int64_t limb;
    const char *kind;
    const char *happened_at; ///< a time or a day; NULL: now
    sf_DocNode body;         ///< fields of the kind; for a withdrawal {fact, reason}
    bool signs;              ///< false: this person's signature has to wait (locked out, or the session has rested)
} sf_CaseFact;

typedef struct sf_CaseRecorded {
    int64_t fact, version;
    bool out_of_order;
    bool extended;     ///< the limb document took over what the fact says
    char why_not[512]; ///< why it did not, though the kind would; else ""
} sf_CaseRecorded;

/// Writes a fact down, in whatever order, brings the document and the line for lists up to date. Only what cannot be a
/// fact is refused, with the path: an unknown kind, fields that do not fit it, a time to come, a withdrawal by who may
/// not, a signature by who may not; SF_E_INPUT, SF_E_MISSING.
sf_Status sf_limb_case_record(sf_Transaction *t, const sf_StageTable *table, const sf_CaseFact *fact,
                              sf_CaseRecorded *recorded, sf_Error *err) SF_MUST_USE;

/// Works the line for lists out anew and writes it when it differs; for after an import or a new table.
sf_Status sf_limb_case_refresh(sf_Transaction *t, const sf_StageTable *table, int64_t id, sf_Error *err) SF_MUST_USE;

/// What the document becomes when a fact of this kind is written down: the fields that say "into" in the table, holes
/// that stay when a fixing goes. *text NULL: nothing changes. Freed with sf_free. Open for tests.
sf_Status sf_limb_case_extend(const sf_StageKind *kind, sf_DocNode document, sf_DocNode body, const char *happened_at,
                              char **text, sf_Error *err) SF_MUST_USE;

// ---- as JSON, owned by the caller -------------------------------------------------------------------------------

/// { id, wearer, version, made_at, changed_at, document, facts[], rings[], state }
sf_Json *sf_limb_case_json(const sf_LimbCase *limb);

/// One fact: { id, kind, happened_at, recorded_at, who {id, initials, name}, role, signs, body, out_of_order,
/// withdrawn_by }
sf_Json *sf_limb_case_fact_json(const sf_LimbCase *limb, int64_t fact);

/// The shop on a day (`as_of` NULL: today): { as_of, due[], next[], look[], counts{} }; most pressing first.
sf_Status sf_limb_case_shop(sf_Transaction *t, const char *as_of, sf_Json **json, sf_Error *err) SF_MUST_USE;

/// Every limb of a sheet lot and where it is: { lot, limbs[] {id, label, side, stage, next_action, flags, at_home} }.
sf_Status sf_limb_case_recall(sf_Transaction *t, const char *lot, sf_Json **json, sf_Error *err) SF_MUST_USE;

/// All incidents, newest first: { incidents[] {limb, label, fact} }.
sf_Status sf_limb_case_incidents(sf_Transaction *t, sf_Json **json, sf_Error *err) SF_MUST_USE;
