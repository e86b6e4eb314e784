// SPDX-License-Identifier: GPL-3.0-or-later
// Readings and forecast of one child: what result and chart are both made from. Internal to the growth study.
#pragma once

#include "study/growth_plan.h"

/// Large: on the heap, all zero before use.
typedef struct sf_GrowthLook {
    sf_GrowthModel model;
    sf_GrowthReadings readings;
    sf_GrowthCourse course;
} sf_GrowthLook;

/// Checks what is asked and reads the day (today when none is given). SF_E_USAGE, SF_E_INPUT.
sf_Status sf_growth_ask_check(const sf_GrowthAsk *ask, sf_Date *as_of, sf_Error *err) SF_MUST_USE;

/// Gathers the readings and solves the forecast for `months` and for the due dates' reach. Assumptions and notes go
/// into `result`. Errors of sf_growth_gather and of the paths come through. Free with sf_growth_look_free in any case.
sf_Status sf_growth_look(sf_GrowthLook *look, sf_Result *result, const sf_Limb *limb, sf_Date as_of, int months,
                         sf_Error *err) SF_MUST_USE;

/// Frees what it holds; safe to call twice.
void sf_growth_look_free(sf_GrowthLook *look);

/// The stated error of the newest stature reading: a further one is taken alike.
double sf_growth_next_reading_sd(const sf_GrowthReadings *readings);
