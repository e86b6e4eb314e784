// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/growth_study.h"

#include "base/alloc.h"
#include "base/progress.h"
#include "base/units.h"
#include "study/growth_look.h"

#include <math.h>

static const double EDGE = 0.05; ///< outside the interval on either side

// What is left of a difference of equal heights is no length.
static double in_mm(double length)
{
    return fabs(length) < 1e-9 ? 0 : length / SF_MM;
}

static void set_range(sf_Json *json, const char *value_key, const char *range_key, const sf_Mixture *mixture,
                      double shift)
{
    double low = sf_mixture_quantile(mixture, EDGE), high = sf_mixture_quantile(mixture, 1 - EDGE);
    sf_json_set_number(json, value_key, in_mm(sf_mixture_mean(mixture) + shift));
    sf_json_set(json, range_key, sf_json_pair(in_mm(low + shift), in_mm(high + shift)));
}

static void set_no_range(sf_Json *json, const char *value_key, const char *range_key)
{
    sf_json_set_null(json, value_key);
    sf_json_set_null(json, range_key);
}

/// One month of the forecast.
static sf_Status set_month(sf_Json *one, const sf_GrowthLook *s, size_t i, bool stature, bool knee, sf_Error *err)
{
    const sf_GrowthCourse *c = &s->course;
    char date[SF_DATE_TEXT];
    sf_Mixture m = { 0 };
    sf_date_format(c->date[i], date);
    sf_json_set_text(one, "date", date);
    SF_TRY(sf_stature_paths_reading(&c->statures, i, sf_growth_next_reading_sd(&s->readings), &m, err));
    if (stature)
        set_range(one, "stature_mm", "stature_interval_mm", &m, 0);
    else
        set_no_range(one, "stature_mm", "stature_interval_mm");
    sf_mixture_free(&m);
    double block = c->knees.level.kind == SF_KNEE_BLOCK ? s->readings.prosthesis_sd : 0;
    SF_TRY(sf_knee_paths_at(&c->knees, i, hypot(SF_KNEE_READING_SD, block), &m, err));
    if (knee)
        set_range(one, "knee_height_mm", "knee_height_interval_mm", &m, 0);
    else
        set_no_range(one, "knee_height_mm", "knee_height_interval_mm");
    sf_mixture_free(&m);
    return SF_OK;
}

static sf_Status set_forecast(sf_Result *result, const sf_GrowthLook *s, int months, sf_Error *err)
{
    const sf_GrowthCourse *c = &s->course;
    bool knee = c->knees.has_level && s->readings.knee_known, stature = s->readings.stature_count > 0;
    sf_Json *forecast = sf_json_array();
    sf_Status status = SF_OK;
    for (int i = 1; c->grows && status == SF_OK && i <= months; i++) {
        sf_Json *one = sf_json_object();
        status = sf_progress_tell(0.3 + 0.3 * i / months, "months ahead", err);
        if (status == SF_OK)
            status = set_month(one, s, (size_t)i, stature, knee, err);
        sf_json_add(forecast, one);
    }
    sf_json_set(result->json, "forecast", forecast);
    if (c->grows && !stature)
        sf_result_note(result, "forecast[].stature_mm: there is no stature reading (person.stature_history)");
    if (c->grows && !knee)
        sf_result_note(result,
                       "forecast[].knee_height_mm: there is no knee height of the sound side; a stature alone does "
                       "not tell it to better than 14 mm (person.knee_height_history)");
    return status;
}

static sf_Status set_level(sf_Result *result, const sf_GrowthLook *s, const sf_Limb *limb, double *short_now,
                           sf_Error *err)
{
    static const char *const words[] = { NULL, "history", "block", "field" };
    const sf_GrowthReadings *r = &s->readings;
    const sf_GrowthCourse *c = &s->course;
    sf_KneeSource source = sf_growth_level_source(r, limb);
    bool level = source != SF_KNEE_FROM_NOTHING;
    sf_Mixture m = { 0 };
    char date[SF_DATE_TEXT];
    *short_now = NAN;
    sf_json_set_text(result->json, "knee_height_source", words[source]);
    if (level) {
        // Back from the age to the day: the level was read on a whole day.
        long day = sf_date_days(r->as_of) - lround((r->age - c->knees.level.age) * SF_DATE_YEAR_DAYS);
        sf_date_format(sf_date_from_days(day), date);
    }
    sf_json_set_text(result->json, "knee_height_read", level ? date : NULL);
    if (level && r->knee_known)
        sf_json_set_number(result->json, "knee_height_now_mm", c->knee_mean[0] / SF_MM);
    else
        sf_json_set_null(result->json, "knee_height_now_mm");
    if (!c->short_known) {
        set_no_range(result->json, "short_now_mm", "short_now_interval_mm");
        return SF_OK;
    }
    SF_TRY(sf_knee_paths_at(&c->knees, 0, c->extra_sd, &m, err));
    *short_now = sf_mixture_mean(&m) + r->target - r->prosthesis_height;
    set_range(result->json, "short_now_mm", "short_now_interval_mm", &m, r->target - r->prosthesis_height);
    sf_mixture_free(&m);
    return SF_OK;
}

static sf_Status work(sf_GrowthLook *s, sf_Result *result, const sf_Limb *limb, sf_Date as_of, const sf_GrowthAsk *ask,
                      sf_Error *err)
{
    SF_TRY(sf_growth_look(s, result, limb, as_of, ask->months, err));
    char date[SF_DATE_TEXT];
    sf_date_format(as_of, date);
    sf_json_set_text(result->json, "as_of", date);
    sf_json_set_number(result->json, "age_years", s->readings.age);
    sf_json_set_whole(result->json, "months", ask->months);
    SF_TRY(set_forecast(result, s, ask->months, err));
    double short_now;
    sf_GrowthDay days[SF_GROWTH_STEPS];
    SF_TRY(set_level(result, s, limb, &short_now, err));
    SF_TRY(sf_growth_set_due(result, &s->course, &s->readings, ask, days, err));
    SF_TRY(sf_progress_tell(0.85, "spacer stacks", err));
    SF_TRY(sf_growth_set_stacks(result, limb, short_now, &s->course, ask, days, err));
    SF_TRY(sf_progress_tell(0.95, "limits", err));
    SF_TRY(sf_growth_set_limits(result, limb, &s->model, &s->course, &s->readings, &days[0], err));
    sf_json_set(result->json, "warnings", s->readings.warnings);
    s->readings.warnings = NULL;
    return SF_OK;
}

sf_Status sf_growth_ask_check(const sf_GrowthAsk *ask, sf_Date *as_of, sf_Error *err)
{
    if (ask->months < 1 || ask->months > SF_GROWTH_MONTHS_MAX)
        return SF_FAIL(err, SF_E_USAGE, "--months", "months must lie between 1 and %d", SF_GROWTH_MONTHS_MAX);
    for (int i = 0; i < SF_GROWTH_STEPS; i++)
        if (!(ask->short_by[i] > 0) || (i > 0 && !(ask->short_by[i] > ask->short_by[i - 1])))
            return SF_FAIL(err, SF_E_USAGE, "--remind-mm", "remind, warn and alarm must be above 0 and rise");
    *as_of = sf_date_today();
    return ask->as_of ? sf_date_parse(as_of, ask->as_of, "--as-of", err) : SF_OK;
}

sf_Status sf_growth_due(sf_GrowthDue due[SF_GROWTH_STEPS], const sf_Limb *limb, sf_Date from, sf_Error *err)
{
    const sf_GrowthAsk ask = SF_GROWTH_ASK_DEFAULT;
    sf_GrowthDay days[SF_GROWTH_STEPS] = { 0 };
    sf_Result result = { 0 };
    sf_Status status;
    sf_GrowthLook *look = sf_alloc(1, sizeof *look);
    if (!look)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    SF_TRY_DONE(sf_result_begin(&result, err));
    SF_TRY_DONE(sf_growth_look(look, &result, limb, from, ask.months, err));
    status = sf_growth_days(&look->course, &look->readings, &ask, days, err);
done:
    for (int i = 0; i < SF_GROWTH_STEPS; i++)
        due[i] = (sf_GrowthDue){ sf_growth_step_names[i], ask.short_by[i], days[i].found, days[i].date };
    sf_result_drop(&result);
    sf_growth_look_free(look);
    sf_free(look);
    return status;
}

sf_Status sf_growth_study(sf_Result *result, const sf_Limb *limb, const sf_GrowthAsk *ask, sf_Error *err)
{
    sf_Date as_of;
    SF_TRY(sf_growth_ask_check(ask, &as_of, err));
    sf_GrowthLook *study = sf_alloc(1, sizeof *study);
    if (!study)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    sf_Status status = work(study, result, limb, as_of, ask, err);
    sf_growth_look_free(study);
    sf_free(study);
    return status;
}
