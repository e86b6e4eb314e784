// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/growth_plan.h"

#include "base/progress.h"
#include "base/units.h"
#include "study/growth_strength.h"

#include <math.h>
#include <stdio.h>

const char *const sf_growth_step_names[SF_GROWTH_STEPS] = { "remind", "warn", "alarm" };
static const double EARLY = 0.05, HALF = 0.5, LATE = 0.95; ///< chances at which a date and its interval are read
static const double ROUNDING = 1e-9;                       ///< of a chance
static const double LONG_ENOUGH = 1e-9;                    ///< m: less than that is not long

// ---- dates --------------------------------------------------------------------------------------------------------

static void set_date(sf_Json *json, const char *key, const sf_GrowthDay *day)
{
    char text[SF_DATE_TEXT];
    sf_date_format(day->date, text);
    sf_json_set_text(json, key, day->found ? text : NULL);
}

/// The day on which a quantity that starts at before and ends the month at after reaches `level`.
static sf_Date between(sf_Date from, sf_Date to, double before, double after, double level)
{
    double share = after > before ? (level - before) / (after - before) : 1;
    long a = sf_date_days(from), b = sf_date_days(to);
    return sf_date_from_days(a + lround(fmin(fmax(share, 0), 1) * (double)(b - a)));
}

sf_Status sf_growth_day_of_chance(const sf_GrowthCourse *course, const sf_GrowthReadings *readings, double limit,
                                  double chance, sf_GrowthDay *day, sf_Error *err)
{
    *day = (sf_GrowthDay){ 0 };
    double knee_at_limit = limit - readings->target + readings->prosthesis_height, before = 0;
    for (size_t i = 0; i < course->nodes; i++) {
        sf_Mixture mixture = { 0 };
        SF_TRY(sf_knee_paths_at(&course->knees, i, course->extra_sd, &mixture, err));
        double now = 1 - sf_mixture_below(&mixture, knee_at_limit);
        sf_mixture_free(&mixture);
        if (now >= chance - ROUNDING) {
            *day = (sf_GrowthDay){ true, i == 0,
                                   i == 0 ? course->date[0]
                                          : between(course->date[i - 1], course->date[i], before, now, chance) };
            return SF_OK;
        }
        before = now;
    }
    return SF_OK;
}

static void add_date(sf_Json *array, const sf_GrowthDay *day)
{
    char text[SF_DATE_TEXT];
    sf_date_format(day->date, text);
    if (day->found)
        sf_json_add_text(array, text);
    else
        sf_json_add_number(array, NAN); // written as null
}

sf_Status sf_growth_days(const sf_GrowthCourse *course, const sf_GrowthReadings *readings, const sf_GrowthAsk *ask,
                         sf_GrowthDay days[SF_GROWTH_STEPS], sf_Error *err)
{
    for (int i = 0; i < SF_GROWTH_STEPS; i++) {
        days[i] = (sf_GrowthDay){ 0 };
        if (course->grows && course->short_known)
            SF_TRY(sf_growth_day_of_chance(course, readings, ask->short_by[i], HALF, &days[i], err));
    }
    return SF_OK;
}

/// Date and interval of one limit, set into `one`.
static sf_Status set_step(sf_Json *one, const sf_GrowthCourse *course, const sf_GrowthReadings *readings, double limit,
                          sf_GrowthDay *day, sf_Error *err)
{
    sf_GrowthDay early = { 0 }, late = { 0 };
    bool known = course->grows && course->short_known;
    *day = (sf_GrowthDay){ 0 };
    if (known) {
        SF_TRY(sf_growth_day_of_chance(course, readings, limit, HALF, day, err));
        SF_TRY(sf_growth_day_of_chance(course, readings, limit, EARLY, &early, err));
        SF_TRY(sf_growth_day_of_chance(course, readings, limit, LATE, &late, err));
    }
    sf_json_set_number(one, "limit_mm", limit / SF_MM);
    set_date(one, "date", day);
    sf_Json *interval = sf_json_array();
    add_date(interval, &early);
    add_date(interval, &late);
    sf_json_set(one, "interval", interval);
    sf_json_set_text(one, "state", !known ? "unknown" : day->past ? "now" : day->found ? "open" : "not-within");
    return SF_OK;
}

sf_Status sf_growth_set_due(sf_Result *result, const sf_GrowthCourse *course, const sf_GrowthReadings *readings,
                            const sf_GrowthAsk *ask, sf_GrowthDay days[SF_GROWTH_STEPS], sf_Error *err)
{
    sf_Json *due = sf_json_object();
    sf_Status status = SF_OK;
    for (int i = 0; status == SF_OK && i < SF_GROWTH_STEPS; i++) {
        sf_Json *one = sf_json_object();
        status = sf_progress_tell(0.6 + 0.08 * i, sf_growth_step_names[i], err);
        if (status == SF_OK)
            status = set_step(one, course, readings, ask->short_by[i], &days[i], err);
        sf_json_set(due, sf_growth_step_names[i], one);
        if (course->grows && course->short_known && !days[i].found)
            sf_result_note(result, "due.%s: a shortness of %.0f mm is not expected within %zu months",
                           sf_growth_step_names[i], ask->short_by[i] / SF_MM, course->nodes - 1);
    }
    sf_json_set(result->json, "due", due);
    return status;
}

// ---- stacks -------------------------------------------------------------------------------------------------------

double sf_growth_spacers_now(const sf_Limb *limb)
{
    double sum = 0;
    for (size_t i = 0; i < limb->data.spacer_count; i++)
        sum += limb->data.spacers[i].thickness;
    return sum;
}

size_t sf_growth_stock(const sf_Limb *limb, sf_SpacerKind kinds[SF_STACK_MAX_KINDS])
{
    size_t n = 0;
    for (size_t i = 0; i < limb->data.stock_count && n < SF_STACK_MAX_KINDS; i++)
        kinds[n++] = (sf_SpacerKind){ limb->data.stock[i].thickness, limb->data.stock[i].count };
    for (size_t i = 0; i < limb->data.spacer_count; i++) {
        size_t same = 0;
        while (same < n && fabs(kinds[same].thickness - limb->data.spacers[i].thickness) > SF_STACK_STEP / 2)
            same++;
        if (same < n)
            kinds[same].count++;
        else if (n < SF_STACK_MAX_KINDS)
            kinds[n++] = (sf_SpacerKind){ limb->data.spacers[i].thickness, 1 };
    }
    return n;
}

void sf_growth_set_stack(sf_Json *json, const sf_SpacerStack *stack)
{
    sf_Json *pieces = sf_json_array();
    for (size_t i = 0; i < stack->pieces; i++)
        sf_json_add_number(pieces, stack->piece[i] / SF_MM);
    sf_json_set(json, "pieces_mm", pieces);
    sf_json_set_number(json, "total_mm", stack->total / SF_MM);
    sf_json_set_number(json, "error_mm", stack->error / SF_MM);
}

static void set_bolt(sf_Json *json, const sf_LimbFootBolt *bolt, double added)
{
    sf_Json *out = sf_json_object();
    double left = bolt->engagement - added;
    sf_json_set_number(out, "engagement_left_mm", left / SF_MM);
    sf_json_set_number(out, "limit_mm", bolt->thread / SF_MM);
    sf_json_set_number(out, "length_needed_mm", (bolt->length + added) / SF_MM);
    if (isfinite(left) && isfinite(bolt->thread))
        sf_json_set_flag(out, "swap", left < bolt->thread);
    else
        sf_json_set_null(out, "swap");
    sf_json_set(json, "bolt", out);
}

/// Expected stature on that day over that of the day of asking; 1 where nothing grows.
static double stature_ratio(const sf_GrowthCourse *course, const sf_GrowthDay *day)
{
    size_t i = 0;
    while (i + 1 < course->nodes && sf_date_days(course->date[i]) < sf_date_days(day->date))
        i++;
    return course->grows ? course->stature_mean[i] / course->stature_mean[0] : 1;
}

/// The lever is longer and the person heavier: first yield again, at the end of the interval.
static sf_Status set_strength(sf_Json *json, sf_Result *result, const sf_Limb *limb, double added, double ratio,
                              sf_Error *err)
{
    sf_GrowthStrength strength;
    sf_Error why = { 0 };
    sf_Status status = sf_growth_strength(&strength, limb, added, ratio, &why);
    if (status == SF_E_MEMORY)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "%s", why.text);
    if (status != SF_OK) {
        sf_json_set_null(json, "strength");
        sf_result_note(result, "stacks[].strength: %s", why.text);
        return SF_OK;
    }
    sf_Json *out = sf_json_object();
    sf_json_set_text(out, "level", strength.level);
    sf_json_set_number(out, "body_mass_kg", strength.mass);
    sf_json_set_number(out, "elastic_factor", strength.factor);
    sf_json_set_text(out, "governing_case", strength.governing);
    sf_json_set(json, "strength", out);
    return SF_OK;
}

/// Where stacks go and what they are judged with.
typedef struct Planner {
    sf_Json *stacks;
    sf_Result *result;
    const sf_Limb *limb;
    const sf_GrowthCourse *course;
} Planner;

static sf_Status add_stack(const Planner *planner, const char *when, const sf_GrowthDay *day, double needed,
                           const sf_SpacerStack *stack, sf_Error *err)
{
    const sf_Limb *limb = planner->limb;
    sf_Json *one = sf_json_object();
    bool is_long = stack->error > LONG_ENOUGH;
    double added = stack->total - sf_growth_spacers_now(limb);
    sf_json_set_text(one, "for", when);
    set_date(one, "date", day);
    sf_json_set_number(one, "needed_mm", needed / SF_MM);
    sf_growth_set_stack(one, stack);
    sf_json_set_flag(one, "long", is_long);
    sf_json_set_flag(one, "needs_signature", is_long);
    sf_json_set_number(one, "cut_height_mm", (limb->data.pylon.cut_height + added) / SF_MM);
    set_bolt(one, &limb->data.adapter.foot_bolt, added);
    sf_Status status = set_strength(one, planner->result, limb, added, stature_ratio(planner->course, day), err);
    sf_json_add(planner->stacks, one);
    return status;
}

/// The stack for one day; when it makes the limb long, the best that does not stands beside it.
static sf_Status stacks_of_day(const Planner *planner, const char *when, const sf_GrowthDay *day, double shortness,
                               sf_Error *err)
{
    sf_SpacerKind kinds[SF_STACK_MAX_KINDS];
    size_t n = sf_growth_stock(planner->limb, kinds);
    double needed = sf_growth_spacers_now(planner->limb) + shortness;
    sf_SpacerStack stack;
    SF_TRY(sf_spacer_stack_find(kinds, n, needed, SF_STACK_TOLERANCE, SF_STACK_TOLERANCE, &stack, err));
    if (!stack.found) {
        sf_result_note(planner->result, "stacks: no stack of the stock lies within 5 mm of the %.1f mm needed for '%s'",
                       needed / SF_MM, when);
        return SF_OK;
    }
    SF_TRY(add_stack(planner, when, day, needed, &stack, err));
    if (stack.error <= LONG_ENOUGH)
        return SF_OK;
    SF_TRY(sf_spacer_stack_find(kinds, n, needed, SF_STACK_TOLERANCE, 0, &stack, err));
    return stack.found ? add_stack(planner, when, day, needed, &stack, err) : SF_OK;
}

sf_Status sf_growth_set_stacks(sf_Result *result, const sf_Limb *limb, double short_now, const sf_GrowthCourse *course,
                               const sf_GrowthAsk *ask, const sf_GrowthDay days[SF_GROWTH_STEPS], sf_Error *err)
{
    Planner planner = { sf_json_array(), result, limb, course };
    sf_Status status = SF_OK;
    if (limb->data.stock_count == 0)
        sf_result_note(result,
                       "stacks: the document names no stock; only the spacers under the limb were used (stock)");
    sf_GrowthDay today = { true, true, course->date[0] };
    if (course->short_known && fabs(short_now) >= ask->short_by[0])
        SF_TRY_DONE(stacks_of_day(&planner, "now", &today, short_now, err));
    for (int i = 0; i < SF_GROWTH_STEPS; i++)
        if (days[i].found && !days[i].past)
            SF_TRY_DONE(stacks_of_day(&planner, sf_growth_step_names[i], &days[i], ask->short_by[i], err));
    if (limb->data.spacer_count + limb->data.stock_count > 0 && !isfinite(limb->data.adapter.foot_bolt.engagement))
        sf_result_note(result,
                       "stacks: without the foot bolt's engagement it is not known whether a thicker stack wants "
                       "a longer bolt (adapter.foot_bolt.engagement_mm)");
done:
    sf_json_set(result->json, "stacks", planner.stacks);
    return status;
}

// ---- limits -------------------------------------------------------------------------------------------------------

/// The first day on which a mean course reaches `level`.
static sf_GrowthDay day_of_mean(const sf_GrowthCourse *course, const double *mean, double level)
{
    for (size_t i = 0; i < course->nodes; i++)
        if (mean[i] >= level)
            return (sf_GrowthDay){ true, i == 0,
                                   i == 0
                                       ? course->date[0]
                                       : between(course->date[i - 1], course->date[i], mean[i - 1], mean[i], level) };
    return (sf_GrowthDay){ 0 };
}

typedef struct Limits {
    sf_Json *list;
    const char *first;
    long first_day;
} Limits;

static void add_limit(Limits *limits, const char *name, const sf_GrowthDay *day, const char *text)
{
    sf_Json *one = sf_json_object();
    sf_json_set_text(one, "limit", name);
    set_date(one, "date", day);
    sf_json_set_text(one, "text", text);
    sf_json_add(limits->list, one);
    if (!day->found || (limits->first && sf_date_days(day->date) >= limits->first_day))
        return;
    limits->first = name;
    limits->first_day = sf_date_days(day->date);
}

/// The residual limb's own growth since the day of asking: the upper plate's part of the tibia's gain.
static sf_GrowthDay socket_day(const sf_GrowthModel *model, const sf_GrowthCourse *course, sf_Sex sex, double clearance)
{
    double grown[SF_GROWTH_NODES] = { 0 };
    for (size_t i = 1; i < course->nodes; i++) {
        double tibia = sf_shank_share_tibia(&model->share, sex, (course->age[i] + course->age[i - 1]) / 2);
        double gain = fmax(course->knee_mean[i] - course->knee_mean[i - 1], 0);
        grown[i] = grown[i - 1] + SF_UPPER_PLATE_SHARE * gain * tibia / (tibia + SF_ANKLE_SHARE);
    }
    return isfinite(clearance) ? day_of_mean(course, grown, clearance) : (sf_GrowthDay){ 0 };
}

static sf_GrowthDay foot_day(const sf_GrowthCourse *course, double now, double largest)
{
    double length[SF_GROWTH_NODES];
    for (size_t i = 0; i < course->nodes; i++)
        length[i] = now + SF_FOOT_SHARE * (course->stature_mean[i] - course->stature_mean[0]);
    return isfinite(now) && isfinite(largest) ? day_of_mean(course, length, largest) : (sf_GrowthDay){ 0 };
}

sf_Status sf_growth_set_limits(sf_Result *result, const sf_Limb *limb, const sf_GrowthModel *model,
                               const sf_GrowthCourse *course, const sf_GrowthReadings *readings,
                               const sf_GrowthDay *length, sf_Error *err)
{
    Limits limits = { .list = sf_json_array() };
    sf_GrowthDay day = { 0 };
    sf_Status status = SF_OK;
    double foot_now = limb->data.person.foot_length, clearance = limb->data.socket.end_clearance;
    if (!course->grows)
        goto done;
    if (course->short_known) {
        add_limit(&limits, "length", length, "as short as the reminder's limit with the present spacers");
        sf_SpacerKind kinds[SF_STACK_MAX_KINDS];
        double most = sf_spacer_stock_height(kinds, sf_growth_stock(limb, kinds));
        SF_TRY_DONE(sf_growth_day_of_chance(course, readings, most - sf_growth_spacers_now(limb) + SF_STACK_TOLERANCE,
                                            HALF, &day, err));
        char text[160];
        snprintf(text, sizeof text, "all spacers there are (%.1f mm) leave more than 5 mm missing", most / SF_MM);
        add_limit(&limits, "stack", &day, text);
    }
    day = socket_day(model, course, readings->sex, clearance);
    add_limit(&limits, "socket", &day,
              isfinite(clearance)
                  ? "the residual limb's own growth has used up the end clearance (an estimate: 57 % of "
                    "the tibia grows at its upper end)"
                  : "not known without the end clearance (socket.end_clearance_mm)");
    if (!isfinite(foot_now) && isfinite(limb->data.foot.length)) {
        foot_now = limb->data.foot.length;
        sf_result_assume(result, "the sound foot is as long as the prosthetic one (person.foot_length_mm)");
    }
    day = foot_day(course, foot_now, limb->data.foot.largest_length);
    add_limit(&limits, "foot", &day,
              isfinite(limb->data.foot.largest_length) ? "the sound foot has outgrown the largest foot of this kind"
                                                       : "not known without the largest foot (foot.largest_length_mm)");
done:
    sf_json_set(result->json, "limits", limits.list);
    sf_json_set_text(result->json, "first_limit", limits.first);
    return status;
}
