// SPDX-License-Identifier: GPL-3.0-or-later
#include "draw/screw_map.h"

#include "base/text.h"
#include "base/units.h"
#include "draw/lettering.h"
#include "draw/section_figure.h"
#include "draw/sheet_head.h"
#include "draw/wrap_strip.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { LINE_TEXT = 320, MOST_DESCRIPTION = 8192, MOST_ROWS = 9, CELLS = 7 };

static const sf_PaperMm MARGIN = 5, HEAD = 7, FIGURE = 84, GAP = 5, ROW = 3.6;
static const double SCALES[] = { 1.5, 1.25, 1, 0.75, 0.6, 0.5, 0.4, 0.3 };
static const double NEAR_DEG = 12; ///< numbers of holes nearer than this stand behind one another
static const sf_Lettering SMALL = { SF_SMALLEST_PT, false, SF_ALIGN_LEFT, { 0.08, 0.09, 0.11 } };
static const char *const ROLES[] = { "proposed", "planned", "fitted", "old hole", "vent" };

// ---- the section ----------------------------------------------------------------------------------------------------

typedef struct View {
    sf_Sheet *sheet;
    const sf_ScrewMap *map;
    sf_Framing framing;
    double outer; ///< on the paper
    double inner;
} View;

static sf_Spot at_angle(const View *v, double angle, sf_PaperMm radius)
{
    double turn = sf_framing_angle(&v->framing, angle);
    return (sf_Spot){ v->framing.at.x + radius * cos(turn), v->framing.at.y + radius * sin(turn) };
}

static void radial(const View *v, double angle, double from, double to, const sf_Pen *pen)
{
    sf_sheet_line(v->sheet, at_angle(v, angle, from), at_angle(v, angle, to), pen);
}

static sf_Status paint_wall(const View *v, sf_Error *err)
{
    const sf_Pen edge = { SF_INK, 0.35, SF_DASH_NONE };
    if (!v->map->section) {
        sf_sheet_circle(v->sheet, v->framing.at, v->outer, &edge);
        if (v->inner > 0)
            sf_sheet_circle(v->sheet, v->framing.at, v->inner, &edge);
        return SF_OK;
    }
    sf_SectionFigure figure = { 0 };
    SF_TRY(sf_section_figure_make(&figure, v->map->section, &v->framing, err));
    sf_section_figure_hatch(v->sheet, &figure, 1.6);
    sf_section_figure_edges(v->sheet, &figure, false);
    sf_section_figure_line(v->sheet, &figure);
    sf_section_figure_free(&figure);
    return SF_OK;
}

/// A band outside the ring over the angles where no hole may go.
static void paint_arc(const View *v, double middle, double half)
{
    const sf_Pen pen = { SF_INK_MARK, 1.1, SF_DASH_NONE };
    enum { POINTS = 25 };
    sf_Spot spots[POINTS];
    for (int i = 0; i < POINTS; i++)
        spots[i] = at_angle(v, middle + half * (2.0 * i / (POINTS - 1) - 1), v->outer + 1.6);
    sf_sheet_polyline(v->sheet, spots, POINTS, false, &pen);
}

static void paint_forbidden(const View *v)
{
    const sf_WrapSheet *w = v->map->wrap;
    double radius = w->strips[0].radius, d = w->screw_diameter;
    if (w->band || !isfinite(d))
        return;
    if (isfinite(w->seam))
        paint_arc(v, w->seam, SF_HOLE_SEAM_DIAMETERS * d / radius);
    for (size_t i = 0; i < w->hole_count; i++)
        if (w->holes[i].role >= SF_WRAP_OLD)
            paint_arc(v, w->holes[i].angle, SF_HOLE_SPACING_DIAMETERS * fmax(d, w->holes[i].diameter) / radius);
}

/// Two parallel lines through the wall, open ends out; filled for an old hole.
static void paint_hole(const View *v, size_t index)
{
    const sf_WrapHole *h = &v->map->wrap->holes[index];
    const sf_Pen pen = { SF_INK, 0.3, SF_DASH_NONE }, axis = { SF_INK, 0.13, SF_DASH_CENTRE };
    double half = h->diameter / 2 * v->framing.scale / SF_MM, turn = sf_framing_angle(&v->framing, h->angle);
    double reach[] = { v->inner > 0 ? v->inner - 1 : 0.7 * v->outer, v->outer + 0.8 };
    sf_Spot corners[4];
    for (int k = 0; k < 4; k++) {
        double r = reach[k == 1 || k == 2], side = k < 2 ? -half : half;
        corners[k] = (sf_Spot){ v->framing.at.x + r * cos(turn) - side * sin(turn),
                                v->framing.at.y + r * sin(turn) + side * cos(turn) };
    }
    if (h->role >= SF_WRAP_OLD)
        sf_sheet_fill(v->sheet, &(sf_Loop){ corners, 4 }, 1, SF_INK_SOFT);
    else
        sf_sheet_fill(v->sheet, &(sf_Loop){ corners, 4 }, 1, SF_PAPER);
    sf_sheet_polyline(v->sheet, corners, 4, true, &pen);
    if (h->role < SF_WRAP_OLD)
        radial(v, h->angle, reach[0] - 3, v->outer + 3, &axis);
}

static void number_holes(const View *v)
{
    const sf_WrapSheet *w = v->map->wrap;
    const sf_Lettering style = { 9, true, SF_ALIGN_CENTRE, SF_INK };
    for (size_t i = 0; i < w->hole_count; i++) {
        size_t behind = 0;
        char text[16];
        for (size_t k = 0; k < i; k++)
            behind += fabs(remainder(w->holes[k].angle - w->holes[i].angle, 2 * SF_PI)) < NEAR_DEG * SF_DEG;
        sf_Spot at = at_angle(v, w->holes[i].angle, v->outer + 5.2 + 4.6 * (double)behind);
        snprintf(text, sizeof text, "%zu", i + 1);
        sf_sheet_text_patch(v->sheet, (sf_Spot){ at.x, at.y + 1.2 }, &style, text);
    }
}

static void letter_directions(const View *v)
{
    static const char *const letters[] = { "O", "A", "I", "P" };
    const sf_Lettering style = { 9, true, SF_ALIGN_CENTRE, SF_INK_SOFT };
    const sf_Pen tick = { SF_INK_SOFT, 0.25, SF_DASH_NONE };
    double bore = v->inner > 0 ? v->inner : 0.75 * v->outer;
    for (int k = 0; k < 4; k++) {
        sf_Spot at = at_angle(v, k * SF_PI / 2, 0.62 * bore);
        radial(v, k * SF_PI / 2, 0.80 * bore, 0.92 * bore, &tick);
        sf_sheet_text(v->sheet, (sf_Spot){ at.x, at.y + 1.2 }, &style, letters[k]);
    }
}

static sf_Status paint_section(sf_Sheet *sheet, sf_Box box, const sf_ScrewMap *map, double *scale, sf_Error *err)
{
    const sf_WrapSheet *w = map->wrap;
    const sf_Pen seam = { SF_INK_MARK, 0.5, SF_DASH_CENTRE };
    double radius = w->strips[0].radius / SF_MM;
    size_t pick = 0, count = sizeof SCALES / sizeof *SCALES;
    while (pick + 1 < count && 2 * radius * SCALES[pick] + 26 > fmin(box.width, box.height))
        pick++;
    *scale = SCALES[pick];
    View v = {
        .sheet = sheet,
        .map = map,
        .framing = { .at = { box.x + box.width / 2, box.y + box.height / 2 }, .scale = *scale, .mirror = w->left },
        .outer = radius * *scale,
        .inner = isfinite(map->inner_radius) ? map->inner_radius / SF_MM * *scale : 0
    };
    SF_TRY(paint_wall(&v, err));
    paint_forbidden(&v);
    for (size_t i = 0; i < w->hole_count; i++)
        paint_hole(&v, i);
    if (isfinite(w->seam))
        radial(&v, w->seam, v.inner > 0 ? v.inner : 0.7 * v.outer, v.outer + 3, &seam);
    letter_directions(&v);
    number_holes(&v);
    const sf_Lettering middle = { SF_SMALLEST_PT, true, SF_ALIGN_CENTRE, SF_INK_MARK };
    char text[60] = "unknown";
    if (isfinite(w->seam))
        snprintf(text, sizeof text, "%.0f\u00b0", fmod(w->seam / SF_DEG + 720, 360));
    sf_sheet_text(sheet, (sf_Spot){ v.framing.at.x, v.framing.at.y - 0.4 }, &middle, "seam");
    sf_sheet_text(sheet, (sf_Spot){ v.framing.at.x, v.framing.at.y + 2.6 }, &middle, text);
    return SF_OK;
}

// ---- torque ---------------------------------------------------------------------------------------------------------

static double paint_torque(sf_Sheet *sheet, sf_Box box, const sf_ScrewMap *map)
{
    const sf_Lettering large = { 20, true, SF_ALIGN_LEFT, SF_INK }, bold = { 9, true, SF_ALIGN_LEFT, SF_INK };
    const double lbf_in = SF_POUND_FORCE * SF_INCH;
    char text[120];
    snprintf(text, sizeof text, "Permanent fixing: %s. Limit: the adapter maker's sheet",
             map->fixing ? map->fixing : "not named");
    sf_sheet_text(sheet, (sf_Spot){ box.x, box.y + 2.4 }, &SMALL, text);
    if (!isfinite(map->torque)) {
        sf_sheet_text(sheet, (sf_Spot){ box.x, box.y + 10.5 }, &large, "torque not given");
        return box.y + 14;
    }
    snprintf(text, sizeof text, "%.1f N\u00b7m", map->torque);
    sf_sheet_text(sheet, (sf_Spot){ box.x, box.y + 10.5 }, &large, text);
    double x = box.x + sf_sheet_text_width(sheet, &large, text) + 6;
    snprintf(text, sizeof text, "%.2f lbf\u00b7ft", map->torque / (12 * lbf_in));
    sf_sheet_text(sheet, (sf_Spot){ x, box.y + 6.8 }, &bold, text);
    snprintf(text, sizeof text, "%.1f lbf\u00b7in", map->torque / lbf_in);
    sf_sheet_text(sheet, (sf_Spot){ x, box.y + 10.8 }, &bold, text);
    return box.y + 14;
}

// ---- table and lines ------------------------------------------------------------------------------------------------

/// "15.3 / 12.0", with a sign when it is less than its limit.
static void beside(char *text, size_t size, const sf_WrapSheet *w, double value, double limit)
{
    double unit = w->inch ? SF_INCH : SF_MM;
    int digits = w->inch ? 2 : 1;
    if (!isfinite(value))
        snprintf(text, size, "\u2013");
    else
        snprintf(text, size, "%s%.*f / %.*f", value < limit * (1 - 1e-9) ? "! " : "", digits, value / unit, digits,
                 limit / unit);
}

static double paint_table(sf_Sheet *sheet, sf_Box box, double y, const sf_ScrewMap *map)
{
    static const char *const heads[CELLS] = {
        "no.", "what", "angle", "above cut", "to edge / least", "to seam / least", "to next / least"
    };
    static const double share[CELLS] = { 0, 0.06, 0.22, 0.32, 0.47, 0.65, 0.83 };
    const sf_WrapSheet *w = map->wrap;
    const sf_Pen thin = { SF_INK_FAINT, 0.15, SF_DASH_NONE };
    if (w->hole_count == 0)
        return y;
    for (int c = 0; c < CELLS; c++) {
        const sf_Lettering style = { SF_SMALLEST_PT, true, SF_ALIGN_LEFT, SF_INK };
        sf_sheet_text(sheet, (sf_Spot){ box.x + share[c] * box.width, y + 3 }, &style, heads[c]);
    }
    sf_sheet_line(sheet, (sf_Spot){ box.x, y + 4 }, (sf_Spot){ box.x + box.width, y + 4 }, &thin);
    y += 4;
    for (size_t i = 0; i < w->hole_count && i < MOST_ROWS; i++, y += ROW) {
        const sf_WrapHole *h = &w->holes[i];
        char cell[CELLS][48];
        snprintf(cell[0], 48, "%zu", i + 1);
        snprintf(cell[1], 48, "%s", ROLES[h->role]);
        snprintf(cell[2], 48, "%.1f\u00b0", fmod(h->angle / SF_DEG + 720, 360));
        sf_wrap_length(cell[3], 48, w, h->height - w->cut);
        beside(cell[4], 48, w, h->distances.edge, h->distances.edge_limit);
        beside(cell[5], 48, w, h->distances.seam, h->distances.seam_limit);
        beside(cell[6], 48, w, h->distances.nearest, h->distances.spacing_limit);
        for (int c = 0; c < CELLS; c++)
            sf_sheet_text(sheet, (sf_Spot){ box.x + share[c] * box.width, y + 3 }, &SMALL, cell[c]);
    }
    return y + 1.6;
}

static double paint_lines(sf_Sheet *sheet, sf_Box box, double y, const char *title, const char (*lines)[SF_MAP_LINE],
                          size_t count)
{
    const sf_Lettering bold = { 8, true, SF_ALIGN_LEFT, SF_INK };
    if (count == 0 || y + 8 > box.y + box.height)
        return y;
    sf_sheet_text(sheet, (sf_Spot){ box.x, y + 3 }, &bold, title);
    y += 4;
    for (size_t i = 0; i < count; i++) {
        double need = sf_sheet_text_height(sheet, box.width, &SMALL, lines[i]);
        if (y + need > box.y + box.height)
            break; // the document holds them all
        y += sf_sheet_text_box(sheet, (sf_Box){ box.x, y, box.width, need + 0.2 }, &SMALL, lines[i]) + 0.4;
    }
    return y + 0.8;
}

// ---- the whole ------------------------------------------------------------------------------------------------------

static void paint_head(sf_Sheet *sheet, const sf_ScrewMap *map, double scale)
{
    char about[LINE_TEXT];
    snprintf(about, sizeof about, "%s limb seen from above \u00b7 drawn %g : 1 on A5",
             map->wrap->left ? "left" : "right", scale);
    sf_sheet_head(sheet, MARGIN, sf_sheet_box(sheet).width, "Permanent fixing", map->wrap->label, about);
}

static sf_Status describe(sf_Sheet *sheet, const sf_ScrewMap *map, sf_Error *err)
{
    sf_Text text = sf_text_make(MOST_DESCRIPTION);
    char title[LINE_TEXT];
    for (size_t i = 0; i < map->wrap->hole_count; i++)
        sf_text_format(&text, "%zu: %s at %.1f degrees, %.1f mm above the cut, %.1f mm to the seam.\n", i + 1,
                       ROLES[map->wrap->holes[i].role], fmod(map->wrap->holes[i].angle / SF_DEG + 720, 360),
                       (map->wrap->holes[i].height - map->wrap->cut) / SF_MM,
                       map->wrap->holes[i].distances.seam / SF_MM);
    for (size_t i = 0; i < map->rescue_count; i++)
        sf_text_format(&text, "%s\n", map->rescues[i]);
    sf_text_add(&text, map->wrap->safety);
    snprintf(title, sizeof title, "Permanent fixing: %.200s", map->wrap->label);
    sf_sheet_describe(sheet, title, sf_text_string(&text));
    bool broken = text.broken;
    sf_text_free(&text);
    return broken ? SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory") : SF_OK;
}

sf_Status sf_screw_map_paint(sf_Sheet *sheet, const sf_ScrewMap *map, sf_Error *err)
{
    sf_Box paper = sf_sheet_box(sheet);
    const sf_Pen rule = { SF_INK, 0.2, SF_DASH_NONE };
    double top = MARGIN + HEAD, foot = paper.height - MARGIN - 8.2, x = MARGIN + FIGURE + GAP, scale;
    sf_Box figure = { MARGIN, top, FIGURE, FIGURE }, right = { x, top, paper.width - MARGIN - x, foot - top - 1 };
    sf_Box below = { MARGIN, top + FIGURE + 1, FIGURE, foot - top - FIGURE - 2 };
    SF_TRY(describe(sheet, map, err));
    SF_TRY(paint_section(sheet, figure, map, &scale, err));
    paint_head(sheet, map, scale);
    double y = paint_torque(sheet, right, map);
    y = paint_lines(sheet, right, y, "Doubt beside the torque, no verdict", map->doubt, map->doubt_count);
    y = paint_table(sheet, right, y, map);
    paint_lines(sheet, right, y, "If it must move after all", map->rescues, map->rescue_count);
    paint_lines(sheet, below, below.y, "Mind", map->remarks, map->remark_count);
    char text[1024];
    snprintf(text, sizeof text, "%s %s.", map->wrap->safety, map->wrap->program);
    sf_sheet_line(sheet, (sf_Spot){ MARGIN, foot - 0.6 }, (sf_Spot){ paper.width - MARGIN, foot - 0.6 }, &rule);
    sf_sheet_text_box(sheet, (sf_Box){ MARGIN, foot, paper.width - 2 * MARGIN, paper.height - foot - 3 }, &SMALL, text);
    return SF_OK;
}
