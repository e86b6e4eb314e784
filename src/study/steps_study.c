// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/steps_study.h"

#include "gait/steps.h"
#include "study/result.h"

#include <math.h>
#include <string.h>

enum { MOST_LISTED = 1000 };

static const char *const SIDE_WORDS[] = { "left", "right" };

static sf_Json *pair_json(const double value[2], double factor)
{
    sf_Json *json = sf_json_object();
    for (int side = 0; side < 2; side++)
        sf_json_set_number(json, SIDE_WORDS[side], value[side] * factor);
    return json;
}

static sf_Json *interval_json(const sf_StepGroup *g)
{
    sf_Json *json = sf_json_object();
    for (int side = 0; side < 2; side++) {
        if (!isfinite(g->cv[side])) {
            sf_json_set_null(json, SIDE_WORDS[side]);
            continue;
        }
        sf_json_set(json, SIDE_WORDS[side], sf_json_pair(100 * g->cv_low[side], 100 * g->cv_high[side]));
    }
    return json;
}

static sf_Json *symmetry_json(const sf_StepGroup *g, const sf_StepsAsk *ask)
{
    bool right_first = ask->prosthetic == SF_STEPS_SIDE_RIGHT;
    double a = g->step_time[right_first], b = g->step_time[!right_first];
    sf_Json *json = sf_json_object();
    sf_json_set_number(json, "ratio", a / b);
    sf_json_set_number(json, "index_percent", 100 * (a - b) / (0.5 * (a + b)));
    sf_json_set_text(json, "order", ask->prosthetic ? "prosthetic over sound" : "left over right");
    return json;
}

// The figures of one group, set into `json`. Returns whether stance times are known.
static bool set_figures(sf_Json *json, const sf_StepGroup *g, const sf_StepsAsk *ask, bool sides_known)
{
    sf_StepGroup shown = *g;
    for (int side = 0; side < 2; side++) {
        if (ask->taps || !sides_known)
            shown.cv[side] = NAN;
        if (!sides_known)
            shown.step_time[side] = shown.stance_time[side] = NAN;
    }
    sf_json_set_whole(json, "steps", (int64_t)g->steps);
    sf_json_set_whole(json, "strides", (int64_t)g->strides);
    sf_json_set_whole(json, "passes", (int64_t)g->passes);
    sf_json_set(json, "step_time_s", pair_json(shown.step_time, 1));
    sf_json_set_number(json, "step_time_either_s", g->one_sided ? NAN : g->median_step);
    bool stance = isfinite(shown.stance_time[0]) || isfinite(shown.stance_time[1]);
    if (stance)
        sf_json_set(json, "stance_time_s", pair_json(shown.stance_time, 1));
    else
        sf_json_set_null(json, "stance_time_s");
    if (isfinite(shown.step_time[0]) && isfinite(shown.step_time[1]))
        sf_json_set(json, "symmetry", symmetry_json(&shown, ask));
    else
        sf_json_set_null(json, "symmetry");
    sf_json_set(json, "cv_percent", pair_json(shown.cv, 100));
    sf_json_set(json, "cv_interval_percent", interval_json(&shown));
    const double strides[2] = { (double)g->strides_of[0], (double)g->strides_of[1] };
    const double odd[2] = { (double)g->odd_strides_of[0], (double)g->odd_strides_of[1] };
    sf_json_set(json, "strides_used", pair_json(strides, 1));
    sf_json_set(json, "odd_strides_left_out", pair_json(odd, 1));
    sf_json_set_whole(json, "missed_steps", (int64_t)g->missed);
    sf_json_set_whole(json, "double_contacts", (int64_t)g->doubles);
    sf_json_set_whole(json, "pauses", (int64_t)g->pauses);
    return stance;
}

static void note_counts(sf_Result *r, const sf_StepGroup *g, const sf_StepsAsk *ask, bool sides_known)
{
    const char *where = g->support == SF_WALK_UNSAID ? "" : sf_footfall_support_word(g->support);
    const char *gap = *where ? ": " : "";
    if (!sides_known) {
        sf_result_note(r,
                       "%s%sleft and right are null because the side of the first contact was not told (--first-side)",
                       where, gap);
        return;
    }
    for (int side = 0; side < 2; side++) {
        if (ask->taps)
            sf_result_note(
                r, "%s%scv_percent.%s: null because steps tapped by hand cannot resolve a variation of 2 to 3 %%",
                where, gap, SIDE_WORDS[side]);
        else if (g->strides_of[side] < SF_STEPS_REFUSE_BELOW)
            sf_result_note(r, "%s%scv_percent.%s: null because %zu strides are too few; %d are needed", where, gap,
                           SIDE_WORDS[side], g->strides_of[side], SF_STEPS_REFUSE_BELOW);
        else if (g->strides_of[side] < SF_STEPS_WARN_BELOW)
            sf_result_note(r, "%s%scv_percent.%s: weak on %zu strides; %d or more are better", where, gap,
                           SIDE_WORDS[side], g->strides_of[side], SF_STEPS_WARN_BELOW);
        if (g->steps_of[side] == 0)
            sf_result_note(r, "%s%sstep_time_s.%s: null because no whole step was left", where, gap, SIDE_WORDS[side]);
        else if (g->steps_of[side] < SF_STEPS_MEAN_FROM)
            sf_result_note(r, "%s%sstep_time_s.%s: unsteady on %zu steps; %d or more are better", where, gap,
                           SIDE_WORDS[side], g->steps_of[side], SF_STEPS_MEAN_FROM);
    }
}

static void set_lists(sf_Result *r, const sf_StepReport *report)
{
    static const char *const kinds[] = { "missed-step", "double-contact", "pause" };
    sf_Json *odd = sf_json_array(), *gaps = sf_json_array();
    for (size_t i = 0; i < report->odd_count && i < MOST_LISTED; i++) {
        const sf_OddStep *o = &report->odd[i];
        sf_Json *item = sf_json_object();
        sf_json_set_whole(item, "index", (int64_t)o->index);
        sf_json_set_number(item, "time_s", o->time);
        sf_json_set_text(item, "side", o->side ? "R" : "L");
        sf_json_set_number(item, "value_s", o->value);
        sf_json_set_number(item, "robust_z", o->robust_z);
        sf_json_add(odd, item);
    }
    for (size_t i = 0; i < report->gap_count && i < MOST_LISTED; i++) {
        const sf_StepGap *g = &report->gaps[i];
        sf_Json *item = sf_json_object();
        sf_json_set_whole(item, "index", (int64_t)g->index);
        sf_json_set_number(item, "time_s", g->time);
        sf_json_set_text(item, "side", g->side ? "R" : "L");
        sf_json_set_text(item, "kind", kinds[g->kind]);
        sf_json_set_number(item, "value_s", g->length);
        sf_json_add(gaps, item);
    }
    sf_json_set(r->json, "odd_steps", odd);
    sf_json_set(r->json, "gaps", gaps);
    if (report->odd_count > MOST_LISTED)
        sf_result_note(r, "odd_steps: the first %d of %zu are listed", MOST_LISTED, report->odd_count);
    if (report->gap_count > MOST_LISTED)
        sf_result_note(r, "gaps: the first %d of %zu are listed", MOST_LISTED, report->gap_count);
}

// With several kinds of support there is no one figure: the whole is null and each stands by itself.
static void set_mixed(sf_Result *r, const sf_StepReport *report)
{
    static const char *const none[] = { "step_time_s", "step_time_either_s", "stance_time_s",
                                        "symmetry",    "cv_percent",         "cv_interval_percent" };
    size_t steps = 0, strides = 0, passes = 0;
    for (size_t i = 0; i < report->group_count; i++) {
        steps += report->groups[i].steps;
        strides += report->groups[i].strides;
        passes += report->groups[i].passes;
    }
    sf_json_set_whole(r->json, "steps", (int64_t)steps);
    sf_json_set_whole(r->json, "strides", (int64_t)strides);
    sf_json_set_whole(r->json, "passes", (int64_t)passes);
    for (size_t i = 0; i < sizeof none / sizeof *none; i++)
        sf_json_set_null(r->json, none[i]);
    sf_result_note(r, "step_time_s, stance_time_s, symmetry, cv_percent: null because passes between bars, on a stick "
                      "and free are never "
                      "put together; see by_support");
}

static void fill(sf_Result *r, const sf_StepReport *report, const sf_StepsAsk *ask, bool sides_known)
{
    sf_Json *groups = sf_json_array();
    bool stance = false;
    for (size_t i = 0; i < report->group_count; i++) {
        const sf_StepGroup *g = &report->groups[i];
        sf_Json *json = sf_json_object();
        if (g->support == SF_WALK_UNSAID)
            sf_json_set_null(json, "support");
        else
            sf_json_set_text(json, "support", sf_footfall_support_word(g->support));
        set_figures(json, g, ask, sides_known);
        sf_json_add(groups, json);
        note_counts(r, g, ask, sides_known);
    }
    if (report->group_count == 1)
        stance = set_figures(r->json, &report->groups[0], ask, sides_known);
    else
        set_mixed(r, report);
    if (report->group_count == 1 && !stance)
        sf_result_note(r, "stance_time_s: null because toe-off is not known (column toe_off_s)");
    sf_json_set(r->json, "by_support", groups);
    set_lists(r, report);
    sf_result_assume(r, "the first and last %zu step(s) of every pass, and those beside a pause, are left out",
                     ask->drop_ends);
    sf_result_note(r, "timing tells about the walking, not about the alignment: it never grades a setting");
    sf_result_note(r, "index in odd_steps and gaps counts the footfalls from 0");
}

static bool is_acceleration(const char *text, size_t size)
{
    // The header alone decides: an acceleration names ax, a footfall table names side.
    size_t i = 0;
    while (i < size && (text[i] == '#' || text[i] == '\n' || text[i] == '\r')) {
        while (i < size && text[i] != '\n')
            i++;
        i += i < size;
    }
    size_t end = i;
    while (end < size && text[end] != '\n')
        end++;
    for (; i + 2 <= end; i++)
        if (text[i] == 'a' && text[i + 1] == 'x' && (i + 2 == end || strchr(", \r\t", text[i + 2])))
            return true;
    return false;
}

static sf_Status find_footfalls(sf_Result *r, sf_FootfallList *list, const char *name, const char *text, size_t size,
                                const sf_StepsAsk *ask, sf_Error *err)
{
    sf_Acceleration a;
    SF_TRY(sf_acceleration_read(&a, name, text, size, err));
    sf_FootSide first = ask->first == SF_STEPS_SIDE_RIGHT ? SF_FOOT_RIGHT : SF_FOOT_LEFT;
    sf_Status status = sf_acceleration_footfalls(list, &a, ask->place, first, err);
    if (a.recorded_rate < 95)
        sf_result_note(r, "recorded at %.0f Hz; 100 Hz or more is better", a.recorded_rate);
    sf_acceleration_free(&a);
    return status;
}

sf_Status sf_steps_find(sf_Json **json, sf_StepsFinding *finding, const char *name, const char *text, size_t size,
                        const sf_StepsAsk *ask, sf_Error *err)
{
    *json = NULL;
    *finding = (sf_StepsFinding){ .sides_known = true };
    sf_Result result = { 0 };
    sf_Status status;
    SF_TRY_DONE(sf_result_begin(&result, err));
    sf_result_input(&result, text, size);
    if (is_acceleration(text, size)) {
        finding->sides_known = ask->first != SF_STEPS_SIDE_UNSAID;
        SF_TRY_DONE(find_footfalls(&result, &finding->list, name, text, size, ask, err));
        sf_json_set_text(result.json, "kind", "acceleration");
        sf_result_assume(&result, "sensor at the %s (--sensor)", ask->place == SF_SENSOR_WAIST ? "waist" : "shank");
    } else {
        SF_TRY_DONE(sf_footfall_read(&finding->list, name, text, size, err));
        sf_json_set_text(result.json, "kind", ask->taps ? "taps" : "footfalls");
    }
    sf_json_set_whole(result.json, "footfalls", (int64_t)finding->list.count);
    SF_TRY_DONE(sf_steps_analyse(&finding->report, &finding->list, ask->drop_ends, err));
    fill(&result, &finding->report, ask, finding->sides_known);
    *json = sf_result_finish(&result, NULL);
done:
    sf_result_drop(&result);
    if (status != SF_OK)
        sf_steps_finding_free(finding);
    return status;
}

void sf_steps_finding_free(sf_StepsFinding *finding)
{
    sf_footfall_free(&finding->list);
    sf_steps_free(&finding->report);
}

sf_Status sf_steps_study(sf_Json **json, const char *name, const char *text, size_t size, const sf_StepsAsk *ask,
                         sf_Error *err)
{
    sf_StepsFinding finding;
    sf_Status status = sf_steps_find(json, &finding, name, text, size, ask, err);
    sf_steps_finding_free(&finding);
    return status;
}
