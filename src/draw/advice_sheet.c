// SPDX-License-Identifier: GPL-3.0-or-later
#include "draw/advice_sheet.h"

#include "base/text.h"
#include "draw/lettering.h"
#include "draw/sheet_head.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { LINE = 400, MOST_DESCRIPTION = 65536 };

static const sf_PaperMm MARGIN = 5, BARS = 97, FOOT = 134.6;
static const sf_Box UPRIGHT = { 5, 11, 92, 83 }, ABOVE = { 101, 11.5, 60, 30 }, WORDS = { 101, 47, 104, 48 };
static const sf_Lettering SMALL = { SF_SMALLEST_PT, false, SF_ALIGN_LEFT, { 0.08, 0.09, 0.11 } };
static const sf_Lettering BOLD = { SF_SMALLEST_PT, true, SF_ALIGN_LEFT, { 0.08, 0.09, 0.11 } };
static const sf_Lettering SOFT = { SF_SMALLEST_PT, false, SF_ALIGN_LEFT, { 0.33, 0.35, 0.38 } };

sf_ViewPlaces sf_advice_sheet_places(const sf_AdviceSheet *a)
{
    return sf_limb_views_places(&a->views, UPRIGHT, ABOVE);
}

sf_Box sf_advice_sheet_bars(sf_Setting setting)
{
    double width = (SF_A5_LONG - 2 * MARGIN) / SF_SETTING_COUNT;
    return (sf_Box){ MARGIN + width * (int)setting, BARS, width - 3, FOOT - BARS - 1 };
}

static void paint_head(sf_Sheet *sheet, const sf_AdviceSheet *a, double scale)
{
    char about[LINE];
    snprintf(about, sizeof about, "%s limb \u00b7 after walk %zu \u00b7 drawn 1 : %g on A5",
             a->views.body->chain.side == SF_CHAIN_LEFT ? "left" : "right", a->walks, round(10 / scale) / 10);
    sf_sheet_head(sheet, MARGIN, sf_sheet_box(sheet).width, "Walking trials", a->label, about);
}

// A stop carries a square that is filled; a change an open arrow drawn on the limb itself.
static void paint_headline(sf_Sheet *sheet, sf_Box box, const sf_AdviceSheet *a)
{
    sf_Lettering style = { 13, true, SF_ALIGN_LEFT, SF_INK };
    double inset = 0;
    sf_sheet_text(sheet, (sf_Spot){ box.x, box.y + 2.4 }, &SMALL, a->stop ? "Stop" : "Next step");
    if (a->stop) {
        sf_sheet_fill_box(sheet, (sf_Box){ box.x, box.y + 4.6, 3.4, 3.4 }, SF_INK_MARK);
        inset = 5;
    }
    while (style.size_pt > SF_SMALLEST_PT &&
           sf_sheet_text_height(sheet, box.width - inset, &style, a->headline) > box.height - 10)
        style.size_pt -= 0.5;
    double used = sf_sheet_text_box(sheet, (sf_Box){ box.x + inset, box.y + 4, box.width - inset, box.height - 9 },
                                    &style, a->headline);
    if (*a->figures)
        sf_sheet_text_box(sheet, (sf_Box){ box.x, box.y + 4.6 + used, box.width, 7 }, &SMALL, a->figures);
}

static void paint_words(sf_Sheet *sheet, const sf_AdviceSheet *a)
{
    const sf_PaperMm names = 17;
    double y = WORDS.y, end = WORDS.y + WORDS.height;
    for (size_t i = 0; i < a->text_count; i++) {
        const sf_AdviceText *t = &a->texts[i];
        double need = sf_sheet_text_height(sheet, WORDS.width - names, &SMALL, t->text);
        if (y + need > end)
            continue; // a shorter one may still fit; the description and the result hold them all
        if (t->name)
            sf_sheet_text_box(sheet, (sf_Box){ WORDS.x, y, names, 3.3 }, &BOLD, t->name);
        y +=
            sf_sheet_text_box(sheet, (sf_Box){ WORDS.x + names, y, WORDS.width - names, need + 0.3 }, &SMALL, t->text) +
            0.6;
    }
}

static void paint_foot(sf_Sheet *sheet, const sf_AdviceSheet *a)
{
    sf_Box paper = sf_sheet_box(sheet);
    double width = paper.width - 2 * MARGIN;
    char last[1024];
    snprintf(last, sizeof last, "%s %s.", a->safety, a->program);
    double safety = sf_sheet_text_height(sheet, width, &SOFT, last), end = paper.height - 2.5 - safety;
    double need = sf_sheet_text_height(sheet, width, &SOFT, a->assumed);
    if (FOOT + need < end - 0.9)
        sf_sheet_text_box(sheet, (sf_Box){ MARGIN, FOOT, width, need + 0.3 }, &SOFT, a->assumed);
    sf_sheet_line(sheet, (sf_Spot){ MARGIN, end - 0.7 }, (sf_Spot){ MARGIN + width, end - 0.7 },
                  &(sf_Pen){ SF_INK, 0.2, SF_DASH_NONE });
    sf_sheet_text_box(sheet, (sf_Box){ MARGIN, end, width, safety + 0.5 }, &SOFT, last);
}

static sf_Status describe(sf_Sheet *sheet, const sf_AdviceSheet *a, double scale, sf_Error *err)
{
    sf_Text text = sf_text_make(MOST_DESCRIPTION);
    char title[LINE];
    snprintf(title, sizeof title, "%s: %.200s", a->stop ? "Stop" : "Next step", a->headline);
    sf_text_format(&text, "Drawn 1 : %g. %s.\n", round(10 / scale) / 10, a->figures);
    for (size_t i = 0; i < a->text_count; i++)
        sf_text_format(&text, "%s%s%s\n", a->texts[i].name ? a->texts[i].name : "", a->texts[i].name ? ": " : "",
                       a->texts[i].text);
    for (int i = 0; i < SF_SETTING_COUNT; i++) {
        const sf_BracketBars *b = &a->bars[i];
        sf_text_format(&text, "%s: between %.1f and %.1f %s, now %.1f.\n", sf_setting_words(b->setting),
                       b->low[b->count - 1], b->high[b->count - 1], sf_setting_unit(b->setting), b->now);
    }
    sf_text_format(&text, "%s\n%s", a->assumed, a->safety);
    sf_sheet_describe(sheet, title, sf_text_string(&text));
    bool broken = text.broken;
    sf_text_free(&text);
    return broken ? SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory while drawing advice") : SF_OK;
}

sf_Status sf_advice_sheet_paint(sf_Sheet *sheet, const sf_AdviceSheet *a, sf_Error *err)
{
    sf_ViewPlaces places = sf_advice_sheet_places(a);
    SF_TRY(describe(sheet, a, places.eye[0].scale, err));
    paint_head(sheet, a, places.eye[0].scale);
    sf_limb_views_paint(sheet, &a->views, &places);
    paint_headline(sheet, (sf_Box){ 164, 12, 41, 33 }, a);
    paint_words(sheet, a);
    for (int i = 0; i < SF_SETTING_COUNT; i++)
        sf_bracket_bars_paint(sheet, sf_advice_sheet_bars((sf_Setting)i), &a->bars[i]);
    paint_foot(sheet, a);
    return SF_OK;
}
