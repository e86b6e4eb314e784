// SPDX-License-Identifier: GPL-3.0-or-later
// The wall all round a ring, and its seam. Lengths in m, angles in rad, counter-clockwise from +x of the outline's
// frame.
#pragma once

#include "geom/outline.h"

enum { SF_WALL_STATIONS = 720 };

/// Where the seam's direction comes from, or why there is none.
typedef enum sf_SeamOrigin {
    SF_SEAM_GROOVE,          ///< a groove was found
    SF_SEAM_LINE,            ///< an unjoined line was found (no groove there, or the line stands elsewhere)
    SF_SEAM_GIVEN,           ///< nothing was found; the caller's direction is used
    SF_SEAM_NONE_FOUND,      ///< searched, nothing found, nothing given: direction is NaN
    SF_SEAM_NOT_SEARCHED,    ///< edges known at too few places to see a groove, nothing given: direction is NaN
    SF_SEAM_GIVEN_UNSEARCHED ///< as before, but the caller gave a direction
} sf_SeamOrigin;

typedef struct sf_WallMap {
    sf_Point origin;                  ///< centroid of the inner outline
    sf_Point inner[SF_WALL_STATIONS]; ///< station k: where the ray at k/2 degrees from `origin` meets the inner outline
    sf_Point outer[SF_WALL_STATIONS]; ///< the outer outline's nearest point to it
    double wall[SF_WALL_STATIONS];    ///< distance between the two
    double min, median, max;
    size_t min_station, max_station;
    double off_seam_min; ///< least wall outside 12 degrees either side of the seam; = min when none found
    size_t off_seam_station;
    double eccentricity; ///< amplitude of the wall's first harmonic, the groove left out
    double thick_angle;  ///< where that harmonic is thickest, [0, 2 pi)
    sf_SeamOrigin seam_origin;
    double seam_angle;   ///< [0, 2 pi), or NaN
    double wall_at_seam; ///< least wall within 12 degrees of the seam; NaN without a seam direction
    size_t at_seam_station;
    double groove_depth;     ///< median wall 15-40 degrees either side minus wall_at_seam, not below 0; 0 when
                             ///< none found, NaN when not searched
    double groove_threshold; ///< depth from which a groove counted here
    double beside_seam;      ///< that median wall beside the seam; NaN without a seam direction
    double groove_share;     ///< groove_depth over beside_seam; 0 when none found, NaN when not searched
    double groove_width;     ///< angle over which the dip is deeper than half its depth; 0 without a groove
    bool line_searched;      ///< false: unjoined figures are NaN
    double unjoined_depth;   ///< length of the unjoined line from the inner edge, 0 when searched and none found
    double unjoined_share;   ///< of the wall there; 1 when through
    double ligament;         ///< sound wall left between the line's end and the outer edge; NaN without a line
    bool unjoined_through;   ///< ligament under 0.3 mm or under its uncertainty, or seen to reach through
} sf_WallMap;

/// Maps the wall and looks for the seam. `given_seam` (rad, NaN when none) is used only when nothing is found.
/// `outline` must have passed sf_outline_check(). SF_E_GEOMETRY when the bore's centroid lies outside the bore,
/// SF_E_MEMORY.
sf_Status sf_wall_map(sf_WallMap *map, const sf_Outline *outline, double given_seam, sf_Error *err) SF_MUST_USE;

/// One plain sentence on where the direction comes from or why it is missing.
const char *sf_seam_origin_text(sf_SeamOrigin origin);
