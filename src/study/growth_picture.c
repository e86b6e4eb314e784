// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/growth_picture.h"

#include "base/alloc.h"
#include "base/file.h"
#include "base/units.h"
#include "draw/growth_chart.h"
#include "study/figures.h"
#include "study/growth_look.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const double CENTILES[SF_CHART_CENTILES] = { 3, 10, 25, 50, 75, 90, 97 };
static const double CENTILE_Z[SF_CHART_CENTILES] = { -1.880794, -1.281552, -0.674490, 0, 0.674490, 1.281552, 1.880794 };
static const double EDGE = 0.05;                               ///< outside the interval on either side
static const double BEFORE = 0.4, AFTER = 0.1, MOST_BACK = 10; ///< years shown round readings and forecast

typedef struct Gathering {
    sf_GrowthLook look;
    sf_GrowthChart chart;
    sf_Figures figures;
    sf_Result scratch;
    char program[64], as_of[SF_DATE_TEXT];
} Gathering;

// ---- ages and lines -------------------------------------------------------------------------------------------------

static void set_ages(Gathering *g, int months)
{
    const sf_GrowthReadings *r = &g->look.readings;
    sf_GrowthChart *c = &g->chart;
    double first = r->age;
    for (size_t i = 0; i < r->stature_count; i++)
        first = fmin(first, r->statures[i].age);
    for (size_t i = 0; i < r->knee_count; i++)
        first = fmin(first, r->knees[i].age);
    double least = sf_stature_reference_first_age(&g->look.model.reference, r->sex);
    c->age_now = r->age;
    c->age_from = fmax(fmax(first - BEFORE, r->age - MOST_BACK), least);
    c->age_to = g->look.course.age[months] + AFTER;
}

static void set_centiles(Gathering *g)
{
    sf_GrowthChart *c = &g->chart;
    for (int k = 0; k < SF_CHART_CENTILES; k++) {
        c->centile[k] = CENTILES[k];
        for (int i = 0; i < SF_CHART_CENTILE_POINTS; i++) {
            double age = c->age_from + (c->age_to - c->age_from) * i / (SF_CHART_CENTILE_POINTS - 1);
            c->centile_height[k][i] = sf_lms_stature(
                sf_stature_reference_at(&g->look.model.reference, g->look.readings.sex, age), CENTILE_Z[k]);
        }
    }
}

static void set_readings(Gathering *g)
{
    const sf_GrowthReadings *r = &g->look.readings;
    sf_GrowthChart *c = &g->chart;
    for (size_t i = 0; i < r->stature_count && c->stature_count < SF_CHART_READINGS; i++)
        c->statures[c->stature_count++] =
            (sf_ChartReading){ r->statures[i].age, r->statures[i].stature, r->statures[i].sd, false };
    for (size_t i = 0; g->look.course.short_known && i < r->knee_count && c->short_count < SF_CHART_READINGS; i++)
        if (r->knees[i].kind != SF_KNEE_SEATED)
            c->shorts[c->short_count++] =
                (sf_ChartReading){ r->knees[i].age, r->knees[i].height + r->target - r->prosthesis_height,
                                   r->knees[i].sd, r->knees[i].kind == SF_KNEE_BLOCK };
}

static void add_node(sf_ChartFan *fan, double age, const sf_Mixture *m, double shift)
{
    size_t i = fan->count++;
    fan->age[i] = age;
    fan->mean[i] = sf_mixture_mean(m) + shift;
    fan->low[i] = sf_mixture_quantile(m, EDGE) + shift;
    fan->high[i] = sf_mixture_quantile(m, 1 - EDGE) + shift;
}

static sf_Status set_fans(Gathering *g, int months, sf_Error *err)
{
    const sf_GrowthCourse *c = &g->look.course;
    const sf_GrowthReadings *r = &g->look.readings;
    for (int i = 0; i <= months; i++) {
        sf_Mixture m = { 0 };
        if (r->stature_count) {
            SF_TRY(sf_stature_paths_reading(&c->statures, (size_t)i, sf_growth_next_reading_sd(r), &m, err));
            add_node(&g->chart.stature, c->age[i], &m, 0);
            sf_mixture_free(&m);
        }
        if (c->short_known) {
            SF_TRY(sf_knee_paths_at(&c->knees, (size_t)i, c->extra_sd, &m, err));
            add_node(&g->chart.shortness, c->age[i], &m, r->target - r->prosthesis_height);
            sf_mixture_free(&m);
        }
    }
    return SF_OK;
}

// ---- words from the result ------------------------------------------------------------------------------------------

static double age_of(const Gathering *g, const char *date)
{
    sf_Date day;
    if (!date || sf_date_parse(&day, date, "date", NULL) != SF_OK)
        return NAN;
    return sf_date_years_between(g->look.readings.birth, day);
}

static void set_steps(Gathering *g, const sf_GrowthAsk *ask)
{
    static const char *const names[SF_CHART_STEPS] = { "remind", "warn", "alarm" };
    for (int i = 0; i < SF_CHART_STEPS; i++) {
        sf_ChartStep *s = &g->chart.steps[i];
        const char *dates[3];
        static const char *const keys[3] = { "date", "interval[0]", "interval[1]" };
        char *texts[3] = { s->date, s->from, s->to };
        double *ages[3] = { &s->age, &s->early, &s->late };
        s->name = names[i];
        s->limit = ask->short_by[i];
        for (int k = 0; k < 3; k++) {
            char path[60];
            snprintf(path, sizeof path, "due.%s.%s", names[i], keys[k]);
            dates[k] = sf_figures_text(&g->figures, path);
            snprintf(texts[k], sizeof s->date, "%s", dates[k] ? dates[k] : "");
            *ages[k] = age_of(g, dates[k]);
        }
    }
}

static void stack_length(const Gathering *g, char *text, size_t size, double mm, const char *format_mm,
                         const char *format_in)
{
    snprintf(text, size, g->chart.inch ? format_in : format_mm, g->chart.inch ? mm * SF_MM / SF_INCH : mm);
}

static void set_stack(Gathering *g, size_t i)
{
    const sf_Figures *f = &g->figures;
    char path[60], pieces[64] = "", one[24], total[24], error[24], left[24];
    size_t used = 0;
#define AT(key) (snprintf(path, sizeof path, "stacks[%zu]." key, i), path)
    for (size_t k = 0; k < sf_figures_length(f, AT("pieces_mm")) && used < sizeof pieces - 10; k++) {
        snprintf(path, sizeof path, "stacks[%zu].pieces_mm[%zu]", i, k);
        stack_length(g, one, sizeof one, sf_figures_number(f, path), "%.4g", "%.3g");
        used += (size_t)snprintf(pieces + used, sizeof pieces - used, "%s%s", k ? " + " : "", one);
    }
    stack_length(g, total, sizeof total, sf_figures_number(f, AT("total_mm")), "%.1f mm", "%.2f in");
    stack_length(g, error, sizeof error, sf_figures_number(f, AT("error_mm")), "%+.1f mm", "%+.2f in");
    double bolt = sf_figures_number(f, AT("bolt.engagement_left_mm")),
           factor = sf_figures_number(f, AT("strength.elastic_factor"));
    stack_length(g, left, sizeof left, bolt, "%.1f mm", "%.2f in");
    const char *when = sf_figures_text(f, AT("for")), *date = sf_figures_text(f, AT("date"));
    bool swap = sf_figures_flag(f, AT("bolt.swap")), is_long = sf_figures_flag(f, AT("long"));
    char *text = g->chart.stacks[g->chart.stack_count++];
    size_t size = sizeof g->chart.stacks[0];
    used = (size_t)snprintf(text, size, "%s, %s: %s = %s, %s%s", when ? when : "", date ? date : "", pieces, total,
                            error, is_long ? " LONG, to be signed" : "");
    if (isfinite(bolt) && used < size)
        used += (size_t)snprintf(text + used, size - used, "; bolt %s in%s", left, swap ? ": LONGER BOLT" : "");
    if (isfinite(factor) && used < size)
        snprintf(text + used, size - used, "; first yield %.2f", factor);
#undef AT
}

static void add_remark(Gathering *g, const char *text)
{
    if (text && g->chart.remark_count < SF_CHART_LINES)
        snprintf(g->chart.remarks[g->chart.remark_count++], sizeof g->chart.remarks[0], "%.*s",
                 (int)sizeof g->chart.remarks[0] - 1, text);
}

static void set_words(Gathering *g)
{
    const sf_Figures *f = &g->figures;
    char path[60], text[240];
    const char *first = sf_figures_text(f, "first_limit");
    for (size_t i = 0; i < sf_figures_length(f, "stacks") && i < SF_CHART_LINES; i++)
        set_stack(g, i);
    for (size_t i = 0; first && i < sf_figures_length(f, "limits"); i++) {
        snprintf(path, sizeof path, "limits[%zu].limit", i);
        const char *name = sf_figures_text(f, path);
        if (!name || strcmp(name, first) != 0)
            continue;
        snprintf(path, sizeof path, "limits[%zu].text", i);
        const char *why = sf_figures_text(f, path);
        snprintf(path, sizeof path, "limits[%zu].date", i);
        const char *date = sf_figures_text(f, path);
        snprintf(text, sizeof text, "First to end is the %s, %s: %.150s", name, date ? date : "", why ? why : "");
        add_remark(g, text);
    }
    for (size_t i = 0; i < sf_figures_length(f, "warnings"); i++) {
        snprintf(path, sizeof path, "warnings[%zu].text", i);
        add_remark(g, sf_figures_text(f, path));
    }
    for (size_t i = 0; i < sf_figures_length(f, "notes"); i++) {
        snprintf(path, sizeof path, "notes[%zu]", i);
        add_remark(g, sf_figures_text(f, path));
    }
}

// ---- the whole ------------------------------------------------------------------------------------------------------

static sf_Status gather(Gathering *g, const sf_Limb *limb, const sf_GrowthAsk *ask, bool inch, sf_Error *err)
{
    sf_Date as_of;
    sf_GrowthChart *c = &g->chart;
    sf_Error none = { 0 };
    SF_TRY(sf_growth_ask_check(ask, &as_of, err));
    SF_TRY(sf_result_begin(&g->scratch, err));
    SF_TRY(sf_growth_look(&g->look, &g->scratch, limb, as_of, ask->months, err));
    if (!g->look.course.grows)
        return SF_FAIL(err, SF_E_RANGE, "person.birth_date",
                       "the person is %.1f years old, outside the growth reference: there is no chart to draw",
                       g->look.readings.age);
    sf_result_drop(&g->scratch);
    SF_TRY(sf_result_begin(&g->scratch, err));
    SF_TRY(sf_growth_study(&g->scratch, limb, ask, err));
    SF_TRY(sf_figures_take(&g->figures, &g->scratch, SF_OK, &none, err));
    snprintf(g->program, sizeof g->program, "standfast %s", sf_version());
    sf_date_format(as_of, g->as_of);
    c->label = limb->data.person.label ? limb->data.person.label : "";
    c->program = g->program;
    c->safety = sf_safety_sentence();
    c->as_of = g->as_of;
    c->sex = g->look.readings.sex == SF_SEX_MALE ? "of boys" : "of girls";
    c->inch = inch;
    c->short_now = sf_figures_number(&g->figures, "short_now_mm") * SF_MM;
    c->short_low = sf_figures_number(&g->figures, "short_now_interval_mm[0]") * SF_MM;
    c->short_high = sf_figures_number(&g->figures, "short_now_interval_mm[1]") * SF_MM;
    set_ages(g, ask->months);
    set_centiles(g);
    set_readings(g);
    SF_TRY(set_fans(g, ask->months, err));
    set_steps(g, ask);
    set_words(g);
    return SF_OK;
}

sf_Status sf_growth_picture_draw(unsigned char **bytes, size_t *size, sf_SheetKind kind, const sf_Limb *limb,
                                 const sf_GrowthAsk *ask, bool inch, sf_Error *err)
{
    sf_Sheet *sheet = NULL;
    sf_Status status;
    Gathering *g = sf_alloc(1, sizeof *g);
    if (!g)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory for the growth chart");
    SF_TRY_DONE(gather(g, limb, ask, inch, err));
    SF_TRY_DONE(sf_sheet_create(&sheet, kind, SF_A5_LONG, SF_A5_SHORT, err));
    SF_TRY_DONE(sf_growth_chart_paint(sheet, &g->chart, err));
    status = sf_sheet_finish(&sheet, bytes, size, err);
done:
    sf_sheet_destroy(&sheet);
    sf_figures_free(&g->figures);
    sf_result_drop(&g->scratch);
    sf_growth_look_free(&g->look);
    sf_free(g);
    return status;
}

sf_Status sf_growth_picture_write(const char *path, const sf_Limb *limb, const sf_GrowthAsk *ask, bool inch,
                                  sf_Error *err)
{
    sf_SheetKind kind;
    unsigned char *bytes = NULL;
    size_t size = 0;
    SF_TRY(sf_sheet_kind(&kind, path, err));
    SF_TRY(sf_growth_picture_draw(&bytes, &size, kind, limb, ask, inch, err));
    sf_Status status = sf_file_write(path, bytes, size, err);
    sf_free(bytes);
    return status;
}
