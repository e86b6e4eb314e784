// SPDX-License-Identifier: GPL-3.0-or-later
// What is known of one ring: its two edges, its voids, its unjoined line, and how well the edges are known.
// Made by `image` or by caliper readings, consumed by `section` and `draw`. Picture frame: x right, y up. Lengths in m.
#pragma once

#include "geom/polygon.h"

enum { SF_OUTLINE_MAX_VOIDS = 64 };

/// How far the edges may be off. All one standard deviation; the parts are independent of each other.
typedef struct sf_EdgeDoubt {
    double bias_outer;  ///< shift outward common to the whole outer edge, m
    double bias_inner;  ///< shift outward common to the whole inner edge, m
    double bias_both;   ///< shift outward common to both edges alike (leaves the wall as it is), m
    double place;       ///< shift of the whole ring along x, and along y, m (leaves all but the centroid as it is)
    double random;      ///< error of a single edge point, m
    double correlation; ///< length along the edge over which that error stays alike, m
    double spacing;     ///< greatest gap between readings along the bore, m; 0 where the whole edge was seen
    double line_end;    ///< place of the unjoined line's end, m
    double scale;       ///< relative error of all lengths
} sf_EdgeDoubt;

/// The unjoined line: edges of the sheet that met and did not fuse. Of no width; from the inner edge outward.
typedef struct sf_UnjoinedLine {
    bool present;
    bool through;   ///< it reaches, or cannot be told from reaching, the outer edge
    sf_Point start; ///< at the inner edge
    sf_Point end;   ///< its tip inside the wall, or the place on the outer edge
} sf_UnjoinedLine;

typedef struct sf_Outline {
    sf_Polygon outer, inner;                ///< both counter-clockwise, inner wholly within outer
    sf_Polygon voids[SF_OUTLINE_MAX_VOIDS]; ///< counter-clockwise, wholly within the wall
    size_t void_count;
    sf_UnjoinedLine line;
    bool line_searched; ///< false: only outlines were given, nothing is known of a line or of voids
    sf_EdgeDoubt doubt;
} sf_Outline;

/// Frees both outlines and all voids; safe to call twice.
void sf_outline_free(sf_Outline *outline);

/// A deep copy. SF_E_MEMORY; *out is empty on failure.
sf_Status sf_outline_copy(sf_Outline *out, const sf_Outline *outline, sf_Error *err) SF_MUST_USE;

/// Turns all polygons counter-clockwise and checks that each has at least 3 points and does not cross itself, that the
/// inner lies within the outer, and that every void lies within the wall. SF_E_GEOMETRY says which and where (mm).
sf_Status sf_outline_check(sf_Outline *outline, sf_Error *err) SF_MUST_USE;

/// The same for one void against outer and inner outlines that were checked: a plain curve wholly within the wall.
/// SF_E_GEOMETRY, SF_E_MEMORY.
sf_Status sf_outline_check_void(const sf_Outline *outline, sf_Polygon *hollow, sf_Error *err) SF_MUST_USE;
