// SPDX-License-Identifier: GPL-3.0-or-later
#include "draw/dimension.h"

#include "base/units.h"

#include <math.h>

static const sf_PaperMm THIN = 0.13, HEAD = 1.9, HEAD_SLIM = 0.17; // half width of a head as a share of its length

static sf_Spot spot_along(sf_Spot at, double angle, sf_PaperMm distance)
{
    return (sf_Spot){ at.x + distance * cos(angle), at.y + distance * sin(angle) };
}

static void draw_head(sf_Sheet *sheet, sf_Spot tip, double angle, sf_PaperMm length, sf_PaperMm half, sf_Colour colour)
{
    sf_Spot back = spot_along(tip, angle, -length);
    const sf_Spot spots[] = { tip,
                              { back.x - half * sin(angle), back.y + half * cos(angle) },
                              { back.x + half * sin(angle), back.y - half * cos(angle) } };
    sf_sheet_fill(sheet, &(sf_Loop){ spots, 3 }, 1, colour);
}

void sf_arrow_head(sf_Sheet *sheet, sf_Spot tip, double angle, sf_PaperMm length, sf_Colour colour)
{
    draw_head(sheet, tip, angle, length, length * HEAD_SLIM, colour);
}

void sf_dimension_line(sf_Sheet *sheet, sf_Spot from, sf_Spot to, const sf_Lettering *style, const char *text)
{
    double angle = atan2(to.y - from.y, to.x - from.x);
    const sf_Pen pen = { SF_INK, THIN, SF_DASH_NONE };
    sf_sheet_line(sheet, from, to, &pen);
    sf_arrow_head(sheet, to, angle, HEAD, SF_INK);
    sf_arrow_head(sheet, from, angle + SF_PI, HEAD, SF_INK);
    sf_Spot middle = { (from.x + to.x) / 2, (from.y + to.y) / 2 + 0.36 * style->size_pt * 25.4 / 72 };
    sf_sheet_text_patch(sheet, middle, style, text);
}

void sf_dimension_outside(sf_Sheet *sheet, sf_Spot from, sf_Spot to, sf_PaperMm reach, sf_Colour colour)
{
    double angle = atan2(to.y - from.y, to.x - from.x);
    sf_Spot begin = spot_along(from, angle, -reach), end = spot_along(to, angle, reach);
    const sf_Pen edge = { SF_PAPER, 0.7, SF_DASH_NONE }, pen = { colour, 0.25, SF_DASH_NONE };
    sf_sheet_line(sheet, begin, end, &edge);
    for (int pass = 0; pass < 2; pass++) { // a larger white head under each
        double length = pass ? 2.2 : 2.8, half = pass ? 0.55 : 0.85, beyond = pass ? 0 : 0.35;
        sf_Colour ink = pass ? colour : SF_PAPER;
        draw_head(sheet, spot_along(from, angle, beyond), angle, length, half, ink);
        draw_head(sheet, spot_along(to, angle, -beyond), angle + SF_PI, length, half, ink);
    }
    sf_sheet_line(sheet, begin, end, &pen);
}

void sf_leader(sf_Sheet *sheet, sf_Spot text_end, sf_Spot elbow, sf_Spot target, sf_PaperMm gap)
{
    const sf_Pen edge = { SF_PAPER, 0.5, SF_DASH_NONE }, pen = { SF_INK, THIN, SF_DASH_NONE };
    double angle = atan2(target.y - elbow.y, target.x - elbow.x);
    sf_Spot tip = spot_along(target, angle, -gap);
    const sf_Spot spots[] = { text_end, elbow, tip };
    sf_sheet_polyline(sheet, spots, 3, false, &edge);
    if (gap > 0) {
        sf_arrow_head(sheet, spot_along(tip, angle, 0.25), angle, HEAD * 1.3, SF_PAPER);
        sf_arrow_head(sheet, tip, angle, HEAD, SF_INK);
    }
    sf_sheet_polyline(sheet, spots, 3, false, &pen);
}
