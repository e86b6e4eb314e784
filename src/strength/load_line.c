// SPDX-License-Identifier: GPL-3.0-or-later
#include "strength/load_line.h"

#include "base/units.h"

#include <math.h>

static const double axis_rise_min = 50 * SF_MM; // below it no shank is left to speak of
static const double axis_lean_max = 60 * SF_DEG;

sf_LineCentres sf_line_centres_standard(const sf_LevelHeights *heights)
{
    return (sf_LineCentres){ { 0, 0, heights->ankle }, { 0, 0, heights->knee } };
}

static sf_Vector unit(sf_Vector a)
{
    return sf_vector_scale(a, 1 / sf_vector_length(a));
}

// The point of the standard's plane through a centre: offsets along forward and outward square to the axis.
static sf_Vector offset_point(sf_Vector centre, sf_Vector outward, sf_Vector forward, double o, double f)
{
    return sf_vector_add(centre, sf_vector_add(sf_vector_scale(outward, o), sf_vector_scale(forward, f)));
}

sf_Status sf_load_line_lay(sf_LoadLine *line, const sf_LineCentres *centres, const sf_LoadCondition *condition,
                           const sf_LevelHeights *heights, double scale, sf_Error *err)
{
    sf_Vector axis = sf_vector_sub(centres->knee, centres->ankle);
    if (!(axis.z >= axis_rise_min) || hypot(axis.x, axis.y) > axis.z * tan(axis_lean_max))
        return SF_FAIL(
            err, SF_E_RANGE, "socket",
            "the knee centre lies %.0f mm above the ankle centre and %.0f mm beside it, which is no shank: check "
            "socket height, flexion, adduction, knee height and stature",
            axis.z / SF_MM, hypot(axis.x, axis.y) / SF_MM);
    sf_Vector up = unit(axis), y = { 0, 1, 0 };
    sf_Vector forward = unit(sf_vector_sub(y, sf_vector_scale(up, sf_vector_dot(y, up))));
    sf_Vector outward = sf_vector_cross(forward, up);
    sf_Vector low = offset_point(centres->ankle, outward, forward, scale * condition->outward.ankle,
                                 scale * condition->forward.ankle);
    sf_Vector high =
        offset_point(centres->knee, outward, forward, scale * condition->outward.knee, scale * condition->forward.knee);
    sf_Vector run = sf_vector_sub(high, low);
    line->slope = (sf_Point){ run.x / run.z, run.y / run.z };
    line->at_floor = (sf_Point){ low.x - line->slope.x * low.z, low.y - line->slope.y * low.z };
    line->length_factor = sqrt(1 + sf_point_dot(line->slope, line->slope));
    double span = heights->knee - heights->ankle;
    line->lower_joint = low.z - (heights->ankle - heights->bottom) / span * run.z;
    line->upper_joint = low.z + (heights->top - heights->ankle) / span * run.z;
    return SF_OK;
}

sf_Point sf_load_line_at(const sf_LoadLine *line, double z)
{
    return sf_point_add(line->at_floor, sf_point_scale(line->slope, z));
}
