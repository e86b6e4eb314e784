// SPDX-License-Identifier: GPL-3.0-or-later
// A squeezed ring against the handbook's thick ring, and what must hold of any ring. Exact plane elasticity and plane
// finite elements stand in judge_squeeze.py.
#include "harness/tap.h"

#include "base/units.h"
#include "strength/ring_squeeze.h"

#include <math.h>

enum { POINTS = 720 };

// Outer circle about the origin, bore off centre, a raised-cosine groove in the bore.
static sf_Outline ring(double outer_mm, double inner_mm, double off_x_mm, double groove_mm, double seam, double line_mm)
{
    sf_Outline o = { .line_searched = true };
    TAP_OK(sf_polygon_create(&o.outer, POINTS, NULL));
    TAP_OK(sf_polygon_create(&o.inner, POINTS, NULL));
    for (size_t i = 0; i < POINTS; i++) {
        double a = 2 * SF_PI * (double)i / POINTS, r = 0.5 * inner_mm * SF_MM;
        double s = r * remainder(a - seam, 2 * SF_PI), width = 4 * SF_MM;
        r += fabs(s) < width / 2 ? 0.5 * groove_mm * SF_MM * (1 + cos(2 * SF_PI * s / width)) : 0;
        o.outer.points[i] = (sf_Point){ 0.5 * outer_mm * SF_MM * cos(a), 0.5 * outer_mm * SF_MM * sin(a) };
        o.inner.points[i] = (sf_Point){ off_x_mm * SF_MM + r * cos(a), r * sin(a) };
    }
    if (line_mm > 0) {
        double from = (0.5 * inner_mm + groove_mm) * SF_MM, to = from + line_mm * SF_MM;
        o.line.present = true;
        o.line.through = to > 0.5 * outer_mm * SF_MM - 0.3 * SF_MM;
        o.line.start = (sf_Point){ off_x_mm * SF_MM + from * cos(seam), from * sin(seam) };
        o.line.end = (sf_Point){ off_x_mm * SF_MM + to * cos(seam), to * sin(seam) };
    }
    return o;
}

static sf_RingSqueeze squeeze(const sf_Outline *outline, double load_deg, double seam_deg)
{
    sf_SqueezeSetup setup = { load_deg * SF_DEG, seam_deg * SF_DEG, 20 * SF_MM, 0.42 };
    sf_RingSqueeze s = { 0 };
    sf_Error err = { 0 };
    if (!TAP_OK(sf_ring_squeeze_solve(&s, outline, &setup, &err)))
        tap_note("%s", err.text);
    return s;
}

// The handbook's thick ring under two opposite loads: closing x E / W and the two moments / W.
typedef struct Handbook {
    double closing, load_moment, quarter_moment, inner_under_load, outer_at_quarter;
} Handbook;

static Handbook handbook(double outer, double inner, double length, double nu)
{
    double t = 0.5 * (outer - inner), big = 0.25 * (outer + inner), rn = t / log(outer / inner), e = big - rn;
    double area = length * t, alpha = e / big, beta = 2 * 1.2 * (1 + nu) * e / big;
    double k1 = 1 - alpha + beta, k2 = 1 - alpha, ri = 0.5 * inner, ro = 0.5 * outer;
    Handbook h;
    h.closing = pow(big, 3) / (area * e * big) * (SF_PI * k1 / 4 - 2 * k2 * k2 / SF_PI);
    h.load_moment = big * k2 / SF_PI;
    h.quarter_moment = big * (k2 / SF_PI - 0.5);
    h.inner_under_load = h.load_moment * (rn - ri) / (area * e * ri);
    h.outer_at_quarter = -0.5 / area + h.quarter_moment * (rn - ro) / (area * e * ro);
    return h;
}

#define ROARK TAP_SOURCE("Roark's Formulas for Stress and Strain, circular rings, two opposite loads, thick ring")
static const tap_Tolerance POLYGON = TAP_TOLERANCE("circles as 720-sided polygons", 3e-4, 0);

TAP_CASE(a_thick_ring_closes_as_in_the_handbook)
{
    static const double sizes[][2] = { { 46, 36 }, { 50, 38 }, { 57, 45 }, { 28.7, 21.4 }, { 50, 46 }, { 44, 26 } };
    for (size_t i = 0; i < sizeof sizes / sizeof *sizes; i++) {
        sf_Outline o = ring(sizes[i][0], sizes[i][1], 0, 0, 0, 0);
        Handbook h = handbook(sizes[i][0] * SF_MM, sizes[i][1] * SF_MM, 20 * SF_MM, 0.42);
        for (double load = 0; load < 180; load += 67) {
            sf_RingSqueeze under = squeeze(&o, load, load), beside = squeeze(&o, load, load - 90);
            TAP_NEAR(under.compliance, h.closing, POLYGON, ROARK);
            TAP_NEAR(under.load_moment, h.load_moment, POLYGON, ROARK);
            TAP_NEAR(under.quarter_moment, h.quarter_moment, POLYGON, ROARK);
            TAP_NEAR(under.seam_inner, h.inner_under_load, POLYGON, ROARK);
            TAP_NEAR(beside.seam_outer, h.outer_at_quarter, POLYGON, ROARK);
            TAP_TRUE(under.seam_outer < 0 && beside.seam_inner < 0, "the other edge is pressed");
            TAP_TRUE(under.loads_closed < 1e-12);
        }
        // The easy version, a thin ring bent without shear: 0.1488 W R^3 / (E I).
        double t = 0.5 * (sizes[i][0] - sizes[i][1]) * SF_MM, big = 0.25 * (sizes[i][0] + sizes[i][1]) * SF_MM;
        double thin = (SF_PI / 4 - 2 / SF_PI) * pow(big, 3) / (20 * SF_MM * t * t * t / 12);
        if (t / big > 0.2)
            TAP_TRUE(fabs(thin / h.closing - 1) > 0.02, "the thin ring misses by more than the tolerance");
        sf_outline_free(&o);
    }
}

TAP_CASE(a_thin_ring_goes_over_into_the_textbook_one)
{
    sf_Outline o = ring(50, 49, 0, 0, 0, 0);
    sf_RingSqueeze s = squeeze(&o, 30, 30);
    double big = 24.75 * SF_MM, i = 20 * SF_MM * pow(0.5 * SF_MM, 3) / 12;
    TAP_NEAR(s.compliance, 0.1488 * pow(big, 3) / i, TAP_TOLERANCE("thin ring, t/R = 0.02", 3e-3, 0),
             TAP_SOURCE("Timoshenko, Strength of Materials II: 0.149 P R^3 / (E I)"));
    TAP_NEAR(s.load_moment, 0.3183 * big, TAP_TOLERANCE("thin ring, t/R = 0.02", 2e-3, 0),
             TAP_SOURCE("Timoshenko, Strength of Materials II: 0.318 P R"));
    sf_outline_free(&o);
}

TAP_CASE(turned_or_mirrored_it_is_the_same_ring)
{
    sf_Outline a = ring(50, 39, 0.9, 0.8, 60 * SF_DEG, 0), b = ring(50, 39, 0.9, 0.8, -60 * SF_DEG, 0);
    sf_RingSqueeze p = squeeze(&a, 35, 60), q = squeeze(&b, -35, -60), r = squeeze(&a, 35 + 180, 60);
    const tap_Tolerance digits = TAP_TOLERANCE("rounding of the rays", 1e-7, 0);
    TAP_NEAR(q.compliance, p.compliance, digits, TAP_CLOSED_FORM);
    TAP_NEAR(q.seam_inner, p.seam_inner, digits, TAP_CLOSED_FORM);
    TAP_NEAR(r.compliance, p.compliance, digits, TAP_CLOSED_FORM);
    TAP_NEAR(r.seam_inner, p.seam_inner, digits, TAP_CLOSED_FORM);
    sf_outline_free(&a);
    sf_outline_free(&b);
}

TAP_CASE(more_of_a_fault_is_never_stronger)
{
    double last = 0, stress = 0;
    for (double groove = 0; groove < 3; groove += 0.25) {
        sf_Outline o = ring(50, 38, 0, groove, 1, 0);
        sf_RingSqueeze s = squeeze(&o, 1 / SF_DEG, 1 / SF_DEG);
        TAP_TRUE(s.compliance >= last && s.seam_inner > stress, "groove %.2f mm", groove);
        last = s.compliance;
        stress = s.seam_inner;
        sf_outline_free(&o);
    }
    sf_Outline whole = ring(50, 38, 0, 0, 1, 0);
    double sound = squeeze(&whole, 1 / SF_DEG, 1 / SF_DEG).seam_inner;
    sf_outline_free(&whole);
    stress = sound;
    for (double line = 0.5; line < 5; line += 0.5) {
        sf_Outline o = ring(50, 38, 0, 0, 1, line);
        sf_RingSqueeze under = squeeze(&o, 1 / SF_DEG, 1 / SF_DEG), beside = squeeze(&o, 1 / SF_DEG + 90, 1 / SF_DEG);
        TAP_TRUE(under.line_open && under.ligament_stress > stress, "line %.1f mm", line);
        TAP_NEAR(under.seam_inner, sound, TAP_ROUNDING, TAP_CLOSED_FORM); // a line makes no proof easier
        TAP_TRUE(!beside.line_open && beside.seam_outer > 0 && isnan(beside.ligament_stress), "pressed shut it bears");
        stress = under.ligament_stress;
        sf_outline_free(&o);
    }
}

TAP_CASE(an_open_ring_says_nothing)
{
    sf_Outline o = ring(50, 38, 0, 0, 2, 5.9);
    sf_RingSqueeze s = squeeze(&o, 30, 2 / SF_DEG);
    TAP_TRUE(s.slit && isnan(s.compliance) && isnan(s.seam_inner));
    sf_outline_free(&o);
}

TAP_CASE(lengths_without_meaning_are_refused)
{
    sf_Outline o = ring(50, 38, 0, 0, 0, 0);
    sf_RingSqueeze s;
    sf_SqueezeSetup setup = { 0, 0, 0, 0.42 };
    TAP_STATUS(sf_ring_squeeze_solve(&s, &o, &setup, NULL), SF_E_RANGE);
    setup = (sf_SqueezeSetup){ 0, 0, 0.02, 0.6 };
    TAP_STATUS(sf_ring_squeeze_solve(&s, &o, &setup, NULL), SF_E_RANGE);
    sf_outline_free(&o);
}

TAP_CASE(a_long_ring_cannot_spread)
{
    const double nu = 0.42, long_one = 1 / (1 - nu * nu);
    TAP_NEAR(sf_ring_squeeze_width_factor(1e-4, 0.022, 0.006, nu), 1, TAP_TOLERANCE("narrow strip", 1e-6, 0),
             TAP_CLOSED_FORM);
    TAP_NEAR(sf_ring_squeeze_width_factor(3, 0.022, 0.006, nu), long_one, TAP_TOLERANCE("long tube", 2e-3, 0),
             TAP_CLOSED_FORM);
    for (double length = 0.002; length < 0.2; length += 0.002) {
        double f = sf_ring_squeeze_width_factor(length, 0.022, 0.006, nu);
        TAP_TRUE(f >= 1 && f < long_one * 1.02, "length %.3f: %.4f", length, f);
    }
}

TAP_MAIN(TAP_RUN(a_thick_ring_closes_as_in_the_handbook), TAP_RUN(a_thin_ring_goes_over_into_the_textbook_one),
         TAP_RUN(turned_or_mirrored_it_is_the_same_ring), TAP_RUN(more_of_a_fault_is_never_stronger),
         TAP_RUN(an_open_ring_says_nothing), TAP_RUN(lengths_without_meaning_are_refused),
         TAP_RUN(a_long_ring_cannot_spread))
