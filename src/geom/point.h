// SPDX-License-Identifier: GPL-3.0-or-later
// Points and vectors in the plane; lengths in m.
#pragma once

#include <math.h>

typedef struct sf_Point {
    double x, y;
} sf_Point;

static inline sf_Point sf_point_add(sf_Point a, sf_Point b)
{
    return (sf_Point){ a.x + b.x, a.y + b.y };
}

static inline sf_Point sf_point_sub(sf_Point a, sf_Point b)
{
    return (sf_Point){ a.x - b.x, a.y - b.y };
}

static inline sf_Point sf_point_scale(sf_Point a, double s)
{
    return (sf_Point){ a.x * s, a.y * s };
}

static inline double sf_point_dot(sf_Point a, sf_Point b)
{
    return a.x * b.x + a.y * b.y;
}

/// z of the cross product: positive when b lies counter-clockwise of a.
static inline double sf_point_cross(sf_Point a, sf_Point b)
{
    return a.x * b.y - a.y * b.x;
}

static inline double sf_point_length(sf_Point a)
{
    return hypot(a.x, a.y);
}

static inline double sf_point_distance(sf_Point a, sf_Point b)
{
    return hypot(a.x - b.x, a.y - b.y);
}
