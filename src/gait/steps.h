// SPDX-License-Identifier: GPL-3.0-or-later
// Step and stride times from footfalls: medians, symmetry, variation, gaps and odd steps. docs/theory/steps.md.
#pragma once

#include "gait/footfall.h"

enum {
    SF_STEPS_REFUSE_BELOW = 20, ///< strides of a side under which no variation is given
    SF_STEPS_WARN_BELOW = 50,   ///< strides of a side under which its variation is weak
    SF_STEPS_MEAN_FROM = 10     ///< steps of a side from which a middle value is steady
};

typedef enum sf_GapKind { SF_GAP_MISSED_STEP = 0, SF_GAP_DOUBLE_CONTACT, SF_GAP_PAUSE } sf_GapKind;

typedef struct sf_StepGap {
    size_t index;        ///< footfall at which it shows, from 0
    double time, length; ///< s
    sf_GapKind kind;
    unsigned char side;
} sf_StepGap;

typedef struct sf_OddStep {
    size_t index; ///< footfall that ends the step, from 0
    double time, value, robust_z;
    unsigned char side;
} sf_OddStep;

/// What became of one footfall: what ends with it.
typedef enum sf_ContactUse {
    SF_CONTACT_FIRST = 0, ///< nothing: it begins a pass, or the walk anew after a pause
    SF_CONTACT_STEP,      ///< a step (or, with one foot only, a stride) that counts
    SF_CONTACT_ODD,       ///< one that counts and is odd
    SF_CONTACT_END,       ///< one at the end of a stretch, left out
    SF_CONTACT_MISSED,    ///< a gap: a step is missing between it and the one before
    SF_CONTACT_DOUBLE     ///< nothing: the same foot again at once, left out
} sf_ContactUse;

/// The figures of the passes with one kind of support. What does not exist is NaN.
typedef struct sf_StepGroup {
    sf_WalkSupport support;
    size_t passes, footfalls, steps, strides;             ///< counted after what was dropped
    size_t steps_of[2], strides_of[2], odd_strides_of[2]; ///< strides_of: used for the variation
    double step_time[2], stride_time[2], stance_time[2];  ///< medians, s; the step ends with this side's contact
    double cv[2], cv_low[2], cv_high[2];                  ///< of stride times, shares, 95 % interval
    size_t missed, doubles, pauses;
    double median_step; ///< of both sides together
    bool one_sided;     ///< contacts of one foot only: strides, no steps
} sf_StepGroup;

typedef struct sf_StepReport {
    sf_StepGroup groups[SF_WALK_COUNT];
    size_t group_count;
    sf_StepGap *gaps; ///< owned, in order of time
    size_t gap_count;
    sf_OddStep *odd; ///< owned
    size_t odd_count;
    unsigned char *use; ///< sf_ContactUse of every footfall; owned
    double *length;     ///< time from the contact before that was kept to each footfall, s; NaN without; owned
} sf_StepReport;

/// Works through the footfalls. `drop_ends`: how many steps at either end of every pass, and beside every pause, are
/// left out (1 is the rule). SF_E_INPUT when there are too few footfalls for one step, SF_E_MEMORY. Free with
/// sf_steps_free.
sf_Status sf_steps_analyse(sf_StepReport *report, const sf_FootfallList *list, size_t drop_ends,
                           sf_Error *err) SF_MUST_USE;
void sf_steps_free(sf_StepReport *report); ///< safe to call twice
