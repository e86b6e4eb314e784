// SPDX-License-Identifier: GPL-3.0-or-later
// Circles and widths that just hold, or are just held by, a closed outline. Lengths in m.
#pragma once

#include "geom/polygon.h"

typedef struct sf_Circle {
    sf_Point centre;
    double radius;
} sf_Circle;

/// Least circle that holds the whole polygon (Welzl's incremental method over the hull's corners). SF_E_MEMORY.
sf_Status sf_circle_around(sf_Circle *circle, const sf_Polygon *polygon, sf_Error *err) SF_MUST_USE;

/// Largest circle that lies inside the polygon: sequential linear programming, which never makes it smaller, from the
/// best place of a coarse grid; exact to 1e-9 of the size for a bore of one pocket. SF_E_MEMORY, SF_E_GEOMETRY when no
/// place inside is found.
sf_Status sf_circle_within(sf_Circle *circle, const sf_Polygon *polygon, sf_Error *err) SF_MUST_USE;

/// Least and largest distance between parallel jaws that touch the polygon from outside, and the direction (rad, in
/// [0, pi)) across the jaws for each. Exact, by walking round the convex hull.
typedef struct sf_CaliperWidth {
    double least, largest;
    double least_angle, largest_angle;
} sf_CaliperWidth;

/// SF_E_MEMORY, SF_E_GEOMETRY when the polygon has no extent.
sf_Status sf_caliper_width(sf_CaliperWidth *width, const sf_Polygon *polygon, sf_Error *err) SF_MUST_USE;
