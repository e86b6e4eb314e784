// SPDX-License-Identifier: GPL-3.0-or-later
// What the signs of several walks say about where the foot belongs: a probability over the wanted sagittal place and
// over the wanted coronal place and toe-out, on a grid. docs/theory/advice.md.
#pragma once

#include <stdbool.h>
#include <stddef.h>

enum {
    SF_BELIEF_REACH = 60, ///< mm either side of the first trial
    SF_BELIEF_PLACES = 2 * SF_BELIEF_REACH,
    SF_BELIEF_TOE_REACH = 20, ///< degrees either side of the first trial
    SF_BELIEF_TOES = 2 * SF_BELIEF_TOE_REACH,
    SF_BELIEF_TABLE_STEPS = 20,
    SF_BELIEF_TABLE_HALF = 20 * SF_BELIEF_TABLE_STEPS
};

/// What a sign speaks of. Early is about 30 % of stance, late about 75 %.
typedef enum sf_Effect {
    SF_EFFECT_SAGITTAL_EARLY = 0, ///< + foot too far forward for the knee: too much extension
    SF_EFFECT_SAGITTAL_LATE,
    SF_EFFECT_CORONAL_EARLY, ///< + foot too far out: towards valgus
    SF_EFFECT_CORONAL_LATE,
    SF_EFFECT_TOE_OUT, ///< + too much toe-out
    SF_EFFECT_COUNT
} sf_Effect;

/// Where the foot stands for the knee, relative to the first trial (mm, degrees). A tilt counts by what it moves the
/// socket.
typedef struct sf_Place {
    double sagittal, coronal; ///< + foot forward, + foot outward
    double toe_out;
} sf_Place;

typedef struct sf_Belief {
    double sagittal[SF_BELIEF_PLACES];                 ///< sums to 1
    double coronal[SF_BELIEF_PLACES * SF_BELIEF_TOES]; ///< place by place, each with all toe-outs; sums to 1
    double lever[2];                                   ///< mm to the side per degree of toe-out, early and late
    /// Chance of level 0..3 for an error of (i - SF_BELIEF_TABLE_HALF) / SF_BELIEF_TABLE_STEPS zones.
    double chance[4][2 * SF_BELIEF_TABLE_HALF + 1];
} sf_Belief;

/// Largest error that shows no sign, and what brackets are narrowed to (judgement): mm and degrees.
extern const double SF_BELIEF_ZONE_MM, SF_BELIEF_ZONE_DEG;

/// Before any walk. `foot_length` in m sets the toe lever.
void sf_belief_start(sf_Belief *belief, double foot_length);

/// Takes in one effect of one walk at `place`: level -3..3 with the effect's sign, 0 when nothing was seen. `weight`
/// (0..1] is how much it counts.
void sf_belief_see(sf_Belief *belief, sf_Place place, sf_Effect effect, int level, double weight);

/// Chance that a foot at `place` is within the zone: in the sagittal plane; in the coronal plane early and late; in
/// toe-out.
double sf_belief_sagittal(const sf_Belief *belief, double sagittal);
double sf_belief_coronal(const sf_Belief *belief, double coronal, double toe_out);
double sf_belief_toe(const sf_Belief *belief, double toe_out);
double sf_belief_coronal_and_toe(const sf_Belief *belief, double coronal, double toe_out); ///< both at once

/// The same with a soft edge: 1 in the middle, falling slowly beyond the zone, so that a large step in the right
/// direction counts before it arrives. `coronal` holds place and toe-out together.
double sf_belief_sagittal_worth(const sf_Belief *belief, double sagittal);
double sf_belief_coronal_worth(const sf_Belief *belief, double coronal, double toe_out);

/// Central interval of the wanted place with this coverage, relative to the first trial (mm; degrees for toe-out).
void sf_belief_sagittal_bracket(const sf_Belief *belief, double coverage, double *low, double *high);
void sf_belief_coronal_bracket(const sf_Belief *belief, double coverage, double *low, double *high);
void sf_belief_toe_bracket(const sf_Belief *belief, double coverage, double *low, double *high);
