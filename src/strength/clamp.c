// SPDX-License-Identifier: GPL-3.0-or-later
#include "strength/clamp.h"

#include "base/units.h"

#include <math.h>

static const double nut_factor = 0.2;                // ordinary steel, a torque calculator's page
static const double preload_scatter = 0.30;          // of torque control, from memory
static const double loss_low = 0.4, loss_high = 0.6; // over plastic spacers, from memory

sf_PinLoads sf_pin_loads(double torque, double moment, int count, double diameter, double radius, double wall)
{
    double by_torque = fabs(torque) / (count * radius);
    double loose = hypot(by_torque, 2 * fabs(moment) / (count * radius));
    double bears = diameter * wall, planes = 2 * SF_PI * diameter * diameter / 4;
    return (sf_PinLoads){ by_torque, loose, by_torque / bears, loose / bears, by_torque / planes, loose / planes };
}

double sf_tip_clearance(const sf_ClampScrews *screws)
{
    return 0.5 * screws->rim_inside + screws->rim_wall - screws->length - 0.5 * screws->bolt_head;
}

static double turn_between(double a, double b)
{
    return fabs(remainder(a - b, 2 * SF_PI));
}

sf_HoleDistances sf_hole_distances(const sf_Pylon *pylon, size_t index, double seam)
{
    const sf_BeamHole *hole = &pylon->holes[index];
    double radius = 0.5 * pylon->stations[pylon->hole_station[index]].section.outer_diameter;
    sf_HoleDistances d = { hole->height - pylon->cut, radius * turn_between(hole->angle, seam), NAN,
                           hole->height <= pylon->grip_top };
    for (size_t k = 0; k < pylon->hole_count; k++) {
        if (k == index)
            continue;
        double apart =
            hypot(radius * turn_between(hole->angle, pylon->holes[k].angle), hole->height - pylon->holes[k].height);
        d.to_next = isnan(d.to_next) ? apart : fmin(d.to_next, apart);
    }
    return d;
}

sf_BoltJoint sf_bolt_joint(double torque, double thread, double width, double moment, double axial)
{
    double preload = torque / (nut_factor * thread);
    return (sf_BoltJoint){ .preload = preload,
                           .preload_low = (1 - preload_scatter) * preload,
                           .preload_high = (1 + preload_scatter) * preload,
                           .kept_low = (1 - preload_scatter) * (1 - loss_high) * preload,
                           .kept_high = (1 + preload_scatter) * (1 - loss_low) * preload,
                           .needed = isnan(width) ? NAN : fmax(0, moment / (0.5 * width) - axial) };
}
