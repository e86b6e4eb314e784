// SPDX-License-Identifier: GPL-3.0-or-later
// Stress at a drilled hole in a tube, by Peterson's factors (docs/theory/strength.md).
#pragma once

#include <stdbool.h>

/// Factors on the gross section's stress for a hole right through a tube.
typedef struct sf_HoleFactors {
    double tension, bending, torsion;                ///< as published
    double tension_used, bending_used, torsion_used; ///< greatest value up to this hole's size: never falls with it
    bool valid; ///< hole <= 0.4 of the outer diameter, bore <= 0.9 of it (0.8 for torsion)
} sf_HoleFactors;

/// Peterson's curve fits for hole diameter / outer diameter and bore / outer diameter. Sizes in any one unit.
sf_HoleFactors sf_hole_factors(double hole, double outer, double bore);

/// Stress at the hole's edge from axial and bending stress (signed) and shear stress of the gross section beside it:
/// exact sum for a small hole in a plate, with the tube's factors in place of 3 and 4. Never negative.
double sf_hole_edge_stress(const sf_HoleFactors *factors, double axial, double bending, double shear);
