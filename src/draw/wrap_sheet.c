// SPDX-License-Identifier: GPL-3.0-or-later
#include "draw/wrap_sheet.h"

#include "base/text.h"
#include "base/units.h"
#include "draw/sheet_head.h"
#include "draw/wrap_strip.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { LINE_TEXT = 320, MOST_DESCRIPTION = 4096 };

static const sf_PaperMm MARGIN = 12, HEAD = 22, FOOT = 17, BAR_ROOM = 14, BAR = 100, ROW = 3.9, TABLE_HEAD = 8;
static const sf_PaperMm LEAST_FLOW = 40; ///< of a part of a strip; narrower paper is refused
static const sf_Lettering SMALL = { SF_SMALLEST_PT, false, SF_ALIGN_LEFT, { 0.08, 0.09, 0.11 } };

// ---- places ---------------------------------------------------------------------------------------------------------

static double turn_within(double angle)
{
    double turn = fmod(angle, 2 * SF_PI);
    return turn < 0 ? turn + 2 * SF_PI : turn;
}

sf_PaperMm sf_wrap_along(const sf_WrapSheet *wrap, size_t strip, double angle)
{
    double sense = wrap->left ? -1 : 1;
    return turn_within(sense * (angle - wrap->join)) * wrap->strips[strip].radius / SF_MM;
}

sf_Spot sf_wrap_spot(const sf_WrapSheet *wrap, const sf_WrapPiece *piece, double angle, double height)
{
    return (sf_Spot){ piece->at.x + sf_wrap_along(wrap, piece->strip, angle) - piece->from,
                      piece->at.y - (height - wrap->strips[piece->strip].low) / SF_MM };
}

static sf_PaperMm table_height(const sf_WrapSheet *wrap)
{
    return wrap->hole_count ? TABLE_HEAD + ROW * (double)wrap->hole_count : 0;
}

// ---- layout ---------------------------------------------------------------------------------------------------------

typedef struct Flow {
    sf_WrapLayout *layout;
    sf_PaperMm top, bottom, width, y;
} Flow;

/// Makes room of that height, on this page or the next.
static void flow_room(Flow *flow, sf_PaperMm height)
{
    if (flow->y > flow->top && flow->y + height > flow->bottom) {
        flow->layout->pages++;
        flow->y = flow->top;
    }
}

static sf_Status flow_strip(Flow *flow, const sf_WrapSheet *wrap, size_t strip, sf_Error *err)
{
    const sf_WrapStrip *s = &wrap->strips[strip];
    sf_PaperMm whole = 2 * SF_PI * s->radius / SF_MM + SF_WRAP_FLAP, step = flow->width - SF_WRAP_OVERLAP;
    sf_PaperMm tall = (s->high - s->low) / SF_MM + SF_WRAP_ABOVE + SF_WRAP_BELOW;
    if (tall > flow->bottom - flow->top)
        return SF_FAIL(err, SF_E_RANGE, "adapter.depth_mm",
                       "the strip round the %s is %.0f mm high and the paper has room for %.0f: mark by hand from the "
                       "figures of `fasten`",
                       s->clamp ? "clamp" : "pylon", tall, flow->bottom - flow->top);
    size_t parts = whole <= flow->width ? 1 : (size_t)ceil((whole - SF_WRAP_OVERLAP) / step);
    for (size_t i = 0; i < parts; i++) {
        if (flow->layout->piece_count == SF_WRAP_MAX_PIECES)
            return SF_FAIL(err, SF_E_LIMIT, NULL, "the wrap takes more than %d parts: use larger paper",
                           SF_WRAP_MAX_PIECES);
        flow_room(flow, tall);
        sf_PaperMm from = (double)i * step;
        flow->layout->pieces[flow->layout->piece_count++] = (sf_WrapPiece){
            .strip = strip,
            .page = flow->layout->pages - 1,
            .from = from,
            .to = fmin(from + flow->width, whole),
            .at = { MARGIN, flow->y + tall - SF_WRAP_BELOW },
        };
        flow->y += tall;
    }
    return SF_OK;
}

sf_Status sf_wrap_layout(sf_WrapLayout *layout, const sf_WrapSheet *wrap, sf_PaperMm width, sf_PaperMm height,
                         sf_Error *err)
{
    *layout = (sf_WrapLayout){ .width = width, .height = height, .pages = 1 };
    Flow flow = { layout, MARGIN + HEAD, height - MARGIN - FOOT, width - 2 * MARGIN - BAR_ROOM, MARGIN + HEAD };
    if (flow.width < LEAST_FLOW + SF_WRAP_OVERLAP || flow.bottom - flow.top < BAR)
        return SF_FAIL(err, SF_E_RANGE, NULL, "the paper of %.0f x %.0f mm is too small for a wrap", width, height);
    for (size_t i = 0; i < wrap->strip_count; i++)
        SF_TRY(flow_strip(&flow, wrap, i, err));
    flow_room(&flow, table_height(wrap));
    layout->table_page = layout->pages - 1;
    layout->table_y = flow.y;
    return SF_OK;
}

// ---- head, bars, foot -----------------------------------------------------------------------------------------------

/// A solid bar of 100 mm with marks every 10, along or up the paper.
static void paint_bar(sf_Sheet *sheet, sf_Spot at, bool upright)
{
    const sf_Pen pen = { SF_PAPER, 0.25, SF_DASH_NONE };
    const sf_PaperMm thick = 1.6;
    sf_Box bar = { at.x, at.y, upright ? thick : BAR, upright ? BAR : thick };
    sf_sheet_fill_box(sheet, bar, SF_INK);
    for (int i = 1; i < 10; i++) {
        double d = BAR * i / 10; // a notch, so that the bar stays whole along its other edge
        sf_Spot a = { at.x + (upright ? 0 : d), at.y + (upright ? d : 0) };
        sf_Spot b = { a.x + (upright ? thick / 2 : 0), a.y + (upright ? 0 : thick / 2) };
        sf_sheet_line(sheet, a, b, &pen);
    }
}

static void paint_head(sf_Sheet *sheet, const sf_WrapSheet *wrap, const sf_WrapLayout *layout, size_t page)
{
    const sf_Lettering bold = { 8, true, SF_ALIGN_LEFT, SF_INK };
    char about[LINE_TEXT];
    double end = layout->width - MARGIN;
    snprintf(about, sizeof about, "%s limb \u00b7 sheet %zu of %zu \u00b7 full size", wrap->left ? "left" : "right",
             page + 1, layout->pages);
    sf_sheet_head(sheet, MARGIN, layout->width, "Before you drill: the wrap", wrap->label, about);
    paint_bar(sheet, (sf_Spot){ MARGIN, MARGIN + 12 }, false);
    sf_sheet_text(sheet, (sf_Spot){ MARGIN, MARGIN + 10.6 }, &bold,
                  "100 mm (3.937 in): measure this bar and the upright one.");
    sf_sheet_text_box(
        sheet, (sf_Box){ MARGIN + BAR + 6, MARGIN + 7.5, end - MARGIN - BAR - 6, 12 }, &SMALL,
        "Print at 100 %, without fitting to the page. Off by more than 0.5 mm in either direction: do not use this "
        "sheet. Cut out along the thin lines; printed face out, arrow up. Round the pylon: thick line on the sawn "
        "edge; round the clamp: lower edge on its lower edge; P, O, A, I on the lines of the limb. The ends must meet "
        "within 1 mm.");
    paint_bar(sheet, (sf_Spot){ layout->width - MARGIN - 6, MARGIN + HEAD + 4 }, true);
    const sf_Lettering centre = { SF_SMALLEST_PT, false, SF_ALIGN_CENTRE, SF_INK };
    sf_sheet_text(sheet, (sf_Spot){ layout->width - MARGIN - 5.2, MARGIN + HEAD + 108 }, &centre, "100 mm");
}

static bool paint_foot(sf_Sheet *sheet, const sf_WrapSheet *wrap, const sf_WrapLayout *layout, size_t page)
{
    const sf_Pen rule = { SF_INK, 0.2, SF_DASH_NONE };
    sf_Text text = sf_text_make(MOST_DESCRIPTION);
    double y = layout->height - MARGIN - FOOT + 3, width = layout->width - 2 * MARGIN;
    for (size_t i = 0; i < wrap->note_count && page == layout->table_page; i++)
        sf_text_format(&text, "%s ", wrap->notes[i]);
    sf_text_format(&text, "%s %s.", wrap->safety, wrap->program);
    if (wrap->fingerprint)
        sf_text_format(&text, " sha256 %s", wrap->fingerprint);
    sf_sheet_line(sheet, (sf_Spot){ MARGIN, y - 0.6 }, (sf_Spot){ MARGIN + width, y - 0.6 }, &rule);
    sf_sheet_text_box(sheet, (sf_Box){ MARGIN, y, width, layout->height - y - 4 }, &SMALL, sf_text_string(&text));
    bool whole = !text.broken;
    sf_text_free(&text);
    return whole;
}

// ---- table ----------------------------------------------------------------------------------------------------------

static const char *const ROLES[] = { "proposed", "planned", "fitted", "old hole", "vent" };

static void length_or_dash(char *text, size_t size, const sf_WrapSheet *wrap, double length)
{
    if (isfinite(length))
        sf_wrap_length(text, size, wrap, length);
    else
        snprintf(text, size, "\u2013");
}

/// Which way and how far round the pylon from its posterior line, seen from outside.
static void from_posterior(char *text, size_t size, const sf_WrapSheet *wrap, double angle)
{
    double turn = remainder((wrap->left ? -1 : 1) * (angle - 270 * SF_DEG), 2 * SF_PI);
    char length[32];
    sf_wrap_length(length, sizeof length, wrap, fabs(turn) * wrap->strips[0].radius);
    snprintf(text, size, "%s %s", length, fabs(turn) < 1e-9 ? "" : turn > 0 ? "right" : "left");
}

static void paint_row(sf_Sheet *sheet, const sf_WrapSheet *wrap, size_t i, double y, const double *columns)
{
    const sf_WrapHole *h = &wrap->holes[i];
    bool drill = h->role <= SF_WRAP_PLANNED;
    char cell[10][48];
    snprintf(cell[0], 48, "%zu", i + 1);
    snprintf(cell[1], 48, "%s", ROLES[h->role]);
    snprintf(cell[2], 48, "%.1f\u00b0", turn_within(h->angle) / SF_DEG);
    from_posterior(cell[3], 48, wrap, h->angle);
    length_or_dash(cell[4], 48, wrap, h->height - wrap->cut);
    length_or_dash(cell[5], 48, wrap, h->height);
    length_or_dash(cell[6], 48, wrap, drill && isfinite(wrap->pilot) ? wrap->pilot : h->diameter);
    length_or_dash(cell[7], 48, wrap, h->distances.seam);
    length_or_dash(cell[8], 48, wrap, drill ? h->wall : NAN);
    length_or_dash(cell[9], 48, wrap, drill ? h->collar : NAN);
    for (int c = 0; c < 10; c++) {
        const sf_Lettering style = { SF_SMALLEST_PT, c == 9, SF_ALIGN_LEFT, SF_INK };
        sf_sheet_text(sheet, (sf_Spot){ columns[c], y }, &style, cell[c]);
    }
}

static void paint_table(sf_Sheet *sheet, const sf_WrapSheet *wrap, const sf_WrapLayout *layout)
{
    static const char *const heads[] = { "no.",           "what",        "limb angle",  "round the pylon from P",
                                         "above the cut", "above floor", "drill, hole", "to the seam",
                                         "wall there",    "STOP COLLAR" };
    static const double share[] = { 0, 0.04, 0.12, 0.21, 0.37, 0.48, 0.59, 0.69, 0.79, 0.88 };
    const sf_Pen thin = { SF_INK_FAINT, 0.15, SF_DASH_NONE };
    double columns[10], width = layout->width - 2 * MARGIN - BAR_ROOM, y = layout->table_y;
    if (!wrap->hole_count)
        return;
    for (int c = 0; c < 10; c++) {
        const sf_Lettering style = { SF_SMALLEST_PT, true, SF_ALIGN_LEFT, SF_INK };
        columns[c] = MARGIN + share[c] * width;
        sf_sheet_text(sheet, (sf_Spot){ columns[c], y + 3.2 }, &style, heads[c]);
    }
    sf_sheet_line(sheet, (sf_Spot){ MARGIN, y + 4.4 }, (sf_Spot){ MARGIN + width, y + 4.4 }, &thin);
    for (size_t i = 0; i < wrap->hole_count; i++)
        paint_row(sheet, wrap, i, y + TABLE_HEAD - 0.4 + ROW * (double)i, columns);
}

static sf_Status describe(sf_Sheet *sheet, const sf_WrapSheet *wrap, sf_Error *err)
{
    sf_Text text = sf_text_make(MOST_DESCRIPTION);
    char title[LINE_TEXT];
    for (size_t i = 0; i < wrap->hole_count; i++)
        sf_text_format(&text, "%zu: %s at %.1f degrees, %.1f mm above the floor.\n", i + 1, ROLES[wrap->holes[i].role],
                       wrap->holes[i].angle / SF_DEG, wrap->holes[i].height / SF_MM);
    sf_text_add(&text, wrap->safety);
    snprintf(title, sizeof title, "Wrap to drill by: %.200s", wrap->label);
    sf_sheet_describe(sheet, title, sf_text_string(&text));
    bool broken = text.broken;
    sf_text_free(&text);
    return broken ? SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory") : SF_OK;
}

sf_Status sf_wrap_page_paint(sf_Sheet *sheet, const sf_WrapSheet *wrap, const sf_WrapLayout *layout, size_t page,
                             sf_Error *err)
{
    SF_TRY(describe(sheet, wrap, err));
    paint_head(sheet, wrap, layout, page);
    for (size_t i = 0; i < layout->piece_count; i++)
        if (layout->pieces[i].page == page)
            sf_wrap_piece_paint(sheet, wrap, &layout->pieces[i]);
    if (page == layout->table_page)
        paint_table(sheet, wrap, layout);
    return paint_foot(sheet, wrap, layout, page) ? SF_OK : SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
}
