// SPDX-License-Identifier: GPL-3.0-or-later
// Where a level's force runs through one limb (docs/theory/load-line.md). Vectors are x = outward, y = forward,
// z = up in the pylon's limb frame, the same for both sides.
#pragma once

#include "geom/point.h"
#include "geom/transform.h"
#include "material/load_level.h"

/// A straight line that climbs: (outward, forward) = at_floor + slope z.
typedef struct sf_LoadLine {
    sf_Point at_floor, slope;
    double length_factor;            ///< sqrt(1 + |slope|^2)
    double lower_joint, upper_joint; ///< heights z of the two ball joints
} sf_LoadLine;

/// Where the standard's axis lies.
typedef struct sf_LineCentres {
    sf_Vector ankle, knee;
} sf_LineCentres;

/// The standard's own axis: ankle and knee at their tabulated heights above the origin.
sf_LineCentres sf_line_centres_standard(const sf_LevelHeights *heights);

/// The line of a condition through its ankle and knee offsets, each times `scale`, set square to the axis through the
/// centres with forward kept as near to y as can be. SF_E_RANGE when the knee does not lie at least 50 mm above the
/// ankle or the axis leans more than 60 degrees.
sf_Status sf_load_line_lay(sf_LoadLine *line, const sf_LineCentres *centres, const sf_LoadCondition *condition,
                           const sf_LevelHeights *heights, double scale, sf_Error *err) SF_MUST_USE;

/// Where the line crosses the height z.
sf_Point sf_load_line_at(const sf_LoadLine *line, double z);
