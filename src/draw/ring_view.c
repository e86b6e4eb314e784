// SPDX-License-Identifier: GPL-3.0-or-later
#include "draw/ring_view.h"

#include "base/units.h"
#include "draw/callout.h"
#include "draw/dimension.h"
#include "draw/lettering.h"
#include "draw/section_figure.h"

#include <math.h>
#include <stdio.h>

static const sf_PaperMm BAND = 2.4;  // of the scan beyond both edges
static const sf_PaperMm ROUND = 4.5; // room round the ring for stubs and letters
static const sf_PaperMm BESIDE = 14; // least room beside the ring; call-outs that need more stand higher or lower
static const double SCALES[] = { 3, 2.5, 2, 1.75, 1.5, 1.25, 1, 0.75, 0.6, 0.5 };

typedef struct View {
    sf_Sheet *sheet;
    sf_Box box;
    const sf_RingSheet *ring;
    sf_SectionFigure figure;
    sf_Spot centre;
    sf_PaperMm outer, inner; ///< radii of the band in which the scan is shown
    sf_Callout calls[SF_MAX_CALLOUTS];
    size_t call_count;
    sf_CalloutField field;
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

static sf_Callout *add_call(View *v, sf_Spot target, sf_PaperMm gap)
{
    sf_Callout *c = &v->calls[v->call_count++];
    *c = (sf_Callout){ .target = target, .gap = gap };
    return c;
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
    sf_Spot end = polar(middle, w->seam_angle, rim + BAND + 2.2);
    const sf_Spot pieces[2][2] = {
        { polar(middle, w->seam_angle, fmax(bore - BAND - 3, 0)), polar(middle, w->seam_angle, bore - 0.5) },
        { polar(middle, w->seam_angle, rim + 0.5), end },
    };
    const sf_Pen white = { SF_PAPER, 0.7, SF_DASH_NONE }, pen = { SF_INK, 0.3, SF_DASH_CENTRE };
    for (int i = 0; i < 2; i++) {
        sf_sheet_line(v->sheet, pieces[i][0], pieces[i][1], &white);
        sf_sheet_line(v->sheet, pieces[i][0], pieces[i][1], &pen);
    }
    bool told = w->seam_origin == SF_SEAM_GIVEN || w->seam_origin == SF_SEAM_GIVEN_UNSEARCHED;
    double deg = fmod(round(w->seam_angle / SF_DEG), 360);
    sf_Callout *c = add_call(v, end, 0);
    snprintf(c->lines[0], SF_CALLOUT_TEXT, "seam%s %.0f\u00b0, wall %.2f", told ? ", as told," : "", deg,
             w->wall_at_seam / SF_MM);
    if (w->groove_depth > 0)
        snprintf(c->lines[1], SF_CALLOUT_TEXT, "groove %.2f mm", w->groove_depth / SF_MM);
    else
        snprintf(c->lines[1], SF_CALLOUT_TEXT, isnan(w->groove_depth) ? "groove not seen" : "no groove");
}

// A dimension across the wall; its outer stub carries the call-out.
static void draw_least(View *v, size_t station, sf_Colour colour, const char *head)
{
    const sf_WallMap *w = &v->ring->measure->wall;
    sf_Spot from = spot_of(v, w->inner[station]), to = spot_of(v, w->outer[station]);
    double length = hypot(to.x - from.x, to.y - from.y), reach = BAND + 1.4;
    if (length <= 0)
        return;
    sf_dimension_outside(v->sheet, from, to, reach, colour);
    sf_Spot end = { to.x + (to.x - from.x) / length * reach, to.y + (to.y - from.y) / length * reach };
    sf_Callout *c = add_call(v, end, 0);
    snprintf(c->lines[0], SF_CALLOUT_TEXT, "%s", head);
    snprintf(c->lines[1], SF_CALLOUT_TEXT, "%.2f mm", w->wall[station] / SF_MM);
}

static void draw_walls(View *v)
{
    const sf_WallMap *w = &v->ring->measure->wall;
    draw_least(v, w->off_seam_station, SF_INK, isnan(w->seam_angle) ? "least wall" : "least off the seam");
}

static void call_faults(View *v)
{
    const sf_RingMeasure *m = v->ring->measure;
    const sf_Outline *o = v->ring->outline;
    if (o->line.present) {
        sf_Point middle = sf_point_scale(sf_point_add(o->line.start, o->line.end), 0.5);
        sf_Callout *c = add_call(v, spot_of(v, middle), 0.7);
        snprintf(c->lines[0], SF_CALLOUT_TEXT, "unjoined line");
        snprintf(c->lines[1], SF_CALLOUT_TEXT, m->wall.unjoined_through ? "through" : "%.2f mm",
                 m->wall.unjoined_depth / SF_MM);
    }
    if (o->void_count > 0) {
        size_t largest = 0;
        for (size_t i = 1; i < o->void_count; i++)
            if (sf_polygon_area(&o->voids[i]) > sf_polygon_area(&o->voids[largest]))
                largest = i;
        double radius = sqrt(sf_polygon_area(&o->voids[largest]) / SF_PI) / SF_MM * v->figure.framing.scale;
        sf_Callout *c = add_call(v, spot_of(v, sf_polygon_centroid(&o->voids[largest])), radius + 0.7);
        snprintf(c->lines[0], SF_CALLOUT_TEXT, o->void_count == 1 ? "void" : "%zu voids, together", o->void_count);
        snprintf(c->lines[1], SF_CALLOUT_TEXT, "%.2f mm\u00b2", m->section.void_area / SF_MM2);
    }
}

// A pointer with the direction's letter; the words stand with the wall's chart.
static void draw_direction(View *v, double angle, const char *letter)
{
    if (isnan(angle))
        return;
    const sf_Lettering style = { 8, true, SF_ALIGN_CENTRE, SF_INK };
    sf_Spot tip = polar(v->centre, angle, v->outer + 0.3), at = polar(v->centre, angle, v->outer + 4.4);
    sf_arrow_head(v->sheet, tip, -angle + SF_PI, 2.6, SF_INK);
    sf_sheet_text_patch(v->sheet, (sf_Spot){ at.x, at.y + 1 }, &style, letter);
    v->field.obstacles[v->field.obstacle_count++] = (sf_Box){ at.x - 1.2, at.y - 1.3, 2.4, 2.6 };
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
    draw_direction(v, ring->posterior_angle, "P");
    draw_direction(v, ring->outward_angle, "O");
    v->field.box = box;
    v->field.centre = v->centre;
    v->field.keep = v->outer + 2;
    sf_callouts_paint(sheet, &v->field, v->calls, v->call_count);
done:
    sf_section_figure_free(&v->figure);
    return status;
}
