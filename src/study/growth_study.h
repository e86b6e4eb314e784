// SPDX-License-Identifier: GPL-3.0-or-later
// `growth`: forecast of stature and knee height, due dates, spacer plan, and which limit comes first.
#pragma once

#include "base/date.h"
#include "limb/limb.h"
#include "study/result.h"

enum { SF_GROWTH_MONTHS = 24, SF_GROWTH_MONTHS_MAX = 120, SF_GROWTH_DUE_MONTHS = 72, SF_GROWTH_STEPS = 3 };

typedef struct sf_GrowthAsk {
    const char *as_of;                ///< NULL: today
    int months;                       ///< 1 to SF_GROWTH_MONTHS_MAX
    double short_by[SF_GROWTH_STEPS]; ///< remind, warn, alarm, m
} sf_GrowthAsk;

/// 5, 10 and 15 mm (judgement; Friberg 1984 takes 5 mm as the limit below the knee).
#define SF_GROWTH_ASK_DEFAULT ((sf_GrowthAsk){ NULL, SF_GROWTH_MONTHS, { 0.005, 0.010, 0.015 } })

extern const char *const sf_growth_step_names[SF_GROWTH_STEPS]; ///< "remind", "warn", "alarm"

/// The day on which the limb is as likely as not to be short by a step's length; found false: not within
/// SF_GROWTH_DUE_MONTHS, or not known.
typedef struct sf_GrowthDue {
    const char *step;
    double short_by; ///< m
    bool found;
    sf_Date date;
} sf_GrowthDue;

/// The due dates alone, by the default steps, looking ahead from `from`. Errors of the study come through.
sf_Status sf_growth_due(sf_GrowthDue due[SF_GROWTH_STEPS], const sf_Limb *limb, sf_Date from,
                        sf_Error *err) SF_MUST_USE;

/// Sets every key of docs/growth.schema.json into the result. SF_E_USAGE, SF_E_INPUT, SF_E_MISSING, SF_E_RANGE,
/// SF_E_MEMORY.
sf_Status sf_growth_study(sf_Result *result, const sf_Limb *limb, const sf_GrowthAsk *ask, sf_Error *err) SF_MUST_USE;
