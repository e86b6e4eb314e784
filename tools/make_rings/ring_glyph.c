// SPDX-License-Identifier: GPL-3.0-or-later
#include "ring_glyph.h"

#include <math.h>
#include <stdio.h>

/// Blends `level` in where the distance function is negative, over the box [x0, x1] x [y0, y1] in mm.
static void fill(const sf_Pen *pen, double x0, double y0, double x1, double y1, double level,
                 double (*distance)(const double *shape, double x, double y), const double *shape)
{
    const double p = pen->pixel_mm, rows = (double)pen->field->rows, columns = (double)pen->field->columns;
    const double left = fmax(floor(x0 / p) - 1.0, 0.0), right = fmin(ceil(x1 / p) + 1.0, columns);
    const double top = fmax(floor(rows - y1 / p) - 1.0, 0.0), bottom = fmin(ceil(rows - y0 / p) + 1.0, rows);
    for (double r = top; r < bottom; r++)
        for (double c = left; c < right; c++) {
            const double d = distance(shape, (c + 0.5) * p, (rows - r - 0.5) * p) / p;
            const double share = d <= -0.5 ? 1.0 : d >= 0.5 ? 0.0 : 0.5 - d;
            float *v = &pen->field->value[(size_t)r * pen->field->columns + (size_t)c];
            *v += (float)(share * (level - *v));
        }
}

static double from_stroke(const double *s, double x, double y)
{
    const double dx = s[2] - s[0], dy = s[3] - s[1], square = dx * dx + dy * dy;
    const double t = square > 0.0 ? fmin(fmax(((x - s[0]) * dx + (y - s[1]) * dy) / square, 0.0), 1.0) : 0.0;
    return hypot(x - s[0] - t * dx, y - s[1] - t * dy) - s[4];
}

void sf_pen_stroke(const sf_Pen *pen, double x0, double y0, double x1, double y1, double width_mm, double level)
{
    const double half = width_mm / 2.0, shape[] = { x0, y0, x1, y1, half };
    fill(pen, fmin(x0, x1) - half, fmin(y0, y1) - half, fmax(x0, x1) + half, fmax(y0, y1) + half, level, from_stroke,
         shape);
}

static double from_box(const double *s, double x, double y)
{
    const double dx = x - s[0], dy = y - s[1];
    const double a = fabs(dx * s[4] + dy * s[5]) - s[2], b = fabs(-dx * s[5] + dy * s[4]) - s[3];
    return a > 0.0 && b > 0.0 ? hypot(a, b) : fmax(a, b);
}

void sf_pen_box(const sf_Pen *pen, double x, double y, double width_mm, double height_mm, double turn, double level)
{
    const double c = cos(turn), s = sin(turn), w = width_mm / 2.0, h = height_mm / 2.0;
    const double shape[] = { x, y, w, h, c, s };
    const double rx = fabs(w * c) + fabs(h * s), ry = fabs(w * s) + fabs(h * c);
    fill(pen, x - rx, y - ry, x + rx, y + ry, level, from_box, shape);
}

// Figures in a box 0.6 wide and 1 tall, as runs of points.
typedef struct Figure {
    int count;
    double xy[16][2];
} Figure;

static const Figure FIGURES[10] = {
    { 13,
      { { .3, 1 },
        { .12, .92 },
        { .03, .7 },
        { 0, .5 },
        { .03, .3 },
        { .12, .08 },
        { .3, 0 },
        { .48, .08 },
        { .57, .3 },
        { .6, .5 },
        { .57, .7 },
        { .48, .92 },
        { .3, 1 } } },
    { 3, { { .12, .75 }, { .35, 1 }, { .33, 0 } } },
    { 9,
      { { .03, .75 },
        { .1, .92 },
        { .3, 1 },
        { .5, .92 },
        { .57, .72 },
        { .48, .5 },
        { .2, .25 },
        { 0, 0 },
        { .6, .02 } } },
    { 11,
      { { .05, .9 },
        { .3, 1 },
        { .52, .88 },
        { .52, .66 },
        { .25, .53 },
        { .5, .45 },
        { .6, .25 },
        { .5, .06 },
        { .28, 0 },
        { .08, .06 },
        { 0, .16 } } },
    { 5, { { .42, 0 }, { .42, 1 }, { 0, .3 }, { .6, .3 }, { .6, .3 } } },
    { 9,
      { { .55, 1 },
        { .1, 1 },
        { .05, .58 },
        { .3, .64 },
        { .52, .53 },
        { .6, .32 },
        { .5, .1 },
        { .28, 0 },
        { .02, .08 } } },
    { 12,
      { { .5, .97 },
        { .25, .8 },
        { .06, .5 },
        { 0, .25 },
        { .1, .05 },
        { .3, 0 },
        { .5, .06 },
        { .58, .27 },
        { .48, .48 },
        { .28, .54 },
        { .08, .44 },
        { .01, .28 } } },
    { 3, { { 0, .98 }, { .6, 1 }, { .2, 0 } } },
    { 13,
      { { .3, .54 },
        { .08, .68 },
        { .08, .9 },
        { .3, 1 },
        { .52, .9 },
        { .52, .68 },
        { .3, .54 },
        { .04, .38 },
        { .02, .12 },
        { .3, 0 },
        { .58, .12 },
        { .56, .38 },
        { .3, .54 } } },
    { 12,
      { { .56, .72 },
        { .48, .53 },
        { .3, .46 },
        { .1, .54 },
        { .02, .74 },
        { .12, .94 },
        { .32, 1 },
        { .5, .94 },
        { .58, .76 },
        { .56, .5 },
        { .5, .2 },
        { .42, 0 } } },
};

void sf_pen_number(const sf_Pen *pen, int number, double x, double y, double height_mm, double turn, double stroke_mm,
                   double level)
{
    char text[12];
    const int length = snprintf(text, sizeof text, "%d", number), c0 = length > 0 ? length : 0;
    const double c = cos(turn), s = sin(turn), step = 0.85;
    for (int k = 0; k < c0; k++) {
        const Figure *f = text[k] >= '0' && text[k] <= '9' ? &FIGURES[text[k] - '0'] : &FIGURES[1];
        const double shift = step * (k - 0.5 * (c0 - 1)) - 0.3;
        for (int i = 0; i + 1 < f->count; i++) {
            const double ax = (f->xy[i][0] + shift) * height_mm, ay = (f->xy[i][1] - 0.5) * height_mm;
            const double bx = (f->xy[i + 1][0] + shift) * height_mm, by = (f->xy[i + 1][1] - 0.5) * height_mm;
            sf_pen_stroke(pen, x + ax * c - ay * s, y + ax * s + ay * c, x + bx * c - by * s, y + bx * s + by * c,
                          stroke_mm, level);
        }
    }
}
