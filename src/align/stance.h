// SPDX-License-Identifier: GPL-3.0-or-later
// Ground force and pressure path over stance, and the moment they have on the socket. docs/theory/alignment.md.
#pragma once

#include "align/chain.h"

enum { SF_STANCE_MAX_POINTS = 101, SF_STANCE_EXTENSIONS = 2 };

/// What was measured with the socket more extended by a device at its base; for comparison only.
typedef struct sf_MeasuredExtension {
    double extension;   ///< rad
    double coronal, sd; ///< N.m/kg at 30 % of stance
} sf_MeasuredExtension;

/// The stance curves as data: shares of body weight and the pressure point's way along a foot of reference size.
typedef struct sf_Stance {
    size_t count;
    double percent[SF_STANCE_MAX_POINTS];
    double vertical[SF_STANCE_MAX_POINTS], forward[SF_STANCE_MAX_POINTS], outward[SF_STANCE_MAX_POINTS];
    double ahead_of_ankle[SF_STANCE_MAX_POINTS]; ///< m, on the reference foot
    double reference_lever;                      ///< m
    double lever_per_foot_length;
    double rollover_radius_per_stature, rollover_lowest;      ///< share; m ahead of the ankle
    double measured_coronal_at_30, measured_coronal_at_30_sd; ///< N.m/kg, for comparison only
    sf_MeasuredExtension measured_extension[SF_STANCE_EXTENSIONS];
    char force_source[SF_ERROR_TEXT], path_source[SF_ERROR_TEXT], rollover_source[SF_ERROR_TEXT],
        measured_source[SF_ERROR_TEXT];
} sf_Stance;

/// Moment of the ground force on the socket about the socket base centre, along the socket's axes (N.m): + extends the
/// knee, + towards valgus, + turns the toe outward.
typedef struct sf_SocketMoment {
    double sagittal, coronal, transverse;
} sf_SocketMoment;

/// Force and pressure point at one instant, floor axes along the socket's heading, origin at the ankle's plumb point.
typedef struct sf_GroundForce {
    double vertical, forward, outward; ///< N
    double cop_f, cop_o;               ///< m
} sf_GroundForce;

/// Reads the built-in curves (data/stance.json). SF_E_MEMORY, or SF_E_INTERNAL when the data is broken.
sf_Status sf_stance_load(sf_Stance *stance, sf_Error *err) SF_MUST_USE;

/// The ground force at `percent` of stance (clamped to the curves' ends; linear between their points) for a body weight
/// in N and a foot length in m, on a foot that is turned out by `toe_out` on the floor.
sf_GroundForce sf_stance_force(const sf_Stance *stance, double percent, double body_weight, double foot_length,
                               double toe_out);

/// The moment that this force has on the socket as it stands.
sf_SocketMoment sf_stance_moment(const sf_Chain *chain, const sf_Stand *stand, const sf_GroundForce *force);

/// Forces and moments over the whole stance for one set of settings.
typedef struct sf_StanceCurves {
    sf_Settings settings;
    size_t count;
    double percent[SF_STANCE_MAX_POINTS];
    sf_GroundForce force[SF_STANCE_MAX_POINTS];
    sf_SocketMoment moment[SF_STANCE_MAX_POINTS];
} sf_StanceCurves;

/// The curves at the stance model's own points; body weight in N, foot length in m.
void sf_stance_curves(sf_StanceCurves *curves, const sf_Stance *stance, const sf_Chain *chain,
                      const sf_Settings *settings, double body_weight, double foot_length);
