// SPDX-License-Identifier: GPL-3.0-or-later
// Closed polygons: the last point joins the first. Lengths in m.
#pragma once

#include "base/status.h"
#include "geom/point.h"

#include <stdbool.h>
#include <stddef.h>

enum { SF_POLYGON_MIN_POINTS = 3, SF_POLYGON_MAX_POINTS = 100000 };

typedef struct sf_Polygon {
    sf_Point *points; ///< owned
    size_t count;
} sf_Polygon;

/// Area, first and second moments about the origin by Green's theorem; exact for the polygon. Signed: positive for
/// counter-clockwise points. ixx = int y^2 dA, iyy = int x^2 dA, ixy = int xy dA (m^4).
typedef struct sf_Moments {
    double area, sx, sy; ///< sx = int x dA, sy = int y dA (m^3)
    double ixx, iyy, ixy;
} sf_Moments;

/// Room for `count` points, all zero. SF_E_MEMORY.
sf_Status sf_polygon_create(sf_Polygon *polygon, size_t count, sf_Error *err) SF_MUST_USE;

/// Frees and empties; safe to call twice.
void sf_polygon_free(sf_Polygon *polygon);

/// A deep copy. SF_E_MEMORY.
sf_Status sf_polygon_copy(sf_Polygon *out, const sf_Polygon *polygon, sf_Error *err) SF_MUST_USE;

/// Turns the order of the points round.
void sf_polygon_reverse(sf_Polygon *polygon);

sf_Moments sf_polygon_moments(const sf_Polygon *polygon);
double sf_polygon_area(const sf_Polygon *polygon); ///< signed
sf_Point sf_polygon_centroid(const sf_Polygon *polygon);
double sf_polygon_perimeter(const sf_Polygon *polygon);

/// Whether the point lies inside (even-odd rule; on an edge: either answer).
bool sf_polygon_contains(const sf_Polygon *polygon, sf_Point point);

/// Shortest distance from the point to the polygon's line, and (NULL allowed) the nearest place and its edge's index.
double sf_polygon_distance(const sf_Polygon *polygon, sf_Point point, sf_Point *nearest, size_t *edge);

/// Whether two edges that are no neighbours touch or cross; sets *where (NULL allowed). Bucket grid, about n log n.
/// SF_E_MEMORY.
sf_Status sf_polygon_crosses_itself(const sf_Polygon *polygon, bool *crosses, sf_Point *where,
                                    sf_Error *err) SF_MUST_USE;

/// Whether any edge of a touches any edge of b. SF_E_MEMORY.
sf_Status sf_polygon_crosses(const sf_Polygon *a, const sf_Polygon *b, bool *crosses, sf_Error *err) SF_MUST_USE;

/// Where the ray from `origin` in direction `angle` (rad) leaves or enters the polygon farthest out: distance in m, or
/// NaN when it never does.
double sf_polygon_ray_last(const sf_Polygon *polygon, sf_Point origin, double angle);
