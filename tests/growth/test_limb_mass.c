// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/units.h"
#include "growth/limb_mass.h"
#include "harness/tap.h"

TAP_CASE(rods_and_tubes_have_their_closed_forms)
{
    sf_Body rod = { "rod", 2.0, 0.3, 0, 0.6, 0 };
    sf_MassSum s = sf_mass_sum(&rod, 1);
    TAP_NEAR(s.inertia_knee, 2.0 * 0.6 * 0.6 / 3, TAP_TIGHT, TAP_CLOSED_FORM); // a rod about its end
    TAP_NEAR(s.inertia_centre, 2.0 * 0.6 * 0.6 / 12, TAP_TIGHT, TAP_CLOSED_FORM);
    // Two halves of a rod are the rod; an L of two rods has its parallel-axis sum.
    sf_Body halves[] = { { "a", 1.0, 0.15, 0, 0.3, 0 }, { "b", 1.0, 0.45, 0, 0.3, 0 } };
    TAP_NEAR(sf_mass_sum(halves, 2).inertia_knee, s.inertia_knee, TAP_TIGHT, TAP_CLOSED_FORM);
    sf_Body angle[] = { { "shank", 1.0, 0.2, 0, 0.4, 0 }, { "foot", 0.5, 0.4, 0.1, 0, 0.2 } };
    s = sf_mass_sum(angle, 2);
    TAP_NEAR(s.depth, (1.0 * 0.2 + 0.5 * 0.4) / 1.5, TAP_TIGHT, TAP_CLOSED_FORM);
    TAP_NEAR(s.forward, 0.05 / 1.5, TAP_TIGHT, TAP_CLOSED_FORM);
    TAP_NEAR(s.inertia_knee, 1.0 * 0.16 / 3 + 0.5 * (0.04 / 12 + 0.16 + 0.01), TAP_TIGHT, TAP_CLOSED_FORM);
    TAP_NEAR(sf_mass_tube(905, SF_PI / 4 * (0.05 * 0.05 - 0.038 * 0.038), 0.18), 905 * 8.29380460547e-4 * 0.18,
             TAP_TIGHT, TAP_CLOSED_FORM);
}

TAP_CASE(an_intact_shank_with_foot_agrees_with_two_segment_tables)
{
    // 75 kg, 1.75 m: shank 0.246, ankle 0.039, foot 0.152 of stature.
    sf_MassSum s = sf_mass_intact(75, SF_SEX_MALE, 0.246 * 1.75, 0.039 * 1.75, 0.152 * 1.75);
    TAP_NEAR(s.mass, 75 * (0.0433 + 0.0137), TAP_TIGHT,
             TAP_SOURCE("de Leva 1996, J Biomech 29:1223, men: shank 0.0433, foot 0.0137 of body mass"));
    // Another table (Dempster's data as Winter gives it): mass 0.061, centre 0.606, gyration about the knee 0.735.
    double length = 0.285 * 1.75;
    TAP_NEAR(s.mass, 0.061 * 75, TAP_TOLERANCE("two tables of segments", 0.08, 0), TAP_MEMORY);
    TAP_NEAR(s.depth, 0.606 * length * 0.246 / 0.285, TAP_TOLERANCE("two tables of segments", 0.08, 0), TAP_MEMORY);
    TAP_NEAR(s.inertia_knee, 0.061 * 75 * 0.735 * 0.735 * 0.246 * 1.75 * 0.246 * 1.75,
             TAP_TOLERANCE("two tables, whose masses differ by 7 %", 0.18, 0), TAP_MEMORY);
}

TAP_MAIN(TAP_RUN(rods_and_tubes_have_their_closed_forms),
         TAP_RUN(an_intact_shank_with_foot_agrees_with_two_segment_tables))
