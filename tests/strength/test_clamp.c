// SPDX-License-Identifier: GPL-3.0-or-later
#include "harness/tap.h"
#include "strength/clamp.h"
#include "strength/glue.h"
#include "strength/tube.h"

TAP_CASE(bearing_and_double_shear_by_hand)
{
    // Four M6 through a wall of 6 mm at 22 mm radius, 20 N m: 227.3 N each; over 36 mm2 6.31 MPa; over 56.5 mm2 4.02
    // MPa.
    sf_PinLoads p = sf_pin_loads(20, 200, 4, 6e-3, 22e-3, 6e-3);
    TAP_NEAR(p.by_torque, 227.27, TAP_TABLE_4, TAP_CLOSED_FORM);
    TAP_NEAR(p.bearing, 6.313e6, TAP_TABLE_4, TAP_CLOSED_FORM);
    TAP_NEAR(p.screw_shear, 4.019e6, TAP_TABLE_4, TAP_CLOSED_FORM);
    // Loose: 2 x 200 / (4 x 0.022) = 4545 N square to it: 4551 N, 126.4 MPa.
    TAP_NEAR(p.if_loose, 4551, TAP_TABLE_4, TAP_CLOSED_FORM);
    TAP_NEAR(p.bearing_loose, 126.4e6, TAP_TABLE_4, TAP_CLOSED_FORM);
    // The share of the moment on the worst of n evenly spread pins, turned to any angle, is at most 2 M / (n r).
    for (double turn = 0; turn < 90; turn += 7) {
        double sum = 0, worst = 0;
        for (int i = 0; i < 4; i++)
            sum += pow(0.022 * cos(turn * SF_DEG + i * SF_PI / 2), 2);
        for (int i = 0; i < 4; i++)
            worst = fmax(worst, 200 * 0.022 * fabs(cos(turn * SF_DEG + i * SF_PI / 2)) / sum);
        TAP_TRUE(worst <= 4545.5);
    }
}

TAP_CASE(tip_and_distances)
{
    sf_ClampScrews screws = { .length = 16e-3, .rim_inside = 50e-3, .rim_wall = 4e-3, .bolt_head = 16e-3 };
    TAP_NEAR(sf_tip_clearance(&screws), 5e-3, TAP_TIGHT, TAP_CLOSED_FORM);
    screws.length = 22e-3;
    TAP_TRUE(sf_tip_clearance(&screws) < 0, "too long a screw strikes the bolt");
    sf_BeamSection tube = tube_section(50, 38, 0, 0);
    sf_BeamHole holes[] = { { 0.122, 275 * SF_DEG, 6e-3 }, { 0.118, 235 * SF_DEG, 6e-3 }, { 0.2, 5 * SF_DEG, 4e-3 } };
    sf_Pylon pylon = tube_pylon(&tube, 110, 30, 290, holes, 3);
    sf_HoleDistances d = sf_hole_distances(&pylon, 0, 270 * SF_DEG);
    TAP_NEAR(d.to_cut, 12e-3, TAP_TIGHT, TAP_CLOSED_FORM);
    TAP_NEAR(d.to_seam, 25e-3 * 5 * SF_DEG, TAP_TOLERANCE("polygon", 1e-5, 0), TAP_CLOSED_FORM);
    TAP_NEAR(d.to_next, hypot(25e-3 * 40 * SF_DEG, 4e-3), TAP_TOLERANCE("polygon", 1e-5, 0), TAP_CLOSED_FORM);
    TAP_TRUE(d.in_grip && !sf_hole_distances(&pylon, 2, NAN).in_grip);
    // Across the zero of the circle: 5 and 350 degrees are 15 degrees apart.
    TAP_NEAR(sf_hole_distances(&pylon, 2, 350 * SF_DEG).to_seam, 25e-3 * 15 * SF_DEG, TAP_TOLERANCE("polygon", 1e-5, 0),
             TAP_CLOSED_FORM);
    TAP_TRUE(isnan(sf_hole_distances(&pylon, 2, NAN).to_seam));
    sf_pylon_free(&pylon);
}

TAP_CASE(bolt_preload_and_opening)
{
    TAP_NEAR(sf_bolt_joint(2, 6e-3, NAN, 0, 0).preload, 1670, TAP_TABLE_3,
             TAP_SOURCE("T = K F d with K = 0.2, a torque calculator's page; M6 at 2 N m"));
    TAP_NEAR(sf_bolt_joint(5, 8e-3, NAN, 0, 0).preload, 3130, TAP_TABLE_3,
             TAP_SOURCE("T = K F d with K = 0.2, a torque calculator's page; M8 at 5 N m"));
    // P5 cyclic, condition II: 1200 N at 0.993 and 145 N m over a joint of 60 and 45 mm: about 3.6 and 5.2 kN.
    TAP_NEAR(sf_bolt_joint(30, 10e-3, 60e-3, 145, 1192).needed, 3600, TAP_TOLERANCE("two digits", 0.02, 0),
             TAP_CLOSED_FORM);
    TAP_NEAR(sf_bolt_joint(30, 10e-3, 45e-3, 145, 1192).needed, 5200, TAP_TOLERANCE("two digits", 0.02, 0),
             TAP_CLOSED_FORM);
    TAP_TRUE(isnan(sf_bolt_joint(30, 10e-3, NAN, 145, 1192).needed));
}

TAP_CASE(glue_goes_by_both_materials)
{
    sf_GlueTable *table = NULL;
    TAP_OK(sf_glue_table_create(&table, NULL));
    static const char ca[] = "cyanoacrylate";
    TAP_NEAR(sf_glue_joint(table, "polyamide", "aluminium", ca, false, false).shear, 3.3e6, TAP_ROUNDING,
             TAP_SOURCE("Petrie, Handbook of Adhesives and Sealants, table 10.16: 6.6 MPa, halved"));
    TAP_NEAR(sf_glue_joint(table, "steel", "polyamide", ca, false, true).shear, 4.1e6 / 4, TAP_ROUNDING,
             TAP_SOURCE("Petrie, table 10.16, weaker partner 4.1 MPa, halved, wet halved again"));
    TAP_NEAR(sf_glue_joint(table, "polypropylene", "steel", ca, false, false).shear, 0, TAP_EXACT,
             TAP_SOURCE("Yang and Garton, J Appl Polym Sci 1993: polyolefins need a primer"));
    TAP_TRUE(sf_glue_joint(table, "polypropylene", "polypropylene", ca, true, false).shear > 1e6);
    TAP_TRUE(isnan(sf_glue_joint(table, "polyamide", "polyurethane-rubber", ca, false, false).shear));
    sf_glue_table_destroy(&table);
}

TAP_MAIN(TAP_RUN(bearing_and_double_shear_by_hand), TAP_RUN(tip_and_distances), TAP_RUN(bolt_preload_and_opening),
         TAP_RUN(glue_goes_by_both_materials))
