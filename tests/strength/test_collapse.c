// SPDX-License-Identifier: GPL-3.0-or-later
#include "harness/tap.h"
#include "strength/collapse.h"
#include "strength/elastic.h"
#include "strength/tube.h"

static const sf_LoadLine bent_line = { { -0.02, 0.13 }, { -0.03, -0.11 }, 1.00648, 0, 0.65 };
static const sf_StressLaw copolymer = { .modulus = 1000e6, .yield = 24e6, .strain_limit = 0.08 };
#define COLUMNS TAP_SOURCE("Timoshenko and Gere, Theory of Elastic Stability, 2nd edition")

static sf_Collapse collapse_of(const sf_Pylon *pylon, const sf_LoadLine *line, const sf_StressLaw *law,
                               bool first_order)
{
    sf_CollapseModel model;
    sf_Collapse found = { .force = NAN };
    sf_ElasticCase elastic = { pylon, line, first_order ? INFINITY : law->modulus, law->yield };
    double start = 100;
    TAP_OK(sf_elastic_yield_force(&start, &elastic, NULL, NULL));
    TAP_OK(sf_collapse_model_create(&model, pylon, NULL));
    sf_CollapseCase at = { &model, line, *law, 0.42, 0.7 * start, first_order };
    sf_Error err = { 0 };
    if (!TAP_OK(sf_collapse_find(&found, &at, &err)))
        tap_note("%s", err.text);
    TAP_TRUE(found.residual < 1e-6, "residual %g", found.residual);
    sf_collapse_model_free(&model);
    return found;
}

static sf_Collapse tube_collapse(double outer, double inner, double line_mm, double hole_mm, const sf_StressLaw *law,
                                 const sf_LoadLine *line)
{
    sf_BeamSection tube = tube_section(outer, inner, line_mm, 270 * SF_DEG);
    sf_BeamHole hole = { 0.122, 250 * SF_DEG, hole_mm * SF_MM };
    sf_Pylon pylon = tube_pylon(&tube, 110, 30, 290, &hole, hole_mm > 0);
    sf_Collapse found = collapse_of(&pylon, line, law, false);
    sf_pylon_free(&pylon);
    return found;
}

TAP_CASE(first_order_ends_at_the_plastic_moment)
{
    // A line so far off the axis that the axial force hardly counts: N e = M_p.
    static const sf_LoadLine far = { { 0, 3 }, { 0, 0 }, 1, 0, 0.65 };
    sf_BeamSection tube = tube_section(50, 40, 0, 0);
    sf_Pylon pylon = tube_pylon(&tube, 110, 0, 290, NULL, 0);
    sf_StressLaw law = copolymer;
    law.strain_limit = 0.5;
    sf_Collapse found = collapse_of(&pylon, &far, &law, true);
    double D = 0.05, d = 0.04;
    TAP_NEAR(found.force * 3, 24e6 * (D * D * D - d * d * d) / 6, TAP_TOLERANCE("fibres and their hardening", 3e-3, 0),
             TAP_SOURCE("plastic moment of a tube, Horne, Plastic Theory of Structures"));
    TAP_TRUE(found.mechanism == SF_MECHANISM_SECTION_YIELD, "%s", sf_mechanism_word(found.mechanism));
    sf_pylon_free(&pylon);
}

TAP_CASE(a_slender_column_holds_eulers_force)
{
    sf_BeamSection tube = tube_section(20, 16, 0, 0);
    sf_Pylon pylon = tube_pylon(&tube, 50, 0, 650, NULL, 0);
    sf_LoadLine line = { { 0, 1e-5 }, { 0, 0 }, 1, 0.05, 0.65 };
    sf_Collapse found = collapse_of(&pylon, &line, &copolymer, false);
    TAP_NEAR(found.force, SF_PI * SF_PI * 1000e6 * tube.jxx / 0.36,
             TAP_TOLERANCE("a hair off centre, 28 steps", 6e-3, 0), COLUMNS);
    TAP_TRUE(found.mechanism == SF_MECHANISM_COLUMN, "%s", sf_mechanism_word(found.mechanism));
    sf_pylon_free(&pylon);
}

// The force at which an eccentric column of 0.6 m first yields, by halving.
static double secant_force(const sf_BeamSection *tube, double eccentricity)
{
    double low = 0, high = SF_PI * SF_PI * 1000e6 * tube->jyy / 0.36;
    while (high - low > 1e-9 * high) {
        double N = 0.5 * (low + high), half = 0.3 * sqrt(N / (1000e6 * tube->jyy));
        double edge = N / tube->area + N * eccentricity * 0.015 / tube->jyy / cos(half);
        *(edge < 24e6 ? &low : &high) = N;
    }
    return low;
}

TAP_CASE(a_strain_limit_at_yield_gives_the_secant_formula)
{
    static const double eccentric[] = { 0.002, 0.010, 0.040 };
    for (int i = 0; i < 3; i++) {
        sf_BeamSection tube = tube_section(30, 22, 0, 0);
        sf_Pylon pylon = tube_pylon(&tube, 50, 0, 650, NULL, 0);
        sf_LoadLine line = { { 0, eccentric[i] }, { 0, 0 }, 1, 0.05, 0.65 };
        sf_StressLaw law = copolymer;
        law.strain_limit = law.yield / law.modulus;
        sf_Collapse found = collapse_of(&pylon, &line, &law, false);
        TAP_NEAR(found.force, secant_force(&tube, eccentric[i]), TAP_TOLERANCE("28 steps, 2-degree fibres", 3e-3, 0),
                 COLUMNS);
        TAP_TRUE(found.mechanism == SF_MECHANISM_STRAIN_LIMIT || found.mechanism == SF_MECHANISM_COLUMN, "%s",
                 sf_mechanism_word(found.mechanism));
        sf_pylon_free(&pylon);
    }
}

TAP_CASE(a_thin_tube_flattens_at_braziers_moment)
{
    static const sf_LoadLine far = { { 0, 3 }, { 0, 0 }, 1, 0, 0.65 };
    sf_BeamSection tube = tube_section(60, 57.6, 0, 0);
    sf_Pylon pylon = tube_pylon(&tube, 110, 0, 290, NULL, 0);
    sf_StressLaw law = copolymer;
    law.yield = 60e6;
    sf_Collapse found = collapse_of(&pylon, &far, &law, true);
    TAP_NEAR(found.force * 3, 0.987 * 1000e6 * 0.0294 * 0.0012 * 0.0012 / sqrt(1 - 0.42 * 0.42), TAP_TABLE_3,
             TAP_SOURCE("Brazier 1927; 2 sqrt 2 pi / 9 = 0.987"));
    TAP_TRUE(found.mechanism == SF_MECHANISM_FLATTENING, "%s", sf_mechanism_word(found.mechanism));
    sf_pylon_free(&pylon);
    // A thick tube is far from it: nominal stress of Brazier's moment beyond three times yield.
    double nominal = sf_brazier_moment(1000e6, 0.42, 0.0225, 0.005) / (SF_PI * 0.0225 * 0.0225 * 0.005);
    TAP_NEAR(nominal, 0.3292 * 1000e6 * 0.005 / 0.0225 * 0.9539 / sqrt(1 - 0.42 * 0.42), TAP_TABLE_3,
             TAP_SOURCE("Brazier 1927: 0.33 E t/R at Poisson 0.3, thin wall"));
}

TAP_CASE(flattening_bends_the_wall_across)
{
    // At Brazier's greatest moment the oval is 2/9 R deep: E t / (3 R (1 - nu^2)) across the wall.
    double E = 1000e6, nu = 0.42, R = 0.0225, t = 0.005, J = SF_PI * R * R * R * t;
    double curvature = sqrt(2.0 / 9 / (1 - nu * nu)) * t / (R * R);
    TAP_NEAR(sf_flattening_stress(E, E * J * curvature, J, R, t, 0), E * t / (3 * R * (1 - nu * nu)), TAP_TIGHT,
             TAP_SOURCE("Brazier 1927: oval of 2/9 of the radius at the greatest moment"));
    TAP_NEAR(sf_flattening_stress(E, 100, J, R, t, 45 * SF_DEG), 0, TAP_TOLERANCE("rounding", 0, 1), TAP_CLOSED_FORM);
}

TAP_CASE(wrinkling_has_the_classical_value)
{
    double cl = sf_wrinkling_stress(1000e6, 0.3, 1, 0.001);
    // R/t = 1000: phi = 1.976, knock-down 1 - 0.731 (1 - exp(-1.976)) = 0.3703.
    TAP_NEAR(cl, 0.605 * 1000e6 * 0.001 * 0.3703, TAP_TABLE_3, TAP_MEMORY);
}

TAP_CASE(second_order_costs_and_collapse_lies_beyond_first_yield)
{
    sf_BeamSection tube = tube_section(50, 38, 0, 0);
    sf_Pylon pylon = tube_pylon(&tube, 110, 30, 290, NULL, 0);
    sf_ElasticCase elastic = { &pylon, &bent_line, 1000e6, 24e6 };
    double yield;
    TAP_OK(sf_elastic_yield_force(&yield, &elastic, NULL, NULL));
    sf_Collapse second = collapse_of(&pylon, &bent_line, &copolymer, false);
    sf_Collapse first = collapse_of(&pylon, &bent_line, &copolymer, true);
    TAP_TRUE(second.force < 0.95 * first.force, "%g, first order %g", second.force, first.force);
    TAP_TRUE(second.force > 1.05 * yield, "%g, first yield %g", second.force, yield);
    tap_note("yield %.0f N, collapse %.0f N (%s, %d points, station %zu, strain %.3f), first order %.0f N", yield,
             second.force, sf_mechanism_word(second.mechanism), second.points, second.station, second.strain,
             first.force);
    sf_pylon_free(&pylon);
    // A table of the same straight lines is the same law.
    sf_StressLaw points = copolymer;
    points.count = 2;
    points.strain[0] = 0.024;
    points.stress[0] = points.stress[1] = 24e6;
    points.strain[1] = 0.2;
    pylon = tube_pylon(&tube, 110, 30, 290, NULL, 0);
    TAP_NEAR(collapse_of(&pylon, &bent_line, &points, false).force, second.force, TAP_TOLERANCE("path", 1e-4, 0),
             TAP_CLOSED_FORM);
    sf_pylon_free(&pylon);
}

TAP_CASE(thicker_is_never_weaker)
{
    double before = 0;
    for (double wall = 2; wall <= 9; wall += 0.5) {
        sf_Collapse found = tube_collapse(50, 50 - 2 * wall, 0, 6, &copolymer, &bent_line);
        TAP_TRUE(found.force >= before, "wall %g mm: %g N, %s", wall, found.force, sf_mechanism_word(found.mechanism));
        before = found.force;
    }
}

TAP_CASE(a_larger_hole_is_never_stronger)
{
    double before = INFINITY;
    for (double hole = 0; hole <= 14; hole += 1) {
        sf_Collapse found = tube_collapse(50, 38, 0, hole, &copolymer, &bent_line);
        TAP_TRUE(found.force <= before * (1 + 1e-4), "hole %g mm: %g N, %s", hole, found.force,
                 sf_mechanism_word(found.mechanism));
        before = found.force;
    }
    TAP_TRUE(tube_collapse(50, 38, 0, 14, &copolymer, &bent_line).mechanism == SF_MECHANISM_NET_SECTION);
}

TAP_CASE(a_longer_lever_or_a_hotter_limb_is_never_stronger)
{
    double before = INFINITY;
    for (double lever = 0.06; lever < 0.2; lever += 0.02) {
        sf_LoadLine line = bent_line;
        line.at_floor.y = lever;
        double force = tube_collapse(50, 38, 0, 0, &copolymer, &line).force;
        TAP_TRUE(force <= before, "lever %g m: %g N", lever, force);
        before = force;
    }
    before = 0;
    for (double share = 0.6; share <= 1.4; share += 0.1) {
        sf_StressLaw law = copolymer;
        law.modulus *= share;
        law.yield *= 0.25 + 0.75 * share;
        double force = tube_collapse(50, 38, 0, 6, &law, &bent_line).force;
        TAP_TRUE(force >= before, "stiffer and stronger by %g: %g N", share, force);
        before = force;
    }
}

TAP_CASE(an_unjoined_line_is_never_stronger)
{
    double before = INFINITY;
    for (double line = 0; line < 6.1; line += 1) {
        double force = tube_collapse(50, 38, fmin(line, 5.9), 0, &copolymer, &bent_line).force;
        TAP_TRUE(force <= before * (1 + 1e-4), "line %g mm: %g N", line, force);
        before = force;
    }
}

TAP_CASE(both_sides_are_one_computation)
{
    // The limb frame is the same for both sides; turning everything about the axis changes nothing.
    sf_BeamSection tube = tube_section(50, 38, 0, 0);
    sf_Pylon pylon = tube_pylon(&tube, 110, 30, 290, NULL, 0);
    double still = collapse_of(&pylon, &bent_line, &copolymer, false).force;
    sf_LoadLine mirrored = { { 0.02, 0.13 }, { 0.03, -0.11 }, bent_line.length_factor, 0, 0.65 };
    TAP_NEAR(collapse_of(&pylon, &mirrored, &copolymer, false).force, still, TAP_TOLERANCE("path", 1e-4, 0),
             TAP_CLOSED_FORM);
    sf_LoadLine turned = { { -0.13, -0.02 }, { 0.11, -0.03 }, bent_line.length_factor, 0, 0.65 };
    TAP_NEAR(collapse_of(&pylon, &turned, &copolymer, false).force, still, TAP_TOLERANCE("path", 1e-4, 0),
             TAP_CLOSED_FORM);
    sf_pylon_free(&pylon);
}

TAP_MAIN(TAP_RUN(first_order_ends_at_the_plastic_moment), TAP_RUN(a_slender_column_holds_eulers_force),
         TAP_RUN(a_strain_limit_at_yield_gives_the_secant_formula), TAP_RUN(a_thin_tube_flattens_at_braziers_moment),
         TAP_RUN(flattening_bends_the_wall_across), TAP_RUN(wrinkling_has_the_classical_value),
         TAP_RUN(second_order_costs_and_collapse_lies_beyond_first_yield), TAP_RUN(thicker_is_never_weaker),
         TAP_RUN(a_larger_hole_is_never_stronger), TAP_RUN(a_longer_lever_or_a_hotter_limb_is_never_stronger),
         TAP_RUN(an_unjoined_line_is_never_stronger), TAP_RUN(both_sides_are_one_computation))
