// SPDX-License-Identifier: GPL-3.0-or-later
// Section properties of a ring from its outlines: exact integrals over the polygons. Lengths in m.
// Bending figures are net of voids; the unjoined line has no width and takes nothing off them.
#pragma once

#include "geom/outline.h"

typedef struct sf_Section {
    double area;       ///< net of voids, m^2
    sf_Point centroid; ///< net of voids, in the outline's own frame, m
    double ix, iy;     ///< int y^2 dA, int x^2 dA about the centroid, axes along the frame's, m^4
    double ixy;        ///< +int xy dA about the centroid, m^4
    double i_max, i_min;
    double principal_angle;          ///< of the axis about which I is largest, from +x, in [0, pi), rad
    double elastic_max, elastic_min; ///< I over the farthest fibre, about the axis of i_max and of i_min, m^3
    double plastic_max, plastic_min; ///< int |distance to the line that halves the area| dA, same two axes, m^3
    double outer_diameter_mean;      ///< sqrt(4 A / pi) of the outer outline, m
    double inner_diameter_mean;      ///< same of the inner outline; voids and line ignored
    double void_area;                ///< m^2
    double outer_perimeter, inner_perimeter;
    double enclosed_outer, enclosed_inner; ///< areas enclosed by the two outlines, m^2
} sf_Section;

/// Computes all of the above by Green's theorem. `outline` must have passed sf_outline_check(). SF_E_GEOMETRY when
/// there is no area.
sf_Status sf_section_compute(sf_Section *section, const sf_Outline *outline, sf_Error *err) SF_MUST_USE;

/// Stress per unit moment at a point (1/m^3): sigma = factor x moment for a moment vector of direction `moment_angle`
/// (rad, from +x; right-hand rule, so a moment along +x pulls at +y), by unsymmetric bending about the centroid.
double sf_section_bending_factor(const sf_Section *section, sf_Point point, double moment_angle);

/// Moment over largest absolute stress of the real outline for a moment vector of direction `moment_angle`, m^3;
/// *where (NULL allowed) becomes the most stressed point.
double sf_section_elastic_modulus(const sf_Section *section, const sf_Outline *outline, double moment_angle,
                                  sf_Point *where);

/// Plastic modulus for a neutral axis parallel to `axis_angle` (rad): the axis that halves the area, m^3.
double sf_section_plastic_modulus(const sf_Outline *outline, double axis_angle);

/// Second moment about the centroidal axis of direction `axis_angle`, m^4.
double sf_section_second_moment(const sf_Section *section, double axis_angle);
