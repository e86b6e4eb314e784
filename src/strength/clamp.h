// SPDX-License-Identifier: GPL-3.0-or-later
// The clamp zone by hand: pins through the wall, distances, foot bolt (docs/theory/strength.md). SI; NaN where an input
// is not known.
#pragma once

#include "strength/beam.h"

/// What is known of the clamp's through-screws. NaN or 0 where not known.
typedef struct sf_ClampScrews {
    double diameter, length;
    int count;         ///< of screws, 0 when not known
    double rim_inside; ///< inside diameter of the outer rim
    double rim_wall;
    double bolt_head; ///< diameter of the foot bolt's head, in the middle of the clamp
} sf_ClampScrews;

typedef struct sf_PinLoads {
    double by_torque;     ///< force on one pin, N
    double if_loose;      ///< with the bending moment on the pins as well, N
    double bearing;       ///< by_torque over d x wall, Pa
    double bearing_loose; ///< if_loose over d x wall, Pa
    double screw_shear;   ///< by_torque over two planes of the screw, Pa
    double screw_shear_loose;
} sf_PinLoads;

/// Forces on `count` pins of diameter d evenly spread at radius r of the wall's middle, wall thickness t: torque / (n
/// r), and with a loose fit 2 M / (n r) square to it. All arguments positive.
sf_PinLoads sf_pin_loads(double torque, double moment, int count, double diameter, double radius, double wall);

/// Room between the tip of a screw set from the rim's outer face and the foot bolt's head. Negative: it strikes.
double sf_tip_clearance(const sf_ClampScrews *screws);

/// Distances of one hole. NaN where there is nothing to measure to.
typedef struct sf_HoleDistances {
    double to_cut;  ///< hole's centre to the sawn end, m
    double to_seam; ///< centre to the seam along the outer surface, m
    double to_next; ///< centre to the nearest other hole's centre over the surface, m
    bool in_grip;   ///< within the clamp's grip
} sf_HoleDistances;

/// Distances of hole `index` of the pylon; `seam` is its limb angle (NaN: not known).
sf_HoleDistances sf_hole_distances(const sf_Pylon *pylon, size_t index, double seam);

/// The bolted joint between clamp and foot.
typedef struct sf_BoltJoint {
    double preload;                   ///< N, torque / (0.2 d)
    double preload_low, preload_high; ///< 30 % scatter
    double kept_low, kept_high;       ///< after 60 % and 40 % are lost over plastic spacers
    double needed;                    ///< to keep the joint closed: M / (b/2) - N, not below 0
} sf_BoltJoint;

/// `torque` N m, `thread` and `width` m; `moment` and `axial` act at the joint. `width` may be NaN: needed is NaN.
sf_BoltJoint sf_bolt_joint(double torque, double thread, double width, double moment, double axial);
