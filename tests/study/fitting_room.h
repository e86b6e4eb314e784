// SPDX-License-Identifier: GPL-3.0-or-later
// A simulated fitting room: people whose limbs start out of alignment, a walk that shows signs, an observer who misses
// and mistakes some, and somebody who changes one setting after each walk. It knows the mechanics (chain and stance
// model) and nothing of how a suggestion is found; whoever suggests sees the signs only.
#pragma once

#include "align/stance.h"

#include <stdint.h>

enum { ROOM_MAX_TRIALS = 15, ROOM_EFFECTS = 5 };

typedef enum RoomEffect {
    ROOM_SAGITTAL_30 = 0, ///< m of shift that would make the same moment; + too much extension (foot too far forward)
    ROOM_SAGITTAL_75,
    ROOM_CORONAL_30, ///< + too much valgus (foot too far out)
    ROOM_CORONAL_75,
    ROOM_TOE_OUT ///< rad, + too much toe-out
} RoomEffect;

/// One walk as it is written down: for each effect -3..3, the sign's direction and strength; 0 nothing seen.
typedef struct RoomWalk {
    double settings[SF_SETTING_COUNT]; ///< deg or mm, as the room's clamp reads
    int seen[ROOM_EFFECTS];
} RoomWalk;

/// A change of one setting (deg or mm). `none`: walk again as it is. `stop`: leave it so.
typedef struct RoomChange {
    sf_Setting setting;
    double change;
    bool none, stop;
    unsigned lacking; ///< bits 1 << sf_Setting: motions that the adviser says this adapter lacks
} RoomChange;

/// Whoever suggests: sees all walks so far.
typedef RoomChange (*RoomAdviser)(void *context, const RoomWalk *walks, int count);

typedef struct RoomOptions {
    uint64_t seed;
    int runs, trials;
    bool rotation_only; ///< the adapter can only turn
} RoomOptions;

typedef struct RoomResult {
    int runs, trials;
    double in_zone[ROOM_MAX_TRIALS +
                   1]; ///< share of runs that stand in the zone once the n-th trial was walked and acted on
    double reached[ROOM_MAX_TRIALS + 1]; ///< share of runs that have stood in it by then
    double at_start;
    double mean_changes, stopped_outside; ///< share of runs that the adviser ended outside the zone
    int most_reversals;                   ///< most times that one setting of one run turned to and fro
    int need_other;                       ///< rotation-only: runs that need a motion the adapter lacks
    double named[ROOM_MAX_TRIALS + 1];    ///< of those, share where all needed planes were named by then
    double named_wrongly;                 ///< of the others, share where a lacking motion was named at all
} RoomResult;

RoomResult room_run(const RoomOptions *options, const sf_Stance *stance, RoomAdviser adviser, void *context);

/// Two plain advisers to compare with: one fixed step per sign (4 mm, 3 degrees), and a step graded by strength.
RoomChange room_one_step(void *context, const RoomWalk *walks, int count);
RoomChange room_graded(void *context, const RoomWalk *walks, int count);
