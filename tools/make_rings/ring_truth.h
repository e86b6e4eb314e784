// SPDX-License-Identifier: GPL-3.0-or-later
// What a perfect measurement of a scene would find, by quadrature of the formulas.
#pragma once

#include "base/doc.h"
#include "ring_scene.h"

enum { SF_TRUTH_STATIONS = 720 };

typedef struct sf_Truth {
    double area_mm2, centroid_mm[2], ix_mm4, iy_mm4, ixy_mm4, i_max_mm4, i_min_mm4, principal_deg;
    double torsion_constant_mm4; ///< NaN unless a closed form holds
    double outer_diameter_mean_mm, inner_diameter_mean_mm, ovality_percent, inscribed_diameter_mm,
        circumscribed_diameter_mm;
    double wall_min_mm, wall_median_mm, wall_max_mm, wall_min_off_seam_mm;
    double wall_at_seam_mm; ///< least within 12 degrees of the seam; NaN without a seam
    double groove_depth_mm, seam_direction_deg, seam_unjoined_depth_mm; ///< direction NaN without a seam
    double void_area_mm2;
    double quadrature_error; ///< largest relative change of area and second moments when the step is halved
} sf_Truth;

/// Works the truth out. SF_E_GEOMETRY when the curves cross or a void leaves the wall, SF_E_INACCURATE when the
/// quadrature has not settled to 1e-8.
sf_Status sf_truth_find(const sf_Scene *scene, sf_Truth *truth, sf_Error *err) SF_MUST_USE;

/// The truth as a JSON object with the picture's name and what kind of picture it is.
sf_Json *sf_truth_json(const sf_Scene *scene, const sf_Truth *truth);
