// SPDX-License-Identifier: GPL-3.0-or-later
#include "harness/tap.h"
#include "strength/fibre_section.h"
#include "strength/moved_pylon.h"
#include "strength/tube.h"

static const sf_StressLaw flat = { .modulus = 1000e6,
                                   .yield = 24e6,
                                   .strain_limit = 0.5 }; // far beyond yield: fully plastic
#define PLASTIC                                                                                                        \
    TAP_SOURCE("Timoshenko, Strength of Materials part II, plastic bending; Horne, Plastic Theory of Structures")

static sf_FibreSection tube_fibres(double outer, double inner)
{
    sf_BeamSection tube = tube_section(outer, inner, 0, 0);
    sf_FibreSection fibres;
    sf_fibre_section_make(&fibres, &tube);
    return fibres;
}

// A solid rectangle b x h of points, which no ring can be: the solver only knows points with areas.
static sf_FibreSection rectangle(double b, double h)
{
    sf_FibreSection f = { .reach = 0.5 * hypot(b, h) };
    enum { ALONG = 2, UP = 120 };
    for (int i = 0; i < ALONG; i++)
        for (int j = 0; j < UP; j++) {
            f.x[f.count] = b * (i + 0.5) / ALONG - 0.5 * b;
            f.y[f.count] = h * (j + 0.5) / UP - 0.5 * h;
            f.area[f.count++] = b * h / (ALONG * UP);
        }
    for (int k = 0; k < SF_FIBRE_COUNT; k++) {
        double a = 2 * SF_PI * k / SF_FIBRE_COUNT;
        f.edge[k] = (sf_Point){ copysign(0.5 * b, cos(a)), copysign(0.5 * h, sin(a)) };
    }
    sf_fibre_section_sum(&f);
    return f;
}

TAP_CASE(fibres_have_the_sections_moments)
{
    static const double rings[][5] = { { 50, 40, 0, 0, 0 }, { 57, 44.3, 0, 0, 0 }, { 50, 38, 1.5, -1, 0 } };
    for (int i = 0; i < 3; i++) {
        const double *r = rings[i];
        sf_Outline o = tube_outline(r[0] * SF_MM, r[1] * SF_MM, (sf_Point){ r[2] * SF_MM, r[3] * SF_MM }, 0, 0);
        sf_BeamSection section;
        sf_TorsionRoute route;
        sf_FibreSection f;
        TAP_OK(sf_beam_section_compute(&section, &o, &route, NULL));
        sf_fibre_section_make(&f, &section);
        TAP_NEAR(f.sum, section.area, TAP_TIGHT, TAP_CLOSED_FORM);
        TAP_NEAR(f.jxx, section.jxx, TAP_TOLERANCE("120 rays, two points through the wall", 5e-4, 0), TAP_CLOSED_FORM);
        TAP_NEAR(f.jyy, section.jyy, TAP_TOLERANCE("120 rays, two points through the wall", 5e-4, 0), TAP_CLOSED_FORM);
        TAP_NEAR(f.sx / f.sum, 0, TAP_TOLERANCE("5 um", 0, 5e-6), TAP_CLOSED_FORM);
        TAP_NEAR(f.sy / f.sum, 0, TAP_TOLERANCE("5 um", 0, 5e-6), TAP_CLOSED_FORM);
        tap_note("ring %d: J off by %.1e, centroid by %.1e m", i, f.jxx / section.jxx - 1, f.sx / f.sum);
        sf_outline_free(&o);
    }
}

TAP_CASE(a_tube_reaches_its_plastic_moment)
{
    static const double tubes[][2] = { { 50, 40 }, { 57, 44.3 }, { 65, 55 }, { 40, 22 } };
    for (int i = 0; i < 4; i++) {
        double D = tubes[i][0] * SF_MM, d = tubes[i][1] * SF_MM;
        sf_FibreSection f = tube_fibres(tubes[i][0], tubes[i][1]);
        for (double angle = 0; angle < 3; angle += 0.7)
            TAP_NEAR(sf_fibre_moment_limit(&f, &flat, 1, 0, angle), flat.yield * (D * D * D - d * d * d) / 6,
                     TAP_TOLERANCE("fibres and their hardening", 2.5e-3, 0), PLASTIC);
        // Easy version that fails: yield times the elastic modulus.
        TAP_TRUE(sf_fibre_moment_limit(&f, &flat, 1, 0, 0) > 1.2 * flat.yield * f.jyy / (D / 2));
        // What torque and shear leave of yield scales it.
        TAP_NEAR(sf_fibre_moment_limit(&f, &flat, 0.8, 0, 0), 0.8 * sf_fibre_moment_limit(&f, &flat, 1, 0, 0),
                 TAP_TOLERANCE("hardening", 2e-3, 0), TAP_CLOSED_FORM);
    }
}

TAP_CASE(a_thin_tube_under_axial_force_follows_the_cosine)
{
    sf_FibreSection f = tube_fibres(60, 57);
    double squash = flat.yield * f.sum, whole = sf_fibre_moment_limit(&f, &flat, 1, 0, 0);
    for (double n = 0.1; n < 0.85; n += 0.15)
        TAP_NEAR(sf_fibre_moment_limit(&f, &flat, 1, n * squash, 0.3) / whole, cos(SF_PI / 2 * n),
                 TAP_TOLERANCE("thin wall taken as a line, fibres", 6e-3, 0), PLASTIC);
}

TAP_CASE(a_rectangle_under_axial_force_follows_the_parabola)
{
    sf_FibreSection f = rectangle(0.02, 0.03);
    double squash = flat.yield * f.sum, whole = flat.yield * 0.02 * 0.03 * 0.03 / 4;
    for (double n = 0; n < 0.95; n += 0.1)
        TAP_NEAR(sf_fibre_moment_limit(&f, &flat, 1, n * squash, SF_PI / 2) / whole, 1 - n * n,
                 TAP_TOLERANCE("120 layers and their hardening", 2e-3, 5e-3), PLASTIC);
}

TAP_CASE(a_rectangle_bends_partly_plastic)
{
    // M / M_y = 1.5 - 0.5 (k_y / k)^2.
    sf_FibreSection f = rectangle(0.02, 0.03);
    double first = flat.yield * 0.02 * 0.03 * 0.03 / 6, at_yield = 2 * flat.yield / flat.modulus / 0.03;
    for (double m = 0.5; m < 1.45; m += 0.1) {
        sf_FibreState state = { 0 };
        TAP_TRUE(sf_fibre_respond(&state, &f, &flat, 1, 0, (sf_Point){ 0, m * first }));
        double wanted = m <= 1 ? m : 1 / sqrt(3 - 2 * m);
        TAP_NEAR(state.k.y / at_yield, wanted, TAP_TOLERANCE("120 layers", 5e-3, 0), PLASTIC);
        TAP_TRUE(m < 0.75 ? state.elastic : m < 1.05 || !state.elastic, "%g", m);
        // The answer's own rate against a small change.
        sf_FibreState more = state;
        double dm = 1e-5 * first;
        TAP_TRUE(sf_fibre_respond(&more, &f, &flat, 1, 0, (sf_Point){ 0, m * first + dm }));
        TAP_NEAR((more.k.y - state.k.y) / dm, state.kyy, TAP_TOLERANCE("difference", 1e-2, 0), TAP_CLOSED_FORM);
    }
}

TAP_CASE(actions_and_answers_agree_both_ways)
{
    sf_BeamSection tube = tube_section(50, 38, 0, 0);
    sf_FibreSection f;
    sf_fibre_section_make(&f, &tube);
    sf_fibre_section_drill(&f, 250 * SF_DEG, 6e-3);
    sf_StressLaw points = { .modulus = 1000e6,
                            .yield = 24e6,
                            .strain_limit = 0.08,
                            .count = 3,
                            .strain = { 0.01, 0.03, 0.08 },
                            .stress = { 10e6, 20e6, 24e6 } };
    const sf_StressLaw *laws[] = { &flat, &points };
    for (int i = 0; i < 2; i++)
        for (int j = 0; j < 6; j++) {
            double e0 = -0.004 * j, axial, back;
            sf_Point k = { 0.3 * j, 1.5 - 0.4 * j }, moment, again;
            sf_FibreState state = { 0 };
            sf_fibre_actions(&axial, &moment, &f, laws[i], 0.9, e0, k);
            TAP_TRUE(sf_fibre_respond(&state, &f, laws[i], 0.9, axial, moment), "law %d, state %d", i, j);
            sf_fibre_actions(&back, &again, &f, laws[i], 0.9, state.e0, state.k);
            TAP_NEAR(back, axial, TAP_TOLERANCE("solver", 1e-6, 1e-3), TAP_CLOSED_FORM);
            TAP_NEAR(again.x, moment.x, TAP_TOLERANCE("solver", 1e-6, 1e-5), TAP_CLOSED_FORM);
            TAP_NEAR(again.y, moment.y, TAP_TOLERANCE("solver", 1e-6, 1e-5), TAP_CLOSED_FORM);
        }
    TAP_NEAR(sf_stress_law_at(&points, -0.02), -15e6, TAP_TIGHT, TAP_CLOSED_FORM);
    TAP_NEAR(sf_stress_law_at(&points, 0.2), 24e6, TAP_TIGHT, TAP_CLOSED_FORM);
}

TAP_CASE(holes_and_voids_take_their_area)
{
    sf_FibreSection whole = tube_fibres(50, 40), f = whole;
    sf_fibre_section_drill(&f, 90 * SF_DEG, 6e-3);
    TAP_NEAR(whole.sum - f.sum, 6e-3 * 5e-3, TAP_TOLERANCE("strip over sectors", 0.01, 0), TAP_CLOSED_FORM);
    double before = INFINITY;
    for (double hole = 0; hole <= 14e-3; hole += 0.5e-3) {
        f = whole;
        sf_fibre_section_drill(&f, 250 * SF_DEG, hole);
        double held = sf_fibre_moment_limit(&f, &flat, 1, 2000, 80 * SF_DEG);
        TAP_TRUE(held <= before, "hole %g m: %g N m", hole, held);
        before = held;
    }
    sf_BeamSection tube = tube_section(50, 40, 0, 0), moved = sf_beam_section_moved(&tube, 0.1e-3, -0.2e-3);
    sf_BeamSection drawn = tube_section(50.2, 39.6, 0, 0);
    const tap_Tolerance thin = TAP_TOLERANCE("figures of a thin wall", 5e-3, 0);
    TAP_NEAR(moved.area, drawn.area, TAP_TOLERANCE("fibres", 1e-5, 0), TAP_CLOSED_FORM);
    TAP_NEAR(moved.jxx, drawn.jxx, TAP_TOLERANCE("fibres", 1e-5, 0), TAP_CLOSED_FORM);
    TAP_NEAR(moved.shear_per_torque, drawn.shear_per_torque, thin, TAP_CLOSED_FORM);
    TAP_NEAR(moved.torque_arm_area, drawn.torque_arm_area, thin, TAP_CLOSED_FORM);
    TAP_NEAR(sf_point_length(moved.fibre[7]), 0.0251, TAP_TIGHT, TAP_CLOSED_FORM);
}

TAP_MAIN(TAP_RUN(fibres_have_the_sections_moments), TAP_RUN(a_tube_reaches_its_plastic_moment),
         TAP_RUN(a_thin_tube_under_axial_force_follows_the_cosine),
         TAP_RUN(a_rectangle_under_axial_force_follows_the_parabola), TAP_RUN(a_rectangle_bends_partly_plastic),
         TAP_RUN(actions_and_answers_agree_both_ways), TAP_RUN(holes_and_voids_take_their_area))
