// SPDX-License-Identifier: GPL-3.0-or-later
#include "ring_clutter.h"

#include "base/units.h"
#include "ring_dice.h"
#include "ring_glyph.h"

#include <math.h>

enum { STRIPS = 4 };

/// A free strip between the ring and one border of the picture, in mm.
typedef struct Strip {
    double x0, y0, x1, y1, thickness;
    bool upright, taken;
} Strip;

static const double CLEAR_MM = 1.5; ///< everything keeps at least this far from the ring

static Strip strip(double x0, double y0, double x1, double y1)
{
    const bool upright = x1 - x0 < y1 - y0;
    return (Strip){ x0, y0, x1, y1, fmin(x1 - x0, y1 - y0), upright, false };
}

/// Left, right, bottom, top of the ring; without a ring the picture is cut in the middle.
static void find_strips(const sf_Scene *s, Strip *out)
{
    const double w = s->width_mm, h = s->height_mm;
    const double margin = fabs(s->oval_mm) + fabs(s->square_mm) + fabs(s->outer_wave_mm) + fabs(s->bump_mm) + CLEAR_MM;
    const bool ring = s->body == SF_BODY_RING || s->body == SF_BODY_DISC;
    const double r = ring ? s->outer_diameter_mm / 2.0 + margin : 0.0;
    const double x = ring ? s->centre_x_mm : w / 2.0, y = ring ? s->centre_y_mm : h / 2.0;
    out[0] = strip(0, 0, x - r, h);
    out[1] = strip(x + r, 0, w, h);
    out[2] = strip(0, 0, w, y - r);
    out[3] = strip(0, y + r, w, h);
}

static double shared(const Strip *a, const Strip *b)
{
    return fmax(0.0, fmin(a->x1, b->x1) - fmax(a->x0, b->x0)) * fmax(0.0, fmin(a->y1, b->y1) - fmax(a->y0, b->y0));
}

/// The thickest strip that is left and does not run into one that is taken by more than a corner; NULL when too thin.
static Strip *take(Strip *strips, double least_mm)
{
    Strip *best = NULL;
    for (int i = 0; i < STRIPS; i++)
        if (!strips[i].taken && strips[i].thickness >= least_mm && (!best || strips[i].thickness > best->thickness))
            best = &strips[i];
    if (!best)
        return NULL;
    best->taken = true;
    for (int i = 0; i < STRIPS; i++) { // what is free keeps out of the corner that now belongs to this strip
        Strip *o = &strips[i];
        if (o->taken || shared(o, best) <= 0.0)
            continue;
        if (o->upright && best->y0 <= 0.0)
            o->y0 = best->y1;
        else if (o->upright)
            o->y1 = best->y0;
        else if (best->x0 <= 0.0)
            o->x0 = best->x1;
        else
            o->x1 = best->x0;
    }
    return best;
}

static void paint_tag(const sf_Scene *s, const sf_Pen *pen, Strip *strips, sf_Dice *dice)
{
    const Strip *at = take(strips, 8.0);
    if (!at)
        return;
    const double turn = sf_dice_between(dice, -0.15, 0.15) + (at->upright ? SF_PI / 2.0 : 0.0);
    const double height = fmin(0.62 * at->thickness, sf_dice_between(dice, 7, 14)), width = 1.7 * height;
    const double along = (at->upright ? at->y1 - at->y0 : at->x1 - at->x0) - 1.3 * width;
    const double shift = along > 0.0 ? sf_dice_between(dice, -0.5, 0.5) * along : 0.0;
    const double x = 0.5 * (at->x0 + at->x1) + (at->upright ? 0.0 : shift);
    const double y = 0.5 * (at->y0 + at->y1) + (at->upright ? shift : 0.0);
    const double paper = sf_dice_between(dice, 0.85, 0.95);
    if (s->ground > 0.5) // white paper on white: only its shadow shows
        sf_pen_box(pen, x + 0.15, y - 0.15, width + 0.2, height + 0.2, turn, 0.6 * s->ground);
    sf_pen_box(pen, x, y, width, height, turn, paper);
    const int number = sf_dice_chance(dice, 0.5) ? 60 + sf_dice_below(dice, 40) : sf_dice_below(dice, 990);
    sf_pen_number(pen, number, x, y, 0.6 * height, turn, sf_dice_between(dice, 0.4, 0.9),
                  sf_dice_between(dice, 0.1, 0.25));
}

/// A ruler across the whole strip: three of its sides are cut by the border or lie on it.
static void paint_ruler(const sf_Scene *s, const sf_Pen *pen, Strip *strips, sf_Dice *dice)
{
    const Strip *at = take(strips, 5.0);
    if (!at)
        return;
    const double level = s->ground > 0.5 ? sf_dice_between(dice, 0.5, 0.7) : sf_dice_between(dice, 0.55, 0.85);
    const double ink = 0.12, start = sf_dice_between(dice, 0, 1);
    const double middle = at->upright ? 0.5 * (at->x0 + at->x1) : 0.5 * (at->y0 + at->y1);
    const bool low = at->upright ? middle < 0.5 * s->width_mm : middle < 0.5 * s->height_mm;
    const double broad = fmin(at->thickness - 0.8, 32.0),
                 edge = low ? broad : (at->upright ? s->width_mm : s->height_mm) - broad;
    const double inward = low ? -1.0 : 1.0, length = at->upright ? s->height_mm : s->width_mm;
    if (at->upright)
        sf_pen_box(pen, low ? broad / 2 - 1 : s->width_mm - broad / 2 + 1, length / 2, broad + 2, length + 10, 0,
                   level);
    else
        sf_pen_box(pen, length / 2, low ? broad / 2 - 1 : s->height_mm - broad / 2 + 1, length + 10, broad + 2, 0,
                   level);
    for (int i = 0; start + i < length; i++) {
        const double t = start + i, deep = edge + inward * (i % 10 == 0 ? 4.0 : i % 5 == 0 ? 3.0 : 2.0);
        if (at->upright)
            sf_pen_stroke(pen, edge, t, deep, t, 0.18, ink);
        else
            sf_pen_stroke(pen, t, edge, t, deep, 0.18, ink);
        if (i % 10 == 0 && broad > 7.5) {
            const double row = edge + inward * 5.6;
            sf_pen_number(pen, i / 10, at->upright ? row : t, at->upright ? t : row, 2.0, 0, 0.25, ink);
        }
    }
}

static void paint_pencil(const sf_Pen *pen, Strip *strips, sf_Dice *dice)
{
    const Strip *at = take(strips, 4.0);
    if (!at)
        return;
    const double width = fmin(7.0, at->thickness - 1.0), level = sf_dice_between(dice, 0.25, 0.7);
    const double x = 0.5 * (at->x0 + at->x1), y = 0.5 * (at->y0 + at->y1), ux = at->upright ? 0 : 1, uy = 1 - ux;
    const double half = 0.5 * (at->upright ? at->y1 - at->y0 : at->x1 - at->x0), from = -0.2 * half, to = half + 20.0;
    const double mid = 0.5 * (from + to);
    sf_pen_box(pen, x + mid * ux, y + mid * uy, at->upright ? width : to - from, at->upright ? to - from : width, 0,
               level);
    sf_pen_box(pen, x + mid * ux, y + mid * uy, at->upright ? width / 3 : to - from,
               at->upright ? to - from : width / 3, 0, 1.25 * level);
    const double cone = fmin(3.0 * width, 0.7 * half);
    for (int i = 0; i < 60; i++) { // the sharpened cone, wood then lead
        const double k = (i + 0.5) / 60.0, t = from - cone * k;
        sf_pen_stroke(pen, x + t * ux, y + t * uy, x + t * ux + 0.01, y + t * uy + 0.01, fmax(width * (1.0 - k), 0.4),
                      k > 0.75 ? 0.1 : 0.6);
    }
}

static void paint_hair(const sf_Scene *s, const sf_Pen *pen, const Strip *strips, sf_Dice *dice)
{
    const Strip *at = &strips[0];
    for (int i = 1; i < STRIPS; i++)
        if (strips[i].thickness > at->thickness)
            at = &strips[i];
    const double w = at->x1 - at->x0, h = at->y1 - at->y0, level = s->ground > 0.5 ? 0.25 : 0.5;
    double p[4][2];
    for (int k = 0; k < 4; k++) {
        p[k][0] = at->x0 + sf_dice_between(dice, 0.05, 0.95) * w;
        p[k][1] = at->y0 + sf_dice_between(dice, 0.05, 0.95) * h;
    }
    double last[2] = { p[0][0], p[0][1] };
    for (int i = 1; i <= 60; i++) { // a cubic Bezier curve
        const double t = i / 60.0, u = 1.0 - t, b[4] = { u * u * u, 3 * u * u * t, 3 * u * t * t, t * t * t };
        double q[2] = { 0, 0 };
        for (int k = 0; k < 4; k++) {
            q[0] += b[k] * p[k][0];
            q[1] += b[k] * p[k][1];
        }
        sf_pen_stroke(pen, last[0], last[1], q[0], q[1], 0.07, level);
        last[0] = q[0];
        last[1] = q[1];
    }
}

/// Ridges of a finger on the glass: faint light added over ground and ring alike.
static void paint_smudge(const sf_Scene *s, const sf_Pen *pen, sf_Dice *dice)
{
    const double a = sf_dice_between(dice, 0, 2 * SF_PI), r = s->outer_diameter_mm / 2 + 2;
    const double x0 = s->centre_x_mm + r * cos(a), y0 = s->centre_y_mm + r * sin(a);
    const double strength = sf_dice_between(dice, 0.008, 0.02), p = pen->pixel_mm;
    sf_Field *f = pen->field;
    for (size_t row = 0; row < f->rows; row++)
        for (size_t c = 0; c < f->columns; c++) {
            const double x = ((double)c + 0.5) * p - x0, y = ((double)(f->rows - row) - 0.5) * p - y0;
            const double near = (x * x / 49.0 + y * y / 100.0);
            if (near < 6.0)
                f->value[row * f->columns + c] +=
                    (float)(strength * exp(-near) * (1.0 + sin(2 * SF_PI * hypot(x, 0.7 * y - 3.0) / 0.5)));
        }
}

static void paint_dust(const sf_Scene *s, const sf_Pen *pen, sf_Dice *dice)
{
    for (int64_t i = 0; i < s->dust; i++) {
        const double x = sf_dice_between(dice, 0, s->width_mm), y = sf_dice_between(dice, 0, s->height_mm);
        const double size = sf_dice_between(dice, 0.04, 0.22), turn = sf_dice_between(dice, 0, SF_PI);
        const double fibre = sf_dice_chance(dice, 0.15) ? sf_dice_between(dice, 0.1, 0.5) : 0.0;
        const double level =
            sf_dice_chance(dice, 0.5) ? sf_dice_between(dice, 0.4, 1.0) : sf_dice_between(dice, 0.0, 0.2);
        sf_pen_stroke(pen, x, y, x + fibre * cos(turn), y + fibre * sin(turn), fibre > 0 ? 0.05 : size, level);
    }
}

void sf_clutter_paint(const sf_Scene *s, sf_Field *f)
{
    const sf_Pen pen = { f, 25.4 / s->dpi };
    Strip strips[STRIPS];
    sf_Dice dice;
    sf_dice_seed(&dice, (uint64_t)s->seed ^ 0xc1u);
    find_strips(s, strips);
    if (s->tag)
        paint_tag(s, &pen, strips, &dice);
    if (s->ruler)
        paint_ruler(s, &pen, strips, &dice);
    if (s->pencil)
        paint_pencil(&pen, strips, &dice);
    find_strips(s, strips);
    if (s->hair)
        paint_hair(s, &pen, strips, &dice);
    if (s->smudge)
        paint_smudge(s, &pen, &dice);
    sf_dice_seed(&dice, (uint64_t)s->seed ^ 0xd057u);
    paint_dust(s, &pen, &dice);
}
