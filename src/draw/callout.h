// SPDX-License-Identifier: GPL-3.0-or-later
// Texts beside a round figure that tell of places on it, each with a leader. Internal to `draw`.
#pragma once

#include "draw/lettering.h"

enum { SF_CALLOUT_LINES = 3, SF_CALLOUT_TEXT = 48, SF_MAX_CALLOUTS = 5, SF_MAX_OBSTACLES = 4 };

typedef struct sf_Callout {
    sf_Spot target;
    sf_PaperMm gap; ///< how far the leader's head stays off the target; 0: it ends there, without a head
    char lines[SF_CALLOUT_LINES][SF_CALLOUT_TEXT]; ///< the first is the name, the others figures; "" for none
} sf_Callout;

typedef struct sf_CalloutField {
    sf_Box box;                         ///< call-outs stand at its left and right side
    sf_Spot centre;                     ///< of the figure
    sf_PaperMm keep;                    ///< radius that no text may cover
    sf_Box obstacles[SF_MAX_OBSTACLES]; ///< lettering that no leader may cross
    size_t obstacle_count;
} sf_CalloutField;

/// Tries all ways of sharing the call-outs between the sides, above and below the middle, and letters the one whose
/// leaders are short and cross neither text nor each other nor, where it can be helped, the figure. `count` at most
/// SF_MAX_CALLOUTS.
void sf_callouts_paint(sf_Sheet *sheet, const sf_CalloutField *field, const sf_Callout *callouts, size_t count);
