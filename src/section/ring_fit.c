// SPDX-License-Identifier: GPL-3.0-or-later
#include "section/ring_fit.h"

sf_Status sf_ring_fit(sf_RingFit *fit, const sf_Outline *outline, sf_Error *err)
{
    SF_TRY(sf_circle_within(&fit->inscribed, &outline->inner, err));
    SF_TRY(sf_circle_around(&fit->circumscribed, &outline->outer, err));
    SF_TRY(sf_caliper_width(&fit->outer, &outline->outer, err));
    fit->ovality = 2 * (fit->outer.largest - fit->outer.least) / (fit->outer.largest + fit->outer.least);
    return SF_OK;
}

sf_ClampFit sf_clamp_fit(const sf_RingFit *fit, double shank, double rim)
{
    return (sf_ClampFit){
        .shank_play = 2 * fit->inscribed.radius - shank,
        .rim_play = rim - 2 * fit->circumscribed.radius,
        .offset = sf_point_distance(fit->inscribed.centre, fit->circumscribed.centre),
    };
}
