// SPDX-License-Identifier: GPL-3.0-or-later
#include "draw/said_chart.h"

#include "draw/lettering.h"

#include <math.h>
#include <stdio.h>

static const sf_PaperMm LEFT = 14, RIGHT = 4, TOP = 12, BOTTOM = 13;
static const sf_PaperMm MARK = 1.1; // half size of a mark

typedef struct Plot {
    sf_Sheet *sheet;
    sf_Box box;
    double low, high;
} Plot;

static sf_Spot spot(const Plot *p, double said, double seen)
{
    double span = p->high - p->low;
    return (sf_Spot){ p->box.x + p->box.width * (said - p->low) / span,
                      p->box.y + p->box.height * (p->high - seen) / span };
}

static double step_of(double span)
{
    static const double steps[] = { 0.5, 1, 2, 5, 10, 20 };
    for (size_t i = 0; i < sizeof steps / sizeof *steps; i++)
        if (span / steps[i] <= 8)
            return steps[i];
    return 50;
}

// Both axes alike, from a round number below the least to one above the greatest.
static void find_range(Plot *p, const sf_SaidChart *chart)
{
    double low = INFINITY, high = -INFINITY;
    for (size_t i = 0; i < chart->count; i++) {
        low = fmin(low, fmin(chart->points[i].said, chart->points[i].seen));
        high = fmax(high, fmax(chart->points[i].said, chart->points[i].seen));
    }
    if (!(high > low)) {
        low = isfinite(low) ? low - 1 : 3;
        high = isfinite(high) ? high + 1 : 9;
    }
    double step = step_of(1.2 * (high - low));
    p->low = step * floor((low - 0.05 * (high - low)) / step);
    p->high = step * ceil((high + 0.05 * (high - low)) / step);
}

static void draw_axes(const Plot *p, const sf_SaidChart *chart)
{
    const sf_Pen axis = { SF_INK, 0.2, SF_DASH_NONE }, faint = { SF_INK_FAINT, 0.13, SF_DASH_NONE };
    const sf_Lettering centre = { SF_SMALLEST_PT, false, SF_ALIGN_CENTRE, SF_INK };
    const sf_Lettering right = { SF_SMALLEST_PT, false, SF_ALIGN_RIGHT, SF_INK };
    const sf_Lettering left = { SF_SMALLEST_PT, false, SF_ALIGN_LEFT, SF_INK };
    double step = step_of(p->high - p->low);
    char text[24];
    for (double value = p->low; value <= p->high + 1e-9; value += step) {
        sf_Spot below = spot(p, value, p->low), beside = spot(p, p->low, value);
        sf_sheet_line(p->sheet, below, spot(p, value, p->high), &faint);
        sf_sheet_line(p->sheet, beside, spot(p, p->high, value), &faint);
        snprintf(text, sizeof text, "%g", value);
        sf_sheet_text(p->sheet, (sf_Spot){ below.x, below.y + 4 }, &centre, text);
        sf_sheet_text(p->sheet, (sf_Spot){ beside.x - 1.5, beside.y + 1 }, &right, text);
    }
    sf_sheet_rectangle(p->sheet, p->box, &axis);
    sf_sheet_text(p->sheet, (sf_Spot){ p->box.x + p->box.width / 2, p->box.y + p->box.height + 9 }, &centre,
                  chart->said);
    sf_sheet_text(p->sheet, (sf_Spot){ p->box.x - LEFT + 2, p->box.y - 4 }, &left, chart->seen);
}

// A line of slope `slope` through nought, within the box.
static void draw_ray(const Plot *p, double slope, const sf_Pen *pen)
{
    double from = fmax(p->low, p->low / slope), to = fmin(p->high, p->high / slope);
    if (to > from)
        sf_sheet_line(p->sheet, spot(p, from, slope * from), spot(p, to, slope * to), pen);
}

static void draw_mark(const Plot *p, const sf_SaidPoint *point)
{
    const sf_Pen scribe = { SF_INK_SCRIBE, 0.35, SF_DASH_NONE }, wrong = { SF_INK_MARK, 0.45, SF_DASH_NONE };
    sf_Spot at = spot(p, point->said, point->seen);
    if (point->came_true) {
        sf_sheet_circle(p->sheet, at, MARK, &scribe);
        return;
    }
    sf_sheet_line(p->sheet, (sf_Spot){ at.x - MARK, at.y - MARK }, (sf_Spot){ at.x + MARK, at.y + MARK }, &wrong);
    sf_sheet_line(p->sheet, (sf_Spot){ at.x - MARK, at.y + MARK }, (sf_Spot){ at.x + MARK, at.y - MARK }, &wrong);
}

void sf_said_chart_paint(sf_Sheet *sheet, const sf_SaidChart *chart)
{
    const sf_Pen line = { SF_INK, 0.3, SF_DASH_NONE }, edge = { SF_INK_SOFT, 0.2, SF_DASH_SHORT };
    const sf_Lettering right = { SF_SMALLEST_PT, false, SF_ALIGN_RIGHT, SF_INK };
    sf_Box paper = sf_sheet_box(sheet);
    Plot p = { .sheet = sheet,
               .box = { paper.x + LEFT, paper.y + TOP, paper.width - LEFT - RIGHT, paper.height - TOP - BOTTOM } };
    char text[80];
    size_t wrong = 0;
    find_range(&p, chart);
    draw_axes(&p, chart);
    draw_ray(&p, 1, &line);
    draw_ray(&p, 1 - chart->share, &edge);
    draw_ray(&p, 1 + chart->share, &edge);
    for (size_t i = 0; i < chart->count; i++) {
        draw_mark(&p, &chart->points[i]);
        wrong += !chart->points[i].came_true;
    }
    snprintf(text, sizeof text, "\u25cb within %.0f %%: %zu    \u00d7 not: %zu", chart->share * 100,
             chart->count - wrong, wrong);
    sf_sheet_text(sheet, (sf_Spot){ p.box.x + p.box.width, p.box.y - 4 }, &right, text);
    snprintf(text, sizeof text, "%zu walls, %zu of them not within %.0f %% of what was expected", chart->count, wrong,
             chart->share * 100);
    sf_sheet_describe(sheet, "Walls, seen against said", text);
}
