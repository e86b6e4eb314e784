// SPDX-License-Identifier: GPL-3.0-or-later
#include "draw/section_figure.h"

#include "base/alloc.h"
#include "base/units.h"

#include <math.h>

static const sf_PaperMm HAIR = 0.06; // points nearer than this make one

sf_Spot sf_framing_spot(const sf_Framing *f, sf_Point point)
{
    double x = (point.x - f->origin.x) / SF_MM * f->scale, y = (point.y - f->origin.y) / SF_MM * f->scale;
    if (f->mirror)
        x = -x;
    double c = cos(f->turn), s = sin(f->turn);
    return (sf_Spot){ f->at.x + c * x - s * y, f->at.y - (s * x + c * y) };
}

double sf_framing_angle(const sf_Framing *f, double angle)
{
    return -((f->mirror ? SF_PI - angle : angle) + f->turn);
}

static size_t thin_out(const sf_Polygon *polygon, const sf_Framing *framing, sf_Spot *spots)
{
    size_t n = 0;
    for (size_t i = 0; i < polygon->count; i++) {
        sf_Spot spot = sf_framing_spot(framing, polygon->points[i]);
        if (n == 0 || hypot(spot.x - spots[n - 1].x, spot.y - spots[n - 1].y) >= HAIR)
            spots[n++] = spot;
    }
    return n;
}

static const sf_Polygon *polygon_of(const sf_Outline *outline, size_t i)
{
    return i == 0 ? &outline->outer : i == 1 ? &outline->inner : &outline->voids[i - 2];
}

sf_Status sf_section_figure_make(sf_SectionFigure *figure, const sf_Outline *outline, const sf_Framing *framing,
                                 sf_Error *err)
{
    *figure = (sf_SectionFigure){ .framing = *framing, .outline = outline, .loop_count = 2 + outline->void_count };
    size_t total = 0;
    for (size_t i = 0; i < figure->loop_count; i++)
        total += polygon_of(outline, i)->count;
    figure->spots = sf_alloc(total, sizeof *figure->spots);
    if (!figure->spots)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    sf_Spot *next = figure->spots;
    for (size_t i = 0; i < figure->loop_count; i++) {
        size_t n = thin_out(polygon_of(outline, i), framing, next);
        figure->loops[i] = (sf_Loop){ next, n };
        next += n;
    }
    return SF_OK;
}

void sf_section_figure_free(sf_SectionFigure *figure)
{
    sf_free(figure->spots);
    *figure = (sf_SectionFigure){ 0 };
}

void sf_section_figure_hatch(sf_Sheet *sheet, const sf_SectionFigure *figure, sf_PaperMm pitch)
{
    const sf_Pen pen = { SF_INK_SOFT, 0.13, SF_DASH_NONE };
    sf_sheet_hatch(sheet, figure->loops, figure->loop_count, SF_PI / 4, pitch, &pen);
}

void sf_section_figure_edges(sf_Sheet *sheet, const sf_SectionFigure *figure, bool on_picture)
{
    const sf_Pen plain = { SF_INK, 0.45, SF_DASH_NONE }, thin = { SF_INK, 0.3, SF_DASH_NONE };
    const sf_Pen white = { SF_PAPER, 0.5, SF_DASH_NONE }, dark = { SF_INK_SCRIBE, 0.22, SF_DASH_NONE };
    const sf_Pen hole = { SF_INK_MARK, 0.25, SF_DASH_NONE };
    for (size_t i = 0; i < figure->loop_count; i++) {
        const sf_Loop *loop = &figure->loops[i];
        if (on_picture)
            sf_sheet_polyline(sheet, loop->spots, loop->count, true, &white);
        const sf_Pen *pen = i >= 2 ? &hole : on_picture ? &dark : i == 0 ? &plain : &thin;
        sf_sheet_polyline(sheet, loop->spots, loop->count, true, pen);
    }
}

void sf_section_figure_line(sf_Sheet *sheet, const sf_SectionFigure *figure)
{
    const sf_UnjoinedLine *line = &figure->outline->line;
    if (!line->present)
        return;
    sf_Spot from = sf_framing_spot(&figure->framing, line->start), to = sf_framing_spot(&figure->framing, line->end);
    const sf_Pen white = { SF_PAPER, 1.0, SF_DASH_NONE }, mark = { SF_INK_MARK, 0.55, SF_DASH_NONE };
    sf_sheet_line(sheet, from, to, &white);
    sf_sheet_line(sheet, from, to, &mark);
    sf_sheet_dot(sheet, to, 0.55, SF_PAPER);
    sf_sheet_dot(sheet, to, 0.38, SF_INK_MARK);
}
