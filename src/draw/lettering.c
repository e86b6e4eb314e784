// SPDX-License-Identifier: GPL-3.0-or-later
#include "draw/lettering.h"

#include "base/units.h"
#include "draw/sheet_inside.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const double MM_PER_PT = 25.4 / 72;
static const sf_PaperMm OVERLAP = 0.15; // less than this is no fault: boxes of ink touch where letters do not
static const sf_PaperMm PATCH = 0.5;
static const double LINE_SPACING = 1.0;

static void set_font(PangoFontDescription *font, double size_pt, bool bold)
{
    pango_font_description_set_family_static(font, SF_TYPEFACE);
    pango_font_description_set_weight(font, bold ? PANGO_WEIGHT_BOLD : PANGO_WEIGHT_NORMAL);
    pango_font_description_set_absolute_size(font, size_pt * MM_PER_PT * PANGO_SCALE);
}

// fontconfig hands out its best guess and never says no: ask what came.
static bool typeface_there(sf_Sheet *s, bool bold)
{
    PangoFontDescription *wanted = pango_font_description_new();
    set_font(wanted, 9, bold);
    PangoFont *font = pango_context_load_font(s->context, wanted);
    bool there = false;
    if (font) {
        PangoFontDescription *got = pango_font_describe(font);
        const char *family = pango_font_description_get_family(got);
        there = family && strcmp(family, SF_TYPEFACE) == 0 &&
                (pango_font_description_get_weight(got) >= PANGO_WEIGHT_SEMIBOLD) == bold;
        pango_font_description_free(got);
        g_object_unref(font);
    }
    pango_font_description_free(wanted);
    return there;
}

sf_Status sf_sheet_open_lettering(sf_Sheet *s, sf_Error *err)
{
    s->fonts = pango_cairo_font_map_new();
    s->context = pango_font_map_create_context(s->fonts);
    cairo_font_options_t *options = cairo_font_options_create();
    cairo_font_options_set_antialias(options, CAIRO_ANTIALIAS_GRAY);
    cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
    cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
    pango_cairo_context_set_font_options(s->context, options);
    cairo_font_options_destroy(options);
    pango_context_set_round_glyph_positions(s->context, FALSE); // a unit is a whole millimetre here
    pango_context_set_language(s->context, pango_language_from_string("en"));
    pango_cairo_update_context(s->cairo, s->context);
    s->layout = pango_layout_new(s->context);
    if (!typeface_there(s, false) || !typeface_there(s, true))
        return SF_FAIL(err, SF_E_MISSING, NULL,
                       "the typeface %s, which pictures are lettered in, is not installed: apt-get install %s",
                       SF_TYPEFACE, SF_TYPEFACE_PACKAGE);
    return SF_OK;
}

SF_PRINTF(2, 3)
static void add_fault(sf_Sheet *s, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    if (s->fault_count++ == 0)
        vsnprintf(s->fault, sizeof s->fault, format, args);
    va_end(args);
}

// Lays the text out; `width` below 0: one line.
static void lay(sf_Sheet *s, sf_PaperMm width, const sf_Lettering *style, const char *text)
{
    PangoFontDescription *font = pango_font_description_new();
    set_font(font, style->size_pt, style->bold);
    pango_layout_set_font_description(s->layout, font);
    pango_font_description_free(font);
    pango_layout_set_width(s->layout, width < 0 ? -1 : (int)(width * PANGO_SCALE));
    pango_layout_set_wrap(s->layout, PANGO_WRAP_WORD);
    pango_layout_set_line_spacing(s->layout, (float)LINE_SPACING);
    static const PangoAlignment aligns[] = { PANGO_ALIGN_LEFT, PANGO_ALIGN_CENTER, PANGO_ALIGN_RIGHT };
    pango_layout_set_alignment(s->layout, aligns[style->align]);
    pango_layout_set_text(s->layout, text, -1);
}

static sf_Box ink_box(sf_Sheet *s, sf_Spot at)
{
    PangoRectangle ink;
    pango_layout_get_extents(s->layout, &ink, NULL);
    const double k = 1.0 / PANGO_SCALE;
    return (sf_Box){ at.x + ink.x * k, at.y + ink.y * k, ink.width * k, ink.height * k };
}

static void keep(sf_Sheet *s, sf_Spot at, const char *text)
{
    sf_Box ink = ink_box(s, at);
    if (pango_layout_get_unknown_glyphs_count(s->layout) > 0)
        add_fault(s, "no glyph for a character of \"%.100s\"", text);
    if (ink.x < 0 || ink.y < 0 || ink.x + ink.width > s->width || ink.y + ink.height > s->height)
        add_fault(s, "\"%.100s\" reaches beyond the paper", text);
    if (s->text_count == SF_SHEET_TEXTS) {
        add_fault(s, "more than %d pieces of lettering", SF_SHEET_TEXTS);
        return;
    }
    sf_SheetText *t = &s->texts[s->text_count++];
    t->ink = ink;
    snprintf(t->head, sizeof t->head, "%.*s", (int)sizeof t->head - 1, text);
}

static void show(sf_Sheet *s, sf_Spot at, const sf_Lettering *style, const char *text)
{
    if (!*text)
        return;
    keep(s, at, text);
    cairo_set_source_rgb(s->cairo, style->colour.red, style->colour.green, style->colour.blue);
    cairo_move_to(s->cairo, at.x, at.y);
    pango_cairo_show_layout(s->cairo, s->layout);
    cairo_new_path(s->cairo);
}

static sf_Spot line_start(sf_Sheet *s, sf_Spot at, const sf_Lettering *style)
{
    PangoRectangle logical;
    pango_layout_get_extents(s->layout, NULL, &logical);
    double width = (double)logical.width / PANGO_SCALE;
    double share = style->align == SF_ALIGN_LEFT ? 0 : style->align == SF_ALIGN_CENTRE ? 0.5 : 1;
    return (sf_Spot){ at.x - share * width, at.y - (double)pango_layout_get_baseline(s->layout) / PANGO_SCALE };
}

void sf_sheet_text(sf_Sheet *sheet, sf_Spot at, const sf_Lettering *style, const char *text)
{
    lay(sheet, -1, style, text);
    show(sheet, line_start(sheet, at, style), style, text);
}

void sf_sheet_text_patch(sf_Sheet *sheet, sf_Spot at, const sf_Lettering *style, const char *text)
{
    lay(sheet, -1, style, text);
    sf_Spot start = line_start(sheet, at, style);
    sf_Box ink = ink_box(sheet, start);
    sf_sheet_fill_box(sheet, (sf_Box){ ink.x - PATCH, ink.y - PATCH, ink.width + 2 * PATCH, ink.height + 2 * PATCH },
                      SF_PAPER);
    show(sheet, start, style, text);
}

sf_PaperMm sf_sheet_text_box(sf_Sheet *sheet, sf_Box box, const sf_Lettering *style, const char *text)
{
    lay(sheet, box.width, style, text);
    PangoRectangle logical;
    pango_layout_get_extents(sheet->layout, NULL, &logical);
    double height = (double)logical.height / PANGO_SCALE, width = (double)logical.width / PANGO_SCALE;
    if (height > box.height + OVERLAP || width > box.width + OVERLAP)
        add_fault(sheet, "\"%.100s\" needs %.1f x %.1f mm and has %.1f x %.1f", text, width, height, box.width,
                  box.height);
    show(sheet, (sf_Spot){ box.x, box.y }, style, text);
    return height;
}

sf_PaperMm sf_sheet_text_width(sf_Sheet *sheet, const sf_Lettering *style, const char *text)
{
    PangoRectangle logical;
    lay(sheet, -1, style, text);
    pango_layout_get_extents(sheet->layout, NULL, &logical);
    return (double)logical.width / PANGO_SCALE;
}

sf_PaperMm sf_sheet_text_height(sf_Sheet *sheet, sf_PaperMm width, const sf_Lettering *style, const char *text)
{
    PangoRectangle logical;
    lay(sheet, width, style, text);
    pango_layout_get_extents(sheet->layout, NULL, &logical);
    return (double)logical.height / PANGO_SCALE;
}

static double shared(double a, double a_length, double b, double b_length)
{
    return fmin(a + a_length, b + b_length) - fmax(a, b);
}

static void count_overlaps(sf_Sheet *s)
{
    for (size_t i = 0; i < s->text_count; i++)
        for (size_t j = i + 1; j < s->text_count; j++) {
            const sf_Box *a = &s->texts[i].ink, *b = &s->texts[j].ink;
            if (shared(a->x, a->width, b->x, b->width) > OVERLAP && shared(a->y, a->height, b->y, b->height) > OVERLAP)
                add_fault(s, "\"%s\" and \"%s\" cover each other", s->texts[i].head, s->texts[j].head);
        }
}

size_t sf_sheet_faults(sf_Sheet *sheet, const char **first)
{
    if (!sheet->overlaps_counted)
        count_overlaps(sheet);
    sheet->overlaps_counted = true;
    if (first)
        *first = sheet->fault;
    return sheet->fault_count;
}

size_t sf_sheet_text_count(const sf_Sheet *sheet)
{
    return sheet->text_count;
}
