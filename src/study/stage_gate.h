// SPDX-License-Identifier: GPL-3.0-or-later
// Gates and needs of the stages at one view of the history. Internal to the rules of the stages.
#pragma once

#include "study/stage_history.h"

/// A yes or no, and what exactly is missing (in the history's arena; NULL when met, or when the need's text says it).
typedef struct sf_StageAnswer {
    bool met;
    const char *why;
} sf_StageAnswer;

/// What the rings of the present forming say together: the worst of them.
typedef struct sf_RingStanding {
    bool there; ///< any ring at all
    bool rejected, again, proof_failed, unsigned_accept, limited;
    bool proof_required, proof_passed;
    int64_t fact; ///< the ring that speaks hardest
    const char *number;
} sf_RingStanding;

sf_RingStanding sf_stage_rings(const sf_View *view);

/// `pending`: the fact whose order is judged (a walk may carry its own look at the holding screw); NULL: none.
sf_StageAnswer sf_stage_gate(const sf_View *view, sf_StageGate gate, const sf_StageFact *pending);

/// Whether a need holds at all for this limb, and whether it is met.
bool sf_stage_need_applies(const sf_View *view, const sf_StageNeed *need);
sf_StageAnswer sf_stage_need_met(const sf_View *view, const sf_StageNeed *need, const sf_StageFact *pending);

/// Whether a stage is done; with its closing fact (SIZE_MAX: none that counts).
bool sf_stage_is_done(const sf_View *view, size_t stage, size_t *closing);

/// Whether everything that opens the stage is met. A release against advice, by who may and with its reason, leaves
/// soft needs out: `pending` is that release.
bool sf_stage_is_open(const sf_View *view, size_t stage, const sf_StageFact *pending);

/// Whether a release says 'against advice' with a reason. Who may is asked elsewhere.
bool sf_release_against_advice(const sf_StageFact *fact);

bool sf_view_fixed(const sf_View *view);     ///< the permanent fixing is in
bool sf_view_two_sided(const sf_View *view); ///< the other side is prosthetic too

/// Whether a walk or check-out ended with skin or pain that stops walking; `why` says which.
bool sf_walk_stops(const sf_View *view, size_t walk, const char **why);

/// Whether the fact was out of order and lasting, and whether a licensed prosthetist has decided to leave it.
bool sf_fact_awaits_decision(const sf_View *view, size_t place);
size_t sf_fact_decision(const sf_View *view, size_t place); ///< the newest decision about it; SIZE_MAX: none

const char *sf_stage_say(const sf_History *history, const char *format, ...) SF_PRINTF(2, 3); ///< "" when out of memory
