// SPDX-License-Identifier: GPL-3.0-or-later
#include "draw/verdict_mark.h"

#include "base/units.h"

#include <math.h>

sf_Colour sf_verdict_ink(sf_Verdict verdict)
{
    static const sf_Colour inks[] = {
        { 0.03, 0.30, 0.28 }, { 0.52, 0.32, 0.02 }, { 0.16, 0.20, 0.48 }, { 0.50, 0.05, 0.08 }
    };
    return inks[verdict];
}

// A regular polygon; the first corner lies `turn` rad from straight up.
static void corners(sf_Spot *spots, size_t n, sf_Spot centre, sf_PaperMm radius, double turn)
{
    for (size_t i = 0; i < n; i++) {
        double a = turn + 2 * SF_PI * (double)i / (double)n;
        spots[i] = (sf_Spot){ centre.x + radius * sin(a), centre.y - radius * cos(a) };
    }
}

static void accept_mark(sf_Sheet *sheet, sf_Spot c, sf_PaperMm size, const sf_Pen *pen)
{
    sf_sheet_circle(sheet, c, size / 2 - pen->width / 2, pen);
    const sf_Spot tick[] = { { c.x - 0.23 * size, c.y + 0.01 * size },
                             { c.x - 0.05 * size, c.y + 0.20 * size },
                             { c.x + 0.24 * size, c.y - 0.19 * size } };
    sf_sheet_polyline(sheet, tick, 3, false, pen);
}

static void limit_mark(sf_Sheet *sheet, sf_Spot c, sf_PaperMm size, const sf_Pen *pen)
{
    sf_Spot spots[3];
    sf_Spot centre = { c.x, c.y + 0.12 * size };
    corners(spots, 3, centre, 0.55 * size, 0);
    sf_sheet_polyline(sheet, spots, 3, true, pen);
    sf_sheet_line(sheet, (sf_Spot){ c.x, c.y - 0.14 * size }, (sf_Spot){ c.x, c.y + 0.14 * size }, pen);
    sf_sheet_dot(sheet, (sf_Spot){ c.x, c.y + 0.25 * size }, pen->width * 0.55, pen->colour);
}

static void again_mark(sf_Sheet *sheet, sf_Spot c, sf_PaperMm size, const sf_Pen *pen)
{
    sf_Spot spots[4];
    corners(spots, 4, c, 0.62 * size, SF_PI / 4);
    const sf_Loop loop = { spots, 4 };
    const sf_Pen hatch = { pen->colour, pen->width * 0.35, SF_DASH_NONE };
    sf_sheet_hatch(sheet, &loop, 1, SF_PI / 4, size / 7, &hatch);
    sf_sheet_polyline(sheet, spots, 4, true, pen);
    // The question mark is drawn, so that the shape needs no lettering; a white one under it keeps the hatching off.
    sf_Spot hook[12];
    size_t n = 0;
    for (; n < 10; n++) {
        double a = SF_PI * (1.08 - 1.45 * (double)n / 9); // from the left over the top to the lower right
        hook[n] = (sf_Spot){ c.x + 0.17 * size * cos(a), c.y - 0.13 * size - 0.16 * size * sin(a) };
    }
    hook[n++] = (sf_Spot){ c.x, c.y + 0.08 * size };
    hook[n++] = (sf_Spot){ c.x, c.y + 0.16 * size };
    const sf_Pen under = { SF_PAPER, pen->width * 2.4, SF_DASH_NONE };
    const sf_Spot dot = { c.x, c.y + 0.31 * size };
    sf_sheet_polyline(sheet, hook, n, false, &under);
    sf_sheet_dot(sheet, dot, pen->width * 1.4, SF_PAPER);
    sf_sheet_polyline(sheet, hook, n, false, pen);
    sf_sheet_dot(sheet, dot, pen->width * 0.65, pen->colour);
}

static void reject_mark(sf_Sheet *sheet, sf_Spot c, sf_PaperMm size, const sf_Pen *pen)
{
    sf_Spot spots[8];
    corners(spots, 8, c, 0.54 * size, SF_PI / 8);
    sf_sheet_fill(sheet, &(sf_Loop){ spots, 8 }, 1, pen->colour);
    const sf_Pen white = { SF_PAPER, pen->width * 1.2, SF_DASH_NONE };
    double h = 0.2 * size;
    sf_sheet_line(sheet, (sf_Spot){ c.x - h, c.y - h }, (sf_Spot){ c.x + h, c.y + h }, &white);
    sf_sheet_line(sheet, (sf_Spot){ c.x - h, c.y + h }, (sf_Spot){ c.x + h, c.y - h }, &white);
}

void sf_verdict_mark(sf_Sheet *sheet, sf_Spot centre, sf_PaperMm size, sf_Verdict verdict)
{
    const sf_Pen pen = { sf_verdict_ink(verdict), size * 0.1, SF_DASH_NONE };
    switch (verdict) {
    case SF_VERDICT_ACCEPT: accept_mark(sheet, centre, size, &pen); break;
    case SF_VERDICT_LIMIT: limit_mark(sheet, centre, size, &pen); break;
    case SF_VERDICT_AGAIN: again_mark(sheet, centre, size, &pen); break;
    case SF_VERDICT_REJECT: reject_mark(sheet, centre, size, &pen); break;
    }
}
