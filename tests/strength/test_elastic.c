// SPDX-License-Identifier: GPL-3.0-or-later
#include "harness/tap.h"
#include "section/torsion.h"
#include "strength/closed_cell.h"
#include "strength/tube.h"

static const sf_LoadLine bent_line = { { -0.02, 0.13 }, { -0.03, -0.11 }, 1.00648, 0, 0.65 };

static double yield_force(double outer, double inner, double line_mm, double hole_mm, double modulus, double yield,
                          const sf_LoadLine *line)
{
    sf_BeamSection tube = tube_section(outer, inner, line_mm, 270 * SF_DEG);
    sf_BeamHole hole = { 0.122, 250 * SF_DEG, hole_mm * SF_MM };
    sf_Pylon pylon = tube_pylon(&tube, 110, 30, 290, &hole, hole_mm > 0);
    sf_ElasticCase at = { &pylon, line, modulus, yield };
    double force = NAN;
    int n = 0;
    TAP_OK(sf_elastic_yield_force(&force, &at, &n, NULL));
    TAP_TRUE(n < 60, "%d solutions", n);
    sf_pylon_free(&pylon);
    return force;
}

TAP_CASE(peterson_limits_and_printed_values)
{
    sf_HoleFactors f = sf_hole_factors(1e-9, 50, 40);
    TAP_NEAR(f.tension, 3, TAP_TIGHT, TAP_SOURCE("Kirsch: small hole, one-way tension"));
    TAP_NEAR(f.bending, 3, TAP_TIGHT, TAP_SOURCE("Kirsch: small hole on the tension side"));
    TAP_NEAR(f.torsion, 4, TAP_TIGHT, TAP_SOURCE("Kirsch: small hole in pure shear"));
    static const double table[][6] = { { 50, 40, 6, 3.21, 2.89, 3.78 },
                                       { 50, 40, 10, 3.45, 3.21, 4.11 },
                                       { 57, 45, 5, 3.14, 2.83, 3.75 },
                                       { 57, 45, 8, 3.27, 2.94, 3.83 } };
    for (int i = 0; i < 4; i++) {
        const double *t = table[i];
        f = sf_hole_factors(t[2], t[0], t[1]);
        TAP_NEAR(f.tension, t[3], TAP_TOLERANCE("printed digits", 0, 0.006),
                 TAP_SOURCE("Peterson's fits, worked by hand"));
        TAP_NEAR(f.bending, t[4], TAP_TOLERANCE("printed digits", 0, 0.006),
                 TAP_SOURCE("Peterson's fits, worked by hand"));
        TAP_NEAR(f.torsion, t[5], TAP_TOLERANCE("printed digits", 0, 0.006),
                 TAP_SOURCE("Peterson's fits, worked by hand"));
        TAP_TRUE(f.valid && f.bending_used >= 3 && f.bending_used <= 1.08 * fmax(f.bending, 1),
                 "the never-falling factor stays within the 8 %% of the fit");
    }
    TAP_TRUE(!sf_hole_factors(25, 50, 40).valid);
    sf_HoleFactors plate = sf_hole_factors(1e-9, 50, 40);
    // Kirsch: 3 s1 - s2 with s1,2 = s/2 +- sqrt(s^2/4 + t^2).
    TAP_NEAR(sf_hole_edge_stress(&plate, 0, 10, 4), 10 + 4 * sqrt(25 + 16), TAP_TIGHT,
             TAP_SOURCE("Kirsch: small hole in a plate under two principal stresses, 3 s1 - s2"));
}

TAP_CASE(closed_cell_figures_agree_with_elements_and_closed_forms)
{
    sf_Outline o = tube_outline(0.057, 0.0543, (sf_Point){ 0, 0 }, 0, 0);
    sf_ClosedCell cell;
    TAP_OK(sf_closed_cell_compute(&cell, &o, NULL));
    TAP_NEAR(cell.torsion_constant, SF_PI / 32 * (pow(0.057, 4) - pow(0.0543, 4)), TAP_TOLERANCE("polygon", 2e-4, 0),
             TAP_CLOSED_FORM);
    TAP_NEAR(sf_point_length(cell.shear_centre), 0, TAP_TOLERANCE("symmetry", 0, 1e-7), TAP_CLOSED_FORM);
    sf_outline_free(&o);
    static const double rings[][4] = { { 50, 40, 0, 0 }, { 57, 44.3, 0, 0 }, { 50, 38, 1.0, -0.5 }, { 40, 30, 0, 1 } };
    for (int i = 0; i < 4; i++) {
        o = tube_outline(rings[i][0] * SF_MM, rings[i][1] * SF_MM,
                         (sf_Point){ rings[i][2] * SF_MM, rings[i][3] * SF_MM }, 0, 0);
        sf_Torsion torsion;
        TAP_OK(sf_closed_cell_compute(&cell, &o, NULL));
        TAP_OK(sf_torsion_compute(&torsion, &o, NULL, NULL));
        TAP_NEAR(cell.torsion_constant, torsion.torsion_constant, TAP_TOLERANCE("middle-line route", 0.005, 0),
                 TAP_CLOSED_FORM);
        TAP_NEAR(cell.shear_centre.x, torsion.shear_centre.x, TAP_TOLERANCE("0.3 mm", 0, 0.3e-3), TAP_CLOSED_FORM);
        TAP_NEAR(cell.shear_centre.y, torsion.shear_centre.y, TAP_TOLERANCE("0.3 mm", 0, 0.3e-3), TAP_CLOSED_FORM);
        TAP_NEAR(cell.shear_per_torque, torsion.peak_shear_per_torque, TAP_TOLERANCE("middle-line route", 0.03, 0),
                 TAP_CLOSED_FORM);
        tap_note("ring %d: K %.4g / %.4g, peak %.4g / %.4g, shear centre (%.3f, %.3f) / (%.3f, %.3f) mm", i,
                 cell.torsion_constant, torsion.torsion_constant, cell.shear_per_torque, torsion.peak_shear_per_torque,
                 cell.shear_centre.x / SF_MM, cell.shear_centre.y / SF_MM, torsion.shear_centre.x / SF_MM,
                 torsion.shear_centre.y / SF_MM);
        sf_outline_free(&o);
    }
}

TAP_CASE(the_force_at_yield_makes_the_peak_equal_to_yield)
{
    sf_BeamSection tube = tube_section(50, 38, 0, 0);
    sf_Pylon pylon = tube_pylon(&tube, 110, 30, 290, NULL, 0);
    sf_ElasticCase at = { &pylon, &bent_line, 1000e6, 24e6 };
    double force, first;
    TAP_OK(sf_elastic_yield_force(&force, &at, NULL, NULL));
    sf_Actions actions[SF_STATION_MAX];
    TAP_TRUE(sf_beam_actions(actions, &pylon, &bent_line, force, 1000e6, NULL));
    TAP_NEAR(sf_pylon_peak(&pylon, actions).von_mises, 24e6, TAP_TOLERANCE("search", 3e-6, 0), TAP_CLOSED_FORM);
    // First order is proportional: yield over the peak at 1 N. Easy version that fails: the same ratio in second order.
    at.modulus = INFINITY;
    TAP_OK(sf_elastic_yield_force(&first, &at, NULL, NULL));
    TAP_TRUE(sf_beam_actions(actions, &pylon, &bent_line, 1, INFINITY, NULL));
    TAP_NEAR(first, 24e6 / sf_pylon_peak(&pylon, actions).von_mises, TAP_TOLERANCE("search", 3e-6, 0), TAP_CLOSED_FORM);
    TAP_TRUE(force < 0.95 * first, "second order lowers it: %g < %g N", force, first);
    sf_pylon_free(&pylon);
}

TAP_CASE(near_buckling_the_search_stays_below_the_critical_force)
{
    // A long thin soft pylon loaded along its axis but for a hair: yield comes only near the critical force.
    sf_BeamSection tube = tube_section(20, 16, 0, 0);
    sf_Pylon pylon = tube_pylon(&tube, 50, 0, 650, NULL, 0);
    sf_LoadLine line = { { 0, 1e-5 }, { 0, 0 }, 1, 0.05, 0.65 };
    sf_ElasticCase at = { &pylon, &line, 1000e6, 24e6 };
    double force, critical = SF_PI * SF_PI * 1000e6 * tube.jxx / 0.36;
    TAP_OK(sf_elastic_yield_force(&force, &at, NULL, NULL));
    TAP_TRUE(force < critical && force > 0.98 * critical, "%g of %g N", force, critical);
    sf_pylon_free(&pylon);
}

TAP_CASE(thicker_is_never_weaker)
{
    double before = 0;
    for (double wall = 3; wall <= 9; wall += 0.5) {
        double force = yield_force(50, 50 - 2 * wall, 0, 6, 1000e6, 24e6, &bent_line);
        TAP_TRUE(force >= before, "wall %g mm: %g N", wall, force);
        before = force;
    }
}

TAP_CASE(a_larger_hole_is_never_stronger)
{
    double before = INFINITY;
    for (double hole = 0; hole <= 12; hole += 0.5) {
        double force = yield_force(50, 38, 0, hole, 1000e6, 24e6, &bent_line);
        TAP_TRUE(force <= before, "hole %g mm: %g N", hole, force);
        before = force;
    }
}

TAP_CASE(a_longer_lever_or_a_hotter_limb_is_never_stronger)
{
    double before = INFINITY;
    for (double lever = 0.09; lever < 0.2; lever += 0.01) {
        sf_LoadLine line = bent_line;
        line.at_floor.y = lever;
        double force = yield_force(50, 38, 0, 0, 1000e6, 24e6, &line);
        TAP_TRUE(force <= before, "lever %g m: %g N", lever, force);
        before = force;
    }
    before = 0;
    for (double share = 0.6; share <= 1.4; share += 0.1) {
        double force = yield_force(50, 38, 0, 6, share * 1000e6, 24e6 * (0.25 + 0.75 * share), &bent_line);
        TAP_TRUE(force >= before, "stiffer and stronger by %g: %g N", share, force);
        before = force;
    }
}

TAP_CASE(an_unjoined_line_is_never_stronger)
{
    double before = INFINITY;
    for (double line = 0; line < 5.5; line += 1.5) {
        double force = yield_force(50, 38, line, 0, 1000e6, 24e6, &bent_line);
        // Without a line torsion goes by the middle-line route, whose peak is a little off that of the elements.
        TAP_TRUE(force <= before * 1.002, "line %g mm: %g N", line, force);
        before = force;
    }
}

TAP_CASE(shear_along_the_seam)
{
    sf_BeamSection tube = tube_section(50, 40, 0, 0);
    sf_Actions actions = { .shear = { 300, 0 }, .torque = 10 };
    double torsion = 10 * 0.025 / (SF_PI / 32 * (pow(0.05, 4) - pow(0.04, 4))), force = 2 * 300 / tube.area;
    TAP_NEAR(sf_section_seam_shear(&tube, &actions, 270 * SF_DEG), torsion + force, TAP_TOLERANCE("polygon", 1e-3, 0),
             TAP_CLOSED_FORM);
    TAP_NEAR(sf_section_seam_shear(&tube, &actions, 0), torsion, TAP_TOLERANCE("polygon", 1e-3, 0), TAP_CLOSED_FORM);
    tube.unjoined_share = 0.5;
    TAP_NEAR(sf_section_seam_shear(&tube, &actions, -90 * SF_DEG), 2 * (torsion + force),
             TAP_TOLERANCE("polygon", 1e-3, 0), TAP_CLOSED_FORM);
}

TAP_CASE(net_sections_lose_their_holes)
{
    sf_BeamSection tube = tube_section(50, 40, 0, 0);
    sf_BeamHole holes[] = { { 0.150, 90 * SF_DEG, 6e-3 }, { 0.150, 270 * SF_DEG, 6e-3 } };
    sf_Pylon pylon = tube_pylon(&tube, 110, 30, 290, holes, 2);
    sf_BeamSection net = sf_pylon_net_section(&pylon, pylon.hole_station[0]);
    TAP_NEAR(net.area, tube.area - 2 * 6e-3 * 5e-3, TAP_TOLERANCE("polygon", 1e-6, 0), TAP_CLOSED_FORM);
    TAP_NEAR(net.centroid.y, 0, TAP_TOLERANCE("symmetry", 0, 1e-9), TAP_CLOSED_FORM);
    TAP_NEAR(net.jyy, tube.jyy - 2 * 30e-6 * 0.0225 * 0.0225, TAP_TOLERANCE("polygon", 1e-5, 0), TAP_CLOSED_FORM);
    sf_pylon_free(&pylon);
    pylon = tube_pylon(&tube, 110, 30, 290, holes, 1);
    net = sf_pylon_net_section(&pylon, pylon.hole_station[0]);
    // One hole in front: what is left has its centroid behind by A_h r / A_net.
    TAP_NEAR(net.centroid.y, -30e-6 * 0.0225 / (tube.area - 30e-6), TAP_TOLERANCE("polygon", 1e-5, 0), TAP_CLOSED_FORM);
    sf_pylon_free(&pylon);
}

TAP_MAIN(TAP_RUN(peterson_limits_and_printed_values), TAP_RUN(closed_cell_figures_agree_with_elements_and_closed_forms),
         TAP_RUN(the_force_at_yield_makes_the_peak_equal_to_yield),
         TAP_RUN(near_buckling_the_search_stays_below_the_critical_force), TAP_RUN(thicker_is_never_weaker),
         TAP_RUN(a_larger_hole_is_never_stronger), TAP_RUN(a_longer_lever_or_a_hotter_limb_is_never_stronger),
         TAP_RUN(an_unjoined_line_is_never_stronger), TAP_RUN(shear_along_the_seam),
         TAP_RUN(net_sections_lose_their_holes))
