// SPDX-License-Identifier: GPL-3.0-or-later
#include "draw/steps_sheet.h"

#include "base/text.h"
#include "draw/lettering.h"
#include "draw/sheet_head.h"

#include <stdio.h>
#include <string.h>

enum { LINE = 300, MOST_DESCRIPTION = 32768 };

static const sf_PaperMm MARGIN = 5, TABLE = 92, NOTES = 117;
static const sf_Box STRIP = { 5, 12, 200, 77 };
static const sf_Lettering SMALL = { SF_SMALLEST_PT, false, SF_ALIGN_LEFT, { 0.08, 0.09, 0.11 } };
static const sf_Lettering SOFT = { SF_SMALLEST_PT, false, SF_ALIGN_LEFT, { 0.33, 0.35, 0.38 } };

const char *const SF_STEPS_SHEET_COLUMNS[SF_STEPS_SHEET_CELLS] = {
    "support",    "steps",       "left, s", "right, s", "ratio",  "index, %",
    "left cv, %", "right cv, %", "missed",  "double",   "pauses",
};
// Right ends of the columns; the first is lettered from the left.
static const sf_PaperMm ENDS[SF_STEPS_SHEET_CELLS] = { 5, 32, 50, 68, 84, 102, 133, 164, 178, 191, 205 };

static void paint_head(sf_Sheet *sheet, const sf_StepsSheet *s)
{
    char about[LINE];
    snprintf(about, sizeof about, "%s \u00b7 %zu contacts \u00b7 %s", s->kind, s->strip.list->count,
             sf_step_strip_scale(STRIP, &s->strip).single ? "each mark is one step, at its end"
                                                          : "each line is the range of the steps within it");
    sf_sheet_head(sheet, MARGIN, sf_sheet_box(sheet).width, "Steps", s->name, about);
}

static void paint_table(sf_Sheet *sheet, const sf_StepsSheet *s)
{
    const sf_Pen thin = { SF_INK_FAINT, 0.13, SF_DASH_NONE };
    const sf_Lettering head = { SF_SMALLEST_PT, false, SF_ALIGN_RIGHT, SF_INK_SOFT };
    double end = sf_sheet_box(sheet).width - MARGIN;
    for (size_t c = 0; c < SF_STEPS_SHEET_CELLS; c++)
        sf_sheet_text(sheet, (sf_Spot){ ENDS[c], TABLE + 2.6 }, c ? &head : &SOFT, SF_STEPS_SHEET_COLUMNS[c]);
    for (size_t r = 0; r < s->row_count; r++) {
        double y = TABLE + 8 + 4.6 * (double)r;
        sf_sheet_line(sheet, (sf_Spot){ MARGIN, y - 3.9 }, (sf_Spot){ end, y - 3.9 }, &thin);
        for (size_t c = 0; c < SF_STEPS_SHEET_CELLS; c++) {
            // Step times are what is looked for first.
            bool large = c == 2 || c == 3;
            const sf_Lettering style = { large ? 9 : SF_SMALLEST_PT, large, c ? SF_ALIGN_RIGHT : SF_ALIGN_LEFT,
                                         SF_INK };
            sf_sheet_text(sheet, (sf_Spot){ ENDS[c], y }, &style, s->cells[r][c]);
        }
    }
}

static void paint_foot(sf_Sheet *sheet, const sf_StepsSheet *s)
{
    sf_Box paper = sf_sheet_box(sheet);
    double width = paper.width - 2 * MARGIN, y = NOTES;
    char last[1024];
    snprintf(last, sizeof last, "%s %s.", s->safety, s->program);
    double safety = sf_sheet_text_height(sheet, width, &SOFT, last), end = paper.height - 2.5 - safety;
    for (size_t i = 0; i < s->note_count; i++) {
        double need = sf_sheet_text_height(sheet, width, &SMALL, s->notes[i]);
        if (y + need > end - 1)
            continue; // the description and the result hold them all
        y += sf_sheet_text_box(sheet, (sf_Box){ MARGIN, y, width, need + 0.3 }, &SMALL, s->notes[i]);
    }
    sf_sheet_line(sheet, (sf_Spot){ MARGIN, end - 0.7 }, (sf_Spot){ MARGIN + width, end - 0.7 },
                  &(sf_Pen){ SF_INK, 0.2, SF_DASH_NONE });
    sf_sheet_text_box(sheet, (sf_Box){ MARGIN, end, width, safety + 0.5 }, &SOFT, last);
}

static sf_Status describe(sf_Sheet *sheet, const sf_StepsSheet *s, sf_Error *err)
{
    sf_Text text = sf_text_make(MOST_DESCRIPTION);
    char title[LINE];
    snprintf(title, sizeof title, "Steps: %.200s", s->name);
    for (size_t r = 0; r < s->row_count; r++)
        for (size_t c = 0; c < SF_STEPS_SHEET_CELLS; c++)
            sf_text_format(&text, "%s %s%s", SF_STEPS_SHEET_COLUMNS[c], s->cells[r][c],
                           c + 1 < SF_STEPS_SHEET_CELLS ? "; " : ".\n");
    sf_text_format(&text, "ratio and index: %s.\n", s->order);
    for (size_t i = 0; i < s->strip.report->odd_count && i < 40; i++)
        sf_text_format(&text, "Odd step: contact %zu, %s, %.3f s.\n", s->strip.report->odd[i].index,
                       s->strip.sides_known ? (s->strip.report->odd[i].side ? "right" : "left") : "side not told",
                       s->strip.report->odd[i].value);
    for (size_t i = 0; i < s->note_count; i++)
        sf_text_format(&text, "%s\n", s->notes[i]);
    sf_text_add(&text, s->safety);
    sf_sheet_describe(sheet, title, sf_text_string(&text));
    bool broken = text.broken;
    sf_text_free(&text);
    return broken ? SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory while drawing steps") : SF_OK;
}

sf_Status sf_steps_sheet_paint(sf_Sheet *sheet, const sf_StepsSheet *s, sf_Error *err)
{
    SF_TRY(describe(sheet, s, err));
    paint_head(sheet, s);
    sf_step_strip_paint(sheet, STRIP, &s->strip);
    paint_table(sheet, s);
    paint_foot(sheet, s);
    return SF_OK;
}
