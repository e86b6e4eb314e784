// SPDX-License-Identifier: GPL-3.0-or-later
// Footfalls: when which foot came to the floor. Read from a table, from taps, or found in an acceleration.
#pragma once

#include "base/status.h"

#include <stdbool.h>
#include <stddef.h>

typedef enum sf_FootSide { SF_FOOT_LEFT = 0, SF_FOOT_RIGHT = 1 } sf_FootSide;
typedef enum sf_WalkSupport {
    SF_WALK_UNSAID = 0,
    SF_WALK_BARS,
    SF_WALK_STICK,
    SF_WALK_FREE,
    SF_WALK_COUNT
} sf_WalkSupport;

typedef struct sf_Footfall {
    double time;           ///< s
    double toe_off;        ///< of the same foot, s; NaN when not known
    unsigned pass;         ///< number of the pass, from 0 in the order of the table
    unsigned char side;    ///< sf_FootSide
    unsigned char support; ///< sf_WalkSupport
} sf_Footfall;

typedef struct sf_FootfallList {
    sf_Footfall *items; ///< owned
    size_t count;
    bool toe_off_known; ///< any toe-off was given
} sf_FootfallList;

/// Reads a table with the columns time_s, side (L or R) and, where given, pass, support (bars, stick, free) and
/// toe_off_s (may be blank). SF_E_PARSE, SF_E_MISSING or SF_E_INPUT with the line: unsorted or double times, another
/// side, support that changes within a pass. SF_E_MEMORY. Free with sf_footfall_free.
sf_Status sf_footfall_read(sf_FootfallList *list, const char *name, const char *text, size_t size,
                           sf_Error *err) SF_MUST_USE;

void sf_footfall_free(sf_FootfallList *list); ///< safe to call twice

/// "bars", "stick", "free"; "unsaid" for none.
const char *sf_footfall_support_word(sf_WalkSupport support);
