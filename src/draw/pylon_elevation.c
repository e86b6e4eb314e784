// SPDX-License-Identifier: GPL-3.0-or-later
#include "draw/pylon_elevation.h"

#include "base/units.h"
#include "draw/dimension.h"
#include "draw/lettering.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { MOST_MARKS = 8, MARK_TEXT = 40, WALL_SPOTS = 2 * SF_STATION_MAX };

static const sf_PaperMm ABOVE = 17.5;    // above the pylon: a piece of socket, and the chart's names
static const double SOCKET_FLARE = 0.75; // sideways per height
static const double SCALES[] = { 1, 0.75, 2.0 / 3, 0.5, 0.4, 1.0 / 3, 2.0 / 7, 0.25, 0.2, 1.0 / 6, 0.125, 0.1 };
static const sf_PaperMm MARK_PITCH = 3.1, MARKS = 24; // heights lettered at the left
static const double CLAMP_WALL = 4e-3;                // m, where the adapter's rim has none stated

static const sf_Lettering SMALL = { SF_SMALLEST_PT, false, SF_ALIGN_LEFT, { 0.08, 0.09, 0.11 } };

// A height with its word.
typedef struct Mark {
    double height;
    char text[MARK_TEXT];
    sf_PaperMm y;
} Mark;

typedef struct Elevation {
    sf_Sheet *sheet;
    sf_Box box;
    const sf_HeightScale *heights;
    const sf_PylonSheet *p;
    sf_PaperMm axis; ///< x of the pylon's axis
    Mark marks[MOST_MARKS];
    size_t mark_count;
} Elevation;

sf_HeightScale sf_height_scale(sf_Box box, const sf_Pylon *pylon)
{
    size_t last = sizeof SCALES / sizeof *SCALES - 1, i = 0;
    while (i < last && pylon->top / SF_MM * SCALES[i] > box.height - ABOVE)
        i++;
    double above = fmin((box.height - 5) / SCALES[i] * SF_MM, pylon->top + 0.06);
    return (sf_HeightScale){ .floor = box.y + box.height - 2, .scale = SCALES[i], .top = above };
}

sf_PaperMm sf_height_y(const sf_HeightScale *heights, double height)
{
    return heights->floor - height / SF_MM * heights->scale;
}

static sf_Spot spot(const Elevation *e, double forward, double height)
{
    return (sf_Spot){ e->axis + forward / SF_MM * e->heights->scale, sf_height_y(e->heights, height) };
}

static const sf_PylonCurve *governing(const sf_PylonSheet *p)
{
    return p->curves[1].governs ? &p->curves[1] : &p->curves[0];
}

// One wall of the tube cut lengthwise; side -1 backward, 1 forward.
static void draw_wall(const Elevation *e, double side)
{
    const sf_Pylon *pylon = e->p->pylon;
    sf_Spot spots[WALL_SPOTS];
    size_t n = pylon->station_count;
    for (size_t i = 0; i < n; i++) {
        const sf_PylonStation *s = &pylon->stations[i];
        spots[i] = spot(e, side * s->section.outer_diameter / 2, s->height);
        spots[2 * n - 1 - i] = spot(e, side * s->section.inner_diameter / 2, s->height);
    }
    const sf_Loop loop = { spots, 2 * n };
    const sf_Pen hatch = { SF_INK_SOFT, 0.12, SF_DASH_NONE }, edge = { SF_INK, 0.35, SF_DASH_NONE };
    sf_sheet_hatch(e->sheet, &loop, 1, SF_PI / 4, 0.9, &hatch);
    sf_sheet_polyline(e->sheet, spots, 2 * n, true, &edge);
}

// Inside of the adapter's rim; never within the pylon.
static double clamp_radius(const sf_PylonSheet *p)
{
    double outer = p->pylon->stations[0].section.outer_diameter / 2;
    return isfinite(p->rim) ? fmax(p->rim / 2, outer) : outer;
}

// Clamp halves beside the grip and the block down to the foot.
static void draw_adapter(const Elevation *e)
{
    const sf_PylonSheet *p = e->p;
    double rim = clamp_radius(p), far = rim + CLAMP_WALL;
    const sf_Pen hatch = { SF_INK_SOFT, 0.12, SF_DASH_NONE }, edge = { SF_INK, 0.25, SF_DASH_NONE };
    for (int side = -1; side <= 1; side += 2) {
        const sf_Spot spots[] = { spot(e, side * rim, p->pylon->cut), spot(e, side * far, p->pylon->cut),
                                  spot(e, side * far, p->pylon->grip_top), spot(e, side * rim, p->pylon->grip_top) };
        sf_sheet_hatch(e->sheet, &(sf_Loop){ spots, 4 }, 1, -SF_PI / 4, 0.9, &hatch);
        sf_sheet_polyline(e->sheet, spots, 4, true, &edge);
    }
    if (isnan(p->mounting_face) || p->mounting_face >= p->pylon->cut)
        return;
    const sf_Spot block[] = { spot(e, -far, p->pylon->cut), spot(e, -far, p->mounting_face),
                              spot(e, far, p->mounting_face), spot(e, far, p->pylon->cut) };
    sf_sheet_hatch(e->sheet, &(sf_Loop){ block, 4 }, 1, -SF_PI / 4, 0.9, &hatch);
    sf_sheet_polyline(e->sheet, block, 4, true, &edge);
}

// Foot and socket are shown for the eye only.
static void draw_socket(const Elevation *e)
{
    const sf_Pylon *pylon = e->p->pylon;
    const sf_Pen dashes = { SF_INK_SOFT, 0.2, SF_DASH_SHORT };
    double shown = e->heights->top - pylon->top;
    double r = pylon->stations[pylon->station_count - 1].section.outer_diameter / 2;
    for (int side = -1; side <= 1; side += 2)
        sf_sheet_line(e->sheet, spot(e, side * r, pylon->top),
                      spot(e, side * (r + SOCKET_FLARE * shown), e->heights->top), &dashes);
}

static void draw_foot(const Elevation *e)
{
    const sf_PylonSheet *p = e->p;
    const sf_Pen thin = { SF_INK_FAINT, 0.25, SF_DASH_NONE };
    double face = isfinite(p->mounting_face) ? p->mounting_face : p->pylon->cut;
    double length = isfinite(p->foot_length) ? p->foot_length : 0.25;
    enum { CORNERS = 10, STEPS = 8 };
    const double corner[CORNERS][2] = { { 0.03, face },
                                        { 0.075, 0.72 * face },
                                        { 0.45 * length, 0.36 * face },
                                        { 0.7 * length, 0.22 * face },
                                        { 0.75 * length, 0.1 * face },
                                        { 0.75 * length, 0 },
                                        { -0.25 * length, 0 },
                                        { -0.26 * length, 0.35 * face },
                                        { -0.22 * length, 0.62 * face },
                                        { -0.03, face } };
    sf_Spot foot[CORNERS * STEPS];
    size_t n = 0;
    for (int i = 0; i + 1 < CORNERS; i++)
        for (int k = 0; k < STEPS; k++) {
            // Catmull-Rom through the corners; the sole stays straight.
            const double *a = corner[i > 0 && i != 6 ? i - 1 : i], *b = corner[i], *c = corner[i + 1],
                         *d = corner[i + 2 < CORNERS && i != 4 ? i + 2 : i + 1];
            double t = (double)k / STEPS, xy[2];
            for (int j = 0; j < 2; j++)
                xy[j] = i == 5 ? b[j] + t * (c[j] - b[j])
                               : b[j] + 0.5 * t *
                                            (c[j] - a[j] +
                                             t * (2 * a[j] - 5 * b[j] + 4 * c[j] - d[j] +
                                                  t * (3 * (b[j] - c[j]) + d[j] - a[j])));
            foot[n++] = spot(e, xy[0], fmax(xy[1], 0));
        }
    foot[n++] = spot(e, corner[CORNERS - 1][0], face);
    sf_sheet_polyline(e->sheet, foot, n, false, &thin);
}

// The holes as they are seen from the outside; those on the far side dashed.
static void draw_holes(const Elevation *e)
{
    const sf_Pylon *pylon = e->p->pylon;
    for (size_t i = 0; i < pylon->hole_count; i++) {
        const sf_BeamHole *hole = &pylon->holes[i];
        double r = pylon->stations[pylon->hole_station[i]].section.outer_diameter / 2;
        sf_Spot at = spot(e, r * sin(hole->angle), hole->height);
        sf_PaperMm half = hole->diameter / 2 / SF_MM * e->heights->scale;
        const sf_Pen pen = { SF_INK, 0.25, cos(hole->angle) < 0 ? SF_DASH_DOTS : SF_DASH_NONE },
                     cross = { SF_INK, 0.12, SF_DASH_NONE };
        sf_sheet_dot(e->sheet, at, half, SF_PAPER);
        sf_sheet_circle(e->sheet, at, half, &pen);
        sf_sheet_line(e->sheet, (sf_Spot){ at.x - half - 0.8, at.y }, (sf_Spot){ at.x + half + 0.8, at.y }, &cross);
        sf_sheet_line(e->sheet, (sf_Spot){ at.x, at.y - half - 0.8 }, (sf_Spot){ at.x, at.y + half + 0.8 }, &cross);
    }
}

// Where the force of each condition runs, seen from the side, with an arrow along it.
static void draw_load_lines(const Elevation *e)
{
    double placed = NAN, placed_half = 0, placed_row = 0;
    for (size_t i = 0; i < SF_PYLON_CURVES; i++) {
        const sf_PylonCurve *c = &e->p->curves[i];
        sf_Spot low = spot(e, sf_load_line_at(&c->line, 0).y, 0);
        sf_Spot high = spot(e, sf_load_line_at(&c->line, e->heights->top).y, e->heights->top);
        const sf_Pen pen = { SF_INK_MARK, c->governs ? 0.35 : 0.2, SF_DASH_LONG };
        sf_sheet_line(e->sheet, low, high, &pen);
        sf_arrow_head(e->sheet, (sf_Spot){ low.x + 0.04 * (high.x - low.x), low.y + 0.04 * (high.y - low.y) },
                      atan2(high.y - low.y, high.x - low.x), 2.4, SF_INK_MARK);
        const sf_Lettering style = { SF_SMALLEST_PT, c->governs, SF_ALIGN_CENTRE, SF_INK_MARK };
        double left = e->box.x + MARKS + 1, right = e->box.x + e->box.width, x = high.x;
        char text[MARK_TEXT];
        bool outside = x > right || x < left;
        snprintf(text, sizeof text, "force %s%s", c->condition, x > right ? " in front" : x < left ? " behind" : "");
        double half = sf_sheet_text_width(e->sheet, &style, text) / 2;
        x = fmin(fmax(x, left + half), right - half);
        double row = outside ? 3.8 : 0.6;
        if (fabs(x - placed) < half + placed_half + 1 && row == placed_row)
            row += 3.2;
        placed = x;
        placed_half = half;
        placed_row = row;
        sf_sheet_text(e->sheet, (sf_Spot){ x, high.y - row }, &style, text);
    }
}

static void add_mark(Elevation *e, double height, const char *word)
{
    if (isnan(height) || e->mark_count == MOST_MARKS)
        return;
    size_t at = e->mark_count++;
    for (; at > 0 && e->marks[at - 1].height > height; at--)
        e->marks[at] = e->marks[at - 1];
    Mark *m = &e->marks[at];
    *m = (Mark){ .height = height };
    snprintf(m->text, sizeof m->text, "%s %.0f", word, height / SF_MM);
}

// Running heights from the floor, lowest first, pushed apart where they would touch.
static void draw_marks(Elevation *e)
{
    const sf_Pen thin = { SF_INK_SOFT, 0.13, SF_DASH_NONE };
    const sf_Lettering right = { SF_SMALLEST_PT, false, SF_ALIGN_RIGHT, SF_INK };
    sf_PaperMm line = e->box.x + MARKS;
    for (size_t i = 0; i < e->mark_count; i++)
        e->marks[i].y = sf_height_y(e->heights, e->marks[i].height) + 0.9;
    for (int round = 0; round < 60; round++)
        for (size_t i = 0; i + 1 < e->mark_count; i++) {
            double lack = MARK_PITCH - (e->marks[i].y - e->marks[i + 1].y);
            if (lack > 0) {
                e->marks[i].y += i > 0 ? lack / 2 : 0;
                e->marks[i + 1].y -= i > 0 ? lack / 2 : lack;
            }
        }
    sf_Spot foot = { line, e->heights->floor };
    double face = spot(e, -clamp_radius(e->p) - CLAMP_WALL, 0).x - 0.6;
    for (size_t i = 0; i < e->mark_count; i++) {
        double y = sf_height_y(e->heights, e->marks[i].height);
        sf_sheet_line(e->sheet, (sf_Spot){ line - 3.2, e->marks[i].y - 0.9 }, (sf_Spot){ line - 1, y }, &thin);
        sf_sheet_line(e->sheet, (sf_Spot){ line - 1, y }, (sf_Spot){ fmax(face, line + 1), y }, &thin);
        if (e->marks[i].height > 0)
            sf_arrow_head(e->sheet, (sf_Spot){ line, y }, -SF_PI / 2, 1.7, SF_INK);
        sf_sheet_text(e->sheet, (sf_Spot){ line - 3.6, e->marks[i].y }, &right, e->marks[i].text);
        sf_sheet_line(e->sheet, foot, (sf_Spot){ line, y }, &thin);
    }
    sf_sheet_circle(e->sheet, foot, 0.7, &(sf_Pen){ SF_INK, 0.2, SF_DASH_NONE });
}

void sf_pylon_elevation_paint(sf_Sheet *sheet, sf_Box box, const sf_HeightScale *heights, const sf_PylonSheet *p)
{
    Elevation elevation = { .sheet = sheet, .box = box, .heights = heights, .p = p };
    Elevation *e = &elevation;
    e->axis = box.x + MARKS + (box.width - MARKS) * 0.5;
    sf_Spot window[] = { { box.x + MARKS + 1, box.y - 6 },
                         { box.x + box.width, box.y - 6 },
                         { box.x + box.width, heights->floor + 1 },
                         { box.x + MARKS + 1, heights->floor + 1 } };
    add_mark(e, 0, "floor");
    add_mark(e, p->mounting_face, "foot");
    add_mark(e, p->pylon->cut, "cut");
    add_mark(e, p->pylon->grip_top, "grip");
    add_mark(e, p->pylon->top, "top of pylon");
    const sf_PylonCurve *worst = governing(p);
    if (worst->balanced && p->section) {
        size_t at = 0;
        for (size_t i = 1; i < p->pylon->station_count; i++)
            if (worst->peaks[i].von_mises > worst->peaks[at].von_mises)
                at = i;
        double height = worst->peaks[at].height;
        if (height > p->pylon->cut + 1e-4)
            add_mark(e, height, "peak");
    }
    draw_marks(e);
    draw_foot(e);
    sf_sheet_clip(sheet, &(sf_Loop){ window, 4 }, 1);
    draw_socket(e);
    draw_adapter(e);
    draw_wall(e, -1);
    draw_wall(e, 1);
    draw_holes(e);
    draw_load_lines(e);
    sf_sheet_unclip(sheet);
    const sf_Pen ground = { SF_INK, 0.45, SF_DASH_NONE }, axis = { SF_INK_SOFT, 0.13, SF_DASH_CENTRE };
    sf_sheet_line(sheet, (sf_Spot){ box.x + MARKS, heights->floor },
                  (sf_Spot){ box.x + box.width + 40, heights->floor }, &ground);
    sf_sheet_line(sheet, spot(e, 0, p->pylon->cut), spot(e, 0, heights->top), &axis);
    if (isfinite(p->knee_level)) {
        char text[MARK_TEXT];
        snprintf(text, sizeof text, "knee %.0f", p->knee_level / SF_MM);
        sf_sheet_text(sheet, (sf_Spot){ box.x, box.y + 0.6 }, &SMALL, text);
        sf_arrow_head(sheet, (sf_Spot){ box.x + sf_sheet_text_width(sheet, &SMALL, text) + 1.6, box.y - 1.8 },
                      -SF_PI / 2, 2.2, SF_INK);
    }
}
