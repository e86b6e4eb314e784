// SPDX-License-Identifier: GPL-3.0-or-later
#include "ring_paint.h"

#include "base/alloc.h"
#include "base/units.h"
#include "ring_clutter.h"
#include "ring_curve.h"

#include <math.h>
#include <string.h>

enum { CORNERS = 8192, LINE_CORNERS = 64, VOID_CORNERS = 512 };

static void to_pixel(const sf_Scene *s, const sf_Field *f, sf_Spot p, double *xy)
{
    const double pixel = 25.4 / s->dpi;
    xy[0] = p.x * s->stretch_x / pixel;
    xy[1] = (double)f->rows - p.y / pixel;
}

static void curve_edges(const sf_Scene *s, sf_Field *f, sf_Spot (*spot)(const sf_Scene *, double), double sign,
                        double *xy)
{
    for (int i = 0; i < CORNERS; i++)
        to_pixel(s, f, spot(s, 2.0 * SF_PI * i / CORNERS), xy + 2 * i);
    sf_field_edges(f, xy, CORNERS, sign);
}

static void ring_edges(const sf_Scene *s, sf_Field *f, double *xy)
{
    curve_edges(s, f, sf_curve_outer_spot, 1.0, xy);
    if (s->body != SF_BODY_DISC)
        curve_edges(s, f, sf_curve_inner_spot, -1.0, xy);
    for (size_t k = 0; k < s->void_count; k++) {
        const sf_VoidPlace v = sf_curve_void(s, &s->voids[k]);
        const double c = cos(v.turn), d = sin(v.turn);
        for (int i = 0; i < VOID_CORNERS; i++) {
            const double t = 2.0 * SF_PI * i / VOID_CORNERS, x = v.a * cos(t), y = v.b * sin(t);
            to_pixel(s, f, (sf_Spot){ v.centre.x + c * x - d * y, v.centre.y + d * x + c * y }, xy + 2 * i);
        }
        sf_field_edges(f, xy, VOID_CORNERS, -1.0);
    }
}

/// The line as a polygon that begins inside the bore, so that its mouth is open, and past the outer edge if through.
static sf_Status cut_line(const sf_Scene *s, sf_Field *cover, sf_Error *err)
{
    double xy[4 * LINE_CORNERS];
    const double start = -0.3, length = sf_curve_line_length(s), end = s->line_mm < 0.0 ? length + 0.5 : length;
    if (length <= 0.0)
        return SF_OK;
    for (int i = 0; i < LINE_CORNERS; i++) {
        double half;
        sf_Spot across;
        const double t = start + (end - start) * i / (LINE_CORNERS - 1);
        const sf_Spot p = sf_curve_line_spot(s, t, &half, &across);
        to_pixel(s, cover, (sf_Spot){ p.x - half * across.x, p.y - half * across.y }, xy + 2 * i);
        to_pixel(s, cover, (sf_Spot){ p.x + half * across.x, p.y + half * across.y },
                 xy + 2 * (2 * LINE_CORNERS - 1 - i));
    }
    double left = xy[0], right = xy[0], top = xy[1], bottom = xy[1];
    for (int i = 1; i < 2 * LINE_CORNERS; i++) {
        left = fmin(left, xy[2 * i]);
        right = fmax(right, xy[2 * i]);
        top = fmin(top, xy[2 * i + 1]);
        bottom = fmax(bottom, xy[2 * i + 1]);
    }
    const double x0 = fmax(floor(left) - 1.0, 0.0), y0 = fmax(floor(top) - 1.0, 0.0);
    const double x1 = fmin(ceil(right) + 1.0, (double)cover->columns),
                 y1 = fmin(ceil(bottom) + 1.0, (double)cover->rows);
    if (x1 <= x0 || y1 <= y0)
        return SF_OK;
    sf_Field part = { 0 };
    SF_TRY(sf_field_create(&part, (size_t)(x1 - x0), (size_t)(y1 - y0), err));
    for (int i = 0; i < 2 * LINE_CORNERS; i++) {
        xy[2 * i] -= x0;
        xy[2 * i + 1] -= y0;
    }
    sf_field_edges(&part, xy, 2 * LINE_CORNERS, 1.0);
    sf_field_settle(&part);
    for (size_t r = 0; r < part.rows; r++) {
        float *row = cover->value + ((size_t)y0 + r) * cover->columns + (size_t)x0;
        for (size_t c = 0; c < part.columns; c++)
            row[c] *= 1.0f - fabsf(part.value[r * part.columns + c]);
    }
    sf_field_destroy(&part);
    return SF_OK;
}

static sf_Status cover_scene(const sf_Scene *s, sf_Field *cover, sf_Error *err)
{
    double *xy = sf_alloc((size_t)2 * CORNERS, sizeof *xy);
    if (!xy)
        return SF_FAIL(err, SF_E_MEMORY, "", "no memory for an outline");
    if (s->body == SF_BODY_RING || s->body == SF_BODY_DISC || s->body == SF_BODY_TWO)
        ring_edges(s, cover, xy);
    if (s->body == SF_BODY_TWO) {
        sf_Scene second = *s;
        second.centre_x_mm = s->width_mm - s->centre_x_mm;
        second.centre_y_mm = s->height_mm - s->centre_y_mm;
        second.outer_diameter_mm *= 0.93;
        ring_edges(&second, cover, xy);
    }
    sf_free(xy);
    sf_field_settle(cover);
    if (s->body == SF_BODY_RING)
        SF_TRY(cut_line(s, cover, err));
    return SF_OK;
}

/// Turns coverage into light in place; `near` is the coverage spread over the reach of the edge effects, or NULL.
static void light_up(const sf_Scene *s, sf_Field *cover, const sf_Field *near)
{
    const double pixel = 25.4 / s->dpi, k = 2.0 * SF_PI * pixel / s->saw_pitch_mm;
    const double kx = k * cos(s->saw_deg * SF_DEG), ky = k * sin(s->saw_deg * SF_DEG);
    const double step = s->face - s->ground;
    for (size_t r = 0; r < cover->rows; r++) {
        float *row = cover->value + r * cover->columns;
        const float *wide = near ? near->value + r * cover->columns : NULL;
        for (size_t c = 0; c < cover->columns; c++) {
            const double full = row[c];
            double face = s->face, ground = s->ground;
            if (full > 0.0 && s->saw > 0.0) {
                const double phase = kx * (double)c + ky * (double)r;
                face *= 1.0 + s->saw * (0.7 * sin(phase) + 0.3 * sin(2.3 * phase + 1.0));
            }
            if (wide) {
                face -= step * 2.0 * s->edge_loss * (1.0 - wide[c]);
                ground += step * 2.0 * s->edge_glow * wide[c];
            }
            row[c] = (float)(ground + (face - ground) * full);
        }
    }
}

static void shade(const sf_Scene *s, sf_Field *f)
{
    const double half = 0.5 * hypot((double)f->columns, (double)f->rows);
    const double kx = s->uneven * cos(s->uneven_deg * SF_DEG) / half,
                 ky = -s->uneven * sin(s->uneven_deg * SF_DEG) / half;
    if (s->uneven <= 0.0)
        return;
    for (size_t r = 0; r < f->rows; r++)
        for (size_t c = 0; c < f->columns; c++) {
            const double x = (double)c + 0.5 - 0.5 * (double)f->columns, y = (double)r + 0.5 - 0.5 * (double)f->rows;
            f->value[r * f->columns + c] *= (float)(1.0 + kx * x + ky * y);
        }
}

static sf_Status lit_scene(const sf_Scene *s, sf_Field *light, sf_Error *err)
{
    sf_Field near = { 0 };
    sf_Status status = SF_OK;
    const bool spread = s->edge_loss > 0.0 || s->edge_glow > 0.0;
    SF_TRY_DONE(cover_scene(s, light, err));
    if (spread) {
        SF_TRY_DONE(sf_field_create(&near, light->columns, light->rows, err));
        memcpy(near.value, light->value, light->columns * light->rows * sizeof *near.value);
        SF_TRY_DONE(sf_field_decay(&near, s->edge_reach_mm * s->dpi / 25.4, err));
    }
    light_up(s, light, spread ? &near : NULL);
done:
    sf_field_destroy(&near);
    return status;
}

sf_Status sf_paint_scene(const sf_Scene *s, sf_Field *light, sf_Error *err)
{
    sf_Status status = SF_OK;
    SF_TRY(sf_field_create(light, sf_scene_columns(s), sf_scene_rows(s), err));
    SF_TRY_DONE(lit_scene(s, light, err));
    sf_clutter_paint(s, light);
    SF_TRY_DONE(sf_field_gauss(light, s->blur_px, err));
    shade(s, light);
done:
    if (status != SF_OK)
        sf_field_destroy(light);
    return status;
}
