// SPDX-License-Identifier: GPL-3.0-or-later
// Walking trials and what to change next. Rules and their reasons: docs/theory/advice.md.
#pragma once

#include "align/setting.h"
#include "align/sign.h"

enum { SF_TRIAL_MOST = 200, SF_TRIAL_MOST_SIGNS = 24, SF_ADVICE_MOST_OTHERS = 8 };

typedef enum sf_Skin { SF_SKIN_CLEAR = 0, SF_SKIN_FADES, SF_SKIN_STAYS, SF_SKIN_BROKEN } sf_Skin;
typedef enum sf_Support { SF_SUPPORT_BARS = 0, SF_SUPPORT_STICK, SF_SUPPORT_FREE } sf_Support;

typedef struct sf_TrialSign {
    size_t sign, phase; ///< indices into the sign table
    int strength;       ///< 1 slight, 2 clear, 3 strong
} sf_TrialSign;

typedef struct sf_Trial {
    sf_Settings settings, after; ///< before and after the walk: they can slip
    sf_TrialSign signs[SF_TRIAL_MOST_SIGNS];
    size_t sign_count;
    sf_Skin skin;
    double pain; ///< 0-10, NaN when not asked
    bool insensate;
    sf_Support support;
    bool assistant, witness_broken;
    double holding_torque, sock_ply, minutes_since_donning, comfort; ///< N.m, plies, min, 0-10; NaN when not given
} sf_Trial;

typedef struct sf_TrialSet {
    const sf_Trial *trials;
    size_t count;
    sf_Travel travel;
    double foot_length;                 ///< m
    double socket_over_clamp;           ///< socket base above the cut end of the pylon, m: what a tilt is worth
    bool excluded[SF_SIGN_MOST_CHECKS]; ///< checks of the sign table that were made and found in order
} sf_TrialSet;

typedef enum sf_Plane { SF_PLANE_SAGITTAL = 0, SF_PLANE_ROTATION, SF_PLANE_CORONAL, SF_PLANE_COUNT } sf_Plane;

typedef enum sf_AdviceKind {
    SF_ADVICE_CHANGE = 0,  ///< change one setting
    SF_ADVICE_WALK_AGAIN,  ///< nothing speaks for a change yet: walk once more as it is
    SF_ADVICE_CHECK_FIRST, ///< something other than alignment comes first
    SF_ADVICE_FIT_FIRST,   ///< stop: skin or pain
    SF_ADVICE_SETTLED,     ///< stop: every bracket is inside its resolution
    SF_ADVICE_NO_GAIN,     ///< stop: three trials brought nothing
    SF_ADVICE_LACKING      ///< only a motion that this adapter lacks would help
} sf_AdviceKind;

/// One possible change, in the setting's own unit (deg or mm).
typedef struct sf_Proposal {
    sf_Setting setting;
    double change, from, to;
    double gain;                        ///< in worth, for comparing
    double chance_before, chance_after; ///< that the plane is then within the zone
} sf_Proposal;

typedef enum sf_StopSkin { SF_STOP_NONE = 0, SF_STOP_SKIN, SF_STOP_PAIN } sf_StopSkin;

/// What is advised after one trial.
typedef struct sf_Suggestion {
    sf_AdviceKind kind;
    sf_StopSkin stop_for;
    sf_Proposal first; ///< for SF_ADVICE_CHANGE
    sf_Plane plane;
    bool for_sole; ///< the change answers a loaded border of the sole
    int toward;    ///< +1: the foot stands too little that way, -1: too far (sign of the wanted place change)
    sf_Proposal others[SF_ADVICE_MOST_OTHERS];
    size_t other_count;
    bool lacking[SF_PLANE_COUNT];          ///< the plane needs a motion the adapter lacks or has used up
    double lacking_change[SF_PLANE_COUNT]; ///< mm of foot shift that would answer it, + forward or outward
    bool heel_toe_conflict;                ///< heel and toe signs ask opposite moves: no shift mends both
    bool edge_conflict;                    ///< border of the sole and thrust ask opposite clamp angles
    bool contradiction[SF_PLANE_COUNT];    ///< findings of different walks disagree
    double chance[SF_PLANE_COUNT];         ///< that the plane is within the zone as it stands
    bool slipped;                          ///< the settings moved during the walk, or the witness mark broke
} sf_Suggestion;

typedef struct sf_Bracket {
    double low, high, now; ///< the setting's unit
    bool contradiction;
} sf_Bracket;

/// Everything after the last trial, and what was said after each one before.
typedef struct sf_Advice {
    sf_Suggestion *said; ///< one per trial, owned; the last is what to do now
    size_t count;
    sf_Bracket brackets[SF_SETTING_COUNT];
    double resolution[SF_SETTING_COUNT]; ///< what brackets are narrowed to, in the setting's unit
} sf_Advice;

/// Coverage of the brackets.
extern const double SF_ADVICE_COVERAGE;

/// Works through the trials in order. SF_E_MEMORY. Free with sf_advice_free.
sf_Status sf_advice_make(sf_Advice *advice, const sf_TrialSet *set, const sf_SignTable *table,
                         sf_Error *err) SF_MUST_USE;
void sf_advice_free(sf_Advice *advice); ///< safe to call twice

/// The place of the foot that settings mean, relative to `start`, tilts counted by what they move the socket.
sf_Place sf_advice_place(const sf_TrialSet *set, const sf_Settings *start, const sf_Settings *settings);

/// Levels -3..3 that a trial's signs give each effect, and how much they weigh; no sign: level 0.
void sf_advice_levels(const sf_SignTable *table, const sf_Trial *trial, int level[SF_EFFECT_COUNT]);

/// Whether the settings slipped during the walk.
bool sf_trial_slipped(const sf_Trial *trial);

/// The plane a setting belongs to.
sf_Plane sf_advice_plane(sf_Setting setting);
