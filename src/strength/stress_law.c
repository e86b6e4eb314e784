// SPDX-License-Identifier: GPL-3.0-or-later
#include "strength/stress_law.h"

#include <math.h>

double sf_stress_law_most(const sf_StressLaw *law)
{
    return law->count ? law->stress[law->count - 1] : law->yield;
}

double sf_stress_law_branch(const sf_StressLaw *law, double strain, double *tangent)
{
    double e = 0, s = 0;
    if (law->count == 0) {
        bool straight = strain * law->modulus < law->yield;
        *tangent = straight ? law->modulus : 0;
        return straight ? strain * law->modulus : law->yield;
    }
    for (size_t i = 0; i < law->count; i++) {
        *tangent = (law->stress[i] - s) / (law->strain[i] - e);
        if (strain < law->strain[i])
            return s + *tangent * (strain - e);
        e = law->strain[i];
        s = law->stress[i];
    }
    *tangent = 0;
    return s;
}

double sf_stress_law_at(const sf_StressLaw *law, double strain)
{
    double tangent;
    return copysign(sf_stress_law_branch(law, fabs(strain), &tangent), strain);
}

sf_StressLaw sf_stress_law_of_card(const sf_Card *card, double modulus, double yield, double strain_limit)
{
    sf_StressLaw law = { .modulus = modulus, .yield = yield, .strain_limit = strain_limit };
    const sf_StressTable *table = &card->stress_strain;
    if (!table->there)
        return law;
    const sf_StressPoint *first = &table->points[0], *last = &table->points[table->point_count - 1];
    double stress = yield / last->stress, strain = stress * first->stress / first->strain / modulus;
    law.count = table->point_count;
    for (size_t i = 0; i < law.count; i++) {
        law.strain[i] = strain * table->points[i].strain;
        law.stress[i] = stress * table->points[i].stress;
    }
    return law;
}
