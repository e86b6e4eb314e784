// SPDX-License-Identifier: GPL-3.0-or-later
// Permanent fixing of the clamp: torque with its doubt, places of screws, and what to do when the alignment must move
// after all (docs/theory/fastening.md). SI; angles are limb angles in rad.
#pragma once

#include "base/status.h"

#include <stdbool.h>
#include <stddef.h>

enum { SF_FASTEN_MAX_HOLES = 64 };

/// Torque factor K of T = K F d: as received, and its range from lubricated to dry or rusty (rule of thumb; 0.17 to
/// 0.24 follows from a table of polyamide screws).
#define SF_TORQUE_FACTOR      0.20
#define SF_TORQUE_FACTOR_LOW  0.15
#define SF_TORQUE_FACTOR_HIGH 0.30
/// Least distance of a hole's centre from the cut edge and from the seam, in hole diameters.
#define SF_HOLE_EDGE_DIAMETERS 2.0
#define SF_HOLE_SEAM_DIAMETERS 2.0
/// Least distance between hole centres, in hole diameters (judgement: two diameters of wall left would be 3).
#define SF_HOLE_SPACING_DIAMETERS 3.0
/// Share of the pitch cylinder's area that carries in a thread of soft material (from memory: 0.5 to 0.6).
#define SF_THREAD_SHEAR_SHARE 0.5
/// Pitch over outer diameter of a coarse metric thread, about.
#define SF_PITCH_DIAMETER_SHARE 0.9
/// Pressure at which a screw's tip stops sinking into polypropylene, Pa (derived from compressive yield).
#define SF_TIP_PRESSURE_LOW  25e6
#define SF_TIP_PRESSURE_HIGH 40e6
/// Friction of a clamp band on polypropylene (from memory).
#define SF_BAND_FRICTION_LOW  0.15
#define SF_BAND_FRICTION_HIGH 0.30

/// Axial force of a screw tightened with a torque: F = T / (K d).
typedef struct sf_Preload {
    double middle, low, high;
} sf_Preload;

sf_Preload sf_fasten_preload(double torque, double diameter);

/// Force that strips a thread of engagement `length` in a material of that shear strength.
double sf_fasten_thread_strength(double diameter, double length, double shear_strength);

/// Mean pressure under a flat tip as wide as the screw.
double sf_fasten_tip_pressure(double force, double diameter);

/// Torque about the pylon at which a pinch band of mean radius `radius` slips, when its screw pulls with `force`: the
/// band's tension F all round presses with F / (r w), and friction acts on the whole circle: 2 pi mu F r.
double sf_fasten_band_slip(double force, double radius, double friction);

typedef struct sf_FastenHole {
    double angle, height, diameter;
    bool old; ///< an old hole; else a screw place, planned or fitted
} sf_FastenHole;

/// Around the clamp: what the holes are measured against.
typedef struct sf_FastenZone {
    double cut_height, depth, top_height; ///< u of the cut, grip upward, u of the pylon's top (NaN: not known)
    double radius;                        ///< of the pylon's outside
    double seam_angle;                    ///< NaN: not known
} sf_FastenZone;

typedef struct sf_HoleDistances {
    double edge, seam, nearest; ///< centre to cut edge, along the circle to the seam, to the next hole (NaN: none)
    size_t nearest_hole;
    double edge_limit, seam_limit, spacing_limit;
} sf_HoleDistances;

/// Distances of hole `i` on the pylon's outside; NaN where there is nothing to measure to.
sf_HoleDistances sf_fasten_distances(const sf_FastenZone *zone, const sf_FastenHole *holes, size_t count, size_t i);

/// Least slack (distance less limit, m) of screw places `angles[n]` at `height` against edge, seam, all `holes` and one
/// another; + = every limit holds.
double sf_fasten_slack(const sf_FastenZone *zone, const sf_FastenHole *holes, size_t count, const double *angles,
                       size_t n, double height, double diameter);

/// `n` places equally far apart, turned to the largest slack, at the height in the middle of the grip or two diameters
/// above the cut, whichever is higher. Scan of a degree. Returns the slack.
double sf_fasten_place(const sf_FastenZone *zone, const sf_FastenHole *holes, size_t count, size_t n, double diameter,
                       double *angles, double *height);

/// The least turn with that sense (rad, +-0 to pi; +1: limb angles grow, which turns the toes inward) after which the
/// present screw places, turned, keep all limits from the old holes and the seam; NaN when no turn does. The screws
/// turn with the clamp.
double sf_fasten_least_turn(const sf_FastenZone *zone, const sf_FastenHole *holes, size_t count, int sense);

/// How much to saw off so that no hole is left within the new grip (a vent above it stays), and what is left of the
/// cylinder above that grip (NaN without a top height; below 0: too short). Nothing is sawn off when no hole is gripped.
typedef struct sf_FastenRecut {
    double removed, cylinder_left;
} sf_FastenRecut;

sf_FastenRecut sf_fasten_recut(const sf_FastenZone *zone, const sf_FastenHole *holes, size_t count);
