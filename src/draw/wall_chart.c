// SPDX-License-Identifier: GPL-3.0-or-later
#include "draw/wall_chart.h"

#include "base/units.h"
#include "draw/lettering.h"

#include <math.h>
#include <stdio.h>

enum { MOST_LEVELS = 4, LEVEL_TEXT = 40 };

static const sf_PaperMm LEFT = 8, RIGHT = 23, TOP = 4.2, BOTTOM = 6.6, LABEL_PITCH = 2.9;
static const double SEAM_HALF_WINDOW_DEG = 12; // as in section/wall.h

static const sf_Lettering SMALL = { SF_SMALLEST_PT, false, SF_ALIGN_LEFT, { 0.08, 0.09, 0.11 } };

// A limit drawn across the chart.
typedef struct Level {
    double wall; ///< m
    char text[LEVEL_TEXT];
    sf_Dash dash;
    sf_PaperMm width;
    sf_PaperMm label_y;
} Level;

typedef struct Chart {
    sf_Sheet *sheet;
    sf_Box plot;
    double top; ///< wall at the plot's upper edge, m
    const sf_RingSheet *ring;
    Level levels[MOST_LEVELS]; ///< thickest first
    size_t level_count;
} Chart;

static sf_Spot spot(const Chart *c, double deg, double wall)
{
    return (sf_Spot){ c->plot.x + deg / 360 * c->plot.width, c->plot.y + c->plot.height * (1 - wall / c->top) };
}

static double degrees(double angle)
{
    double deg = fmod(angle / SF_DEG, 360);
    return deg < 0 ? deg + 360 : deg;
}

static void add_level(Chart *c, double wall, sf_Dash dash, sf_PaperMm width, const char *word)
{
    size_t at = c->level_count++;
    for (; at > 0 && c->levels[at - 1].wall < wall; at--)
        c->levels[at] = c->levels[at - 1];
    Level *l = &c->levels[at];
    *l = (Level){ .wall = wall, .dash = dash, .width = width };
    snprintf(l->text, sizeof l->text, "%s %.2f", word, wall / SF_MM);
}

static void choose_levels(Chart *c)
{
    const sf_RingLimits *l = c->ring->limits;
    const sf_RingContext *x = c->ring->context;
    if (isfinite(x->nominal_wall)) {
        add_level(c, x->nominal_wall, SF_DASH_CENTRE, 0.2, "expected");
        add_level(c, x->nominal_wall * l->wall_off_seam.accept, SF_DASH_LONG, 0.25, "accept");
        add_level(c, x->nominal_wall * l->wall_off_seam.reject, SF_DASH_SHORT, 0.25, "reject");
    }
    if (isfinite(x->body_mass) || x->user != SF_USER_UNKNOWN) {
        add_level(c, sf_ring_floor(l, x->body_mass, x->user == SF_USER_CHILD), SF_DASH_NONE, 0.35, "floor");
    } else if (c->level_count + 2 <= MOST_LEVELS) {
        add_level(c, l->floor.adult, SF_DASH_NONE, 0.35, "floor, adult");
        add_level(c, l->floor.child, SF_DASH_NONE, 0.2, "floor, child");
    } else {
        add_level(c, l->floor.adult, SF_DASH_NONE, 0.35, "floor, adult");
    }
}

// Labels stand beside their lines, pushed apart from the middle where they would touch.
static void place_labels(Chart *c)
{
    for (size_t i = 0; i < c->level_count; i++)
        c->levels[i].label_y = spot(c, 0, c->levels[i].wall).y + 0.9;
    for (int round = 0; round < 40; round++)
        for (size_t i = 0; i + 1 < c->level_count; i++) {
            double lack = LABEL_PITCH - (c->levels[i + 1].label_y - c->levels[i].label_y);
            if (lack <= 0)
                continue;
            c->levels[i].label_y -= lack / 2;
            c->levels[i + 1].label_y += lack / 2;
        }
}

static void draw_levels(const Chart *c)
{
    double right = c->plot.x + c->plot.width;
    const sf_Pen thin = { SF_INK_SOFT, 0.13, SF_DASH_NONE };
    for (size_t i = 0; i < c->level_count; i++) {
        const Level *l = &c->levels[i];
        double y = spot(c, 0, l->wall).y;
        const sf_Pen white = { SF_PAPER, l->width + 0.5, SF_DASH_NONE }, pen = { SF_INK, l->width, l->dash };
        sf_sheet_line(c->sheet, (sf_Spot){ c->plot.x, y }, (sf_Spot){ right, y }, &white);
        sf_sheet_line(c->sheet, (sf_Spot){ c->plot.x, y }, (sf_Spot){ right, y }, &pen);
        sf_sheet_line(c->sheet, (sf_Spot){ right, y }, (sf_Spot){ right + 2, l->label_y - 0.9 }, &thin);
        sf_sheet_text(c->sheet, (sf_Spot){ right + 2.6, l->label_y }, &SMALL, l->text);
    }
}

// The wall rolled out: hatched as cut material, its outer edge strong.
static void draw_wall(const Chart *c)
{
    const double *wall = c->ring->measure->wall.wall;
    sf_Spot spots[SF_WALL_STATIONS + 3];
    for (size_t k = 0; k <= SF_WALL_STATIONS; k++)
        spots[k] = spot(c, 360.0 * (double)k / SF_WALL_STATIONS, wall[k % SF_WALL_STATIONS]);
    spots[SF_WALL_STATIONS + 1] = spot(c, 360, 0);
    spots[SF_WALL_STATIONS + 2] = spot(c, 0, 0);
    const sf_Pen hatch = { SF_INK_FAINT, 0.12, SF_DASH_NONE }, edge = { SF_INK_SCRIBE, 0.5, SF_DASH_NONE };
    sf_sheet_hatch(c->sheet, &(sf_Loop){ spots, SF_WALL_STATIONS + 3 }, 1, SF_PI / 4, 1.3, &hatch);
    sf_sheet_polyline(c->sheet, spots, SF_WALL_STATIONS + 1, false, &edge);
}

static void shade(const Chart *c, double from, double to)
{
    if (to <= from)
        return;
    sf_Spot low = spot(c, from, 0), high = spot(c, to, c->top);
    sf_sheet_fill_box(c->sheet, (sf_Box){ low.x, high.y, high.x - low.x, low.y - high.y },
                      (sf_Colour){ 0.88, 0.89, 0.90 });
}

static void draw_seam(const Chart *c)
{
    const sf_WallMap *w = &c->ring->measure->wall;
    if (isnan(w->seam_angle))
        return;
    double deg = degrees(w->seam_angle), from = deg - SEAM_HALF_WINDOW_DEG, to = deg + SEAM_HALF_WINDOW_DEG;
    shade(c, fmax(from, 0), fmin(to, 360));
    shade(c, fmax(from + 360, 0), 360);
    shade(c, 0, fmin(to - 360, 360));
}

// The unjoined line as a slit from the bore outward, at the angle of its root.
static void draw_line(const Chart *c)
{
    const sf_WallMap *w = &c->ring->measure->wall;
    const sf_UnjoinedLine *line = &c->ring->outline->line;
    if (!line->present)
        return;
    double deg = degrees(atan2(line->start.y - w->origin.y, line->start.x - w->origin.x));
    const sf_Pen white = { SF_PAPER, 1.2, SF_DASH_NONE }, mark = { SF_INK_MARK, 0.6, SF_DASH_NONE };
    sf_Spot root = spot(c, deg, 0), tip = spot(c, deg, sf_point_distance(line->start, line->end));
    sf_sheet_line(c->sheet, root, tip, &white);
    sf_sheet_line(c->sheet, root, tip, &mark);
}

static void draw_axes(const Chart *c)
{
    const sf_Pen frame = { SF_INK, 0.2, SF_DASH_NONE };
    const sf_Lettering right = { SF_SMALLEST_PT, false, SF_ALIGN_RIGHT, SF_INK },
                       centre = { SF_SMALLEST_PT, false, SF_ALIGN_CENTRE, SF_INK };
    double step = c->top > 8 * SF_MM ? 4 : c->top > 4.5 * SF_MM ? 2 : 1;
    for (double mm = 0; mm * SF_MM < c->top; mm += step) {
        sf_Spot at = spot(c, 0, mm * SF_MM);
        char text[16];
        snprintf(text, sizeof text, "%.0f", mm);
        sf_sheet_line(c->sheet, at, (sf_Spot){ at.x - 1, at.y }, &frame);
        sf_sheet_text(c->sheet, (sf_Spot){ at.x - 1.5, at.y + 0.9 }, &right, text);
    }
    for (int deg = 0; deg <= 360; deg += 45) {
        sf_Spot at = spot(c, deg, 0);
        char text[16];
        snprintf(text, sizeof text, "%d\u00b0", deg);
        sf_sheet_line(c->sheet, at, (sf_Spot){ at.x, at.y + 1 }, &frame);
        if (deg % 90 == 0)
            sf_sheet_text(c->sheet, (sf_Spot){ at.x, at.y + 3.8 }, &centre, text);
    }
    sf_sheet_line(c->sheet, spot(c, 0, 0), spot(c, 360, 0), &frame);
    sf_sheet_line(c->sheet, spot(c, 0, 0), spot(c, 0, c->top), &frame);
}

// Where the limb directions fall: a flag that stands on the axis, and the word below the degrees.
static void draw_directions(const Chart *c)
{
    const char *const words[] = { "P posterior", "O outward" };
    const double angles[] = { c->ring->posterior_angle, c->ring->outward_angle };
    const sf_Lettering style = { SF_SMALLEST_PT, true, SF_ALIGN_CENTRE, SF_INK };
    double left = c->plot.x - LEFT, right = c->plot.x + c->plot.width + RIGHT, taken = NAN;
    for (int i = 0; i < 2; i++) {
        if (isnan(angles[i]))
            continue;
        sf_Spot at = spot(c, degrees(angles[i]), 0);
        const sf_Spot under[] = { { at.x, at.y }, { at.x - 1.6, at.y - 2.9 }, { at.x + 1.6, at.y - 2.9 } };
        const sf_Spot flag[] = { { at.x, at.y - 0.2 }, { at.x - 1, at.y - 2.3 }, { at.x + 1, at.y - 2.3 } };
        sf_sheet_fill(c->sheet, &(sf_Loop){ under, 3 }, 1, SF_PAPER);
        sf_sheet_fill(c->sheet, &(sf_Loop){ flag, 3 }, 1, SF_INK);
        double half = sf_sheet_text_width(c->sheet, &style, words[i]) / 2 + 0.5;
        double x = fmin(fmax(at.x, left + half), right - half);
        if (fabs(x - taken) < 2 * half) // the first word stays; NaN: there is none
            x = taken + (x > taken ? 2 * half : -2 * half);
        taken = x;
        sf_sheet_text(c->sheet, (sf_Spot){ x, at.y + 6.6 }, &style, words[i]);
    }
}

static void mark_least(const Chart *c, bool off_seam)
{
    const sf_WallMap *w = &c->ring->measure->wall;
    size_t station = off_seam ? w->off_seam_station : w->min_station;
    sf_Spot at = spot(c, 360.0 * (double)station / SF_WALL_STATIONS, w->wall[station]);
    sf_sheet_dot(c->sheet, at, 1.1, SF_PAPER);
    if (off_seam)
        sf_sheet_dot(c->sheet, at, 0.8, SF_INK);
    else
        sf_sheet_circle(c->sheet, at, 0.75, &(sf_Pen){ SF_INK, 0.3, SF_DASH_NONE });
}

// The value under its dot, inside the hatched wall, kept clear of the plot's sides. `floor`: height above the axis.
// Returns the middle of the text, and its half width.
static double letter_least(const Chart *c, size_t station, bool bold, sf_PaperMm above, double *half)
{
    const double wall = c->ring->measure->wall.wall[station];
    const sf_Lettering style = { 8, bold, SF_ALIGN_CENTRE, SF_INK };
    const sf_Pen thin = { SF_INK, 0.13, SF_DASH_NONE };
    char text[32];
    snprintf(text, sizeof text, "%.2f", wall / SF_MM);
    *half = sf_sheet_text_width(c->sheet, &style, text) / 2 + 1;
    sf_Spot at = spot(c, 360.0 * (double)station / SF_WALL_STATIONS, wall);
    double left = c->plot.x + *half, right = c->plot.x + c->plot.width - *half;
    double x = fmin(fmax(at.x, left), right), y = c->plot.y + c->plot.height - above;
    if (!bold && c->ring->outline->line.present) // beside the unjoined line, not over it
        x = x - *half - 0.6 > left ? x - *half - 0.6 : x + *half + 0.6;
    sf_sheet_line(c->sheet, (sf_Spot){ x, y - 2.6 }, (sf_Spot){ at.x, at.y + 0.8 }, &thin);
    sf_sheet_text_patch(c->sheet, (sf_Spot){ x, y }, &style, text);
    return x;
}

// The least wall off the seam, and the least anywhere where it is another.
static void tell_least(const Chart *c)
{
    const sf_WallMap *w = &c->ring->measure->wall;
    double half, other_half;
    sf_PaperMm low = isfinite(c->ring->posterior_angle) ? 3.2 : 1.6; // over the flags
    double x = letter_least(c, w->off_seam_station, true, low, &half);
    if (w->min_station != w->off_seam_station && w->min < w->off_seam_min) {
        double other = spot(c, 360.0 * (double)w->min_station / SF_WALL_STATIONS, 0).x;
        bool near = fabs(other - x) < 2 * half + 2;
        letter_least(c, w->min_station, false, near ? low + 3.4 : low, &other_half);
        mark_least(c, false);
    }
    mark_least(c, true);
}

void sf_wall_chart_paint(sf_Sheet *sheet, sf_Box box, const sf_RingSheet *ring)
{
    const sf_WallMap *w = &ring->measure->wall;
    Chart chart = { .sheet = sheet, .ring = ring };
    Chart *c = &chart;
    bool directions = isfinite(ring->posterior_angle);
    c->plot = (sf_Box){ box.x + LEFT, box.y + TOP, box.width - LEFT - RIGHT,
                        box.height - TOP - BOTTOM - (directions ? 1.4 : 0) };
    choose_levels(c);
    c->top = 1.07 * fmax(w->max, c->levels[0].wall);
    place_labels(c);
    sf_sheet_text(sheet, (sf_Spot){ box.x, box.y + 2.4 }, &SMALL,
                  "Wall in mm, rolled out from the bore, against the picture angle");
    draw_seam(c);
    draw_levels(c);
    draw_wall(c);
    draw_axes(c);
    draw_line(c);
    draw_directions(c);
    tell_least(c);
}
