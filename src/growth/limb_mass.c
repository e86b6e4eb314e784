// SPDX-License-Identifier: GPL-3.0-or-later
#include "growth/limb_mass.h"

static const double HEEL_BEHIND_ANKLE = 0.25; ///< of the foot's length

/// de Leva 1996: share of body mass, centre from the near end and gyration radius (sagittal) over the length.
typedef struct Segment {
    double mass, centre, gyration;
} Segment;

static const Segment shank_of[SF_SEX_COUNT] = { { 0.0433, 0.4395, 0.251 }, { 0.0481, 0.4352, 0.267 } };
static const Segment foot_of[SF_SEX_COUNT] = { { 0.0137, 0.4415, 0.257 }, { 0.0129, 0.4014, 0.299 } };

static void add(sf_MassSum *sum, double mass, double depth, double forward, double own)
{
    sum->mass += mass;
    sum->depth += mass * depth;
    sum->forward += mass * forward;
    sum->inertia_knee += mass * (depth * depth + forward * forward) + own;
}

static sf_MassSum finish(sf_MassSum sum)
{
    if (sum.mass > 0) {
        sum.depth /= sum.mass;
        sum.forward /= sum.mass;
    }
    sum.inertia_centre = sum.inertia_knee - sum.mass * (sum.depth * sum.depth + sum.forward * sum.forward);
    return sum;
}

sf_MassSum sf_mass_sum(const sf_Body *bodies, size_t count)
{
    sf_MassSum sum = { 0 };
    for (size_t i = 0; i < count; i++) {
        const sf_Body *b = &bodies[i];
        add(&sum, b->mass, b->depth, b->forward, b->mass * (b->upright * b->upright + b->level * b->level) / 12);
    }
    return finish(sum);
}

double sf_mass_tube(double density, double area, double length)
{
    return density * area * length;
}

sf_MassSum sf_mass_intact(double body_mass, sf_Sex sex, double shank, double ankle_height, double foot)
{
    const Segment *s = &shank_of[sex], *f = &foot_of[sex];
    sf_MassSum sum = { 0 };
    double m = s->mass * body_mass, r = s->gyration * shank;
    add(&sum, m, s->centre * shank, 0, m * r * r);
    m = f->mass * body_mass;
    r = f->gyration * foot;
    add(&sum, m, shank + ankle_height / 2, (f->centre - HEEL_BEHIND_ANKLE) * foot, m * r * r);
    return finish(sum);
}
