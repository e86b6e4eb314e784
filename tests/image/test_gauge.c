// SPDX-License-Identifier: GPL-3.0-or-later
// A scanner's two axes from a round gauge: what was stretched comes back, what is not round is refused, and a ring that
// was scanned on the same scanner comes out true.
#include "harness/tap.h"

#include "base/alloc.h"
#include "base/units.h"
#include "image/gauge.h"
#include "image/ring_scan.h"
#include "ring_maker.h"

#include <math.h>

static sf_Scene gauge_scene(double stretch_x)
{
    sf_Scene s = ring_small();
    s.body = SF_BODY_DISC;
    s.outer_diameter_mm = 40;
    s.width_mm = s.height_mm = 50;
    s.centre_x_mm = 25.3;
    s.centre_y_mm = 24.6;
    s.dpi = 300;
    s.dust = 20;
    s.stretch_x = stretch_x;
    return s;
}

static sf_Status measure(const sf_Scene *s, double said_mm, sf_Gauge *gauge, sf_Error *err)
{
    ring_Made made;
    ring_make(s, &made);
    sf_Status status = sf_gauge_measure(gauge, "gauge.png", made.bytes, made.size, 0, said_mm * SF_MM, err);
    sf_free(made.bytes);
    return status;
}

TAP_CASE(axes_come_back)
{
    static const double stretches[] = { 0.994, 1.0, 1.003, 1.02 };
    for (size_t i = 0; i < 4; i++)
        for (int ring = 0; ring < 2; ring++) {
            sf_Scene s = gauge_scene(stretches[i]);
            s.body = ring ? SF_BODY_RING : SF_BODY_DISC;
            s.wall_mm = 6;
            sf_Gauge g;
            sf_Error err = { 0 };
            if (!TAP_OK(measure(&s, 40, &g, &err))) {
                tap_note("%s", err.text);
                continue;
            }
            const tap_Tolerance own = TAP_TOLERANCE("2 standard deviations as stated", 0, 2 * g.scale_sd);
            TAP_NEAR(g.factor_x, 1 / stretches[i], own, TAP_INVENTED);
            TAP_NEAR(g.factor_y, 1, own, TAP_INVENTED);
            TAP_TRUE(g.scale_sd < 5e-4 && g.misfit < 0.01e-3, "(sd %.2g, misfit %.4f mm)", g.scale_sd,
                     g.misfit / SF_MM);
        }
}

/// Without the calibration the ring on the stretched glass is off by more than the target; with it, it is not.
TAP_CASE(a_ring_on_the_same_glass_comes_out_true)
{
    sf_Scene s = gauge_scene(1.005);
    sf_Gauge g;
    TAP_OK(measure(&s, 40, &g, NULL));
    s.body = SF_BODY_RING;
    s.outer_diameter_mm = 36;
    s.wall_mm = 4.5;
    s.eccentricity_mm = 0.3;
    s.dpi = 400;
    ring_Made made;
    ring_make(&s, &made);
    for (int calibrated = 0; calibrated < 2; calibrated++) {
        sf_RingScanOptions options = SF_RING_SCAN_DEFAULTS;
        if (calibrated) {
            options.factor_x = g.factor_x;
            options.factor_y = g.factor_y;
            options.scale_sd = g.scale_sd;
        }
        sf_RingScan scan;
        TAP_OK(sf_ring_scan_read(&scan, "ring.png", made.bytes, made.size, &options, NULL));
        double area = (sf_polygon_area(&scan.outline.outer) - sf_polygon_area(&scan.outline.inner)) / SF_MM2;
        double off = area / made.truth.area_mm2 - 1;
        TAP_TRUE(calibrated ? fabs(off) < 0.001 : fabs(off - 0.005) < 0.001, "(area off by %.3f %%)", 100 * off);
        sf_ring_scan_free(&scan);
    }
    sf_free(made.bytes);
}

TAP_CASE(wrong_gauges_are_refused)
{
    sf_Gauge g;
    sf_Error err = { 0 };
    sf_Scene s = gauge_scene(1);
    s.body = SF_BODY_RING;
    s.wall_mm = 6;
    s.oval_mm = 0.15;
    s.oval_deg = 45; // along the picture's axes it could be the scanner
    TAP_STATUS(measure(&s, 40, &g, &err), SF_E_INPUT);
    TAP_HOLDS(err.text, "not round");
    s.oval_mm = 0;
    s.square_mm = 0.15;
    TAP_STATUS(measure(&s, 40, &g, &err), SF_E_INPUT);
    TAP_HOLDS(err.text, "not round");
    s = gauge_scene(1);
    TAP_STATUS(measure(&s, 50, &g, &err), SF_E_INPUT);
    TAP_HOLDS(err.text, "more than 5 % off the 50.00 mm");
    TAP_HOLDS(err.text, "40.0");
    s.body = SF_BODY_BLANK;
    TAP_STATUS(measure(&s, 40, &g, &err), SF_E_INPUT);
    TAP_HOLDS(err.text, "blank");
    s = gauge_scene(1);
    s.density = SF_DENSITY_NONE;
    TAP_STATUS(measure(&s, 40, &g, &err), SF_E_INPUT);
    TAP_HOLDS(err.text, "--dpi");
}

static sf_Status measure_again(void *context)
{
    const ring_Made *made = context;
    sf_Gauge g;
    return sf_gauge_measure(&g, "gauge", made->bytes, made->size, 0, 40 * SF_MM, NULL);
}

TAP_CASE(out_of_memory)
{
    sf_Scene s = gauge_scene(1);
    s.dpi = 150;
    ring_Made made;
    ring_make(&s, &made);
    tap_every_allocation(measure_again, &made, 200, "gauge");
    sf_free(made.bytes);
}

TAP_MAIN(TAP_RUN(axes_come_back), TAP_RUN(a_ring_on_the_same_glass_comes_out_true), TAP_RUN(wrong_gauges_are_refused),
         TAP_RUN(out_of_memory))
