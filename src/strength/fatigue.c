// SPDX-License-Identifier: GPL-3.0-or-later
#include "strength/fatigue.h"

#include <assert.h>
#include <math.h>

enum { CASES_MOST = 4 };

double sf_miner_sum(const sf_Card *card, const sf_LoadBlock *blocks, size_t count)
{
    double sum = 0;
    for (size_t i = 0; i < count; i++)
        if (blocks[i].pulses > 0)
            sum += pow(blocks[i].stress / sf_card_fatigue_stress(card, blocks[i].pulses), card->fatigue.slope);
    return sum;
}

double sf_miner_utilisation(const sf_Card *card, const sf_LoadBlock *blocks, size_t count)
{
    return pow(sf_miner_sum(card, blocks, count), 1 / card->fatigue.slope);
}

// Both signs count alike: the S-N line is one for pulsating tension and is taken for compression too.
static void weigh(double *most, double *stress, const sf_Card *card, const sf_BeamSection *section,
                  const sf_Actions *actions, size_t count, double pulses)
{
    for (size_t k = 0; k < SF_FIBRE_COUNT; k++) {
        sf_LoadBlock blocks[CASES_MOST];
        for (size_t c = 0; c < count; c++) {
            sf_NormalStress s = sf_section_normal_stress(section, &actions[c], section->fibre[k]);
            blocks[c] = (sf_LoadBlock){ fabs(s.axial + s.bending), pulses };
            *stress = fmax(*stress, blocks[c].stress);
        }
        // Only a place near the greatest can be the worst: the sum is at most `count` times its largest part.
        double largest = 0;
        for (size_t c = 0; c < count; c++)
            largest = fmax(largest, blocks[c].stress);
        if (largest * pow((double)count, 1 / card->fatigue.slope) > *most * sf_card_fatigue_stress(card, pulses))
            *most = fmax(*most, sf_miner_utilisation(card, blocks, count));
    }
}

double sf_pylon_fatigue(const sf_Pylon *pylon, const sf_Card *card, const sf_Actions *const *actions, size_t count,
                        double pulses, double *stress)
{
    double most = 0;
    sf_Actions at[CASES_MOST];
    assert(count <= CASES_MOST);
    *stress = 0;
    for (size_t i = 0; i < pylon->station_count; i++) {
        for (size_t c = 0; c < count; c++)
            at[c] = actions[c][i];
        weigh(&most, stress, card, &pylon->stations[i].section, at, count, pulses);
    }
    for (size_t h = 0; h < pylon->hole_count; h++) {
        size_t i = pylon->hole_station[h];
        sf_BeamSection net = sf_pylon_net_section(pylon, i);
        sf_Point shift = sf_point_sub(pylon->stations[i].section.centroid, net.centroid);
        for (size_t c = 0; c < count; c++) {
            at[c] = actions[c][i];
            at[c].moment = sf_point_add(at[c].moment, sf_point_scale(shift, at[c].axial));
        }
        weigh(&most, stress, card, &net, at, count, pulses);
    }
    return most;
}
