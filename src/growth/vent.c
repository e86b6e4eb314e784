// SPDX-License-Identifier: GPL-3.0-or-later
#include "growth/vent.h"

#include "base/units.h"

#include <math.h>

static const double AIR_DENSITY = 1.2; ///< kg/m^3 at 20 C and sea level
static const double DISCHARGE = 0.6;   ///< sharp-edged orifice

double sf_vent_diameter(double volume, double time, double speed)
{
    return sqrt(4 * SF_VENT_PEAK_OVER_MEAN * volume / time / (SF_PI * speed));
}

double sf_vent_drill(double diameter)
{
    double drill = ceil(diameter / SF_VENT_DRILL_STEP - 1e-9) * SF_VENT_DRILL_STEP;
    return fmin(fmax(drill, SF_VENT_SMALLEST), SF_VENT_LARGEST);
}

double sf_vent_speed(double volume, double time, double diameter)
{
    return SF_VENT_PEAK_OVER_MEAN * volume / time / (SF_PI / 4 * diameter * diameter);
}

double sf_vent_pressure(double speed)
{
    return AIR_DENSITY / 2 * (speed / DISCHARGE) * (speed / DISCHARGE);
}

double sf_vent_area_share(double diameter, double outer_diameter, double inner_diameter)
{
    double wall = (outer_diameter - inner_diameter) / 2;
    return diameter * wall / (SF_PI / 4 * (outer_diameter * outer_diameter - inner_diameter * inner_diameter));
}

double sf_vent_moment_share(double diameter, double outer_diameter, double inner_diameter)
{
    double wall = (outer_diameter - inner_diameter) / 2, middle = (outer_diameter + inner_diameter) / 4;
    double moment = SF_PI / 64 * (pow(outer_diameter, 4) - pow(inner_diameter, 4));
    return diameter * wall * middle * middle / moment;
}
