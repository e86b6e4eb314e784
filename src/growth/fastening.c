// SPDX-License-Identifier: GPL-3.0-or-later
#include "growth/fastening.h"

#include "base/units.h"

#include <math.h>

static const double SCAN = SF_DEG;
/// Wall that stays between the waste and the rim of a sawn-off hole, m (judgement: the saw's own error).
static const double SAW_CLEARANCE = 0.002;

sf_Preload sf_fasten_preload(double torque, double diameter)
{
    return (sf_Preload){ torque / (SF_TORQUE_FACTOR * diameter), torque / (SF_TORQUE_FACTOR_HIGH * diameter),
                         torque / (SF_TORQUE_FACTOR_LOW * diameter) };
}

double sf_fasten_thread_strength(double diameter, double length, double shear_strength)
{
    return SF_THREAD_SHEAR_SHARE * SF_PI * SF_PITCH_DIAMETER_SHARE * diameter * length * shear_strength;
}

double sf_fasten_tip_pressure(double force, double diameter)
{
    return force / (SF_PI / 4 * diameter * diameter);
}

double sf_fasten_band_slip(double force, double radius, double friction)
{
    return 2 * SF_PI * friction * force * radius;
}

/// The shorter way round, rad, 0 to pi.
static double apart(double a, double b)
{
    return fabs(remainder(a - b, 2 * SF_PI));
}

static double hole_distance(const sf_FastenZone *zone, double angle, double height, const sf_FastenHole *hole)
{
    return hypot(zone->radius * apart(angle, hole->angle), height - hole->height);
}

sf_HoleDistances sf_fasten_distances(const sf_FastenZone *zone, const sf_FastenHole *holes, size_t count, size_t i)
{
    const sf_FastenHole *hole = &holes[i];
    sf_HoleDistances d = { .edge = hole->height - zone->cut_height,
                           .seam = zone->radius * apart(hole->angle, zone->seam_angle),
                           .nearest = NAN,
                           .nearest_hole = count,
                           .edge_limit = SF_HOLE_EDGE_DIAMETERS * hole->diameter,
                           .seam_limit = SF_HOLE_SEAM_DIAMETERS * hole->diameter,
                           .spacing_limit = SF_HOLE_SPACING_DIAMETERS * hole->diameter };
    for (size_t j = 0; j < count; j++) {
        double distance = hole_distance(zone, hole->angle, hole->height, &holes[j]);
        if (j == i || distance >= (isnan(d.nearest) ? INFINITY : d.nearest))
            continue;
        d.nearest = distance;
        d.nearest_hole = j;
        d.spacing_limit = SF_HOLE_SPACING_DIAMETERS * fmax(hole->diameter, holes[j].diameter);
    }
    return d;
}

double sf_fasten_slack(const sf_FastenZone *zone, const sf_FastenHole *holes, size_t count, const double *angles,
                       size_t n, double height, double diameter)
{
    double slack = height - zone->cut_height - SF_HOLE_EDGE_DIAMETERS * diameter;
    for (size_t i = 0; i < n; i++) {
        if (isfinite(zone->seam_angle))
            slack = fmin(slack, zone->radius * apart(angles[i], zone->seam_angle) - SF_HOLE_SEAM_DIAMETERS * diameter);
        for (size_t j = 0; j < count; j++)
            slack = fmin(slack, hole_distance(zone, angles[i], height, &holes[j]) -
                                    SF_HOLE_SPACING_DIAMETERS * fmax(diameter, holes[j].diameter));
        for (size_t j = 0; j < i; j++)
            slack = fmin(slack, zone->radius * apart(angles[i], angles[j]) - SF_HOLE_SPACING_DIAMETERS * diameter);
    }
    return slack;
}

double sf_fasten_place(const sf_FastenZone *zone, const sf_FastenHole *holes, size_t count, size_t n, double diameter,
                       double *angles, double *height)
{
    double best = -INFINITY, best_start = 0;
    *height = zone->cut_height + fmax(SF_HOLE_EDGE_DIAMETERS * diameter, zone->depth / 2);
    for (int step = 0; step < 360; step++) {
        for (size_t i = 0; i < n; i++)
            angles[i] = step * SCAN + 2 * SF_PI * (double)i / (double)n;
        // The edge's slack is the same all round and must not hide which turn is the best.
        sf_FastenZone deep = *zone;
        deep.cut_height = -INFINITY;
        double slack = sf_fasten_slack(&deep, holes, count, angles, n, *height, diameter);
        if (slack > best + 1e-9) {
            best = slack;
            best_start = step * SCAN;
        }
    }
    for (size_t i = 0; i < n; i++)
        angles[i] = fmod(best_start + 2 * SF_PI * (double)i / (double)n, 2 * SF_PI);
    return sf_fasten_slack(zone, holes, count, angles, n, *height, diameter);
}

double sf_fasten_least_turn(const sf_FastenZone *zone, const sf_FastenHole *holes, size_t count, int sense)
{
    // After the turn every hole there is now, screwed or not, is an old hole.
    for (int step = 1; step <= 180; step++) {
        double turn = sense * step * SCAN, slack = INFINITY;
        size_t screws = 0;
        for (size_t i = 0; i < count; i++) {
            if (holes[i].old)
                continue;
            double angle = holes[i].angle + turn;
            slack = fmin(slack, sf_fasten_slack(zone, holes, count, &angle, 1, holes[i].height, holes[i].diameter));
            screws++;
        }
        if (screws > 0 && slack >= 0)
            return turn;
    }
    return NAN;
}

sf_FastenRecut sf_fasten_recut(const sf_FastenZone *zone, const sf_FastenHole *holes, size_t count)
{
    double removed = 0;
    bool more = true;
    while (more) { // each pass takes the holes of the grip as it is now; a higher cut brings the grip up to others
        double grip_end = zone->cut_height + removed + zone->depth, need = removed;
        for (size_t i = 0; i < count; i++)
            if (holes[i].height - holes[i].diameter / 2 < grip_end)
                need = fmax(need, holes[i].height + holes[i].diameter / 2 + SAW_CLEARANCE - zone->cut_height);
        more = need > removed;
        removed = need;
    }
    return (sf_FastenRecut){ removed, zone->top_height - (zone->cut_height + removed) - zone->depth };
}
