// SPDX-License-Identifier: GPL-3.0-or-later
// A ring squeezed across a diameter, as a thick curved beam of varying wall (docs/theory/squeeze.md). SI; angles in the
// outline's frame, rad. Everything is for one newton and, where it depends on stiffness, for a modulus of 1 Pa.
#pragma once

#include "geom/outline.h"

/// How the ring is pressed and what it is made of.
typedef struct sf_SqueezeSetup {
    double load_angle;   ///< direction of the load line through the bore's centre
    double seam_angle;   ///< where the seam lies
    double axial_length; ///< of the ring, along the pylon's axis
    double poisson_ratio;
} sf_SqueezeSetup;

/// A place on one of the two edges.
typedef struct sf_SqueezePlace {
    double angle;
    bool inner;
    double stress; ///< hoop stress per newton, tension positive, 1/m^2
} sf_SqueezePlace;

typedef struct sf_RingSqueeze {
    double compliance;             ///< closing x modulus / load, 1/m
    double seam_inner, seam_outer; ///< hoop stress at the seam's two edges per newton, on the whole wall there, tension
                                   ///< positive, 1/m^2
    double wall_at_seam;           ///< that wall, m
    bool line_open;                ///< an unjoined line lies there and the load pulls it open
    double ligament, ligament_stress;   ///< what an open line leaves of the wall, and the stress on it per newton; NaN
                                        ///< without one
    bool slit;                          ///< the line goes through the wall: nothing is held, all figures NaN
    sf_SqueezePlace peak;               ///< largest tension anywhere
    double mean_radius, mean_wall;      ///< of the whole ring
    double load_moment, quarter_moment; ///< straightening moment under the load and a quarter turn on, per newton, m
    double loads_closed;                ///< out-of-balance of the three closing conditions, relative: the residual
} sf_RingSqueeze;

/// Hoop stress at the seam on the edge that is pulled: the inner one under the load line, the outer one at 90 degrees.
/// *inner (NULL allowed) says which.
double sf_ring_squeeze_tension(const sf_RingSqueeze *squeeze, bool *inner);

/// Solves a checked outline. Curved-beam energy (bending, normal force, their coupling, shear with factor 6/5) over the
/// radial sections as they are, three closing conditions, closing by Castigliano. Voids are not taken off. SF_E_RANGE
/// when a length or Poisson's ratio has no meaning, SF_E_GEOMETRY when an edge is not seen from the bore's centre,
/// SF_E_SINGULAR.
sf_Status sf_ring_squeeze_solve(sf_RingSqueeze *squeeze, const sf_Outline *outline, const sf_SqueezeSetup *setup,
                                sf_Error *err) SF_MUST_USE;

/// How much stiffer than a narrow strip a ring of this length is, as it may not spread across (1 for a narrow one, 1 /
/// (1 - nu^2) for a long one): Ashwell's factor for the anticlastic bending of a strip of radius `radius`.
double sf_ring_squeeze_width_factor(double axial_length, double radius, double wall, double poisson_ratio);
