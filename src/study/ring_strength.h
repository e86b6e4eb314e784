// SPDX-License-Identifier: GPL-3.0-or-later
// What a measured ring means for the strength of one person's limb: the section of the sawn end in the pylon of the
// document, solved for the person's level and for ordinary walking at 0, 23 and 50 C.
#pragma once

#include "section/ring_decision.h"
#include "study/strength_cases.h"

enum { SF_RING_TEMPERATURES = 3 };

typedef struct sf_RingStrength {
    bool there;
    sf_RingLoad load; ///< what the decision reads
    struct {
        double temperature_c, proof_factor, walking_factor;
    } at[SF_RING_TEMPERATURES];
    char proof_case[40], governing_case[40];
    double collapse_factor;    ///< of the proof force, the worse condition, 23 C; NaN where no path could be followed
    double governing_factor;   ///< of the hardest case of the level, 23 C
    double station, direction; ///< where the proof's peak is: height m, limb angle rad
    char card[64];
    bool posterior_assumed;
    bool provisional; ///< something that release needs was assumed
} sf_RingStrength;

/// Solves it. `outline` is in the picture frame, `posterior` the picture angle of the posterior mark (NaN: taken at the
/// bottom of the picture). Assumptions go into `result`. Errors of sf_strength_input_make and sf_strength_cases_solve.
sf_Status sf_ring_strength_solve(sf_RingStrength *strength, const sf_Limb *limb, const sf_Outline *outline,
                                 double posterior, bool foot_side, sf_Result *result, sf_Error *err) SF_MUST_USE;

/// Sets "strength" into the result of a ring.
void sf_ring_strength_result(sf_Result *result, const sf_RingStrength *strength, const sf_RingDecision *decision);
