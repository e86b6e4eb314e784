// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/strength_growth.h"

#include "base/alloc.h"
#include "base/units.h"
#include "growth/spacer_stack.h"
#include "study/growth_plan.h"
#include "study/growth_strength.h"

#include <math.h>

static const char key[] = "at_interval_end";
static const double shank_fraction = 0.285; // of stature: knee height where no reading tells (Drillis and Contini)

// Now and the end of the interval.
typedef struct Interval {
    sf_GrowthModel model;
    sf_GrowthReadings readings;
    sf_StaturePaths statures;
    sf_KneePaths knees;
    sf_Date end;
    double stature[2], knee[2];
    double added; // height of spacers put in, m
    bool from_stock, short_known;
    sf_Result scratch; // takes what the growth study says itself
} Interval;

static sf_Status forecast(Interval *at, int months, sf_Error *err)
{
    const sf_GrowthReadings *r = &at->readings;
    at->end = sf_date_add_months(r->as_of, months);
    double ages[2] = { r->age, sf_date_years_between(r->birth, at->end) };
    SF_TRY(sf_stature_paths_create(&at->statures, &at->model.reference, &at->model.correlation, r->sex, r->statures,
                                   r->stature_count, ages, 2, err));
    SF_TRY(sf_knee_paths_create(&at->knees, &at->model, r->sex, r->statures, r->stature_count, r->knees, r->knee_count,
                                ages, 2, err));
    for (size_t i = 0; i < 2; i++) {
        sf_Mixture m = { 0 };
        SF_TRY(sf_stature_paths_reading(&at->statures, i, 0, &m, err));
        at->stature[i] = sf_mixture_mean(&m);
        sf_mixture_free(&m);
        SF_TRY(sf_knee_paths_at(&at->knees, i, 0, &m, err));
        at->knee[i] = sf_mixture_mean(&m);
        sf_mixture_free(&m);
    }
    return SF_OK;
}

// What the stack must grow by: what the limb will be short by then, from the shop's own stock where that makes it.
static sf_Status stack(Interval *at, const sf_Limb *limb, sf_Error *err)
{
    sf_SpacerKind kinds[SF_STACK_MAX_KINDS];
    sf_SpacerStack found;
    const sf_GrowthReadings *r = &at->readings;
    at->short_known = at->knees.has_level && isfinite(r->prosthesis_height);
    at->added = at->short_known ? at->knee[1] + r->target - r->prosthesis_height
                                : shank_fraction * (at->stature[1] - at->stature[0]);
    at->added = fmax(at->added, 0);
    double now = sf_growth_spacers_now(limb);
    size_t count = sf_growth_stock(limb, kinds);
    SF_TRY(sf_spacer_stack_find(kinds, count, now + at->added, SF_STACK_TOLERANCE, SF_STACK_TOLERANCE, &found, err));
    at->from_stock = found.found;
    if (found.found)
        at->added = found.total - now;
    return SF_OK;
}

static sf_Status solve(Interval *at, sf_Result *result, const sf_Limb *limb, const sf_StrengthAsk *ask, sf_Error *err)
{
    sf_GrowthStrength strength;
    char date[SF_DATE_TEXT];
    int months = ask->interval_months > 0 ? ask->interval_months : SF_STRENGTH_INTERVAL_MONTHS;
    SF_TRY(forecast(at, months, err));
    SF_TRY(stack(at, limb, err));
    double ratio = at->stature[1] / at->stature[0];
    SF_TRY(sf_growth_strength(&strength, limb, at->added, ratio, err));
    sf_Json *json = sf_json_object();
    sf_date_format(at->readings.as_of, date);
    sf_json_set_text(json, "as_of", date);
    sf_date_format(at->end, date);
    sf_json_set_text(json, "date", date);
    sf_json_set_whole(json, "months", months);
    sf_json_set_number(json, "stature_mm", at->stature[1] / SF_MM);
    sf_json_set_number(json, "body_mass_kg", strength.mass);
    sf_json_set_number(json, "spacers_added_mm", at->added / SF_MM);
    sf_json_set_flag(json, "from_stock", at->from_stock);
    sf_json_set_text(json, "level", strength.level);
    sf_json_set_text(json, "governing_case", strength.governing);
    sf_json_set_number(json, "elastic_factor", strength.factor);
    sf_json_set_number(json, "collapse_factor", strength.collapse_factor);
    sf_json_set_text(
        json, "text",
        at->short_known
            ? "the limb as it will stand then: the spacers the forecast calls for, mass grown with stature to "
              "the power 2.5 (judgement); choose the level by this mass"
            : "the limb as it will stand then: spacers for the shank's share of the expected growth, because "
              "it is not known how high the prosthesis stands; mass grown with stature to the power 2.5 "
              "(judgement); choose the level by this mass");
    sf_json_set(result->json, key, json);
    return SF_OK;
}

// Whether there is anything to forecast; else the reason.
static const char *why_not(const sf_Limb *limb)
{
    const sf_LimbPerson *person = &limb->data.person;
    if (!person->birth_date || person->stature_count == 0)
        return "only for a growing person with person.birth_date, person.sex and person.stature_history";
    return NULL;
}

sf_Status sf_strength_set_interval_end(sf_Result *result, const sf_Limb *limb, const sf_StrengthAsk *ask, sf_Error *err)
{
    const char *reason = why_not(limb);
    sf_Date as_of = sf_date_today();
    sf_Error why = { 0 };
    if (ask->as_of)
        SF_TRY(sf_date_parse(&as_of, ask->as_of, "as_of", err));
    if (reason) {
        sf_result_null(result, key, reason);
        return SF_OK;
    }
    Interval *at = sf_alloc(1, sizeof *at);
    if (!at)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory for the strength at the end of the interval");
    sf_Status status = sf_result_begin(&at->scratch, &why);
    if (status == SF_OK)
        status = sf_growth_model_builtin(&at->model, &why);
    if (status == SF_OK)
        status = sf_growth_gather(&at->readings, limb, &at->model, as_of, &at->scratch, &why);
    bool grows = status == SF_OK &&
                 at->readings.age >= sf_stature_reference_first_age(&at->model.reference, at->readings.sex) &&
                 at->readings.age < sf_stature_reference_last_age(&at->model.reference, at->readings.sex);
    if (status == SF_OK && !grows)
        sf_result_null(result, key, "the person's age lies outside the growth reference: nothing grows here");
    if (grows)
        status = solve(at, result, limb, ask, &why);
    sf_json_destroy(&at->readings.warnings);
    sf_stature_paths_free(&at->statures);
    sf_knee_paths_free(&at->knees);
    sf_result_drop(&at->scratch);
    sf_free(at);
    if (status == SF_E_MEMORY)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "%s", why.text);
    if (status != SF_OK)
        sf_result_null(result, key, why.text);
    return SF_OK;
}
