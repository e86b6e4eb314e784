// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/units.h"
#include "draw/dimension.h"
#include "draw/lettering.h"
#include "draw/pylon_elevation.h"

#include <math.h>
#include <stdio.h>

static const sf_PaperMm LABELS = 10.5; // rows above the plot for the names of the yield lines
static const double MOST_OF_YIELD = 2; // stress beyond this many times the cold yield is cut off, and said

typedef struct Plot {
    sf_Sheet *sheet;
    const sf_HeightScale *heights;
    const sf_PylonSheet *p;
    sf_PaperMm left, right, top, bottom;
    double most; ///< stress at the right edge, Pa
} Plot;

static sf_PaperMm stress_x(const Plot *c, double stress)
{
    return c->left + (c->right - c->left) * stress / c->most;
}

static double peak_of(const Plot *c, const sf_PylonCurve *curve)
{
    double most = 0;
    for (size_t i = 0; curve->balanced && i < c->p->pylon->station_count; i++)
        most = fmax(most, curve->peaks[i].von_mises);
    return most;
}

static void draw_axes(const Plot *c)
{
    const sf_Pen line = { SF_INK, 0.2, SF_DASH_NONE }, faint = { SF_INK_FAINT, 0.13, SF_DASH_NONE };
    const sf_Lettering centre = { SF_SMALLEST_PT, false, SF_ALIGN_CENTRE, SF_INK };
    const double heights[] = { c->p->pylon->cut, c->p->pylon->grip_top, c->p->pylon->top };
    for (int i = 0; i < 3; i++) {
        double y = sf_height_y(c->heights, heights[i]);
        sf_sheet_line(c->sheet, (sf_Spot){ c->left - 9, y }, (sf_Spot){ c->right, y }, &faint);
    }
    sf_sheet_line(c->sheet, (sf_Spot){ c->left, c->bottom }, (sf_Spot){ c->right, c->bottom }, &line);
    sf_sheet_line(c->sheet, (sf_Spot){ c->left, c->bottom }, (sf_Spot){ c->left, c->top }, &line);
    double steps[] = { 5, 10, 20, 50, 100, 200, 500 }, step = 500;
    for (int i = 6; i >= 0; i--)
        if (c->most / SF_MPA / steps[i] <= 5.5)
            step = steps[i];
    for (double mpa = 0; mpa * SF_MPA <= c->most; mpa += step) {
        char text[16];
        double x = stress_x(c, mpa * SF_MPA);
        snprintf(text, sizeof text, "%.0f", mpa);
        sf_sheet_line(c->sheet, (sf_Spot){ x, c->bottom }, (sf_Spot){ x, c->bottom + 1 }, &line);
        sf_sheet_text(c->sheet, (sf_Spot){ x, c->bottom + 3.8 }, &centre, text);
    }
    char text[64];
    snprintf(text, sizeof text, "%s, MPa, at %.0f \u00b0C", c->p->used ? "stress" : "greatest stress",
             c->p->temperature_c);
    sf_sheet_text(c->sheet, (sf_Spot){ (c->left + c->right) / 2 + 4, c->bottom + 7 }, &centre, text);
}

// The yield stress of each temperature, weakest first, its name on a row of its own.
static void draw_yields(const Plot *c)
{
    for (int i = 0; i < SF_PYLON_TEMPERATURES; i++) {
        double stress = c->p->yields[i], x = stress_x(c, stress);
        if (isnan(stress) || x > c->right)
            continue;
        bool asked = c->p->temperatures_c[i] == c->p->temperature_c;
        const sf_Pen pen = { SF_INK, asked ? 0.4 : 0.22, asked ? SF_DASH_NONE : SF_DASH_SHORT };
        const sf_Lettering style = { SF_SMALLEST_PT, asked, SF_ALIGN_RIGHT, SF_INK };
        double y = c->top - LABELS + 2.6 + 3 * (i % 3);
        char text[48];
        snprintf(text, sizeof text, "%s%.0f \u00b0C: %.1f", i == 0 ? "yield at " : "", c->p->temperatures_c[i],
                 stress / SF_MPA);
        sf_sheet_line(c->sheet, (sf_Spot){ x, c->bottom }, (sf_Spot){ x, y + 0.4 }, &pen);
        double wide = sf_sheet_text_width(c->sheet, &style, text);
        sf_sheet_text(c->sheet, (sf_Spot){ fmax(x - 0.8, c->left - 6 + wide), y }, &style, text);
    }
}

static void draw_curve(const Plot *c, const sf_PylonCurve *curve)
{
    if (!curve->balanced)
        return;
    sf_Spot spots[SF_STATION_MAX];
    size_t n = c->p->pylon->station_count, worst = 0;
    for (size_t i = 0; i < n; i++) {
        const sf_Peak *peak = &curve->peaks[i];
        // A hole raises the stress at one place only, so it stands as a mark beside the line of the plain fibres.
        double stress = peak->hole >= 0 ? fabs(peak->normal) : peak->von_mises;
        spots[i] = (sf_Spot){ stress_x(c, stress), sf_height_y(c->heights, c->p->pylon->stations[i].height) };
        if (peak->von_mises > curve->peaks[worst].von_mises)
            worst = i;
    }
    const sf_Pen pen = { SF_INK_SCRIBE, curve->governs ? 0.6 : 0.3, curve->governs ? SF_DASH_NONE : SF_DASH_SHORT };
    const sf_Pen ring = { SF_INK_MARK, 0.3, SF_DASH_NONE };
    const sf_Spot window[] = {
        { c->left, c->top }, { c->right, c->top }, { c->right, c->bottom }, { c->left, c->bottom }
    };
    sf_sheet_clip(c->sheet, &(sf_Loop){ window, 4 }, 1);
    sf_sheet_polyline(c->sheet, spots, n, false, &pen);
    for (size_t i = 0; i < n; i++)
        if (curve->peaks[i].hole >= 0)
            sf_sheet_circle(c->sheet, (sf_Spot){ stress_x(c, curve->peaks[i].von_mises), spots[i].y }, 0.7, &ring);
    sf_sheet_unclip(c->sheet);
    const sf_Peak *peak = &curve->peaks[worst];
    double x = fmin(stress_x(c, peak->von_mises), c->right), y = sf_height_y(c->heights, peak->height);
    if (stress_x(c, peak->von_mises) > c->right) {
        sf_arrow_head(c->sheet, (sf_Spot){ c->right + 1.2, y }, 0, 2.4, SF_INK); // it lies beyond the chart
    } else if (curve->governs) {
        sf_sheet_dot(c->sheet, (sf_Spot){ x, y }, 1.1, SF_PAPER);
        sf_sheet_dot(c->sheet, (sf_Spot){ x, y }, 0.8, SF_INK);
    }
    char text[32];
    snprintf(text, sizeof text, "%s: %.1f", curve->condition, peak->von_mises / SF_MPA);
    const sf_Lettering style = { curve->governs ? 8 : SF_SMALLEST_PT, curve->governs, SF_ALIGN_RIGHT, SF_INK };
    double half = sf_sheet_text_width(c->sheet, &style, text);
    sf_sheet_text_patch(c->sheet, (sf_Spot){ fmax(x - 1.6, c->left + half + 1), y + 0.9 }, &style, text);
}

void sf_stress_chart_paint(sf_Sheet *sheet, sf_Box box, const sf_HeightScale *heights, const sf_PylonSheet *p)
{
    Plot plot = { .sheet = sheet, .heights = heights, .p = p, .left = box.x + 2, .right = box.x + box.width - 1 };
    Plot *c = &plot;
    c->top = sf_height_y(heights, p->pylon->top) - 3;
    c->bottom = sf_height_y(heights, p->pylon->cut) + 1.5;
    double yield = 0;
    for (int i = 0; i < SF_PYLON_TEMPERATURES; i++)
        yield = fmax(yield, p->yields[i]);
    c->most =
        1.08 * fmin(fmax(yield, fmax(peak_of(c, &p->curves[0]), peak_of(c, &p->curves[1]))), MOST_OF_YIELD * yield);
    draw_axes(c);
    draw_yields(c);
    for (int pass = 0; pass < 2; pass++)
        for (int i = 0; i < SF_PYLON_CURVES; i++)
            if (p->curves[i].governs == (pass == 1))
                draw_curve(c, &p->curves[i]);
    const sf_Lettering small = { SF_SMALLEST_PT, false, SF_ALIGN_LEFT, SF_INK };
    char text[120];
    snprintf(text, sizeof text, "Proof force of %s: I %.0f N, II %.0f N", p->level, p->curves[0].force,
             p->curves[1].force);
    sf_sheet_text(sheet, (sf_Spot){ box.x + 2, box.y + 2.4 }, &small, text);
}
