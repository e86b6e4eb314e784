// SPDX-License-Identifier: GPL-3.0-or-later
#include "draw/moment_chart.h"

#include "draw/lettering.h"
#include "draw/limb_views.h"

#include <math.h>
#include <stdio.h>

static const sf_PaperMm LABELS = 8, HEAD = 8, FEET = 4.6;
static const sf_Colour SHADE = { 0.86, 0.87, 0.88 };
static const double LEAST_SPAN = 4; // N.m: a smaller change is not blown up to fill the chart

double sf_moment_of(const sf_SocketMoment *m, sf_MomentPlane plane)
{
    return plane == SF_MOMENT_SAGITTAL ? m->sagittal : plane == SF_MOMENT_CORONAL ? m->coronal : m->transverse;
}

const char *sf_moment_words(sf_MomentPlane plane, double sign)
{
    static const char *const words[SF_MOMENT_PLANES][2] = {
        { "flexes the knee", "extends the knee" },
        { "towards varus", "towards valgus" },
        { "turns the toe inward", "turns the toe outward" },
    };
    return words[plane][sign > 0];
}

static double step_of(double span)
{
    static const double steps[] = { 1, 2, 5, 10, 20, 50, 100, 200, 500 };
    size_t i = 0;
    while (i + 1 < sizeof steps / sizeof *steps && span / steps[i] > 4.5)
        i++;
    return steps[i];
}

sf_MomentScale sf_moment_scale(sf_Box box, const sf_StanceCurves *before, const sf_StanceCurves *after,
                               sf_MomentPlane plane)
{
    double low = 0, high = 0;
    for (int k = 0; k < 2; k++) {
        const sf_StanceCurves *c = k ? after : before;
        for (size_t i = 0; c && i < c->count; i++) {
            low = fmin(low, sf_moment_of(&c->moment[i], plane));
            high = fmax(high, sf_moment_of(&c->moment[i], plane));
        }
    }
    double lack = LEAST_SPAN - (high - low);
    if (lack > 0) {
        low -= lack / 2;
        high += lack / 2;
    }
    double room = 0.04 * (high - low);
    return (sf_MomentScale){ box.x + LABELS, box.x + box.width - 1.5,
                             box.y + HEAD,   box.y + box.height - FEET,
                             low - room,     high + room };
}

sf_Spot sf_moment_spot(const sf_MomentScale *s, double percent, double moment)
{
    return (sf_Spot){ s->left + (s->right - s->left) * percent / 100,
                      s->bottom - (s->bottom - s->top) * (moment - s->low) / (s->high - s->low) };
}

static void paint_axes(sf_Sheet *sheet, sf_Box box, const sf_MomentScale *s, sf_MomentPlane plane)
{
    static const char *const names[] = { "Sagittal moment, N\u00b7m", "Coronal moment, N\u00b7m",
                                         "Turning moment, N\u00b7m" };
    const sf_Pen line = { SF_INK, 0.2, SF_DASH_NONE }, faint = { SF_INK_FAINT, 0.13, SF_DASH_NONE };
    const sf_Lettering name = { 7.5, true, SF_ALIGN_LEFT, SF_INK },
                       right = { SF_SMALLEST_PT, false, SF_ALIGN_RIGHT, SF_INK },
                       centre = { SF_SMALLEST_PT, false, SF_ALIGN_CENTRE, SF_INK },
                       soft = { SF_SMALLEST_PT, false, SF_ALIGN_LEFT, SF_INK_SOFT };
    char text[64];
    sf_sheet_text(sheet, (sf_Spot){ box.x, box.y + 2.6 }, &name, names[plane]);
    double step = step_of(s->high - s->low);
    for (double v = ceil(s->low / step) * step; v <= s->high; v += step) {
        sf_Spot at = sf_moment_spot(s, 0, v);
        snprintf(text, sizeof text, "%s%.0f", v > 0.5 ? "+" : "", fabs(v) < 0.5 ? 0 : v);
        sf_sheet_line(sheet, at, (sf_Spot){ s->right, at.y }, fabs(v) < 0.5 ? &line : &faint);
        sf_sheet_text(sheet, (sf_Spot){ s->left - 1, at.y + 0.9 }, &right, text);
    }
    for (int percent = 0; percent <= 100; percent += 25) {
        double x = sf_moment_spot(s, percent, 0).x;
        snprintf(text, sizeof text, percent == 100 ? "100 %%" : "%d", percent);
        sf_sheet_line(sheet, (sf_Spot){ x, s->bottom }, (sf_Spot){ x, s->bottom + 0.8 }, &line);
        sf_sheet_text(sheet, (sf_Spot){ x - (percent == 100 ? 2 : 0), s->bottom + 3.8 }, &centre, text);
    }
    sf_sheet_line(sheet, (sf_Spot){ s->left, s->bottom }, (sf_Spot){ s->left, s->top }, &line);
    snprintf(text, sizeof text, "+ %s", sf_moment_words(plane, 1));
    sf_sheet_text(sheet, (sf_Spot){ s->left, box.y + 6.2 }, &soft, text);
}

void sf_moment_chart_paint(sf_Sheet *sheet, sf_Box box, const sf_StanceCurves *before, const sf_StanceCurves *after,
                           sf_MomentPlane plane)
{
    sf_MomentScale scale = sf_moment_scale(box, before, after, plane);
    sf_Spot spots[2 * SF_STANCE_MAX_POINTS];
    size_t n = after->count;
    for (size_t i = 0; i < n; i++) {
        spots[i] = sf_moment_spot(&scale, after->percent[i], sf_moment_of(&after->moment[i], plane));
        if (before)
            spots[2 * n - 1 - i] = sf_moment_spot(&scale, before->percent[i], sf_moment_of(&before->moment[i], plane));
    }
    if (before)
        sf_sheet_fill(sheet, &(sf_Loop){ spots, 2 * n }, 1, SHADE);
    paint_axes(sheet, box, &scale, plane);
    if (before)
        sf_sheet_polyline(sheet, spots + n, n, false, &(sf_Pen){ SF_INK_SOFT, 0.25, SF_DASH_SHORT });
    sf_sheet_polyline(sheet, spots, n, false, &(sf_Pen){ SF_INK_SCRIBE, 0.5, SF_DASH_NONE });
    for (int i = 0; i < SF_VIEW_INSTANTS; i++) {
        sf_Spot at = spots[sf_stance_curves_at(after, SF_VIEW_PERCENT[i])];
        sf_sheet_dot(sheet, at, 0.8, SF_PAPER);
        sf_sheet_circle(sheet, at, 0.8, &(sf_Pen){ SF_INK_MARK, 0.25, SF_DASH_NONE });
        if (i)
            sf_sheet_dot(sheet, at, 0.8, SF_INK_MARK);
    }
}
