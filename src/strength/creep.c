// SPDX-License-Identifier: GPL-3.0-or-later
#include "strength/creep.h"

#include "strength/elastic.h"

#include <math.h>

double sf_creep_modulus(const sf_Card *card, double modulus, double hours)
{
    return modulus / sf_card_creep_ratio(card, hours);
}

double sf_preload_kept(const sf_Card *card, double hours)
{
    return 1 / sf_card_creep_ratio(card, hours);
}

static sf_Point curvature(const sf_BeamSection *s, const sf_Actions *a, double modulus)
{
    double det = s->jxx * s->jyy - s->jxy * s->jxy;
    return (sf_Point){ (s->jyy * a->moment.x - s->jxy * a->moment.y) / det / modulus,
                       (s->jxx * a->moment.y - s->jxy * a->moment.x) / det / modulus };
}

bool sf_standing_drift(sf_Drift *drift, const sf_Pylon *pylon, const sf_LoadLine *line, double force, double modulus,
                       double height)
{
    sf_Actions actions[SF_STATION_MAX];
    if (!sf_beam_actions(actions, pylon, line, force, modulus, NULL))
        return false;
    sf_Point tilt = { 0, 0 }, shift = { 0, 0 };
    for (size_t i = 1; i < pylon->station_count; i++) {
        const sf_PylonStation *a = &pylon->stations[i - 1], *b = &pylon->stations[i];
        if (b->height <= pylon->grip_top + 1e-9)
            continue;
        double h = b->height - a->height;
        sf_Point ka = curvature(&a->section, &actions[i - 1], modulus),
                 kb = curvature(&b->section, &actions[i], modulus);
        tilt = sf_point_add(tilt, sf_point_scale(sf_point_add(ka, kb), 0.5 * h));
        shift = sf_point_add(shift, sf_point_scale(ka, 0.5 * h * (a->height - height)));
        shift = sf_point_add(shift, sf_point_scale(kb, 0.5 * h * (b->height - height)));
    }
    *drift = (sf_Drift){ sf_point_length(tilt), sf_point_length(shift), sf_pylon_normal_stress(pylon, actions) };
    return true;
}
