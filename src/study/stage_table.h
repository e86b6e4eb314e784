// SPDX-License-Identifier: GPL-3.0-or-later
// The stages of a limb and the facts that can be written down about it, as data (data/stages.json): what each stage
// needs, who may sign, what a fact holds and what it undoes. Rules of the shop, not of the program.
#pragma once

#include "base/arena.h"
#include "base/doc.h"

enum {
    SF_STAGE_MOST = 20,
    SF_STAGE_MOST_KINDS = 96,
    SF_STAGE_MOST_NEEDS = 20,
    SF_STAGE_MOST_FIELDS = 24,
    SF_STAGE_NONE = SF_STAGE_MOST ///< the stage of facts that belong to none
};

/// Who must stand behind a fact: each holds for those after it as well.
typedef enum sf_StageSigner {
    SF_SIGNER_NOBODY,
    SF_SIGNER_MAKER, ///< prosthetist or technician
    SF_SIGNER_PROSTHETIST,
    SF_SIGNER_LICENSED ///< prosthetist with a licence on record
} sf_StageSigner;

typedef enum sf_StageGate { ///< what is worked out rather than looked up
    SF_GATE_NONE,
    SF_GATE_IN_USE,        ///< no crack, quarantine or retirement stands
    SF_GATE_RING,          ///< the rings of this forming allow body weight
    SF_GATE_SQUEEZE_PROOF, ///< required and there, or not required
    SF_GATE_PARTS_MASS,
    SF_GATE_PARTS_ACTIVITY,
    SF_GATE_OTHER_SIDE,  ///< of a person with two prosthetic sides
    SF_GATE_FIT,         ///< the last walk left no skin or pain that stops walking
    SF_GATE_BEFORE_WALK, ///< holding screw and witness mark looked at since the last walk
    SF_GATE_TOE_OUT_KEPT,
    SF_GATE_OUT_OF_ORDER, ///< every lasting thing done out of order is decided
    SF_GATE_NOTHING_LEFT_OUT,
    SF_GATE_INSPECTED,
    SF_GATE_COUNT
} sf_StageGate;

typedef enum sf_StageTest { SF_TEST_TRUE, SF_TEST_FALSE, SF_TEST_WORD, SF_TEST_MOST, SF_TEST_LEAST } sf_StageTest;

/// What a field of the newest fact of a kind must say.
typedef struct sf_StageWhere {
    const char *field;
    sf_StageTest test;
    const char *words[8];
    size_t word_count;
    double limit;
} sf_StageWhere;

/// When a need holds at all.
typedef struct sf_StageWhen {
    const char *document, *is; ///< a word of the limb document; NULL: no such condition
    bool two_sided, fixed;     ///< both sides prosthetic; the permanent fixing is in
} sf_StageWhen;

typedef struct sf_StageNeed {
    const char *text;
    bool opens;      ///< must be met before the stage may start; else it completes the stage
    bool hard, soft; ///< nobody may leave it out; a release against advice may
    const char *documents[6];
    size_t document_count;
    size_t kind;  ///< a fact of this kind; SIZE_MAX: none
    size_t stage; ///< an earlier stage done; SF_STAGE_NONE: none
    sf_StageGate gate;
    sf_StageWhere where[4];
    size_t where_count;
    sf_StageWhen when, unless;
} sf_StageNeed;

typedef struct sf_Stage {
    const char *name, *row, *title, *asks, *undoing;
    bool loads;  ///< body weight is on the limb
    bool strict; ///< its closing fact counts only when it came after all that opens the stage
    bool shop;   ///< of the shop, not of one limb
    sf_StageSigner sign;
    size_t closed_by; ///< kind
    const char *small_print[8];
    size_t small_print_count;
    sf_StageNeed needs[SF_STAGE_MOST_NEEDS]; ///< with those of every loading stage, where it loads
    size_t need_count;
} sf_Stage;

typedef enum sf_StageFieldKind {
    SF_STAGE_NUMBER,
    SF_STAGE_WHOLE,
    SF_STAGE_FLAG,
    SF_STAGE_TEXT,
    SF_STAGE_WORD,
    SF_STAGE_DATE,
    SF_STAGE_HASH, ///< of a picture
    SF_STAGE_ANY,  ///< free JSON, such as the figures of a ring
    SF_STAGE_OBJECT,
    SF_STAGE_LIST
} sf_StageFieldKind;

typedef struct sf_StageField {
    const char *name, *label, *unit; ///< unit NULL: none
    sf_StageFieldKind kind;
    bool required;
    double low, high;
    size_t least, most; ///< bytes of a text, items of a list
    const char *words[16];
    size_t word_count;
    const char *into;  ///< where it goes in the limb document; NULL: nowhere
    sf_DocNode adding; ///< what each item gets besides
    struct sf_StageField *fields;
    size_t field_count;
} sf_StageField;

typedef struct sf_StageKind {
    const char *kind, *title;
    size_t stage;                        ///< SF_STAGE_NONE: any time
    sf_StageSigner record, sign;         ///< who may write it down; who must sign (SF_SIGNER_NOBODY: nobody)
    bool resets[SF_STAGE_MOST];          ///< stages to be gone through again
    bool resets_in_order[SF_STAGE_MOST]; ///< the same where it was done in its order before check-out
    bool in_order_differs;
    bool ends[SF_STAGE_MOST_KINDS]; ///< kinds whose earlier facts hold no longer
    bool lasting;                   ///< cannot be undone: out of order it needs a decision
    bool kept;                      ///< its reason stays visible for ever
    bool licensed_withdrawal;       ///< only a licensed prosthetist may withdraw it
    sf_StageField *fields;
    size_t field_count;
} sf_StageKind;

/// Judgement values of the shop.
typedef struct sf_StageJudgements {
    double toe_out_kept_deg, pain_stops, holding_torque_share, withdraw_within_h, heavy_kg;
    int first_days, second_months, then_months, child_months, child_below_years;
    double early_share; ///< an inspection that early, as a share of the interval, fulfils the date
} sf_StageJudgements;

typedef struct sf_StageTable {
    sf_Doc *doc;
    sf_Arena *arena;
    sf_Stage stages[SF_STAGE_MOST];
    size_t stage_count;
    sf_StageKind kinds[SF_STAGE_MOST_KINDS];
    size_t kind_count;
    sf_StageJudgements judgements;
} sf_StageTable;

/// The built-in table of data/stages.json, or with `text` another one. It is large: it lives on the heap. Reading it is
/// free of locks, so one table serves many threads. SF_E_PARSE, SF_E_INPUT, SF_E_MEMORY. Free with destroy.
sf_Status sf_stage_table_load(sf_StageTable **table, sf_Error *err) SF_MUST_USE;
sf_Status sf_stage_table_parse(sf_StageTable **table, const char *name, const char *text, size_t size,
                               sf_Error *err) SF_MUST_USE;
void sf_stage_table_destroy(sf_StageTable **table);

size_t sf_stage_find(const sf_StageTable *table, const char *name);      ///< SF_STAGE_NONE: unknown
size_t sf_stage_kind_find(const sf_StageTable *table, const char *kind); ///< SIZE_MAX: unknown

/// The whole data file as JSON, for the page that builds its forms from it. Owned by the caller.
sf_Json *sf_stage_table_json(const sf_StageTable *table);

/// "a licensed prosthetist" and so on.
const char *sf_stage_signer_words(sf_StageSigner signer);

/// Notes in the body's document everything that does not fit the fields of its kind.
void sf_stage_body_check(const sf_StageKind *kind, sf_DocNode body);
