// SPDX-License-Identifier: GPL-3.0-or-later
// Where a limb stands: a pure function of its document, its facts and the day. It knows no store and keeps nothing.
// Facts may come in any order and out of order: they happened. What they open, shut and reset is worked out here
// (docs/theory/stages.md).
#pragma once

#include "study/stage_table.h"

#include <stdint.h>

/// One fact. Texts are borrowed. Times are UTC, "2026-11-25T14:03:22.123Z", or a day alone.
typedef struct sf_StageFact {
    int64_t id;
    const char *kind;
    const char *happened_at, *recorded_at;
    int64_t who;
    const char *role;  ///< of that person when it was written down: "prosthetist", "technician", ...
    const char *name;  ///< of that person; may be NULL
    bool licensed;     ///< that person had a licence on record
    bool signs;        ///< false: written down where signing has to wait (such as while locked out)
    sf_DocNode body;   ///< fields of the kind
    int64_t withdraws; ///< for a withdrawal: the fact that is withdrawn; else 0
    int64_t about;     ///< the fact that a signature or a decision is about; else 0
} sf_StageFact;

enum { SF_STAGE_GROWTH_DUES = 3 };

/// A day by which the person has outgrown the limb by this length, as the forecast says.
typedef struct sf_StageGrowth {
    const char *step; ///< "remind", "warn", "alarm"
    double short_by;  ///< m
    char date[11];
} sf_StageGrowth;

/// What is known beside this limb's own facts.
typedef struct sf_StageAround {
    sf_StageGrowth growth[SF_STAGE_GROWTH_DUES]; ///< in the order of time
    size_t growth_count;
    bool proof_held;         ///< a squeeze proof held for this lot, oven setting and forming person, on another limb
    int other_may_be_loaded; ///< the other limb of a person with two: 1 yes, -1 no, 0 not known
} sf_StageAround;

typedef enum sf_StageStatus { SF_STAGE_SHUT, SF_STAGE_OPEN, SF_STAGE_DONE, SF_STAGE_AGAIN } sf_StageStatus;

typedef struct sf_NeedState {
    const sf_StageNeed *need; ///< NULL: the signature
    const char *text;
    bool met, opens;
    const char *why; ///< what exactly is missing; NULL when met
} sf_NeedState;

typedef struct sf_StageState {
    const sf_Stage *stage;
    sf_StageStatus status;
    sf_NeedState needs[SF_STAGE_MOST_NEEDS + 1];
    size_t need_count;
    const char *why_shut, *opens_by; ///< NULL when nothing holds it
    int64_t closed_by;               ///< the fact that closed it; 0: none
} sf_StageState;

typedef struct sf_StageFlag {
    const char *code, *text, *since;
    int64_t fact; ///< 0: none
    bool kept;    ///< stays visible for ever
    bool grave;   ///< speaks against body weight or home wear
} sf_StageFlag;

typedef struct sf_StageDue {
    const char *what, *rule;
    char date[11];
    bool overdue;
    double short_by; ///< m; NaN: no length is meant
} sf_StageDue;

enum { SF_STAGE_MOST_FLAGS = 400, SF_STAGE_MOST_DUES = 8 };

typedef struct sf_LimbState {
    sf_Arena *arena;
    sf_StageState stages[SF_STAGE_MOST]; ///< those of one limb, in order
    size_t stage_count;
    size_t next;             ///< index of the stage of the next action; SF_STAGE_NONE: nothing to do now
    const char *next_action; ///< a sentence
    sf_StageFlag *flags;
    size_t flag_count;
    sf_StageDue dues[SF_STAGE_MOST_DUES];
    size_t due_count;
    int64_t *out_of_order; ///< ids of the facts that were
    size_t out_of_order_count;
    bool out_of_use;
    bool fit_to_load;   ///< nothing about this limb itself forbids body weight (the other side not asked)
    bool may_be_loaded; ///< the same with the other side, and the foot is on
    bool may_walk;      ///< a walk may start now
    bool may_go_home;
    const char *before_walk; ///< what to look at before the next walk; NULL: nothing is owed
} sf_LimbState;

/// Works out the state at the time `now` (facts that happened later are not seen). `limb` is the root of a limb
/// document. SF_E_MEMORY, SF_E_INPUT when `now` is no time. Free with destroy.
sf_Status sf_limb_state_make(sf_LimbState **state, const sf_StageTable *table, sf_DocNode limb,
                             const sf_StageFact *facts, size_t count, const sf_StageAround *around, const char *now,
                             sf_Error *err) SF_MUST_USE;
void sf_limb_state_destroy(sf_LimbState **state);

/// The state as JSON: stages, next_action, flags, due, out_of_order, out_of_use, fit_to_load, may_be_loaded, may_walk,
/// may_go_home, before_walk, safety. Owned by the caller.
sf_Json *sf_limb_state_json(const sf_LimbState *state);

const sf_StageState *sf_limb_state_stage(const sf_LimbState *state, const char *name); ///< NULL: no such stage
bool sf_limb_state_flagged(const sf_LimbState *state, const char *code);
const char *sf_stage_status_word(sf_StageStatus status);
