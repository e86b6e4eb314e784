// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/units.h"
#include "growth/fastening.h"
#include "growth/vent.h"
#include "harness/tap.h"

#include <math.h>

static const double FOOT = 0.3048;

TAP_CASE(torques_in_three_units)
{
    // Steel screw in a soft thread, 2 to 3 lbf.ft: common practice, no source.
    TAP_NEAR(2 * SF_POUND_FORCE * FOOT, 2.7, TAP_TOLERANCE("two printed digits", 0, 0.05), TAP_PRACTICE);
    TAP_NEAR(3 * SF_POUND_FORCE * FOOT, 4.1, TAP_TOLERANCE("two printed digits", 0, 0.05), TAP_PRACTICE);
    TAP_NEAR(SF_POUND_FORCE * FOOT, 1.355818, TAP_TOLERANCE("seven printed digits", 1e-6, 0),
             TAP_SOURCE("NIST SP 811, appendix B.8: lbf.ft to N.m"));
    TAP_NEAR(SF_POUND_FORCE * SF_INCH, 0.1129848, TAP_TOLERANCE("seven printed digits", 1e-6, 0),
             TAP_SOURCE("NIST SP 811, appendix B.8: lbf.in to N.m"));
}

TAP_CASE(preload_follows_the_torque_rule_with_its_doubt)
{
    sf_Preload m6 = sf_fasten_preload(2, 0.006), m8 = sf_fasten_preload(5, 0.008);
    TAP_NEAR(m6.middle, 2 / (0.2 * 0.006), TAP_ROUNDING, TAP_CLOSED_FORM);
    TAP_NEAR(m8.middle, 3125, TAP_ROUNDING, TAP_CLOSED_FORM);
    TAP_NEAR(m6.high / m6.low, 2, TAP_ROUNDING, TAP_CLOSED_FORM);
    // Polyamide M5 to M10: torque 0.6, 1.27, 3.9, 6.8 N.m; breaking load 700, 1000, 2000, 2500 N. The K behind the
    // table must lie within our range, or the range would be no doubt at all.
    static const double torque[] = { 0.6, 1.27, 3.9, 6.8 }, load[] = { 700, 1000, 2000, 2500 };
    static const double d[] = { 0.005, 0.006, 0.008, 0.010 };
    for (int i = 0; i < 4; i++) {
        sf_Preload p = sf_fasten_preload(torque[i], d[i]);
        TAP_TRUE(p.low < load[i] && load[i] < p.high * 1.01, "%g N", load[i]);
    }
    TAP_NEAR(sf_fasten_thread_strength(0.006, 0.010, 30e6), 2500, TAP_TOLERANCE("two printed digits", 0.03, 0),
             TAP_MEMORY);
    TAP_NEAR(sf_fasten_tip_pressure(1670, 0.006), 59e6, TAP_TOLERANCE("two printed digits", 0.01, 0), TAP_CLOSED_FORM);
    // Friction at each element of a band: integral of mu F/(r w) over the circle, times r.
    double sum = 0;
    for (int i = 0; i < 1000; i++)
        sum += 0.2 * (3000 / (0.025 * 0.03)) * (0.03 * 0.025 * 2 * SF_PI / 1000) * 0.025;
    TAP_NEAR(sf_fasten_band_slip(3000, 0.025, 0.2), sum, TAP_TIGHT, TAP_CLOSED_FORM);
}

TAP_CASE(distances_go_the_short_way_round)
{
    sf_FastenZone zone = { 0.110, 0.030, 0.290, 0.025, 350 * SF_DEG };
    sf_FastenHole holes[] = { { 10 * SF_DEG, 0.122, 0.006, false }, { 100 * SF_DEG, 0.125, 0.006, true } };
    sf_HoleDistances d = sf_fasten_distances(&zone, holes, 2, 0);
    TAP_NEAR(d.edge, 0.012, TAP_ROUNDING, TAP_CLOSED_FORM);
    TAP_NEAR(d.edge_limit, 0.012, TAP_ROUNDING, TAP_PRACTICE);
    TAP_NEAR(d.seam, 0.025 * 20 * SF_DEG, TAP_TIGHT, TAP_CLOSED_FORM);
    TAP_NEAR(d.nearest, hypot(0.025 * SF_PI / 2, 0.003), TAP_TIGHT, TAP_CLOSED_FORM);
    TAP_TRUE(d.nearest_hole == 1);
    d = sf_fasten_distances(&zone, holes, 1, 0);
    TAP_TRUE(isnan(d.nearest));
    zone.seam_angle = NAN;
    TAP_TRUE(isnan(sf_fasten_distances(&zone, holes, 1, 0).seam));
}

TAP_CASE(proposed_screws_keep_as_far_from_seam_and_old_holes_as_they_can)
{
    sf_FastenZone zone = { 0.110, 0.030, 0.290, 0.025, 270 * SF_DEG };
    double angles[4], height, free_slack = sf_fasten_place(&zone, NULL, 0, 2, 0.006, angles, &height);
    TAP_NEAR(height, 0.125, TAP_ROUNDING, TAP_CLOSED_FORM);
    // Two opposite screws and a seam: at right angles to it there is most room.
    TAP_NEAR(fabs(sin(angles[0])), 0, TAP_TOLERANCE("half a degree", 0, 0.0088), TAP_CLOSED_FORM);
    TAP_NEAR(free_slack, 0.125 - 0.110 - 0.012, TAP_ROUNDING, TAP_CLOSED_FORM); // the edge governs
    sf_FastenHole old[] = { { 0, 0.125, 0.006, true }, { SF_PI, 0.125, 0.006, true } };
    sf_fasten_place(&zone, old, 2, 2, 0.006, angles, &height);
    for (int i = 0; i < 2; i++)
        TAP_TRUE(fabs(remainder(angles[i], SF_PI)) > 30 * SF_DEG);
    // Rescue: the least turn clears the own old holes by three diameters along the circle, found by hand here.
    sf_FastenHole now[] = { { 20 * SF_DEG, 0.125, 0.006, false }, { 200 * SF_DEG, 0.125, 0.006, false } };
    double turn = sf_fasten_least_turn(&zone, now, 2, +1);
    TAP_NEAR(turn / SF_DEG, ceil(0.018 / 0.025 / SF_DEG), TAP_TOLERANCE("scan of a degree", 0, 1e-6), TAP_CLOSED_FORM);
    // The other way the screw at 200 meets no seam before it, so the same; with the seam at 230 outward is blocked.
    zone.seam_angle = 245 * SF_DEG;
    double outward = sf_fasten_least_turn(&zone, now, 2, +1), inward = sf_fasten_least_turn(&zone, now, 2, -1);
    TAP_TRUE(outward / SF_DEG > 60 && -inward / SF_DEG < 45, "%.0f %.0f", outward / SF_DEG, inward / SF_DEG);
    sf_FastenRecut cut = sf_fasten_recut(&zone, now, 2);
    TAP_NEAR(cut.removed, 0.020, TAP_ROUNDING, TAP_CLOSED_FORM);
    TAP_NEAR(cut.cylinder_left, 0.290 - 0.130 - 0.030, TAP_ROUNDING, TAP_CLOSED_FORM);
}

TAP_CASE(a_recut_spares_a_hole_above_the_new_grip_and_takes_one_that_would_lie_in_it)
{
    sf_FastenZone zone = { 0.110, 0.030, 0.290, 0.025, 270 * SF_DEG };
    const sf_FastenHole screw = { 0, 0.125, 0.006, false };
    sf_FastenHole far[] = { screw, { 1, 0.200, 0.004, true } }, near[] = { screw, { 1, 0.155, 0.004, true } };
    sf_FastenRecut cut = sf_fasten_recut(&zone, far, 2); // the new grip ends at 160 mm
    TAP_NEAR(cut.removed, 0.020, TAP_ROUNDING, TAP_CLOSED_FORM);
    TAP_NEAR(cut.cylinder_left, 0.130, TAP_ROUNDING, TAP_CLOSED_FORM);
    cut = sf_fasten_recut(&zone, near, 2);
    TAP_NEAR(cut.removed, 0.155 + 0.002 + 0.002 - 0.110, TAP_ROUNDING, TAP_CLOSED_FORM);
    cut = sf_fasten_recut(&zone, near + 1, 1); // a vent above the grip alone: nothing to saw off
    TAP_NEAR(cut.removed, 0, TAP_ROUNDING, TAP_CLOSED_FORM);
}

TAP_CASE(vent_is_as_large_as_the_quiet_speed_wants)
{
    double d = sf_vent_diameter(20e-6, 0.3, SF_VENT_QUIET_SPEED);
    TAP_NEAR(sf_vent_speed(20e-6, 0.3, d), SF_VENT_QUIET_SPEED, TAP_TIGHT, TAP_CLOSED_FORM);
    // Half a sine wave: integral of peak sin(pi t/T) over T is the volume.
    double sum = 0, peak = SF_VENT_QUIET_SPEED * SF_PI / 4 * d * d;
    for (int i = 0; i < 100000; i++)
        sum += peak * sin(SF_PI * (i + 0.5) / 100000) * 0.3 / 100000;
    TAP_NEAR(sum, 20e-6, TAP_TOLERANCE("midpoint rule", 1e-8, 0), TAP_CLOSED_FORM);
    TAP_NEAR(sf_vent_drill(0.00361), 0.004, TAP_ROUNDING, TAP_CLOSED_FORM);
    TAP_NEAR(sf_vent_drill(0.0035), 0.0035, TAP_ROUNDING, TAP_CLOSED_FORM);
    TAP_NEAR(sf_vent_drill(0.0001), SF_VENT_SMALLEST, TAP_ROUNDING, TAP_CLOSED_FORM);
    // Against the hole cut out of a ring, counted in small cells.
    double area = 0, moment = 0, hole_area = 0, hole_moment = 0, D = 0.050, b = 0.038, h = 0.004, step = 5e-5;
    for (double x = -D / 2 + step / 2; x < D / 2; x += step)
        for (double y = -D / 2 + step / 2; y < D / 2; y += step) {
            double r = hypot(x, y);
            if (r > D / 2 || r < b / 2)
                continue;
            area += 1;
            moment += y * y;
            if (y > 0 && fabs(x) < h / 2) {
                hole_area += 1;
                hole_moment += y * y;
            }
        }
    TAP_NEAR(sf_vent_area_share(h, D, b), hole_area / area, TAP_TOLERANCE("cells and flat hole", 0.02, 0),
             TAP_CLOSED_FORM);
    TAP_NEAR(sf_vent_moment_share(h, D, b), hole_moment / moment, TAP_TOLERANCE("cells and flat hole", 0.03, 0),
             TAP_CLOSED_FORM);
}

TAP_MAIN(TAP_RUN(torques_in_three_units), TAP_RUN(preload_follows_the_torque_rule_with_its_doubt),
         TAP_RUN(distances_go_the_short_way_round),
         TAP_RUN(proposed_screws_keep_as_far_from_seam_and_old_holes_as_they_can),
         TAP_RUN(a_recut_spares_a_hole_above_the_new_grip_and_takes_one_that_would_lie_in_it),
         TAP_RUN(vent_is_as_large_as_the_quiet_speed_wants))
