// SPDX-License-Identifier: GPL-3.0-or-later
// Everything measured on one ring, with how well it is known: the section, the wall map, the fit, and for each figure
// the half width of its 95 % interval, apart for the edges and for the scale. SI throughout.
#pragma once

#include "section/properties.h"
#include "section/ring_fit.h"
#include "section/wall.h"

/// Half widths at 95 %. NaN where the figure itself does not exist.
typedef struct sf_Doubt {
    double edge;  ///< from the places of the edges
    double scale; ///< from the scale, common to all lengths of a picture
} sf_Doubt;

typedef struct sf_RingDoubt {
    sf_Doubt area, centroid_x, centroid_y, ix, iy, ixy, i_max, i_min, principal_angle;
    sf_Doubt torsion_constant; ///< relative (share of the constant), as the constant is computed elsewhere
    sf_Doubt shear_centre_x, shear_centre_y;
    sf_Doubt wall_min, wall_median, wall_max, wall_min_off_seam, wall_at_seam;
    sf_Doubt outer_diameter_mean, inner_diameter_mean, ovality, inscribed_diameter, circumscribed_diameter;
    sf_Doubt groove_depth, groove_share, seam_angle, unjoined_depth, unjoined_share, ligament, void_area;
    double groove_missed; ///< depth that a groove may have beyond what readings this far apart show, m; 0 for a picture
} sf_RingDoubt;

typedef struct sf_RingMeasure {
    sf_Section section;
    sf_WallMap wall;
    sf_RingFit fit;
    sf_RingDoubt doubt;
    double principal_angle;    ///< NaN when i_max - i_min is below its uncertainty (section.principal_angle stays raw)
    double i_difference_doubt; ///< 95 % half width (edge) of i_max - i_min, m^4
} sf_RingMeasure;

/// Measures a checked outline. `given_seam` as for sf_wall_map(). SF_E_GEOMETRY, SF_E_MEMORY.
sf_Status sf_ring_measure(sf_RingMeasure *measure, const sf_Outline *outline, double given_seam,
                          sf_Error *err) SF_MUST_USE;
