// SPDX-License-Identifier: GPL-3.0-or-later
#include "draw/align_sheet.h"

#include "base/text.h"
#include "base/units.h"
#include "draw/lettering.h"
#include "draw/moment_chart.h"
#include "draw/sheet_head.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { LINE = 240, MOST_DESCRIPTION = 16384, ROWS = SF_MOMENT_PLANES * SF_VIEW_INSTANTS };

static const sf_PaperMm MARGIN = 5, CHARTS = 94.5, FOOT = 129.5;
static const sf_Box UPRIGHT = { 5, 11, 92, 83 }, ABOVE = { 101, 11.5, 62, 30 };
static const sf_Lettering SMALL = { SF_SMALLEST_PT, false, SF_ALIGN_LEFT, { 0.08, 0.09, 0.11 } };
static const sf_Lettering SOFT = { SF_SMALLEST_PT, false, SF_ALIGN_LEFT, { 0.33, 0.35, 0.38 } };
static const sf_Lettering RIGHT = { SF_SMALLEST_PT, false, SF_ALIGN_RIGHT, { 0.08, 0.09, 0.11 } };

sf_ViewPlaces sf_align_sheet_places(const sf_AlignSheet *a)
{
    return sf_limb_views_places(&a->views, UPRIGHT, ABOVE);
}

static void paint_head(sf_Sheet *sheet, const sf_AlignSheet *a, double scale)
{
    char about[LINE];
    snprintf(about, sizeof about, "%s, %.0f kg \u00b7 gait held fixed \u00b7 drawn 1 : %g on A5",
             a->views.body->chain.side == SF_CHAIN_LEFT ? "left" : "right", a->body_mass, round(10 / scale) / 10);
    sf_sheet_head(sheet, MARGIN, sf_sheet_box(sheet).width, "Alignment", a->label, about);
}

// ---- figures -------------------------------------------------------------------------------------------------------

static void figure(sf_Sheet *sheet, double x, double y, double value, bool sign, bool bold)
{
    char text[32];
    const sf_Lettering style = { SF_SMALLEST_PT, bold, SF_ALIGN_RIGHT, SF_INK };
    snprintf(text, sizeof text, sign ? "%+.1f" : "%.1f", fabs(value) < 0.05 ? 0 : value);
    sf_sheet_text(sheet, (sf_Spot){ x, y }, &style, text);
}

static void paint_change(sf_Sheet *sheet, sf_Box box, const sf_AlignSheet *a)
{
    const sf_Lettering large = { 11, true, SF_ALIGN_LEFT, SF_INK };
    sf_sheet_text(sheet, (sf_Spot){ box.x, box.y + 2.4 }, &SMALL,
                  a->views.before ? "Change at the clamp" : "As it is set");
    double size = large.size_pt;
    sf_Lettering style = large;
    while (size > SF_SMALLEST_PT && sf_sheet_text_height(sheet, box.width, &style, a->change) > box.height - 11)
        style.size_pt = size -= 0.5;
    sf_sheet_text_box(sheet, (sf_Box){ box.x, box.y + 4, box.width, box.height - 10.5 }, &style, a->change);
    double y = box.y + box.height - 1;
    sf_sheet_line(sheet, (sf_Spot){ box.x, y - 0.9 }, (sf_Spot){ box.x + 6, y - 0.9 },
                  &(sf_Pen){ SF_INK_MARK, 0.35, SF_DASH_NONE });
    sf_sheet_text(sheet, (sf_Spot){ box.x + 7.5, y }, &SOFT, "line of the force");
    if (!a->views.before)
        return;
    sf_sheet_line(sheet, (sf_Spot){ box.x, y - 4.5 }, (sf_Spot){ box.x + 6, y - 4.5 },
                  &(sf_Pen){ SF_INK_FAINT, 0.3, SF_DASH_NONE });
    sf_sheet_text(sheet, (sf_Spot){ box.x + 7.5, y - 3.6 }, &SOFT, "before");
}

static void table_head(sf_Sheet *sheet, double x, double y, const sf_AlignSheet *a, const char *title)
{
    const sf_Lettering bold = { SF_SMALLEST_PT, true, SF_ALIGN_LEFT, SF_INK };
    sf_sheet_text(sheet, (sf_Spot){ x, y }, &bold, title);
    if (!a->views.before) {
        sf_sheet_text(sheet, (sf_Spot){ x + 61, y }, &RIGHT, "now");
        return;
    }
    sf_sheet_text(sheet, (sf_Spot){ x + 48, y }, &RIGHT, "before");
    sf_sheet_text(sheet, (sf_Spot){ x + 61, y }, &RIGHT, "after");
    sf_sheet_text(sheet, (sf_Spot){ x + 75, y }, &RIGHT, "change");
}

static void paint_moments(sf_Sheet *sheet, double x, double y, const sf_AlignSheet *a)
{
    static const char *const names[] = { "sagittal", "coronal", "turning" };
    const sf_Pen thin = { SF_INK_FAINT, 0.13, SF_DASH_NONE };
    table_head(sheet, x, y, a, "Moment on the socket, N\u00b7m");
    for (int r = 0; r < ROWS; r++) {
        sf_MomentPlane plane = (sf_MomentPlane)(r / SF_VIEW_INSTANTS);
        double percent = SF_VIEW_PERCENT[r % SF_VIEW_INSTANTS], row = y + 3.7 * (r + 1);
        const sf_StanceCurves *after = a->views.after, *before = a->views.before;
        size_t at = sf_stance_curves_at(after, percent);
        double is = sf_moment_of(&after->moment[at], plane),
               was = before ? sf_moment_of(&before->moment[at], plane) : is;
        char text[LINE];
        snprintf(text, sizeof text, "%s, %.0f %% of stance", names[plane], percent);
        sf_sheet_line(sheet, (sf_Spot){ x, row - 2.75 }, (sf_Spot){ x + 104, row - 2.75 }, &thin);
        sf_sheet_text(sheet, (sf_Spot){ x, row }, &SMALL, text);
        figure(sheet, x + 61, row, is, true, true);
        double told = before ? is - was : is;
        if (before) {
            figure(sheet, x + 48, row, was, true, false);
            figure(sheet, x + 75, row, told, true, false);
        }
        if (fabs(told) >= 0.05)
            sf_sheet_text(sheet, (sf_Spot){ x + 77, row }, &SOFT, sf_moment_words(plane, told));
    }
}

static void paint_poses(sf_Sheet *sheet, double x, double y, const sf_AlignSheet *a)
{
    table_head(sheet, x, y, a, "Where the socket stands");
    for (size_t i = 0; i < a->pose_count; i++) {
        double row = y + 3.5 * (double)(i + 1);
        const sf_AlignFigure *f = &a->poses[i];
        sf_sheet_text(sheet, (sf_Spot){ x, row }, &SMALL, f->words);
        figure(sheet, x + 61, row, f->after, false, true);
        if (a->views.before) {
            figure(sheet, x + 48, row, f->before, false, false);
            figure(sheet, x + 75, row, f->after - f->before, true, false);
        }
    }
}

// ---- the whole -----------------------------------------------------------------------------------------------------

static void paint_foot(sf_Sheet *sheet, const sf_AlignSheet *a)
{
    sf_Box paper = sf_sheet_box(sheet);
    const sf_Pen rule = { SF_INK, 0.2, SF_DASH_NONE };
    double width = paper.width - 2 * MARGIN, y = FOOT;
    char last[1024];
    snprintf(last, sizeof last, "%s %s.", a->safety, a->program);
    double safety = sf_sheet_text_height(sheet, width, &SOFT, last), end = paper.height - 2.5 - safety;
    for (size_t i = 0; i < a->note_count; i++) {
        double need = sf_sheet_text_height(sheet, width, &SMALL, a->notes[i]);
        if (y + need > end - 1)
            break; // the least weighty fall away first; the description and the result hold them all
        y += sf_sheet_text_box(sheet, (sf_Box){ MARGIN, y, width, need + 0.3 }, &SMALL, a->notes[i]);
    }
    sf_sheet_line(sheet, (sf_Spot){ MARGIN, end - 0.7 }, (sf_Spot){ MARGIN + width, end - 0.7 }, &rule);
    sf_sheet_text_box(sheet, (sf_Box){ MARGIN, end, width, safety + 0.5 }, &SOFT, last);
}

static sf_Status describe(sf_Sheet *sheet, const sf_AlignSheet *a, double scale, sf_Error *err)
{
    static const char *const names[] = { "sagittal", "coronal", "turning" };
    sf_Text text = sf_text_make(MOST_DESCRIPTION);
    char title[LINE];
    snprintf(title, sizeof title, "Alignment: %.80s: %.100s", a->label, a->change);
    sf_text_format(&text, "Drawn 1 : %g. %s.\n", round(10 / scale) / 10, a->change);
    for (size_t i = 0; i < a->pose_count; i++)
        sf_text_format(&text, "%s: %.1f before, %.1f after.\n", a->poses[i].words, a->poses[i].before,
                       a->poses[i].after);
    for (int r = 0; r < ROWS; r++) {
        sf_MomentPlane plane = (sf_MomentPlane)(r / SF_VIEW_INSTANTS);
        double percent = SF_VIEW_PERCENT[r % SF_VIEW_INSTANTS];
        size_t at = sf_stance_curves_at(a->views.after, percent);
        const sf_StanceCurves *was = a->views.before ? a->views.before : a->views.after;
        sf_text_format(&text, "%s moment at %.0f %% of stance: %+.1f N.m before, %+.1f N.m after (+ %s).\n",
                       names[plane], percent, sf_moment_of(&was->moment[at], plane),
                       sf_moment_of(&a->views.after->moment[at], plane), sf_moment_words(plane, 1));
    }
    for (size_t i = 0; i < a->note_count; i++)
        sf_text_format(&text, "%s\n", a->notes[i]);
    sf_text_add(&text, a->safety);
    sf_sheet_describe(sheet, title, sf_text_string(&text));
    bool broken = text.broken;
    sf_text_free(&text);
    return broken ? SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory while drawing an alignment") : SF_OK;
}

sf_Status sf_align_sheet_paint(sf_Sheet *sheet, const sf_AlignSheet *a, sf_Error *err)
{
    sf_ViewPlaces places = sf_align_sheet_places(a);
    double width = sf_sheet_box(sheet).width - 2 * MARGIN, chart = width / SF_MOMENT_PLANES;
    SF_TRY(describe(sheet, a, places.eye[0].scale, err));
    paint_head(sheet, a, places.eye[0].scale);
    sf_limb_views_paint(sheet, &a->views, &places);
    paint_change(sheet, (sf_Box){ 166, 12, 39, 32 }, a);
    paint_moments(sheet, ABOVE.x, 48.5, a);
    paint_poses(sheet, ABOVE.x, 75.5, a);
    for (int p = 0; p < SF_MOMENT_PLANES; p++)
        sf_moment_chart_paint(sheet, (sf_Box){ MARGIN + p * chart, CHARTS, chart - 3, FOOT - CHARTS - 1.5 },
                              a->views.before, a->views.after, (sf_MomentPlane)p);
    paint_foot(sheet, a);
    return SF_OK;
}
