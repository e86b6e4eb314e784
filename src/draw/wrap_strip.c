// SPDX-License-Identifier: GPL-3.0-or-later
#include "draw/wrap_strip.h"

#include "base/units.h"
#include "draw/dimension.h"

#include <math.h>
#include <stdio.h>

enum { CAPTION = 200 };

static const sf_PaperMm DOT = 0.45, PITCH = 1.4;

void sf_wrap_length(char *text, size_t size, const sf_WrapSheet *wrap, double length)
{
    if (wrap->inch)
        snprintf(text, size, "%.3f in", length / SF_INCH);
    else
        snprintf(text, size, "%.1f mm", length / SF_MM);
}

/// The strip on the paper: its own height, from the piece's start to its end.
static sf_Box box_of(const sf_WrapSheet *wrap, const sf_WrapPiece *piece)
{
    const sf_WrapStrip *s = &wrap->strips[piece->strip];
    double height = (s->high - s->low) / SF_MM;
    return (sf_Box){ piece->at.x, piece->at.y - height, piece->to - piece->from, height };
}

static void clip_to(sf_Sheet *sheet, sf_Box b)
{
    const sf_Spot corners[] = {
        { b.x, b.y }, { b.x + b.width, b.y }, { b.x + b.width, b.y + b.height }, { b.x, b.y + b.height }
    };
    sf_sheet_clip(sheet, &(sf_Loop){ corners, 4 }, 1);
}

static void hatch_box(sf_Sheet *sheet, double x0, double y0, double x1, double y1)
{
    const sf_Pen pen = { SF_INK_FAINT, 0.13, SF_DASH_NONE };
    const sf_Spot corners[] = { { x0, y0 }, { x1, y0 }, { x1, y1 }, { x0, y1 } };
    sf_sheet_hatch(sheet, &(sf_Loop){ corners, 4 }, 1, SF_PI / 4, PITCH, &pen);
}

/// How often a thing at that place along the strip shows: also beyond the join, on the flap or before the start.
static size_t places(const sf_WrapSheet *wrap, const sf_WrapPiece *piece, double angle, double reach, double xs[3])
{
    double round = 2 * SF_PI * wrap->strips[piece->strip].radius / SF_MM;
    double along = sf_wrap_along(wrap, piece->strip, angle);
    size_t n = 0;
    for (int turn = -1; turn <= 1; turn++) {
        double at = along + turn * round;
        if (at > piece->from - reach && at < piece->to + reach)
            xs[n++] = piece->at.x + at - piece->from;
    }
    return n;
}

static double y_of(const sf_WrapSheet *wrap, const sf_WrapPiece *piece, double height)
{
    return piece->at.y - (height - wrap->strips[piece->strip].low) / SF_MM;
}

// ---- what may not be drilled ----------------------------------------------------------------------------------------

static void paint_forbidden(sf_Sheet *sheet, const sf_WrapSheet *wrap, const sf_WrapPiece *piece, sf_Box box)
{
    double d = wrap->screw_diameter, xs[3];
    if (wrap->band || !isfinite(d))
        return;
    double scale = wrap->strips[piece->strip].radius / wrap->strips[0].radius; // seam distance is measured on the pylon
    double reach = SF_HOLE_SEAM_DIAMETERS * d / SF_MM * scale;
    size_t n = isfinite(wrap->seam) ? places(wrap, piece, wrap->seam, reach, xs) : 0;
    for (size_t i = 0; i < n; i++)
        hatch_box(sheet, xs[i] - reach, box.y, xs[i] + reach, box.y + box.height);
    double edge = y_of(wrap, piece, wrap->cut + SF_HOLE_EDGE_DIAMETERS * d),
           top = y_of(wrap, piece, wrap->cut + wrap->grip - d / 2);
    hatch_box(sheet, box.x, edge, box.x + box.width, box.y + box.height);
    hatch_box(sheet, box.x, box.y, box.x + box.width, top);
}

// ---- lines ----------------------------------------------------------------------------------------------------------

static void paint_midlines(sf_Sheet *sheet, const sf_WrapSheet *wrap, const sf_WrapPiece *piece, sf_Box box)
{
    static const struct {
        double angle_deg;
        const char *letter;
    } lines[] = { { 0, "O" }, { 90, "A" }, { 180, "I" }, { 270, "P" } };
    const sf_Pen pen = { SF_INK_SOFT, 0.18, SF_DASH_LONG };
    const sf_Lettering letter = { 9, true, SF_ALIGN_CENTRE, SF_INK };
    for (size_t k = 0; k < sizeof lines / sizeof *lines; k++) {
        double xs[3];
        size_t n = places(wrap, piece, lines[k].angle_deg * SF_DEG, 0.05, xs);
        for (size_t i = 0; i < n; i++) {
            sf_sheet_line(sheet, (sf_Spot){ xs[i], box.y - 1 }, (sf_Spot){ xs[i], box.y + box.height + 1 }, &pen);
            sf_sheet_text(sheet, (sf_Spot){ xs[i], box.y + box.height + 4.6 }, &letter, lines[k].letter);
        }
    }
}

static void paint_levels(sf_Sheet *sheet, const sf_WrapSheet *wrap, const sf_WrapPiece *piece, sf_Box box)
{
    const sf_Pen cut = { SF_INK, 0.6, SF_DASH_NONE }, edge = { SF_INK, 0.25, SF_DASH_SHORT };
    double end = box.x + box.width, low = y_of(wrap, piece, wrap->cut),
           high = y_of(wrap, piece, wrap->cut + wrap->grip);
    if (wrap->strips[piece->strip].clamp)
        return;
    sf_sheet_line(sheet, (sf_Spot){ box.x, low }, (sf_Spot){ end, low }, &cut);
    sf_sheet_line(sheet, (sf_Spot){ box.x, high }, (sf_Spot){ end, high }, &edge);
}

static void paint_seam(sf_Sheet *sheet, const sf_WrapSheet *wrap, const sf_WrapPiece *piece, sf_Box box)
{
    const sf_Pen pen = { SF_INK_MARK, 0.35, SF_DASH_CENTRE };
    double xs[3];
    size_t n = isfinite(wrap->seam) ? places(wrap, piece, wrap->seam, 0.05, xs) : 0;
    for (size_t i = 0; i < n; i++)
        sf_sheet_line(sheet, (sf_Spot){ xs[i], box.y }, (sf_Spot){ xs[i], box.y + box.height }, &pen);
}

static void name_seam(sf_Sheet *sheet, const sf_WrapSheet *wrap, const sf_WrapPiece *piece, sf_Box box)
{
    const sf_Lettering style = { SF_SMALLEST_PT, true, SF_ALIGN_CENTRE, SF_INK_MARK };
    double xs[3];
    size_t n = isfinite(wrap->seam) ? places(wrap, piece, wrap->seam, 0.05, xs) : 0;
    for (size_t i = 0; i < n; i++)
        if (xs[i] > box.x + 4 && xs[i] < box.x + box.width - 4)
            sf_sheet_text(sheet, (sf_Spot){ xs[i], box.y - 1.6 }, &style, "seam");
}

static void paint_witnesses(sf_Sheet *sheet, const sf_WrapSheet *wrap, const sf_WrapPiece *piece, sf_Box box)
{
    const sf_Pen pen = { SF_INK, 0.5, SF_DASH_NONE };
    const sf_Lettering style = { SF_SMALLEST_PT, true, SF_ALIGN_LEFT, SF_INK };
    for (int k = 0; k < SF_WRAP_WITNESSES; k++) {
        double xs[3], y = y_of(wrap, piece, wrap->cut + wrap->grip);
        size_t n = isfinite(wrap->witness[k]) ? places(wrap, piece, wrap->witness[k], 0.05, xs) : 0;
        for (size_t i = 0; i < n; i++) {
            sf_sheet_line(sheet, (sf_Spot){ xs[i], fmax(y - 5, box.y) },
                          (sf_Spot){ xs[i], fmin(y + 5, box.y + box.height) }, &pen);
            sf_sheet_text_patch(sheet, (sf_Spot){ xs[i] + 0.9, fmin(y + 4.4, box.y + box.height - 1) }, &style, "W");
        }
    }
}

// ---- holes ----------------------------------------------------------------------------------------------------------

static void paint_cross(sf_Sheet *sheet, sf_Spot at, double radius, const sf_Pen *pen)
{
    sf_sheet_line(sheet, (sf_Spot){ at.x - radius, at.y }, (sf_Spot){ at.x + radius, at.y }, pen);
    sf_sheet_line(sheet, (sf_Spot){ at.x, at.y - radius }, (sf_Spot){ at.x, at.y + radius }, pen);
}

static void paint_hole(sf_Sheet *sheet, const sf_WrapSheet *wrap, size_t index, sf_Spot at)
{
    const sf_WrapHole *h = &wrap->holes[index];
    const sf_Pen full = { SF_INK, 0.3, SF_DASH_NONE }, thin = { SF_INK, 0.13, SF_DASH_NONE };
    const sf_Pen keep = { SF_INK_MARK, 0.2, SF_DASH_SHORT };
    double r = h->diameter / 2 / SF_MM, screw = isfinite(wrap->screw_diameter) ? wrap->screw_diameter : 0;
    sf_sheet_circle(sheet, at, r, &full);
    if (h->role <= SF_WRAP_PLANNED) {
        paint_cross(sheet, at, r + 2.5, &thin);
        if (isfinite(wrap->pilot) && wrap->pilot < h->diameter)
            sf_sheet_circle(sheet, at, wrap->pilot / 2 / SF_MM, &thin);
        sf_sheet_dot(sheet, at, DOT, SF_INK_SCRIBE);
        return;
    }
    const double s = r * sqrt(0.5);
    sf_sheet_line(sheet, (sf_Spot){ at.x - s, at.y - s }, (sf_Spot){ at.x + s, at.y + s }, &full);
    sf_sheet_line(sheet, (sf_Spot){ at.x - s, at.y + s }, (sf_Spot){ at.x + s, at.y - s }, &full);
    if (!wrap->band && screw > 0)
        sf_sheet_circle(sheet, at, SF_HOLE_SPACING_DIAMETERS * fmax(h->diameter, screw) / SF_MM, &keep);
}

static void paint_holes(sf_Sheet *sheet, const sf_WrapSheet *wrap, const sf_WrapPiece *piece, bool numbers, sf_Box box)
{
    const sf_Lettering style = { 8, true, SF_ALIGN_LEFT, SF_INK };
    bool clamp = wrap->strips[piece->strip].clamp;
    for (size_t k = 0; k < wrap->hole_count; k++) {
        const sf_WrapHole *h = &wrap->holes[k];
        double xs[3], r = h->diameter / 2 / SF_MM, y = y_of(wrap, piece, h->height);
        bool elsewhere = clamp && h->role >= SF_WRAP_OLD; // old holes are the pylon's, not the clamp's
        if (elsewhere || y < box.y || y > box.y + box.height)
            continue;
        size_t n = places(wrap, piece, h->angle, numbers ? 0.05 : 30, xs);
        for (size_t i = 0; i < n; i++) {
            char text[24];
            snprintf(text, sizeof text, "%zu", k + 1);
            if (!numbers)
                paint_hole(sheet, wrap, k, (sf_Spot){ xs[i], y });
            else if (xs[i] + r + 4 < box.x + box.width)
                sf_sheet_text_patch(sheet, (sf_Spot){ xs[i] + r + 0.8, y - r - 0.6 }, &style, text);
        }
    }
}

// ---- the piece ------------------------------------------------------------------------------------------------------

static void paint_caption(sf_Sheet *sheet, const sf_WrapSheet *wrap, const sf_WrapPiece *piece, sf_Box box)
{
    const sf_WrapStrip *s = &wrap->strips[piece->strip];
    const sf_Lettering bold = { 8, true, SF_ALIGN_LEFT, SF_INK };
    double round = 2 * SF_PI * s->radius;
    char text[CAPTION], length[32], across[32];
    sf_wrap_length(length, sizeof length, wrap, round);
    sf_wrap_length(across, sizeof across, wrap, 2 * s->radius);
    bool whole = piece->from <= 0 && piece->to >= round / SF_MM;
    snprintf(text, sizeof text, "%s: %s across, %s round%s", s->name, across, length,
             whole                        ? ""
             : piece->from <= 0           ? " (first part)"
             : piece->to >= round / SF_MM ? " (last part)"
                                          : " (part)");
    sf_sheet_text(sheet, (sf_Spot){ box.x + 5, box.y - 5 }, &bold, text);
    if (!s->clamp) {
        const sf_Lettering small = { SF_SMALLEST_PT, false, SF_ALIGN_LEFT, SF_INK };
        double x = box.x + 8 + sf_sheet_text_width(sheet, &bold, text);
        sf_wrap_length(length, sizeof length, wrap, wrap->cut);
        sf_wrap_length(across, sizeof across, wrap, wrap->grip);
        snprintf(text, sizeof text, "thick: cut line, u %s; dashed: upper edge of the clamp, %s above the cut", length,
                 across);
        sf_sheet_text(sheet, (sf_Spot){ x, box.y - 5 }, &small, text);
    }
    const sf_Pen pen = { SF_INK, 0.3, SF_DASH_NONE };
    sf_sheet_line(sheet, (sf_Spot){ box.x + 2, box.y - 2.4 }, (sf_Spot){ box.x + 2, box.y - 7.5 }, &pen);
    sf_arrow_head(sheet, (sf_Spot){ box.x + 2, box.y - 7.9 }, -SF_PI / 2, 2.2, SF_INK);
}

/// Outline to cut along, the flap, and where parts lie on each other.
static void paint_frame(sf_Sheet *sheet, const sf_WrapSheet *wrap, const sf_WrapPiece *piece, sf_Box box)
{
    const sf_Pen frame = { SF_INK, 0.15, SF_DASH_NONE }, meet = { SF_INK, 0.3, SF_DASH_DOTS };
    double round = 2 * SF_PI * wrap->strips[piece->strip].radius / SF_MM, flap = piece->at.x + round - piece->from;
    sf_sheet_rectangle(sheet, box, &frame);
    if (piece->to > round)
        sf_sheet_line(sheet, (sf_Spot){ flap, box.y }, (sf_Spot){ flap, box.y + box.height }, &meet);
    if (piece->from > 0) { // the part before ends here
        double x = box.x + SF_WRAP_OVERLAP;
        sf_sheet_line(sheet, (sf_Spot){ x, box.y - 1 }, (sf_Spot){ x, box.y + box.height + 1 }, &meet);
    }
    if (piece->to < round + SF_WRAP_FLAP - 1e-6)
        sf_sheet_line(sheet, (sf_Spot){ box.x + box.width - SF_WRAP_OVERLAP, box.y - 1 },
                      (sf_Spot){ box.x + box.width - SF_WRAP_OVERLAP, box.y + box.height + 1 }, &meet);
}

void sf_wrap_piece_paint(sf_Sheet *sheet, const sf_WrapSheet *wrap, const sf_WrapPiece *piece)
{
    sf_Box box = box_of(wrap, piece);
    clip_to(sheet, box);
    paint_forbidden(sheet, wrap, piece, box);
    sf_sheet_unclip(sheet);
    paint_midlines(sheet, wrap, piece, box);
    clip_to(sheet, box);
    paint_seam(sheet, wrap, piece, box);
    paint_holes(sheet, wrap, piece, false, box);
    sf_sheet_unclip(sheet);
    paint_levels(sheet, wrap, piece, box);
    paint_witnesses(sheet, wrap, piece, box);
    paint_holes(sheet, wrap, piece, true, box);
    name_seam(sheet, wrap, piece, box);
    paint_frame(sheet, wrap, piece, box);
    paint_caption(sheet, wrap, piece, box);
}
