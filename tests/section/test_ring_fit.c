// SPDX-License-Identifier: GPL-3.0-or-later
#include "harness/tap.h"
#include "section/ring_fit.h"
#include "section/shapes.h"

TAP_CASE(oval_off_centre_ring_in_a_clamp)
{
    sf_Outline ring = { 0 };
    sf_RingFit fit;
    shape_ellipse(&ring.outer, 2000, (sf_Point){ 0.03, 0.03 }, 0.0255, 0.0245, 0.4);
    shape_ellipse(&ring.inner, 2000, (sf_Point){ 0.0303, 0.0304 }, 0.0195, 0.0190, 0.4);
    TAP_OK(sf_ring_fit(&fit, &ring, NULL));
    const tap_Tolerance gon = TAP_TOLERANCE("2000-gon", 4e-6, 0);
    TAP_NEAR(fit.ovality, 1.0 / 25, TAP_TOLERANCE("2000-gon", 1e-4, 0), TAP_CLOSED_FORM);
    TAP_NEAR(2 * fit.inscribed.radius, 0.038, gon, TAP_CLOSED_FORM);
    TAP_NEAR(2 * fit.circumscribed.radius, 0.051, gon, TAP_CLOSED_FORM);
    sf_ClampFit clamp = sf_clamp_fit(&fit, 0.0376, 0.0506);
    TAP_NEAR(clamp.shank_play, 0.0004, TAP_TOLERANCE("2000-gon", 0, 3e-7), TAP_CLOSED_FORM);
    TAP_NEAR(clamp.rim_play, -0.0004, TAP_TOLERANCE("2000-gon", 0, 3e-7), TAP_CLOSED_FORM);
    TAP_NEAR(clamp.offset, 0.0005, TAP_TOLERANCE("an oval leaves the centre soft", 0, 1e-5), TAP_CLOSED_FORM);
    TAP_TRUE(isnan(sf_clamp_fit(&fit, NAN, 0.05).shank_play));
    sf_outline_free(&ring);
}

TAP_MAIN(TAP_RUN(oval_off_centre_ring_in_a_clamp))
