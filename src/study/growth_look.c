// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/growth_look.h"
#include "base/progress.h"

#include <math.h>

static sf_Status make_course(sf_GrowthLook *s, int months, sf_Error *err)
{
    sf_GrowthCourse *c = &s->course;
    const sf_GrowthReadings *r = &s->readings;
    c->nodes = (size_t)(months > SF_GROWTH_DUE_MONTHS ? months : SF_GROWTH_DUE_MONTHS) + 1;
    for (size_t i = 0; i < c->nodes; i++) {
        c->date[i] = sf_date_add_months(r->as_of, (int)i);
        c->age[i] = sf_date_years_between(r->birth, c->date[i]);
    }
    SF_TRY(sf_stature_paths_create(&c->statures, &s->model.reference, &s->model.correlation, r->sex, r->statures,
                                   r->stature_count, c->age, c->nodes, err));
    SF_TRY(sf_knee_paths_create(&c->knees, &s->model, r->sex, r->statures, r->stature_count, r->knees, r->knee_count,
                                c->age, c->nodes, err));
    for (size_t i = 0; i < c->nodes; i++) {
        sf_Mixture m = { 0 };
        SF_TRY(sf_progress_tell(0.1 + 0.2 * (double)i / (double)c->nodes, "growth course", err));
        SF_TRY(sf_stature_paths_reading(&c->statures, i, 0, &m, err));
        c->stature_mean[i] = sf_mixture_mean(&m);
        sf_mixture_free(&m);
        SF_TRY(sf_knee_paths_at(&c->knees, i, 0, &m, err));
        c->knee_mean[i] = sf_mixture_mean(&m);
        sf_mixture_free(&m);
    }
    return SF_OK;
}

/// A person outside the ages of the reference does not grow here: the level is what was read last.
static void hold_still(sf_GrowthLook *s)
{
    sf_KneePaths *k = &s->course.knees;
    for (size_t i = 0; i < k->strands * k->nodes; i++) {
        k->mean[i] = k->level.height;
        k->variance[i] = 0;
    }
    for (size_t i = 0; i < s->course.nodes; i++)
        s->course.knee_mean[i] = k->level.height;
}

static void judge_course(sf_GrowthLook *s, sf_Result *result)
{
    sf_GrowthCourse *c = &s->course;
    const sf_GrowthReadings *r = &s->readings;
    double first = sf_stature_reference_first_age(&s->model.reference, r->sex);
    double last = sf_stature_reference_last_age(&s->model.reference, r->sex);
    c->grows = r->age >= first && r->age < last;
    c->short_known = c->knees.has_level && isfinite(r->prosthesis_height);
    c->extra_sd = c->knees.level.kind == SF_KNEE_BLOCK ? 0 : r->prosthesis_sd;
    if (!c->grows) {
        sf_result_note(result,
                       "forecast, due, limits: the growth reference reaches from %.0f to %.0f years, the person is "
                       "%.1f: nothing is forecast",
                       first, last, r->age);
        hold_still(s);
    }
    if (!c->knees.has_level)
        sf_result_note(result,
                       "short_now_mm, due: no knee height of the sound side and no levelling block on the present "
                       "length: stature alone sets no date (person.knee_height_history, or "
                       "person.levelling_block_history)");
    else if (!isfinite(r->prosthesis_height))
        sf_result_note(result, "short_now_mm, due: it is not known how high the prosthesis stands "
                               "(person.prosthesis_knee_height_mm, or a levelling block)");
}

sf_Status sf_growth_look(sf_GrowthLook *s, sf_Result *result, const sf_Limb *limb, sf_Date as_of, int months,
                         sf_Error *err)
{
    SF_TRY(sf_growth_model_builtin(&s->model, err));
    SF_TRY(sf_growth_gather(&s->readings, limb, &s->model, as_of, result, err));
    SF_TRY(make_course(s, months, err));
    judge_course(s, result);
    return SF_OK;
}

void sf_growth_look_free(sf_GrowthLook *s)
{
    sf_json_destroy(&s->readings.warnings);
    sf_stature_paths_free(&s->course.statures);
    sf_knee_paths_free(&s->course.knees);
}

double sf_growth_next_reading_sd(const sf_GrowthReadings *r)
{
    double age = -1, sd = SF_STATURE_READING_SD;
    for (size_t i = 0; i < r->stature_count; i++)
        if (r->statures[i].age > age) {
            age = r->statures[i].age;
            sd = r->statures[i].sd;
        }
    return sd;
}
