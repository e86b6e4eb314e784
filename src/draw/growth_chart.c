// SPDX-License-Identifier: GPL-3.0-or-later
#include "draw/growth_chart.h"

#include "base/text.h"
#include "base/units.h"
#include "draw/lettering.h"
#include "draw/sheet_head.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { LINE_TEXT = 320, MOST_DESCRIPTION = 8192 };

static const sf_PaperMm MARGIN = 5, HEAD = 7, AXIS = 9, COLUMN = 62, GAP = 4, UPPER = 62, LOWER = 44;
static const double ONE_SD_TO_90 = 1.645;
static const sf_Lettering SMALL = { SF_SMALLEST_PT, false, SF_ALIGN_LEFT, { 0.08, 0.09, 0.11 } };

/// One panel: ages along, lengths up.
typedef struct Panel {
    sf_Sheet *sheet;
    sf_Box plot;
    double from, to, low, high; ///< years, m
} Panel;

static sf_Spot spot(const Panel *p, double age, double value)
{
    return (sf_Spot){ p->plot.x + (age - p->from) / (p->to - p->from) * p->plot.width,
                      p->plot.y + (p->high - value) / (p->high - p->low) * p->plot.height };
}

static void clip(const Panel *p)
{
    sf_Box b = p->plot;
    const sf_Spot corners[] = {
        { b.x, b.y }, { b.x + b.width, b.y }, { b.x + b.width, b.y + b.height }, { b.x, b.y + b.height }
    };
    sf_sheet_clip(p->sheet, &(sf_Loop){ corners, 4 }, 1);
}

static void paint_fan(const Panel *p, const sf_ChartFan *fan)
{
    const sf_Colour shade = { 0.88, 0.89, 0.90 };
    const sf_Pen edge = { SF_INK_SOFT, 0.15, SF_DASH_NONE }, middle = { SF_INK_SCRIBE, 0.5, SF_DASH_NONE };
    sf_Spot around[2 * SF_CHART_NODES], mean[SF_CHART_NODES];
    size_t n = fan->count;
    if (n < 2)
        return;
    for (size_t i = 0; i < n; i++) {
        around[i] = spot(p, fan->age[i], fan->low[i]);
        around[2 * n - 1 - i] = spot(p, fan->age[i], fan->high[i]);
        mean[i] = spot(p, fan->age[i], fan->mean[i]);
    }
    sf_sheet_fill(p->sheet, &(sf_Loop){ around, 2 * n }, 1, shade);
    sf_sheet_polyline(p->sheet, around, n, false, &edge);
    sf_sheet_polyline(p->sheet, around + n, n, false, &edge);
    sf_sheet_polyline(p->sheet, mean, n, false, &middle);
}

/// A reading: a dot, or a square for a block, with the interval that holds it in nine cases of ten.
static void paint_reading(const Panel *p, const sf_ChartReading *r)
{
    const sf_Pen bar = { SF_INK, 0.25, SF_DASH_NONE };
    sf_Spot at = spot(p, r->age, r->value);
    sf_Spot low = spot(p, r->age, r->value - ONE_SD_TO_90 * r->sd),
            high = spot(p, r->age, r->value + ONE_SD_TO_90 * r->sd);
    sf_sheet_line(p->sheet, low, high, &bar);
    sf_sheet_line(p->sheet, (sf_Spot){ low.x - 0.7, low.y }, (sf_Spot){ low.x + 0.7, low.y }, &bar);
    sf_sheet_line(p->sheet, (sf_Spot){ high.x - 0.7, high.y }, (sf_Spot){ high.x + 0.7, high.y }, &bar);
    if (r->block)
        sf_sheet_fill_box(p->sheet, (sf_Box){ at.x - 0.8, at.y - 0.8, 1.6, 1.6 }, SF_INK);
    else
        sf_sheet_dot(p->sheet, at, 0.8, SF_INK);
}

/// A step for ticks so that there are about `wanted` of them.
static double round_step(double span, double wanted)
{
    double raw = span / wanted, power = pow(10, floor(log10(raw))), part = raw / power;
    return (part <= 1 ? 1 : part <= 2 ? 2 : part <= 5 ? 5 : 10) * power;
}

static void paint_axes(const Panel *p, bool inch, const char *what, bool ages)
{
    const sf_Pen frame = { SF_INK, 0.25, SF_DASH_NONE }, grid = { SF_INK_FAINT, 0.1, SF_DASH_NONE };
    const sf_Lettering right = { SF_SMALLEST_PT, false, SF_ALIGN_RIGHT, SF_INK };
    const sf_Lettering centre = { SF_SMALLEST_PT, false, SF_ALIGN_CENTRE, SF_INK };
    double unit = inch ? SF_INCH : SF_MM, step = round_step((p->high - p->low) / unit, p->plot.height / 9);
    double bottom = p->plot.y + p->plot.height;
    char text[40];
    for (double v = ceil(p->low / unit / step) * step; v <= p->high / unit + 1e-9; v += step) {
        sf_Spot at = spot(p, p->from, v * unit);
        sf_sheet_line(p->sheet, at, (sf_Spot){ p->plot.x + p->plot.width, at.y }, &grid);
        snprintf(text, sizeof text, "%.*f", step < 1 ? 1 : 0, fabs(v) < 1e-9 ? 0 : v);
        sf_sheet_text(p->sheet, (sf_Spot){ at.x - 1, at.y + 0.9 }, &right, text);
    }
    double years = fmax(round_step(p->to - p->from, 9), 0.5);
    for (double a = ceil(p->from / years) * years; a <= p->to + 1e-9; a += years) {
        sf_Spot at = spot(p, a, p->low);
        sf_sheet_line(p->sheet, at, (sf_Spot){ at.x, p->plot.y }, &grid);
        snprintf(text, sizeof text, "%.*f", years < 1 ? 1 : 0, a);
        if (ages)
            sf_sheet_text(p->sheet, (sf_Spot){ at.x, bottom + 3 }, &centre, text);
    }
    sf_sheet_rectangle(p->sheet, p->plot, &frame);
    sf_sheet_text(p->sheet, (sf_Spot){ p->plot.x, p->plot.y - 1.2 }, &SMALL, what);
    if (ages)
        sf_sheet_text(p->sheet, (sf_Spot){ p->plot.x, bottom + 6.2 }, &SMALL, "age in years");
}

// ---- stature --------------------------------------------------------------------------------------------------------

static void stretch(Panel *p, double low, double high)
{
    if (isfinite(low))
        p->low = fmin(p->low, low);
    if (isfinite(high))
        p->high = fmax(p->high, high);
}

static void range_of_stature(Panel *p, const sf_GrowthChart *c)
{
    p->low = c->centile_height[0][0];
    p->high = c->centile_height[SF_CHART_CENTILES - 1][SF_CHART_CENTILE_POINTS - 1];
    for (size_t i = 0; i < c->stature_count; i++)
        stretch(p, c->statures[i].value - 0.02, c->statures[i].value + 0.02);
    for (size_t i = 0; i < c->stature.count; i++)
        stretch(p, c->stature.low[i], c->stature.high[i]);
    double edge = 0.03 * (p->high - p->low);
    p->low -= edge;
    p->high += edge;
}

static void paint_centiles(const Panel *p, const sf_GrowthChart *c)
{
    for (int k = 0; k < SF_CHART_CENTILES; k++) {
        sf_Spot line[SF_CHART_CENTILE_POINTS];
        bool middle = k == SF_CHART_CENTILES / 2;
        const sf_Pen pen = { SF_INK_SOFT, middle ? 0.3 : 0.15, middle ? SF_DASH_LONG : SF_DASH_NONE };
        for (int i = 0; i < SF_CHART_CENTILE_POINTS; i++)
            line[i] = spot(p, p->from + (p->to - p->from) * i / (SF_CHART_CENTILE_POINTS - 1), c->centile_height[k][i]);
        sf_sheet_polyline(p->sheet, line, SF_CHART_CENTILE_POINTS, false, &pen);
    }
}

static void letter_centiles(const Panel *p, const sf_GrowthChart *c)
{
    double last = INFINITY;
    char text[16];
    for (int k = 0; k < SF_CHART_CENTILES; k++) {
        sf_Spot at = spot(p, p->to, c->centile_height[k][SF_CHART_CENTILE_POINTS - 1]);
        if (last - at.y < 2.6) // no room between two lines
            continue;
        snprintf(text, sizeof text, "%.0f", c->centile[k]);
        sf_sheet_text(p->sheet, (sf_Spot){ at.x + 0.8, at.y + 0.9 }, &SMALL, text);
        last = at.y;
    }
}

static void paint_now(const Panel *p, const sf_GrowthChart *c)
{
    const sf_Pen pen = { SF_INK, 0.25, SF_DASH_CENTRE };
    sf_Spot at = spot(p, c->age_now, p->low);
    sf_sheet_line(p->sheet, at, (sf_Spot){ at.x, p->plot.y }, &pen);
}

static void paint_stature(sf_Sheet *sheet, sf_Box plot, const sf_GrowthChart *c)
{
    Panel p = { sheet, plot, c->age_from, c->age_to, 0, 1 };
    char what[120];
    range_of_stature(&p, c);
    clip(&p);
    paint_fan(&p, &c->stature);
    paint_centiles(&p, c);
    paint_now(&p, c);
    for (size_t i = 0; i < c->stature_count; i++)
        paint_reading(&p, &c->statures[i]);
    sf_sheet_unclip(sheet);
    snprintf(what, sizeof what, "stature, %s: centiles %s, readings and forecast with 90 %% intervals",
             c->inch ? "in" : "mm", c->sex);
    paint_axes(&p, c->inch, what, false);
    letter_centiles(&p, c);
    if (c->stature_count == 0)
        sf_sheet_text_patch(sheet, (sf_Spot){ plot.x + 4, plot.y + 6 }, &SMALL,
                            "no stature reading: no forecast of stature");
}

// ---- short by -------------------------------------------------------------------------------------------------------

static void paint_limits(const Panel *p, const sf_GrowthChart *c)
{
    static const sf_Dash dashes[] = { SF_DASH_SHORT, SF_DASH_LONG, SF_DASH_NONE };
    const sf_Pen span = { SF_INK_MARK, 0.9, SF_DASH_NONE };
    for (int i = 0; i < SF_CHART_STEPS; i++) {
        const sf_ChartStep *s = &c->steps[i];
        const sf_Pen pen = { SF_INK_MARK, 0.25, dashes[i] };
        sf_Spot from = spot(p, p->from, s->limit);
        sf_sheet_line(p->sheet, from, (sf_Spot){ p->plot.x + p->plot.width, from.y }, &pen);
        if (isfinite(s->early)) // an open interval goes on to the edge
            sf_sheet_line(p->sheet, spot(p, s->early, s->limit), spot(p, isfinite(s->late) ? s->late : p->to, s->limit),
                          &span);
        if (isfinite(s->age)) {
            sf_Spot at = spot(p, s->age, s->limit);
            const sf_Spot mark[] = { { at.x - 1.3, at.y - 2.3 }, { at.x + 1.3, at.y - 2.3 }, at };
            sf_sheet_fill(p->sheet, &(sf_Loop){ mark, 3 }, 1, SF_INK_MARK);
        }
    }
}

static void range_of_short(Panel *p, const sf_GrowthChart *c)
{
    p->low = -0.004;
    p->high = c->steps[SF_CHART_STEPS - 1].limit * 1.35;
    for (size_t i = 0; i < c->shortness.count; i++)
        stretch(p, c->shortness.low[i], NAN);
    for (size_t i = 0; i < c->short_count; i++)
        stretch(p, c->shorts[i].value - 0.004, c->shorts[i].value + 0.004);
    double most = c->steps[SF_CHART_STEPS - 1].limit;
    p->high = fmin(p->high, 2.5 * most);
    p->low = fmax(p->low, -1.5 * most); // a far older reading runs out of the panel
}

static void paint_short(sf_Sheet *sheet, sf_Box plot, const sf_GrowthChart *c)
{
    Panel p = { sheet, plot, c->age_from, c->age_to, 0, 1 };
    char what[120];
    range_of_short(&p, c);
    clip(&p);
    paint_fan(&p, &c->shortness);
    paint_limits(&p, c);
    paint_now(&p, c);
    for (size_t i = 0; i < c->short_count; i++)
        paint_reading(&p, &c->shorts[i]);
    sf_sheet_unclip(sheet);
    snprintf(what, sizeof what,
             "prosthesis short by, %s, with the present spacers (dot: knee height, square: levelling block)",
             c->inch ? "in" : "mm");
    paint_axes(&p, c->inch, what, true);
    for (int i = 0; i < SF_CHART_STEPS; i++) {
        sf_Spot at = spot(&p, p.to, c->steps[i].limit);
        sf_sheet_text(sheet, (sf_Spot){ at.x + 0.8, at.y + 0.9 }, &SMALL, c->steps[i].name);
    }
    if (c->shortness.count == 0)
        sf_sheet_text_patch(sheet, (sf_Spot){ plot.x + 4, plot.y + 5 }, &SMALL, "not known: see beside");
}

// ---- beside ---------------------------------------------------------------------------------------------------------

static void length_text(char *text, size_t size, const sf_GrowthChart *c, double length, bool sign)
{
    if (c->inch)
        snprintf(text, size, sign ? "%+.2f in" : "%.2f in", length / SF_INCH);
    else
        snprintf(text, size, sign ? "%+.1f mm" : "%.1f mm", length / SF_MM);
}

static double paint_large(sf_Sheet *sheet, sf_Box box, const sf_GrowthChart *c)
{
    const sf_Lettering large = { 20, true, SF_ALIGN_LEFT, SF_INK };
    char text[LINE_TEXT], one[32], low[32], high[32];
    sf_sheet_text(sheet, (sf_Spot){ box.x, box.y + 2.4 }, &SMALL, c->short_now < 0 ? "Long now by" : "Short now by");
    if (!isfinite(c->short_now)) {
        sf_sheet_text(sheet, (sf_Spot){ box.x, box.y + 10.5 }, &large, "not known");
        return box.y + 15;
    }
    length_text(one, sizeof one, c, fabs(c->short_now), false);
    length_text(low, sizeof low, c, c->short_low, true);
    length_text(high, sizeof high, c, c->short_high, true);
    sf_sheet_text(sheet, (sf_Spot){ box.x, box.y + 10.5 }, &large, one);
    snprintf(text, sizeof text, "short by %s to %s (90 %%)", low, high);
    sf_sheet_text(sheet, (sf_Spot){ box.x, box.y + 14.6 }, &SMALL, text);
    return box.y + 17;
}

static double paint_lines(sf_Sheet *sheet, sf_Box box, double y, const char *title, const char *lines, size_t count,
                          size_t stride)
{
    const sf_Lettering bold = { 8, true, SF_ALIGN_LEFT, SF_INK };
    if (count == 0)
        return y;
    sf_sheet_text(sheet, (sf_Spot){ box.x, y + 3.2 }, &bold, title);
    y += 4.4;
    for (size_t i = 0; i < count; i++) {
        double need = sf_sheet_text_height(sheet, box.width, &SMALL, lines + i * stride);
        if (y + need > box.y + box.height)
            break; // the document holds them all
        y += sf_sheet_text_box(sheet, (sf_Box){ box.x, y, box.width, need + 0.2 }, &SMALL, lines + i * stride) + 0.5;
    }
    return y + 0.8;
}

static double paint_due(sf_Sheet *sheet, sf_Box box, double y, const sf_GrowthChart *c)
{
    char lines[SF_CHART_STEPS][LINE_TEXT], limit[32];
    for (int i = 0; i < SF_CHART_STEPS; i++) {
        const sf_ChartStep *s = &c->steps[i];
        length_text(limit, sizeof limit, c, s->limit, false);
        snprintf(lines[i], LINE_TEXT, "%s, %s: %s (%s to %s)", s->name, limit, *s->date ? s->date : "no date",
                 *s->from ? s->from : "open", *s->to ? s->to : "open");
    }
    return paint_lines(sheet, box, y, "When it is short (90 % interval)", lines[0], SF_CHART_STEPS, LINE_TEXT);
}

static void paint_head(sf_Sheet *sheet, const sf_GrowthChart *c)
{
    char about[LINE_TEXT];
    snprintf(about, sizeof about, "%.2f years on %s", c->age_now, c->as_of);
    sf_sheet_head(sheet, MARGIN, sf_sheet_box(sheet).width, "Growth and length", c->label, about);
}

static sf_Status describe(sf_Sheet *sheet, const sf_GrowthChart *c, sf_Error *err)
{
    sf_Text text = sf_text_make(MOST_DESCRIPTION);
    char title[LINE_TEXT];
    for (int i = 0; i < SF_CHART_STEPS; i++)
        sf_text_format(&text, "Short by %.0f mm: %s.\n", c->steps[i].limit / SF_MM,
                       *c->steps[i].date ? c->steps[i].date : "no date");
    for (size_t i = 0; i < c->stack_count; i++)
        sf_text_format(&text, "%s\n", c->stacks[i]);
    for (size_t i = 0; i < c->remark_count; i++)
        sf_text_format(&text, "%s\n", c->remarks[i]);
    sf_text_add(&text, c->safety);
    snprintf(title, sizeof title, "Growth and length: %.200s", c->label);
    sf_sheet_describe(sheet, title, sf_text_string(&text));
    bool broken = text.broken;
    sf_text_free(&text);
    return broken ? SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory") : SF_OK;
}

sf_Status sf_growth_chart_paint(sf_Sheet *sheet, const sf_GrowthChart *c, sf_Error *err)
{
    sf_Box paper = sf_sheet_box(sheet);
    const sf_Pen rule = { SF_INK, 0.2, SF_DASH_NONE };
    double top = MARGIN + HEAD + 3, width = paper.width - 2 * MARGIN - COLUMN - GAP, foot = paper.height - MARGIN - 8.2;
    double plot = width - AXIS - 8;
    sf_Box beside = { paper.width - MARGIN - COLUMN, MARGIN + HEAD, COLUMN, foot - MARGIN - HEAD - 1 };
    SF_TRY(describe(sheet, c, err));
    paint_head(sheet, c);
    paint_stature(sheet, (sf_Box){ MARGIN + AXIS, top, plot, UPPER }, c);
    paint_short(sheet, (sf_Box){ MARGIN + AXIS, top + UPPER + 5, plot, LOWER }, c);
    double y = paint_large(sheet, beside, c);
    y = paint_due(sheet, beside, y, c);
    y = paint_lines(sheet, beside, y, "Spacers, from the shop's own stock", c->stacks[0], c->stack_count,
                    sizeof c->stacks[0]);
    paint_lines(sheet, beside, y, "Mind", c->remarks[0], c->remark_count, sizeof c->remarks[0]);
    char text[1024];
    snprintf(text, sizeof text, "%s %s.", c->safety, c->program);
    sf_sheet_line(sheet, (sf_Spot){ MARGIN, foot - 0.6 }, (sf_Spot){ paper.width - MARGIN, foot - 0.6 }, &rule);
    sf_sheet_text_box(sheet, (sf_Box){ MARGIN, foot, paper.width - 2 * MARGIN, paper.height - foot - 3 }, &SMALL, text);
    return SF_OK;
}
