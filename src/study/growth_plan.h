// SPDX-License-Identifier: GPL-3.0-or-later
// What follows from a growth forecast: due dates, stacks, and which limit comes first. Internal to the growth study.
#pragma once

#include "growth/spacer_stack.h"
#include "study/growth_readings.h"
#include "study/growth_study.h"

enum { SF_GROWTH_NODES = SF_GROWTH_MONTHS_MAX + 1 };

/// The forecast on the same day of each month from the day of asking on; node 0 is that day.
typedef struct sf_GrowthCourse {
    size_t nodes;
    sf_Date date[SF_GROWTH_NODES];
    double age[SF_GROWTH_NODES];
    sf_StaturePaths statures;
    sf_KneePaths knees;
    bool grows;                        ///< the person is within the ages of the reference
    bool short_known;                  ///< the sound side's height against the prosthesis's is known
    double extra_sd;                   ///< of the prosthesis's own height
    double knee_mean[SF_GROWTH_NODES]; ///< m
    double stature_mean[SF_GROWTH_NODES];
} sf_GrowthCourse;

/// A day found, or the reason why not.
typedef struct sf_GrowthDay {
    bool found, past; ///< past: reached on or before the day of asking
    sf_Date date;
} sf_GrowthDay;

/// The first day on which `chance` of the short being at least `limit` is reached.
sf_Status sf_growth_day_of_chance(const sf_GrowthCourse *course, const sf_GrowthReadings *readings, double limit,
                                  double chance, sf_GrowthDay *day, sf_Error *err) SF_MUST_USE;

/// The days of `due` alone: those of an even chance; not found where nothing grows or the short is not known.
sf_Status sf_growth_days(const sf_GrowthCourse *course, const sf_GrowthReadings *readings, const sf_GrowthAsk *ask,
                         sf_GrowthDay days[SF_GROWTH_STEPS], sf_Error *err) SF_MUST_USE;

/// Sets `due`.
sf_Status sf_growth_set_due(sf_Result *result, const sf_GrowthCourse *course, const sf_GrowthReadings *readings,
                            const sf_GrowthAsk *ask, sf_GrowthDay days[SF_GROWTH_STEPS], sf_Error *err) SF_MUST_USE;

/// Sets `stacks`.
sf_Status sf_growth_set_stacks(sf_Result *result, const sf_Limb *limb, double short_now, const sf_GrowthCourse *course,
                               const sf_GrowthAsk *ask, const sf_GrowthDay days[SF_GROWTH_STEPS],
                               sf_Error *err) SF_MUST_USE;

/// Sets `limits` and `first_limit`.
sf_Status sf_growth_set_limits(sf_Result *result, const sf_Limb *limb, const sf_GrowthModel *model,
                               const sf_GrowthCourse *course, const sf_GrowthReadings *readings,
                               const sf_GrowthDay *length, sf_Error *err) SF_MUST_USE;

/// Spacers under the limb now, and these with the stock as kinds to stack from.
double sf_growth_spacers_now(const sf_Limb *limb);
size_t sf_growth_stock(const sf_Limb *limb, sf_SpacerKind kinds[SF_STACK_MAX_KINDS]);

/// A stack as {pieces_mm, total_mm, error_mm} set into `json`.
void sf_growth_set_stack(sf_Json *json, const sf_SpacerStack *stack);
