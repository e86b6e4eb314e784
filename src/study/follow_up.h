// SPDX-License-Identifier: GPL-3.0-or-later
// When a released limb is looked at again: after 2 weeks, after 3 months, then every 6 months, a child's every 3.
// Internal to the rules of the stages.
#pragma once

#include "base/date.h"
#include "study/stage_history.h"

typedef struct sf_FollowUp {
    bool there; ///< false: not released, or retired
    sf_Date date;
    bool overdue;
    bool child;
    const char *rule;
} sf_FollowUp;

/// The next inspection of this limb at the history's `now`. An inspection fulfils a date when it comes at most a
/// quarter of the interval early; later ones count from themselves.
sf_FollowUp sf_follow_up_next(const sf_View *view);

/// Whether the person is a child by the table's years on that day; an unknown birth date is no child.
bool sf_follow_up_child(const sf_View *view);
