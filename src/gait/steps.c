// SPDX-License-Identifier: GPL-3.0-or-later
#include "gait/steps.h"

#include "base/alloc.h"
#include "num/chi_square.h"
#include "num/select.h"
#include "num/stats.h"

#include <math.h>
#include <string.h>

// In median steps (judgement, docs/theory/steps.md).
static const double DOUBLE_WITHIN = 0.25, ALTERNATE_MOST = 2.5, PAUSE_FROM = 4;
static const double ONE_MISSED_LEAST = 1.25, ONE_MISSED_MOST = 2.75;
// Iglewicz and Hoaglin (1993): a modified z-score above 3.5 marks an outlier.
static const double ODD_Z = 3.5;
// Spread below this share of the median is below what any recording resolves.
static const double LEAST_SPREAD = 0.005;
static const double COVERAGE = 0.95;

typedef enum Link { LINK_NONE = 0, LINK_STEP, LINK_MISSED } Link; // of a contact to the one kept before it

typedef struct Work {
    const sf_FootfallList *list;
    size_t *kept; // indices of the footfalls of this group that are no double contacts
    size_t count;
    unsigned char *link; // Link per kept footfall
    unsigned char *used; // the link lies far enough from the ends of its pass
    double *value, *copy;
    sf_StepReport *report;
    size_t gap_room, odd_room;
} Work;

static const sf_Footfall *at(const Work *w, size_t k)
{
    return &w->list->items[w->kept[k]];
}

static sf_Status add_gap(Work *w, size_t index, double length, sf_GapKind kind, sf_Error *err)
{
    sf_StepReport *r = w->report;
    if (r->gap_count == w->gap_room) {
        size_t room = w->gap_room ? 2 * w->gap_room : 64;
        sf_StepGap *more = sf_realloc(r->gaps, room, sizeof *more);
        if (!more)
            return SF_FAIL(err, SF_E_MEMORY, "", "out of memory while counting steps");
        r->gaps = more;
        w->gap_room = room;
    }
    const sf_Footfall *f = &w->list->items[index];
    r->gaps[r->gap_count++] = (sf_StepGap){ index, f->time, length, kind, f->side };
    return SF_OK;
}

static sf_Status add_odd(Work *w, size_t index, double value, double z, sf_Error *err)
{
    sf_StepReport *r = w->report;
    if (r->odd_count == w->odd_room) {
        size_t room = w->odd_room ? 2 * w->odd_room : 64;
        sf_OddStep *more = sf_realloc(r->odd, room, sizeof *more);
        if (!more)
            return SF_FAIL(err, SF_E_MEMORY, "", "out of memory while counting steps");
        r->odd = more;
        w->odd_room = room;
    }
    const sf_Footfall *f = &w->list->items[index];
    r->use[index] = SF_CONTACT_ODD;
    r->odd[r->odd_count++] = (sf_OddStep){ index, f->time, value, z, f->side };
    return SF_OK;
}

// Median time between contacts of unlike feet within passes; NaN when there is none.
static double median_alternate(Work *w)
{
    size_t n = 0;
    for (size_t k = 1; k < w->count; k++)
        if (at(w, k)->pass == at(w, k - 1)->pass && at(w, k)->side != at(w, k - 1)->side)
            w->value[n++] = at(w, k)->time - at(w, k - 1)->time;
    return n ? sf_select_median(w->value, n) : NAN;
}

// With contacts of one foot only, half the median time between them stands for the step.
static double median_one_sided(Work *w)
{
    size_t n = 0;
    for (size_t k = 1; k < w->count; k++)
        if (at(w, k)->pass == at(w, k - 1)->pass)
            w->value[n++] = at(w, k)->time - at(w, k - 1)->time;
    return n ? sf_select_median(w->value, n) / 2 : NAN;
}

// Takes the group's footfalls and drops the second of two contacts of one foot that follow at once.
static sf_Status keep_contacts(Work *w, sf_StepGroup *g, sf_Error *err)
{
    w->count = 0;
    for (size_t i = 0; i < w->list->count; i++)
        if (w->list->items[i].support == g->support)
            w->kept[w->count++] = i;
    g->footfalls = w->count;
    double m = median_alternate(w);
    size_t n = 0;
    for (size_t k = 0; k < w->count; k++) {
        const sf_Footfall *f = at(w, k), *before = n ? &w->list->items[w->kept[n - 1]] : NULL;
        if (before && before->pass == f->pass && before->side == f->side &&
            f->time - before->time < DOUBLE_WITHIN * m) {
            g->doubles++;
            SF_TRY(add_gap(w, w->kept[k], f->time - before->time, SF_GAP_DOUBLE_CONTACT, err));
            w->report->use[w->kept[k]] = SF_CONTACT_DOUBLE;
            continue;
        }
        w->kept[n++] = w->kept[k];
    }
    w->count = n;
    g->median_step = median_alternate(w);
    g->one_sided = !isfinite(g->median_step);
    if (g->one_sided)
        g->median_step = median_one_sided(w);
    return SF_OK;
}

static sf_Status link_contacts(Work *w, sf_StepGroup *g, sf_Error *err)
{
    double m = g->median_step;
    for (size_t k = 0; k < w->count; k++) {
        w->link[k] = LINK_NONE;
        w->used[k] = 0;
        if (k == 0 || at(w, k)->pass != at(w, k - 1)->pass) {
            g->passes++;
            continue;
        }
        double length = at(w, k)->time - at(w, k - 1)->time;
        if (length > PAUSE_FROM * m) {
            g->pauses++;
            SF_TRY(add_gap(w, w->kept[k], length, SF_GAP_PAUSE, err));
        } else if (g->one_sided && length <= ONE_MISSED_MOST * m) {
            w->link[k] = LINK_MISSED; // a stride; that the other foot is not seen is no gap
        } else if (at(w, k)->side == at(w, k - 1)->side || length > ALTERNATE_MOST * m) {
            w->link[k] = LINK_MISSED;
            g->missed++;
            SF_TRY(add_gap(w, w->kept[k], length, SF_GAP_MISSED_STEP, err));
        } else {
            w->link[k] = LINK_STEP;
        }
    }
    return SF_OK;
}

// Leaves out the first and last links of every unbroken stretch.
static void drop_ends(Work *w, size_t drop)
{
    for (size_t k = 0; k < w->count;) {
        size_t end = k + 1; // one past the stretch that begins with contact k
        while (end < w->count && w->link[end] != LINK_NONE)
            end++;
        for (size_t i = k + 1 + drop; i + drop < end; i++)
            w->used[i] = 1;
        k = end;
    }
}

// Says of every contact that was kept what ends with it.
static void tell_uses(Work *w, const sf_StepGroup *g)
{
    for (size_t k = 0; k < w->count; k++) {
        if (w->link[k] == LINK_NONE)
            continue;
        size_t i = w->kept[k];
        bool whole =
            w->link[k] == LINK_STEP || (g->one_sided && w->link[k] == LINK_MISSED &&
                                        at(w, k)->time - at(w, k - 1)->time <= ONE_MISSED_MOST * g->median_step);
        w->report->length[i] = at(w, k)->time - at(w, k - 1)->time;
        w->report->use[i] = !whole ? SF_CONTACT_MISSED : w->used[k] ? SF_CONTACT_STEP : SF_CONTACT_END;
    }
}

static double spread_of(double *copy, size_t n, double median)
{
    return fmax(sf_select_mad_sd(copy, n, median), LEAST_SPREAD * median);
}

static sf_Status measure_steps(Work *w, sf_StepGroup *g, int side, sf_Error *err)
{
    size_t n = 0;
    for (size_t k = 1; k < w->count; k++)
        if (w->used[k] && w->link[k] == LINK_STEP && at(w, k)->side == side)
            w->value[n++] = at(w, k)->time - at(w, k - 1)->time;
    g->steps_of[side] = n;
    g->steps += n;
    g->step_time[side] = NAN;
    if (n == 0)
        return SF_OK;
    memcpy(w->copy, w->value, n * sizeof *w->copy);
    double median = sf_select_median(w->copy, n), spread = spread_of(w->copy, n, median);
    g->step_time[side] = median;
    n = 0;
    for (size_t k = 1; k < w->count; k++) {
        if (!(w->used[k] && w->link[k] == LINK_STEP && at(w, k)->side == side))
            continue;
        double z = (w->value[n++] - median) / spread;
        if (fabs(z) > ODD_Z)
            SF_TRY(add_odd(w, w->kept[k], median + z * spread, z, err));
    }
    return SF_OK;
}

// Time from the contact before to contact k of the same foot, or NaN: two steps, or one link with the other foot's
// contact missed in between.
static double stride_to(const Work *w, size_t k, double m)
{
    if (!w->used[k])
        return NAN;
    if (w->link[k] == LINK_MISSED && at(w, k)->side == at(w, k - 1)->side) {
        double length = at(w, k)->time - at(w, k - 1)->time;
        return length >= ONE_MISSED_LEAST * m && length <= ONE_MISSED_MOST * m ? length : NAN;
    }
    bool two = w->link[k] == LINK_STEP && k >= 2 && w->link[k - 1] == LINK_STEP && w->used[k - 1];
    return two ? at(w, k)->time - at(w, k - 2)->time : NAN;
}

static void measure_strides(Work *w, sf_StepGroup *g, int side)
{
    size_t n = 0, good = 0;
    for (size_t k = 1; k < w->count; k++)
        if (at(w, k)->side == side) {
            double stride = stride_to(w, k, g->median_step);
            if (isfinite(stride))
                w->value[n++] = stride;
        }
    g->stride_time[side] = g->cv[side] = g->cv_low[side] = g->cv_high[side] = NAN;
    if (n == 0)
        return;
    memcpy(w->copy, w->value, n * sizeof *w->copy);
    double median = sf_select_median(w->copy, n), spread = spread_of(w->copy, n, median);
    g->stride_time[side] = median;
    for (size_t i = 0; i < n; i++)
        if (fabs(w->value[i] - median) <= ODD_Z * spread)
            w->value[good++] = w->value[i];
    g->strides_of[side] = good;
    g->odd_strides_of[side] = n - good;
    g->strides += good;
    if (good < SF_STEPS_REFUSE_BELOW)
        return;
    double mean = sf_stats_mean(w->value, good);
    g->cv[side] = sf_stats_sd(w->value, good) / mean;
    sf_cv_interval(g->cv[side], (double)good, COVERAGE, &g->cv_low[side], &g->cv_high[side]);
}

static void measure_stance(Work *w, sf_StepGroup *g, int side)
{
    size_t n = 0;
    for (size_t k = 1; k < w->count; k++) {
        double stance = at(w, k)->toe_off - at(w, k)->time;
        // A stance longer than four median steps is no stance of this contact.
        if (w->used[k] && at(w, k)->side == side && isfinite(stance) && stance < PAUSE_FROM * g->median_step)
            w->value[n++] = stance;
    }
    g->stance_time[side] = n ? sf_select_median(w->value, n) : NAN;
}

static sf_Status analyse_group(Work *w, sf_StepGroup *g, size_t drop, sf_Error *err)
{
    SF_TRY(keep_contacts(w, g, err));
    SF_TRY(link_contacts(w, g, err));
    drop_ends(w, drop);
    tell_uses(w, g);
    for (int side = 0; side < 2; side++) {
        SF_TRY(measure_steps(w, g, side, err));
        measure_strides(w, g, side);
        measure_stance(w, g, side);
    }
    return SF_OK;
}

sf_Status sf_steps_analyse(sf_StepReport *report, const sf_FootfallList *list, size_t drop, sf_Error *err)
{
    *report = (sf_StepReport){ 0 };
    if (list->count < 2)
        return SF_FAIL(err, SF_E_INPUT, "", "there %s %zu footfall%s; a step needs two",
                       list->count == 1 ? "is" : "are", list->count, list->count == 1 ? "" : "s");
    Work w = { .list = list, .report = report };
    sf_Status status = SF_OK;
    w.kept = sf_alloc(list->count, sizeof *w.kept);
    w.link = sf_alloc(list->count, 1);
    w.used = sf_alloc(list->count, 1);
    w.value = sf_alloc(list->count, sizeof *w.value);
    w.copy = sf_alloc(list->count, sizeof *w.copy);
    report->use = sf_alloc(list->count, 1);
    report->length = sf_alloc(list->count, sizeof *report->length);
    if (!w.kept || !w.link || !w.used || !w.value || !w.copy || !report->use || !report->length) {
        status = SF_FAIL(err, SF_E_MEMORY, "", "out of memory while counting steps");
        goto done;
    }
    for (size_t i = 0; i < list->count; i++)
        report->length[i] = NAN;
    for (int support = 0; support < SF_WALK_COUNT; support++) {
        bool any = false;
        for (size_t i = 0; i < list->count && !any; i++)
            any = list->items[i].support == support;
        if (!any)
            continue;
        sf_StepGroup *g = &report->groups[report->group_count++];
        g->support = (sf_WalkSupport)support;
        SF_TRY_DONE(analyse_group(&w, g, drop, err));
    }
done:
    sf_free(w.kept);
    sf_free(w.link);
    sf_free(w.used);
    sf_free(w.value);
    sf_free(w.copy);
    if (status != SF_OK)
        sf_steps_free(report);
    return status;
}

void sf_steps_free(sf_StepReport *report)
{
    sf_free(report->gaps);
    sf_free(report->odd);
    sf_free(report->use);
    sf_free(report->length);
    *report = (sf_StepReport){ 0 };
}
