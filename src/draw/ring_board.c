// SPDX-License-Identifier: GPL-3.0-or-later
#include "draw/ring_board.h"

#include "base/units.h"
#include "draw/lettering.h"
#include "draw/section_figure.h"
#include "draw/verdict_mark.h"

#include <math.h>
#include <stdio.h>

static const sf_PaperMm CELL_WIDTH = 34, CELL_HEIGHT = 45, MARGIN = 4, HEAD = 12;
static const sf_PaperMm ROOM = 31;   // for the widest ring within its cell
static const sf_PaperMm PITCH = 1.3; // of the hatching
static const double SCALES[] = { 1, 0.75, 0.5, 0.4, 0.3, 0.25 };

sf_Box sf_ring_board_size(size_t count)
{
    size_t across = count < SF_BOARD_ACROSS ? (count ? count : 1) : SF_BOARD_ACROSS;
    size_t down = count ? (count + SF_BOARD_ACROSS - 1) / SF_BOARD_ACROSS : 1;
    across = across < 3 ? 3 : across; // the head's line has room
    return (sf_Box){ 0, 0, 2 * MARGIN + (double)across * CELL_WIDTH, HEAD + (double)down * CELL_HEIGHT + MARGIN };
}

// Twice the greatest distance of the outer edge from the middle of its bounding box.
static double width_of(const sf_Outline *outline, sf_Point *middle)
{
    double low[2] = { INFINITY, INFINITY }, high[2] = { -INFINITY, -INFINITY };
    for (size_t i = 0; i < outline->outer.count; i++) {
        const sf_Point *p = &outline->outer.points[i];
        low[0] = fmin(low[0], p->x);
        low[1] = fmin(low[1], p->y);
        high[0] = fmax(high[0], p->x);
        high[1] = fmax(high[1], p->y);
    }
    *middle = (sf_Point){ (low[0] + high[0]) / 2, (low[1] + high[1]) / 2 };
    double radius = 0;
    for (size_t i = 0; i < outline->outer.count; i++)
        radius = fmax(radius, hypot(outline->outer.points[i].x - middle->x, outline->outer.points[i].y - middle->y));
    return 2 * radius;
}

// One scale for all: the largest at which the widest ring has room.
static double scale_of(const sf_RingBoard *board)
{
    double widest = 0;
    sf_Point unused;
    for (size_t i = 0; i < board->count; i++)
        widest = fmax(widest, width_of(&board->rings[i].outline, &unused) / SF_MM);
    for (size_t i = 0; i < sizeof SCALES / sizeof *SCALES; i++)
        if (widest * SCALES[i] <= ROOM)
            return SCALES[i];
    return SCALES[sizeof SCALES / sizeof *SCALES - 1];
}

static sf_Status draw_ring(sf_Sheet *sheet, const sf_BoardRing *ring, sf_Spot at, double scale, sf_Error *err)
{
    sf_Framing framing = { .at = at, .scale = scale, .mirror = ring->mirrored };
    sf_SectionFigure figure;
    width_of(&ring->outline, &framing.origin);
    if (!isnan(ring->seam)) // to the bottom, after the turning over
        framing.turn = -SF_PI / 2 - (ring->mirrored ? SF_PI - ring->seam : ring->seam);
    SF_TRY(sf_section_figure_make(&figure, &ring->outline, &framing, err));
    sf_section_figure_hatch(sheet, &figure, PITCH);
    sf_section_figure_edges(sheet, &figure, false);
    sf_section_figure_line(sheet, &figure);
    sf_section_figure_free(&figure);
    return SF_OK;
}

// The label cut to the cell's width, whole characters of UTF-8 at a time.
static void draw_label(sf_Sheet *sheet, sf_Spot at, const char *label)
{
    const sf_Lettering style = { SF_SMALLEST_PT, false, SF_ALIGN_CENTRE, SF_INK };
    char text[120];
    snprintf(text, sizeof text, "%s", label ? label : "");
    for (size_t length = 0; sf_sheet_text_width(sheet, &style, text) > CELL_WIDTH - 2;) {
        for (length = 0; text[length]; length++)
            ;
        do
            length--;
        while (length > 0 && ((unsigned char)text[length] & 0xC0) == 0x80);
        text[length] = '\0';
        if (length == 0)
            break;
    }
    if (*text)
        sf_sheet_text(sheet, at, &style, text);
}

static void draw_words(sf_Sheet *sheet, const sf_BoardRing *ring, sf_Spot corner)
{
    const sf_Lettering bold = { SF_SMALLEST_PT, true, SF_ALIGN_LEFT, SF_INK };
    sf_PaperMm y = corner.y + ROOM + 5;
    char text[60];
    draw_label(sheet, (sf_Spot){ corner.x + CELL_WIDTH / 2, y }, ring->label);
    if (ring->judged)
        sf_verdict_mark(sheet, (sf_Spot){ corner.x + 5, y + 4 }, 5, ring->verdict);
    if (isnan(ring->wall))
        snprintf(text, sizeof text, "%s", ring->number);
    else
        snprintf(text, sizeof text, "%s  %.1f mm", ring->number, ring->wall / SF_MM);
    sf_sheet_text(sheet, (sf_Spot){ corner.x + 9, y + 5 }, &bold, text);
}

static void draw_head(sf_Sheet *sheet, const sf_RingBoard *board, double scale)
{
    const sf_Pen pen = { SF_INK, 0.3, SF_DASH_NONE };
    const sf_Lettering left = { 8, true, SF_ALIGN_LEFT, SF_INK },
                       right = { SF_SMALLEST_PT, false, SF_ALIGN_RIGHT, SF_INK };
    sf_Box paper = sf_sheet_box(sheet);
    double bar = 20 * scale, end = paper.width - MARGIN, y = 9;
    char text[60];
    sf_sheet_text(sheet, (sf_Spot){ MARGIN, 6 }, &left, board->title);
    sf_sheet_line(sheet, (sf_Spot){ end - bar, y }, (sf_Spot){ end, y }, &pen);
    sf_sheet_line(sheet, (sf_Spot){ end - bar, y - 1 }, (sf_Spot){ end - bar, y + 1 }, &pen);
    sf_sheet_line(sheet, (sf_Spot){ end, y - 1 }, (sf_Spot){ end, y + 1 }, &pen);
    snprintf(text, sizeof text, "20 mm; seams at the bottom, walls are medians");
    sf_sheet_text(sheet, (sf_Spot){ end - bar - 2, y + 1 }, &right, text);
}

sf_Status sf_ring_board_paint(sf_Sheet *sheet, const sf_RingBoard *board, sf_Error *err)
{
    double scale = scale_of(board);
    char text[80];
    draw_head(sheet, board, scale);
    for (size_t i = 0; i < board->count; i++) {
        sf_Spot corner = { MARGIN + (double)(i % SF_BOARD_ACROSS) * CELL_WIDTH,
                           HEAD + (double)(i / SF_BOARD_ACROSS) * CELL_HEIGHT };
        sf_Spot middle = { corner.x + CELL_WIDTH / 2, corner.y + ROOM / 2 + 1 };
        SF_TRY(draw_ring(sheet, &board->rings[i], middle, scale, err));
        draw_words(sheet, &board->rings[i], corner);
    }
    snprintf(text, sizeof text, "%zu rings at one scale", board->count);
    sf_sheet_describe(sheet, board->title, text);
    return SF_OK;
}
