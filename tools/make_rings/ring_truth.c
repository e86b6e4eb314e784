// SPDX-License-Identifier: GPL-3.0-or-later
#include "ring_truth.h"

#include "base/units.h"
#include "ring_curve.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

enum { QUADRATURE = 16384, CORNERS = 2048, SEARCH = 1024 };

static const double GROOVE_COUNTS_MM = 0.15;  ///< least dip that is called a groove
static const double STATION_SLACK_DEG = 1e-6; ///< a station exactly on a limit counts as inside, whatever the rounding

/// Area, first and second moments about the picture's corner.
typedef struct Sums {
    double area, sx, sy, xx, yy, xy; // int dA, x dA, y dA, x^2 dA, y^2 dA, xy dA
} Sums;

/// Adds `sign` times a region about `c` given its moments about that centre.
static void add_about(Sums *total, double sign, Sums r, sf_Spot c)
{
    total->area += sign * r.area;
    total->sx += sign * (r.sx + r.area * c.x);
    total->sy += sign * (r.sy + r.area * c.y);
    total->xx += sign * (r.xx + 2.0 * c.x * r.sx + r.area * c.x * c.x);
    total->yy += sign * (r.yy + 2.0 * c.y * r.sy + r.area * c.y * c.y);
    total->xy += sign * (r.xy + c.x * r.sy + c.y * r.sx + r.area * c.x * c.y);
}

/// Region inside a polar curve about its centre: the radial integrals are exact, the angular ones use the trapezoid
/// rule, which converges faster than any power for smooth periodic curves.
static Sums polar_region(const sf_Scene *s, double (*radius)(const sf_Scene *, double), int n)
{
    Sums t = { 0 };
    const double da = 2.0 * SF_PI / n;
    for (int i = 0; i < n; i++) {
        const double a = i * da, r = radius(s, a), c = cos(a), d = sin(a), r2 = r * r;
        t.area += da * r2 / 2.0;
        t.sx += da * r2 * r / 3.0 * c;
        t.sy += da * r2 * r / 3.0 * d;
        t.xx += da * r2 * r2 / 4.0 * c * c;
        t.yy += da * r2 * r2 / 4.0 * d * d;
        t.xy += da * r2 * r2 / 4.0 * c * d;
    }
    return t;
}

static Sums ellipse_region(sf_VoidPlace v)
{
    const double area = SF_PI * v.a * v.b, p = area * v.a * v.a / 4.0, q = area * v.b * v.b / 4.0;
    const double c = cos(v.turn), d = sin(v.turn);
    return (Sums){ .area = area, .xx = p * c * c + q * d * d, .yy = p * d * d + q * c * c, .xy = (p - q) * c * d };
}

static Sums whole(const sf_Scene *s, int n, Sums *outer, Sums *inner)
{
    Sums t = { 0 };
    *outer = polar_region(s, sf_curve_outer, n);
    *inner = polar_region(s, sf_curve_inner, n);
    add_about(&t, 1.0, *outer, sf_curve_outer_centre(s));
    if (s->body != SF_BODY_DISC)
        add_about(&t, -1.0, *inner, sf_curve_inner_centre(s));
    for (size_t i = 0; i < s->void_count; i++) {
        const sf_VoidPlace v = sf_curve_void(s, &s->voids[i]);
        add_about(&t, -1.0, ellipse_region(v), v.centre);
    }
    return t;
}

/// Second moments about the centroid.
static void centre(Sums *t)
{
    t->xx -= t->sx * t->sx / t->area;
    t->yy -= t->sy * t->sy / t->area;
    t->xy -= t->sx * t->sy / t->area;
}

static sf_Status section_truth(const sf_Scene *s, sf_Truth *truth, sf_Spot *bore, sf_Error *err)
{
    Sums outer, inner, rough = whole(s, QUADRATURE / 2, &outer, &inner), t = whole(s, QUADRATURE, &outer, &inner);
    centre(&rough);
    centre(&t);
    const double polar = t.xx + t.yy;
    truth->quadrature_error =
        fmax(fabs(rough.area - t.area) / t.area,
             fmax(fabs(rough.xx - t.xx), fmax(fabs(rough.yy - t.yy), fabs(rough.xy - t.xy))) / polar);
    if (truth->quadrature_error > 1e-8)
        return SF_FAIL(err, SF_E_INACCURATE, s->name, "%s: the quadrature has settled only to %.1e; make it finer",
                       s->name, truth->quadrature_error);
    truth->area_mm2 = t.area;
    truth->centroid_mm[0] = t.sx / t.area;
    truth->centroid_mm[1] = t.sy / t.area;
    truth->ix_mm4 = t.yy;
    truth->iy_mm4 = t.xx;
    truth->ixy_mm4 = t.xy;
    const double mean = 0.5 * (t.xx + t.yy), half = hypot(0.5 * (t.yy - t.xx), t.xy);
    truth->i_max_mm4 = mean + half;
    truth->i_min_mm4 = mean - half;
    // I about the axis at angle p is ix cos^2 p + iy sin^2 p - ixy sin 2p.
    const double p = 0.5 * atan2(-2.0 * t.xy, t.yy - t.xx) / SF_DEG;
    truth->principal_deg = half < 1e-9 * mean ? NAN : p < 0.0 ? p + 180.0 : p;
    truth->outer_diameter_mean_mm = sqrt(4.0 * outer.area / SF_PI);
    truth->inner_diameter_mean_mm = sqrt(4.0 * inner.area / SF_PI);
    const sf_Spot c = sf_curve_inner_centre(s);
    *bore = (sf_Spot){ c.x + inner.sx / inner.area, c.y + inner.sy / inner.area };
    return SF_OK;
}

// ---- wall ------------------------------------------------------------------------------------------------------

/// Least of a function over [low, high] that has one dip there (golden section).
static double dip(double (*f)(const void *, double), const void *context, double low, double high, double *at)
{
    const double g = 0.6180339887498949;
    double a = high - g * (high - low), b = low + g * (high - low), fa = f(context, a), fb = f(context, b);
    for (int i = 0; i < 50; i++) {
        if (fa < fb) {
            high = b;
            b = a;
            fb = fa;
            a = high - g * (high - low);
            fa = f(context, a);
        } else {
            low = a;
            a = b;
            fa = fb;
            b = low + g * (high - low);
            fb = f(context, b);
        }
    }
    if (at)
        *at = 0.5 * (low + high);
    return fmin(fa, fb);
}

typedef struct Seeker {
    const sf_Scene *scene;
    sf_Spot from;
} Seeker;

static double to_outer(const void *context, double a)
{
    const Seeker *k = context;
    const sf_Spot p = sf_curve_outer_spot(k->scene, a);
    return hypot(p.x - k->from.x, p.y - k->from.y);
}

static double angle_at(sf_Spot centre_of, sf_Spot p)
{
    return atan2(p.y - centre_of.y, p.x - centre_of.x);
}

/// The point of the inner curve seen from `bore` at angle `a`, by bisection on the curve's own parameter.
static sf_Spot inner_seen(const sf_Scene *s, sf_Spot bore, double a)
{
    double low = a - 0.7, high = a + 0.7;
    for (int i = 0; i < 60; i++) {
        const double m = 0.5 * (low + high), d = angle_at(bore, sf_curve_inner_spot(s, m)) - a;
        const double turn = d - 2.0 * SF_PI * floor(d / (2.0 * SF_PI) + 0.5);
        if (turn < 0.0)
            low = m;
        else
            high = m;
    }
    return sf_curve_inner_spot(s, 0.5 * (low + high));
}

static double wall_from(const sf_Scene *s, sf_Spot p)
{
    const Seeker k = { s, p };
    const double step = 2.0 * SF_PI / SEARCH, about = angle_at(sf_curve_outer_centre(s), p);
    double best = about, least = INFINITY;
    for (int i = -SEARCH / 4; i <= SEARCH / 4; i++) { // the nearest outer point lies within a right angle
        const double a = about + i * step, d = to_outer(&k, a);
        if (d < least) {
            least = d;
            best = a;
        }
    }
    return dip(to_outer, &k, best - step, best + step, NULL);
}

static int ascending(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static double median(double *values, size_t n)
{
    qsort(values, n, sizeof *values, ascending);
    return n % 2 ? values[n / 2] : 0.5 * (values[n / 2 - 1] + values[n / 2]);
}

static double degrees_apart(double a, double b)
{
    const double d = fmod(fabs(a - b), 360.0);
    return d > 180.0 ? 360.0 - d : d;
}

static void wall_truth(const sf_Scene *s, sf_Spot bore, sf_Truth *truth)
{
    double wall[SF_TRUTH_STATIONS], sorted[SF_TRUTH_STATIONS], beside[SF_TRUTH_STATIONS];
    const bool seam = s->groove_mm > 0.0 || s->line_mm != 0.0;
    const double at = seam ? angle_at(bore, sf_curve_inner_spot(s, s->seam_deg * SF_DEG)) / SF_DEG : NAN;
    double least = INFINITY, off = INFINITY, near = INFINITY;
    size_t count = 0;
    for (int i = 0; i < SF_TRUTH_STATIONS; i++) {
        const double deg = i * 360.0 / SF_TRUTH_STATIONS;
        const double w = wall[i] = sorted[i] = wall_from(s, inner_seen(s, bore, deg * SF_DEG));
        const double apart = seam ? degrees_apart(deg, at) : 180.0;
        least = fmin(least, w);
        if (apart > 12.0 + STATION_SLACK_DEG)
            off = fmin(off, w);
        else
            near = fmin(near, w);
        if (seam && apart >= 15.0 - STATION_SLACK_DEG && apart <= 40.0 + STATION_SLACK_DEG)
            beside[count++] = w;
    }
    truth->wall_median_mm = median(sorted, SF_TRUTH_STATIONS);
    truth->wall_max_mm = sorted[SF_TRUTH_STATIONS - 1];
    truth->wall_min_mm = least;
    truth->wall_min_off_seam_mm = off;
    truth->seam_direction_deg = seam ? fmod(at + 360.0, 360.0) : NAN;
    truth->wall_at_seam_mm = seam ? near : NAN;
    // The reading's own rule. It also reads an uneven wall as a groove; without one drawn that counts from 0.15 mm.
    const double depth = seam ? fmax(0.0, median(beside, count) - near) : 0.0;
    truth->groove_depth_mm = s->groove_mm > 0.0 || depth >= GROOVE_COUNTS_MM ? depth : 0.0;
}

// ---- circles and calipers --------------------------------------------------------------------------------------

static double caliper(const sf_Spot *p, size_t n, double a)
{
    double low = INFINITY, high = -INFINITY;
    const double c = cos(a), d = sin(a);
    for (size_t i = 0; i < n; i++) {
        const double w = p[i].x * c + p[i].y * d;
        low = fmin(low, w);
        high = fmax(high, w);
    }
    return high - low;
}

/// Greatest (sign -1) or least (sign +1) distance from `c`, as a radius to be made least.
static double reach(const sf_Spot *p, size_t n, sf_Spot c, double sign)
{
    double worst = -INFINITY;
    for (size_t i = 0; i < n; i++)
        worst = fmax(worst, sign * hypot(p[i].x - c.x, p[i].y - c.y));
    return worst;
}

/// Radius of the least circle around (sign +1) or largest circle within (sign -1), by a shrinking pattern search. At
/// the best centre three points touch and few directions lead downhill, so every round tries a turned set of them.
static double circle(const sf_Spot *p, size_t n, sf_Spot c, double sign)
{
    enum { WAYS = 24 };
    const double golden = 2.39996322972865332;
    double best = reach(p, n, c, sign), step = 0.5, turn = 0.0;
    while (step > 1e-6) {
        bool moved = false;
        turn += golden;
        for (int k = 0; k < WAYS && !moved; k++) {
            const double a = turn + k * 2.0 * SF_PI / WAYS;
            const sf_Spot q = { c.x + step * cos(a), c.y + step * sin(a) };
            const double r = reach(p, n, q, sign);
            if (r < best) {
                best = r;
                c = q;
                moved = true;
            }
        }
        if (!moved)
            step *= 0.7;
    }
    return sign * best;
}

static void fit_truth(const sf_Scene *s, sf_Spot bore, sf_Truth *truth)
{
    static sf_Spot p[CORNERS];
    const sf_Spot o = sf_curve_outer_centre(s);
    for (int i = 0; i < CORNERS; i++)
        p[i] = sf_curve_outer_spot(s, i * 2.0 * SF_PI / CORNERS);
    truth->circumscribed_diameter_mm = 2.0 * circle(p, CORNERS, o, 1.0);
    double low = INFINITY, high = 0.0;
    for (int i = 0; i < 720; i++) {
        const double w = caliper(p, CORNERS, i * SF_PI / 720);
        low = fmin(low, w);
        high = fmax(high, w);
    }
    truth->ovality_percent = 100.0 * (high - low) / (0.5 * (high + low));
    for (int i = 0; i < CORNERS; i++)
        p[i] = sf_curve_inner_spot(s, i * 2.0 * SF_PI / CORNERS);
    truth->inscribed_diameter_mm = 2.0 * circle(p, CORNERS, bore, -1.0);
}

// ---- whole -----------------------------------------------------------------------------------------------------

static sf_Status check_shape(const sf_Scene *s, sf_Error *err)
{
    for (int i = 0; i < SEARCH; i++) {
        const sf_Spot p = sf_curve_inner_spot(s, i * 2.0 * SF_PI / SEARCH), o = sf_curve_outer_centre(s);
        if (hypot(p.x - o.x, p.y - o.y) >= sf_curve_outer(s, angle_at(o, p)) - 0.05)
            return SF_FAIL(err, SF_E_GEOMETRY, s->name, "%s: the two curves meet; make the wall thicker", s->name);
    }
    for (size_t k = 0; k < s->void_count; k++) {
        const sf_VoidPlace v = sf_curve_void(s, &s->voids[k]);
        for (int i = 0; i < 64; i++) {
            const double t = i * SF_PI / 32, c = cos(v.turn), d = sin(v.turn);
            const double x = v.a * cos(t), y = v.b * sin(t);
            if (!sf_curve_holds(s, (sf_Spot){ v.centre.x + c * x - d * y, v.centre.y + d * x + c * y }))
                return SF_FAIL(err, SF_E_GEOMETRY, s->name, "%s: void %zu leaves the wall; move or shrink it", s->name,
                               k + 1);
        }
    }
    return SF_OK;
}

static double line_truth(const sf_Scene *s)
{
    const double length = sf_curve_line_length(s);
    double arc = 0.0;
    enum { PIECES = 200 };
    for (int i = 0; i < PIECES && length > 0.0; i++) {
        const sf_Spot a = sf_curve_line_spot(s, length * i / PIECES, NULL, NULL);
        const sf_Spot b = sf_curve_line_spot(s, length * (i + 1) / PIECES, NULL, NULL);
        arc += hypot(b.x - a.x, b.y - a.y);
    }
    return arc;
}

sf_Status sf_truth_find(const sf_Scene *s, sf_Truth *truth, sf_Error *err)
{
    sf_Spot bore = { 0, 0 };
    *truth = (sf_Truth){ 0 };
    SF_TRY(check_shape(s, err));
    SF_TRY(section_truth(s, truth, &bore, err));
    for (size_t i = 0; i < s->void_count; i++)
        truth->void_area_mm2 += SF_PI * s->voids[i].long_mm * s->voids[i].short_mm / 4.0;
    wall_truth(s, bore, truth);
    fit_truth(s, bore, truth);
    truth->seam_unjoined_depth_mm = line_truth(s);
    const bool round = s->oval_mm == 0.0 && s->square_mm == 0.0 && s->outer_wave_mm == 0.0 && s->bump_mm == 0.0 &&
                       s->eccentricity_mm == 0.0 && s->wave2_mm == 0.0 && s->wave3_mm == 0.0 && s->wave5_mm == 0.0 &&
                       s->groove_mm == 0.0 && s->line_mm == 0.0 && s->void_count == 0;
    truth->torsion_constant_mm4 = round ? truth->ix_mm4 + truth->iy_mm4 : NAN;
    return SF_OK;
}

static void put_voids(const sf_Scene *s, sf_Json *object)
{
    sf_Json *list = sf_json_array();
    for (size_t i = 0; i < s->void_count; i++) {
        const sf_VoidPlace v = sf_curve_void(s, &s->voids[i]);
        sf_Json *item = sf_json_object();
        sf_json_set_number(item, "x_mm", v.centre.x);
        sf_json_set_number(item, "y_mm", v.centre.y);
        sf_json_set_number(item, "area_mm2", SF_PI * v.a * v.b);
        sf_json_add(list, item);
    }
    sf_json_set(object, "voids", list);
}

sf_Json *sf_truth_json(const sf_Scene *s, const sf_Truth *t)
{
    sf_Json *o = sf_json_object(), *centroid = sf_json_array();
    sf_json_add_number(centroid, t->centroid_mm[0]);
    sf_json_add_number(centroid, t->centroid_mm[1]);
    sf_json_set_number(o, "area_mm2", t->area_mm2);
    sf_json_set_number(o, "ix_mm4", t->ix_mm4);
    sf_json_set_number(o, "iy_mm4", t->iy_mm4);
    sf_json_set_number(o, "ixy_mm4", t->ixy_mm4);
    sf_json_set_number(o, "i_max_mm4", t->i_max_mm4);
    sf_json_set_number(o, "i_min_mm4", t->i_min_mm4);
    sf_json_set_number(o, "principal_deg", t->principal_deg);
    sf_json_set(o, "centroid_mm", centroid);
    sf_json_set_number(o, "torsion_constant_mm4", t->torsion_constant_mm4);
    sf_json_set_number(o, "wall_min_mm", t->wall_min_mm);
    sf_json_set_number(o, "wall_median_mm", t->wall_median_mm);
    sf_json_set_number(o, "wall_max_mm", t->wall_max_mm);
    sf_json_set_number(o, "wall_min_off_seam_mm", t->wall_min_off_seam_mm);
    sf_json_set_number(o, "wall_at_seam_mm", t->wall_at_seam_mm);
    sf_json_set_number(o, "void_area_mm2", t->void_area_mm2);
    sf_json_set_number(o, "outer_diameter_mean_mm", t->outer_diameter_mean_mm);
    sf_json_set_number(o, "inner_diameter_mean_mm", t->inner_diameter_mean_mm);
    sf_json_set_number(o, "ovality_percent", t->ovality_percent);
    sf_json_set_number(o, "inscribed_diameter_mm", t->inscribed_diameter_mm);
    sf_json_set_number(o, "circumscribed_diameter_mm", t->circumscribed_diameter_mm);
    sf_json_set_number(o, "groove_depth_mm", t->groove_depth_mm);
    sf_json_set_number(o, "seam_direction_deg", t->seam_direction_deg);
    sf_json_set_number(o, "seam_unjoined_depth_mm", t->seam_unjoined_depth_mm);
    put_voids(s, o);
    sf_json_set_number(o, "groove_drawn_mm", s->groove_mm);
    sf_json_set_text(o, "groove_form", s->groove_mm > 0.0 ? sf_scene_groove_word(s) : NULL);
    sf_json_set_number(o, "groove_width_mm", s->groove_mm > 0.0 ? s->groove_width_mm : NAN);
    sf_json_set_number(o, "line_width_mm", s->line_mm != 0.0 ? s->line_width_mm : NAN);
    sf_json_set_number(o, "dpi", s->dpi);
    sf_json_set_number(o, "tag_dpi", sf_scene_states_dpi(s) ? sf_scene_stated_dpi(s) : NAN);
    sf_json_set_flag(o, "file_states_dpi", sf_scene_states_dpi(s));
    sf_json_set_flag(o, "dark_ring", s->face < s->ground);
    sf_json_set_flag(o, "line_goes_through", s->line_mm < 0.0);
    sf_json_set_text(o, "note", "x to the right, y up in the picture; angles counter-clockwise from +x; invented ring");
    return o;
}
