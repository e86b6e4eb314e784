// SPDX-License-Identifier: GPL-3.0-or-later
// One point of the path to collapse: the bent shape under one force. Internal to the collapse solver.
#pragma once

#include "strength/collapse.h"

typedef enum sf_EndCause { SF_END_STRAIN = 0, SF_END_FLATTENING, SF_END_WRINKLING } sf_EndCause;

/// The place nearest to ending the path.
typedef struct sf_PathEnd {
    double used; ///< 1: the path ends here
    sf_EndCause cause;
    size_t station;
    int net; ///< index of the net section, -1: the whole one
    double strain, axial, share;
    sf_Point moment;
} sf_PathEnd;

typedef struct sf_PathPoint {
    double force;   ///< N
    sf_Point slope; ///< of the lower arm against the line between the joints
    double force_scale, slope_scale;
    double along[3]; ///< direction of the path in (slope, force) over their scales, length 1
    double rise;     ///< along[2]: below 0 past the peak
    double residual;
    int turns; ///< of the iteration that found it
    sf_PathEnd end;
    sf_FibreState gross[SF_STATION_MAX], net[SF_HOLE_MAX]; ///< of the sections: first guesses of the next point
    double share[SF_STATION_MAX], torque[SF_STATION_MAX];
    sf_Point tilt[SF_STATION_MAX];   ///< slope of the line against the section
    sf_Point moment[SF_STATION_MAX]; ///< about each section's origin, N m
} sf_PathPoint;

/// The point at a given force. False when it was not found.
bool sf_path_begin(sf_PathPoint *point, const sf_CollapseCase *at, double force);

/// The point a step along the path from `from`.
bool sf_path_step(sf_PathPoint *point, const sf_PathPoint *from, const sf_CollapseCase *at, double step);

/// First order: the point at a force with the pylon straight, from a point that was found before or is all zero. True
/// while it holds (end.used < 1).
bool sf_path_point_straight(sf_PathPoint *point, const sf_CollapseCase *at, double force);
