// SPDX-License-Identifier: GPL-3.0-or-later
// Rings of known shape for the tests of `section`: points laid exactly on the curve, so that a polygon of n points has
// a known share of the curve's area. All geometry is invented.
#pragma once

#include "base/units.h"
#include "geom/outline.h"

#include <math.h>

/// Share of an ellipse's area that its inscribed polygon with equal steps of the eccentric angle holds: closed form.
static inline double shape_polygon_share(size_t n)
{
    return (double)n / (2 * SF_PI) * sin(2 * SF_PI / (double)n);
}

/// Points of an ellipse with semi-axes a, b, turned by `turn`.
static inline void shape_ellipse(sf_Polygon *polygon, size_t n, sf_Point centre, double a, double b, double turn)
{
    if (sf_polygon_create(polygon, n, NULL) != SF_OK)
        return;
    for (size_t i = 0; i < n; i++) {
        double t = 2 * SF_PI * (double)i / (double)n, x = a * cos(t), y = b * sin(t);
        polygon->points[i] =
            (sf_Point){ centre.x + x * cos(turn) - y * sin(turn), centre.y + x * sin(turn) + y * cos(turn) };
    }
}

/// A circle made so that its polygon has exactly the circle's area.
static inline void shape_circle(sf_Polygon *polygon, size_t n, sf_Point centre, double radius)
{
    double r = radius / sqrt(shape_polygon_share(n));
    shape_ellipse(polygon, n, centre, r, r, 0);
}

/// A rectangle, counter-clockwise, centred, turned.
static inline void shape_rectangle(sf_Polygon *polygon, sf_Point centre, double wide, double high, double turn)
{
    if (sf_polygon_create(polygon, 4, NULL) != SF_OK)
        return;
    const double sx[4] = { -0.5, 0.5, 0.5, -0.5 }, sy[4] = { -0.5, -0.5, 0.5, 0.5 };
    for (size_t i = 0; i < 4; i++) {
        double x = sx[i] * wide, y = sy[i] * high;
        polygon->points[i] =
            (sf_Point){ centre.x + x * cos(turn) - y * sin(turn), centre.y + x * sin(turn) + y * cos(turn) };
    }
}

/// A dip of the wall: gaussian in the angle about the centre, half as deep at `half_width` from `angle`.
typedef struct ShapeGroove {
    double angle, depth, half_width; // rad, m, rad
} ShapeGroove;

/// A ring with the outer circle about the origin, the bore about `offset`, the wall waved (amplitude per harmonic 1..6
/// of the angle) and one groove on the inner side.
typedef struct ShapeRing {
    double outer, wall;    // radius, mean wall
    sf_Point offset;       // of the bore's centre
    double wave[7], phase; // wave[h] cos(h (angle - phase)) is added to the wall
    ShapeGroove groove;
    sf_Point centre; // where the ring lies in the frame
    size_t points;   // per curve
} ShapeRing;

static inline double shape_angle_between(double a, double b)
{
    return remainder(a - b, 2 * SF_PI);
}

static inline double shape_bore_radius(const ShapeRing *ring, double t)
{
    double wall = ring->wall;
    for (int h = 1; h < 7; h++)
        wall += ring->wave[h] * cos(h * (t - ring->phase));
    if (ring->groove.depth > 0) {
        double u = shape_angle_between(t, ring->groove.angle) / ring->groove.half_width;
        wall -= ring->groove.depth * exp2(-u * u);
    }
    return ring->outer - wall;
}

static inline void shape_ring(sf_Outline *outline, const ShapeRing *ring)
{
    *outline = (sf_Outline){ .line_searched = true };
    if (sf_polygon_create(&outline->outer, ring->points, NULL) != SF_OK ||
        sf_polygon_create(&outline->inner, ring->points, NULL) != SF_OK)
        return;
    for (size_t i = 0; i < ring->points; i++) {
        double t = 2 * SF_PI * (double)i / (double)ring->points, r = shape_bore_radius(ring, t);
        sf_Point u = { cos(t), sin(t) };
        outline->outer.points[i] = sf_point_add(ring->centre, sf_point_scale(u, ring->outer));
        outline->inner.points[i] = sf_point_add(sf_point_add(ring->centre, ring->offset), sf_point_scale(u, r));
    }
}
