// SPDX-License-Identifier: GPL-3.0-or-later
#include "draw/bracket_bars.h"

#include "base/units.h"
#include "draw/lettering.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const sf_PaperMm HEAD = 7.2, FEET = 8.2, NUMBERS = 3.6;
static const double LEAST_SPAN = 8; // deg or mm: a narrow bracket is not blown up

sf_BracketScale sf_bracket_scale(sf_Box box, const sf_BracketBars *b)
{
    double low = b->now, high = b->now;
    if (isfinite(b->to)) {
        low = fmin(low, b->to);
        high = fmax(high, b->to);
    }
    for (size_t i = 0; i < b->count; i++) {
        low = fmin(low, b->low[i]);
        high = fmax(high, b->high[i]);
    }
    double lack = fmax(LEAST_SPAN - (high - low), 0) / 2, room = 0.04 * (high - low + 2 * lack);
    return (sf_BracketScale){ box.x + NUMBERS, box.x + box.width - 1, low - lack - room, high + lack + room };
}

sf_PaperMm sf_bracket_x(const sf_BracketScale *s, double value)
{
    return s->left + (s->right - s->left) * (value - s->low) / (s->high - s->low);
}

static void paint_bars(sf_Sheet *sheet, sf_Box box, const sf_BracketScale *s, const sf_BracketBars *b)
{
    const sf_Pen edge = { SF_INK, 0.25, SF_DASH_NONE }, hatch = { SF_INK_SOFT, 0.12, SF_DASH_NONE };
    const sf_Lettering number = { SF_SMALLEST_PT, false, SF_ALIGN_RIGHT, SF_INK_SOFT };
    double pitch = (box.height - HEAD - FEET) / SF_BRACKET_ROWS;
    for (size_t i = 0; i < b->count; i++) {
        double y = box.y + HEAD + pitch * (double)(i + SF_BRACKET_ROWS - b->count), last = i + 1 == b->count;
        double x = sf_bracket_x(s, b->low[i]), wide = sf_bracket_x(s, b->high[i]) - x, high = pitch * 0.62;
        const sf_Box bar = { x, y + (pitch - high) / 2, wide, high };
        const sf_Spot corners[] = {
            { x, bar.y }, { x + wide, bar.y }, { x + wide, bar.y + high }, { x, bar.y + high }
        };
        if (b->lacking)
            sf_sheet_hatch(sheet, &(sf_Loop){ corners, 4 }, 1, SF_PI / 4, 0.9, &hatch);
        else
            sf_sheet_fill_box(sheet, bar, last ? SF_INK_SCRIBE : SF_INK_FAINT);
        sf_sheet_rectangle(sheet, bar, &edge);
        char text[16];
        snprintf(text, sizeof text, "%zu", b->first_walk + i);
        if (pitch > 2.9)
            sf_sheet_text(sheet, (sf_Spot){ box.x + NUMBERS - 0.8, y + pitch / 2 + 0.9 }, &number, text);
    }
}

// Now: a full mark pointing up at the axis. To: an open one.
static void paint_mark(sf_Sheet *sheet, double x, double y, bool open)
{
    const sf_Spot spots[] = { { x, y }, { x - 1.1, y + 2 }, { x + 1.1, y + 2 } };
    if (!open)
        sf_sheet_fill(sheet, &(sf_Loop){ spots, 3 }, 1, SF_INK);
    else
        sf_sheet_fill(sheet, &(sf_Loop){ spots, 3 }, 1, SF_PAPER);
    sf_sheet_polyline(sheet, spots, 3, true, &(sf_Pen){ open ? SF_INK_MARK : SF_INK, 0.3, SF_DASH_NONE });
}

void sf_bracket_bars_paint(sf_Sheet *sheet, sf_Box box, const sf_BracketBars *b)
{
    const sf_Pen line = { SF_INK, 0.2, SF_DASH_NONE }, thin = { SF_INK, 0.2, SF_DASH_SHORT };
    const sf_Lettering name = { SF_SMALLEST_PT, true, SF_ALIGN_LEFT, SF_INK },
                       soft = { SF_SMALLEST_PT, false, SF_ALIGN_LEFT, SF_INK_SOFT },
                       small = { SF_SMALLEST_PT, false, SF_ALIGN_LEFT, SF_INK };
    sf_BracketScale s = sf_bracket_scale(box, b);
    bool degrees = strcmp(sf_setting_unit(b->setting), "deg") == 0;
    const char *unit = degrees ? "\u00b0" : " mm";
    double axis = box.y + box.height - FEET + 0.6, now = sf_bracket_x(&s, b->now);
    char text[96];
    snprintf(text, sizeof text, "%s, %s", sf_setting_words(b->setting), degrees ? "degrees" : "mm");
    sf_sheet_text(sheet, (sf_Spot){ box.x, box.y + 2.6 }, &name, text);
    if (b->lacking || b->contradiction)
        sf_sheet_text(sheet, (sf_Spot){ box.x, box.y + 6 }, &soft,
                      b->lacking ? "this adapter lacks it" : "findings contradict");
    sf_sheet_line(sheet, (sf_Spot){ now, box.y + HEAD }, (sf_Spot){ now, axis }, &thin);
    paint_bars(sheet, box, &s, b);
    sf_sheet_line(sheet, (sf_Spot){ s.left, axis }, (sf_Spot){ s.right, axis }, &line);
    if (isfinite(b->to))
        paint_mark(sheet, sf_bracket_x(&s, b->to), axis, true);
    paint_mark(sheet, now, axis, false);
    size_t last = b->count - 1;
    // Adding nought makes a nought of minus nought.
    snprintf(text, sizeof text, "%.0f to %.0f, now %g%s", round(b->low[last]) + 0.0, round(b->high[last]) + 0.0,
             round(10 * b->now) / 10 + 0.0, unit);
    sf_sheet_text(sheet, (sf_Spot){ box.x, box.y + box.height - 0.8 }, &small, text);
}
