// SPDX-License-Identifier: GPL-3.0-or-later
#include "draw/ring_view.h"

#include "base/units.h"
#include "draw/dimension.h"
#include "draw/lettering.h"
#include "draw/section_figure.h"

#include <math.h>
#include <stdio.h>

enum { MOST_CALLS = 8, CALL_TEXT = 48 };

static const sf_PaperMm BAND = 2.4;     // of the scan beyond both edges
static const sf_PaperMm ROUND = 4.5;    // room round the ring for the dimension's stub and the seam's end
static const sf_PaperMm BESIDE = 14;    // least room beside the ring; call-outs that need more stand higher or lower
static const sf_PaperMm CALL_PITCH = 8; // from one call-out to the next
static const double SCALES[] = { 3, 2.5, 2, 1.75, 1.5, 1.25, 1, 0.75, 0.6, 0.5 };

// A text beside the ring that tells of a place on it.
typedef struct Call {
    sf_Spot target;
    char head[CALL_TEXT], value[CALL_TEXT];
    sf_PaperMm gap; ///< how far the leader stays off the target; 0: it ends there
    bool right;
    sf_PaperMm clear; ///< how far from the ring's middle it must stand, above or below
    sf_PaperMm y;     ///< baseline of the head
} Call;

typedef struct View {
    sf_Sheet *sheet;
    sf_Box box;
    const sf_RingSheet *ring;
    sf_SectionFigure figure;
    sf_Spot centre;
    sf_PaperMm outer, inner; ///< radii of the band in which the scan is shown
    Call calls[MOST_CALLS];
    size_t call_count;
} View;

static sf_Spot spot_of(const View *v, sf_Point point)
{
    return sf_framing_spot(&v->figure.framing, point);
}

static sf_Spot polar(sf_Spot centre, double angle, sf_PaperMm radius)
{
    return (sf_Spot){ centre.x + radius * cos(angle), centre.y - radius * sin(angle) };
}

static bool has_scan(const sf_RingSheet *ring)
{
    return ring->view && ring->view->grey;
}

static void add_call(View *v, sf_Spot target, sf_PaperMm gap, const char *head, const char *value)
{
    if (v->call_count == MOST_CALLS)
        return;
    Call *c = &v->calls[v->call_count++];
    c->target = target;
    c->gap = gap;
    snprintf(c->head, sizeof c->head, "%s", head);
    snprintf(c->value, sizeof c->value, "%s", value);
}

static void draw_scan(const View *v)
{
    const sf_RingView *view = v->ring->view;
    double width = (double)view->width * view->pitch_x, height = (double)view->height * view->pitch_y;
    sf_Spot corner = spot_of(v, (sf_Point){ view->x0, view->y0 + height });
    double k = v->figure.framing.scale / SF_MM;
    sf_sheet_clip_band(v->sheet, v->centre, v->outer, v->inner);
    sf_sheet_image(v->sheet, view->grey, view->width, view->height,
                   (sf_Box){ corner.x, corner.y, width * k, height * k });
    sf_sheet_unclip(v->sheet);
}

// Picture angles inside the bore, and the two mean diameters.
static void draw_bore(const View *v)
{
    const sf_Pen thin = { SF_INK_SOFT, 0.13, SF_DASH_NONE };
    const sf_Lettering centre = { SF_SMALLEST_PT, false, SF_ALIGN_CENTRE, SF_INK };
    const sf_Section *s = &v->ring->measure->section;
    sf_PaperMm r = v->inner - 0.6;
    sf_sheet_line(v->sheet, (sf_Spot){ v->centre.x - 1.2, v->centre.y }, (sf_Spot){ v->centre.x + 1.2, v->centre.y },
                  &thin);
    sf_sheet_line(v->sheet, (sf_Spot){ v->centre.x, v->centre.y - 1.2 }, (sf_Spot){ v->centre.x, v->centre.y + 1.2 },
                  &thin);
    for (int deg = 0; deg < 360; deg += 15) {
        double a = deg * SF_DEG;
        sf_sheet_line(v->sheet, polar(v->centre, a, r), polar(v->centre, a, r - (deg % 90 == 0 ? 1.8 : 0.9)), &thin);
        if (deg % 90 != 0)
            continue;
        char text[16];
        snprintf(text, sizeof text, "%d\u00b0", deg);
        sf_Spot at = polar(v->centre, a, r - (deg % 180 == 0 ? 4.8 : 3.6));
        sf_sheet_text(v->sheet, (sf_Spot){ at.x, at.y + 0.9 }, &centre, text);
    }
    if (r < 12.5)
        return;
    char outside[40], bore[40];
    snprintf(outside, sizeof outside, "outside \u00d8 %.2f", s->outer_diameter_mean / SF_MM);
    snprintf(bore, sizeof bore, "bore \u00d8 %.2f mm", s->inner_diameter_mean / SF_MM);
    sf_sheet_text(v->sheet, (sf_Spot){ v->centre.x, v->centre.y - 2.4 }, &centre, outside);
    sf_sheet_text(v->sheet, (sf_Spot){ v->centre.x, v->centre.y + 4.4 }, &centre, bore);
}

// The seam's direction as a centre line on both sides of the wall, which stays open to the eye.
static void draw_seam(View *v)
{
    const sf_WallMap *w = &v->ring->measure->wall;
    if (isnan(w->seam_angle))
        return;
    size_t k = (size_t)lround(w->seam_angle / (2 * SF_PI) * SF_WALL_STATIONS) % SF_WALL_STATIONS;
    sf_Spot middle = spot_of(v, w->origin), inner = spot_of(v, w->inner[k]), outer = spot_of(v, w->outer[k]);
    double bore = hypot(inner.x - middle.x, inner.y - middle.y), rim = hypot(outer.x - middle.x, outer.y - middle.y);
    sf_Spot end = polar(middle, w->seam_angle, rim + BAND + ROUND - 1.5);
    const sf_Spot pieces[2][2] = {
        { polar(middle, w->seam_angle, fmax(bore - BAND - 3, 0)), polar(middle, w->seam_angle, bore - 0.5) },
        { polar(middle, w->seam_angle, rim + 0.5), end },
    };
    const sf_Pen white = { SF_PAPER, 0.7, SF_DASH_NONE }, pen = { SF_INK, 0.3, SF_DASH_CENTRE };
    for (int i = 0; i < 2; i++) {
        sf_sheet_line(v->sheet, pieces[i][0], pieces[i][1], &white);
        sf_sheet_line(v->sheet, pieces[i][0], pieces[i][1], &pen);
    }
    char head[CALL_TEXT], value[CALL_TEXT];
    bool told = w->seam_origin == SF_SEAM_GIVEN || w->seam_origin == SF_SEAM_GIVEN_UNSEARCHED;
    double deg = fmod(round(w->seam_angle / SF_DEG), 360);
    snprintf(head, sizeof head, "seam%s %.0f\u00b0, wall %.2f", told ? ", as told," : "", deg, w->wall_at_seam / SF_MM);
    if (w->groove_depth > 0)
        snprintf(value, sizeof value, "groove %.2f mm", w->groove_depth / SF_MM);
    else
        snprintf(value, sizeof value, isnan(w->groove_depth) ? "groove not seen" : "no groove");
    add_call(v, end, 0, head, value);
}

// A dimension across the wall; its outer stub carries the call-out.
static void draw_least(View *v, size_t station, sf_Colour colour, const char *head)
{
    const sf_WallMap *w = &v->ring->measure->wall;
    sf_Spot from = spot_of(v, w->inner[station]), to = spot_of(v, w->outer[station]);
    double length = hypot(to.x - from.x, to.y - from.y), reach = BAND + 1.6;
    if (length <= 0)
        return;
    sf_dimension_outside(v->sheet, from, to, reach, colour);
    char value[CALL_TEXT];
    snprintf(value, sizeof value, "%.2f mm", w->wall[station] / SF_MM);
    add_call(v, (sf_Spot){ to.x + (to.x - from.x) / length * reach, to.y + (to.y - from.y) / length * reach }, 0, head,
             value);
}

static void draw_walls(View *v)
{
    const sf_WallMap *w = &v->ring->measure->wall;
    draw_least(v, w->off_seam_station, SF_INK, isnan(w->seam_angle) ? "least wall" : "least off the seam");
}

static void call_faults(View *v)
{
    const sf_RingMeasure *m = &v->ring->measure[0];
    const sf_Outline *o = v->ring->outline;
    char head[CALL_TEXT], value[CALL_TEXT];
    if (o->line.present) {
        snprintf(value, sizeof value, m->wall.unjoined_through ? "through" : "%.2f mm", m->wall.unjoined_depth / SF_MM);
        sf_Point middle = sf_point_scale(sf_point_add(o->line.start, o->line.end), 0.5);
        add_call(v, spot_of(v, middle), 0.7, "unjoined line", value);
    }
    if (o->void_count > 0) {
        size_t largest = 0;
        for (size_t i = 1; i < o->void_count; i++)
            if (sf_polygon_area(&o->voids[i]) > sf_polygon_area(&o->voids[largest]))
                largest = i;
        snprintf(head, sizeof head, o->void_count == 1 ? "void" : "%zu voids, together", o->void_count);
        snprintf(value, sizeof value, "%.2f mm\u00b2", m->section.void_area / SF_MM2);
        double radius = sqrt(sf_polygon_area(&o->voids[largest]) / SF_PI) / SF_MM * v->figure.framing.scale;
        add_call(v, spot_of(v, sf_polygon_centroid(&o->voids[largest])), radius + 0.7, head, value);
    }
}

static void draw_direction(View *v, double angle, const char *word)
{
    if (isnan(angle))
        return;
    sf_Spot tip = polar(v->centre, angle, v->outer + 0.3), end = polar(v->centre, angle, v->outer + 3.2);
    sf_arrow_head(v->sheet, tip, -angle + SF_PI, 2.9, SF_INK);
    add_call(v, end, 0, word, "");
}

// ---- call-outs -----------------------------------------------------------------------------------------------------

static sf_Lettering head_style(const Call *c)
{
    return (sf_Lettering){ SF_SMALLEST_PT, false, c->right ? SF_ALIGN_RIGHT : SF_ALIGN_LEFT, SF_INK };
}

static sf_Lettering value_style(const Call *c)
{
    return (sf_Lettering){ 9.5, true, c->right ? SF_ALIGN_RIGHT : SF_ALIGN_LEFT, SF_INK };
}

static double call_width(const View *v, const Call *c)
{
    const sf_Lettering head = head_style(c), value = value_style(c);
    return fmax(sf_sheet_text_width(v->sheet, &head, c->head), sf_sheet_text_width(v->sheet, &value, c->value));
}

// How far above or below the ring's centre a call-out must stand so as not to cover the ring or its marks.
static double clearance(const View *v, const Call *c)
{
    double side = v->box.width / 2 - call_width(v, c) - 2, round = v->outer + ROUND - 2;
    return side >= round ? 0 : sqrt(round * round - side * side) + 3;
}

// Heights of the call-outs of one side, from the top down, when the first `above` of those that do not fit beside the
// ring stand above its middle and the others below: pushed apart, kept within the box and off the ring. Returns how far
// they stand from what they tell of.
static double try_heights(const View *v, Call *const *calls, size_t n, size_t above, double *y)
{
    double top = v->box.y + 3, bottom = v->box.y + v->box.height - 5, middle = v->centre.y - 0.5, cost = 0;
    for (size_t i = 0; i < n; i++)
        y[i] = calls[i]->target.y - 1.5;
    for (int round = 0; round < 60; round++) {
        for (size_t i = 0; i < n; i++) {
            double clear = calls[i]->clear;
            if (clear > 0)
                y[i] = i < above ? fmin(y[i], middle - clear) : fmax(y[i], middle + clear);
            y[i] = fmin(fmax(y[i], top + CALL_PITCH * (double)i), bottom - CALL_PITCH * (double)(n - 1 - i));
        }
        for (size_t i = 0; i + 1 < n; i++) {
            double lack = CALL_PITCH - (y[i + 1] - y[i]);
            if (lack > 0) {
                y[i] -= lack / 2;
                y[i + 1] += lack / 2;
            }
        }
    }
    for (size_t i = 0; i < n; i++) {
        bool on_ring = fabs(y[i] - middle) < calls[i]->clear - 0.5;
        cost += fabs(y[i] - (calls[i]->target.y - 1.5)) + (on_ring ? v->box.height : 0);
    }
    return cost;
}

static void spread(const View *v, Call **calls, size_t n)
{
    double best = INFINITY, y[MOST_CALLS];
    for (size_t i = 0; i < n; i++)
        calls[i]->clear = clearance(v, calls[i]);
    for (size_t above = 0; above <= n; above++) {
        double cost = try_heights(v, calls, n, above, y);
        if (cost >= best)
            continue;
        best = cost;
        for (size_t i = 0; i < n; i++)
            calls[i]->y = y[i];
    }
}

static void letter_call(const View *v, const Call *c)
{
    const sf_Lettering head = head_style(c), value = value_style(c);
    double x = c->right ? v->box.x + v->box.width : v->box.x, sign = c->right ? -1 : 1;
    double wide = call_width(v, c);
    double y = *c->value ? c->y + 0.7 : c->y - 0.9;
    sf_Spot end = { x + sign * (wide + 0.8), y };
    sf_Spot elbow = { end.x + sign * 1.5, y };
    sf_leader(v->sheet, end, elbow, c->target, c->gap);
    sf_sheet_text(v->sheet, (sf_Spot){ x, c->y }, &head, c->head);
    sf_sheet_text(v->sheet, (sf_Spot){ x, c->y + 3.9 }, &value, c->value);
}

static void letter_calls(View *v)
{
    Call *sides[2][MOST_CALLS];
    size_t counts[2] = { 0, 0 };
    for (size_t i = 0; i < v->call_count; i++) {
        Call *c = &v->calls[i];
        double dx = c->target.x - v->centre.x;
        c->right = fabs(dx) > 4 ? dx > 0 : counts[1] <= counts[0];
        size_t at = counts[c->right]++;
        for (; at > 0 && sides[c->right][at - 1]->target.y > c->target.y; at--)
            sides[c->right][at] = sides[c->right][at - 1];
        sides[c->right][at] = c;
    }
    for (int side = 0; side < 2; side++) {
        spread(v, sides[side], counts[side]);
        for (size_t i = 0; i < counts[side]; i++)
            letter_call(v, sides[side][i]);
    }
}

// ---- the whole -----------------------------------------------------------------------------------------------------

static double choose_scale(sf_Box box, double radius)
{
    size_t last = sizeof SCALES / sizeof *SCALES - 1;
    for (size_t i = 0; i < last; i++) {
        double outer = radius / SF_MM * SCALES[i] + BAND;
        if (outer + ROUND <= box.height / 2 && outer + BESIDE <= box.width / 2)
            return SCALES[i];
    }
    return SCALES[last];
}

sf_Status sf_ring_view_paint(sf_Sheet *sheet, sf_Box box, const sf_RingSheet *ring, double *scale, sf_Error *err)
{
    const sf_RingFit *fit = &ring->measure->fit;
    View view = { .sheet = sheet, .box = box, .ring = ring };
    View *v = &view;
    *scale = choose_scale(box, fit->circumscribed.radius);
    v->centre = (sf_Spot){ box.x + box.width / 2, box.y + box.height / 2 };
    const sf_Framing framing = { .origin = fit->circumscribed.centre, .at = v->centre, .scale = *scale };
    sf_Status status;
    SF_TRY_DONE(sf_section_figure_make(&v->figure, ring->outline, &framing, err));
    v->outer = fit->circumscribed.radius / SF_MM * *scale + BAND;
    sf_Spot bore = spot_of(v, fit->inscribed.centre);
    double off = hypot(bore.x - v->centre.x, bore.y - v->centre.y);
    v->inner = fmax(fit->inscribed.radius / SF_MM * *scale - BAND - off, 1);
    if (has_scan(ring))
        draw_scan(v);
    else
        sf_section_figure_hatch(sheet, &v->figure, 1.5);
    sf_section_figure_edges(sheet, &v->figure, has_scan(ring));
    sf_section_figure_line(sheet, &v->figure);
    draw_bore(v);
    draw_seam(v);
    draw_walls(v);
    call_faults(v);
    draw_direction(v, ring->posterior_angle, "posterior");
    draw_direction(v, ring->outward_angle, "outward");
    letter_calls(v);
done:
    sf_section_figure_free(&v->figure);
    return status;
}
