// SPDX-License-Identifier: GPL-3.0-or-later
#include "harness/tap.h"
#include "strength/tube.h"

static const double modulus = 1000e6;

static sf_LoadLine upright(double outward, double forward, double low, double high)
{
    return (sf_LoadLine){ { outward, forward }, { 0, 0 }, 1, low, high };
}

static double largest_moment(const sf_Pylon *pylon, const sf_LoadLine *line, double force, double e, double *residual)
{
    sf_Actions actions[SF_STATION_MAX];
    if (!sf_beam_actions(actions, pylon, line, force, e, residual))
        return INFINITY;
    double most = 0;
    for (size_t i = 0; i < pylon->station_count; i++)
        most = fmax(most, sf_point_length(actions[i].moment));
    return most;
}

TAP_CASE(an_eccentric_column_follows_the_secant_formula)
{
    sf_BeamSection tube = tube_section(50, 40, 0, 0);
    sf_Pylon pylon = tube_pylon(&tube, 100, 0, 700, NULL, 0);
    double j = tube.jxx, length = 0.6, critical = SF_PI * SF_PI * modulus * j / (length * length);
    for (int i = 1; i <= 9; i++) {
        double force = 0.1 * i * critical, residual, e = 0.010;
        sf_LoadLine line = upright(0, e, 0.1, 0.7);
        double secant = 1 / cos(length / 2 * sqrt(force / (modulus * j)));
        TAP_NEAR(largest_moment(&pylon, &line, force, modulus, &residual), force * e * secant,
                 TAP_TOLERANCE("28 steps of fourth order", 2e-5, 0),
                 TAP_SOURCE(
                     "Timoshenko and Gere, Theory of Elastic Stability, eccentrically loaded column: secant formula"));
        TAP_TRUE(residual < 1e-9, "residual %g", residual);
    }
    sf_LoadLine line = upright(0, 0.01, 0.1, 0.7);
    TAP_TRUE(isfinite(largest_moment(&pylon, &line, 0.9999 * critical, modulus, NULL)));
    TAP_TRUE(isinf(largest_moment(&pylon, &line, 1.0001 * critical, modulus, NULL)), "Euler's force is the end");
    TAP_TRUE(isinf(largest_moment(&pylon, &line, 9.5 * critical, modulus, NULL)), "also beyond the third mode");
    sf_pylon_free(&pylon);
}

TAP_CASE(rigid_arms_follow_their_closed_form)
{
    // Arms of 0.15 m, 0.2 m that bend between: y = e / (cos(k l/2) - k a sin(k l/2)) at the middle.
    sf_BeamSection tube = tube_section(50, 40, 0, 0);
    sf_Pylon pylon = tube_pylon(&tube, 120, 30, 350, NULL, 0);
    double j = tube.jxx, arm = 0.15, bends = 0.2, e = 0.08;
    sf_LoadLine line = upright(0, e, 0.0, 0.5);
    for (double force = 500; force < 5000; force += 1000) {
        double k = sqrt(force / (modulus * j)), half = k * bends / 2;
        double factor = 1 / (cos(half) - k * arm * sin(half));
        TAP_NEAR(largest_moment(&pylon, &line, force, modulus, NULL), force * e * factor,
                 TAP_TOLERANCE("28 steps of fourth order", 2e-6, 0), TAP_CLOSED_FORM);
        // Easy versions that fail: no second order, or the arms bend as well.
        double all_bend = 1 / cos(k * (bends + 2 * arm) / 2);
        TAP_TRUE(factor > 1.02 && factor < 0.98 * all_bend, "%g %g", factor, all_bend);
    }
    sf_pylon_free(&pylon);
}

TAP_CASE(turning_section_and_line_turns_the_result)
{
    // An off-centre ring has coupled bending. The same ring and line turned by 40 degrees give the same moments,
    // turned.
    double turn = 40 * SF_DEG, c = cos(turn), s = sin(turn);
    sf_Outline a = tube_outline(0.05, 0.038, (sf_Point){ 0.003, 0.001 }, 0, 0);
    sf_Outline b = tube_outline(0.05, 0.038, (sf_Point){ 0.003 * c - 0.001 * s, 0.003 * s + 0.001 * c }, 0, 0);
    sf_BeamSection section[2];
    sf_TorsionRoute route;
    TAP_OK(sf_beam_section_compute(&section[0], &a, &route, NULL));
    TAP_OK(sf_beam_section_compute(&section[1], &b, &route, NULL));
    sf_LoadLine line[2] = { { { 0.02, 0.11 }, { -0.03, -0.10 }, sqrt(1.0109), 0, 0.65 } };
    line[1] = line[0];
    line[1].at_floor = (sf_Point){ c * 0.02 - s * 0.11, s * 0.02 + c * 0.11 };
    line[1].slope = (sf_Point){ c * -0.03 - s * -0.10, s * -0.03 + c * -0.10 };
    sf_Actions actions[2][SF_STATION_MAX];
    for (int k = 0; k < 2; k++) {
        sf_Pylon pylon = tube_pylon(&section[k], 100, 30, 300, NULL, 0);
        TAP_TRUE(sf_beam_actions(actions[k], &pylon, &line[k], 2000, modulus, NULL));
        sf_pylon_free(&pylon);
    }
    for (int i = 0; i < 30; i += 7) {
        sf_Point m = actions[0][i].moment;
        TAP_NEAR(actions[1][i].moment.x, c * m.x - s * m.y, TAP_TOLERANCE("polygons turned", 1e-6, 1e-6),
                 TAP_CLOSED_FORM);
        TAP_NEAR(actions[1][i].moment.y, s * m.x + c * m.y, TAP_TOLERANCE("polygons turned", 1e-6, 1e-6),
                 TAP_CLOSED_FORM);
        TAP_NEAR(actions[1][i].torque, actions[0][i].torque, TAP_TOLERANCE("polygons turned", 1e-5, 1e-6),
                 TAP_CLOSED_FORM);
    }
    sf_outline_free(&a);
    sf_outline_free(&b);
}

TAP_CASE(more_force_bends_more_and_a_stiff_pylon_is_first_order)
{
    sf_BeamSection tube = tube_section(50, 40, 0, 0);
    sf_Pylon pylon = tube_pylon(&tube, 110, 30, 290, NULL, 0);
    sf_LoadLine line = { { -0.02, 0.13 }, { -0.03, -0.11 }, sqrt(1.013), 0, 0.65 };
    double before = 0, first = largest_moment(&pylon, &line, 1, INFINITY, NULL);
    for (double force = 200; force < 4000; force += 200) {
        double ratio = largest_moment(&pylon, &line, force, modulus, NULL) / force;
        TAP_TRUE(ratio > before && ratio >= first);
        before = ratio;
    }
    TAP_NEAR(largest_moment(&pylon, &line, 1000, 1e16, NULL), 1000 * first, TAP_TOLERANCE("stiff limit", 1e-5, 0),
             TAP_CLOSED_FORM);
    sf_pylon_free(&pylon);
}

TAP_MAIN(TAP_RUN(an_eccentric_column_follows_the_secant_formula), TAP_RUN(rigid_arms_follow_their_closed_form),
         TAP_RUN(turning_section_and_line_turns_the_result),
         TAP_RUN(more_force_bends_more_and_a_stiff_pylon_is_first_order))
