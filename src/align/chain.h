// SPDX-License-Identifier: GPL-3.0-or-later
// The alignment chain: pylon, clamp, foot, shoe, floor. Method, frames and signs: docs/theory/alignment.md.
#pragma once

#include "align/setting.h"
#include "base/status.h"
#include "geom/transform.h"

typedef enum sf_ChainSide { SF_CHAIN_LEFT = 1, SF_CHAIN_RIGHT = -1 } sf_ChainSide; ///< the value is s of the theory

/// What is fixed while the foot is set on the clamp. Heights above the floor in m, shoe on, pylon plumb.
typedef struct sf_Chain {
    sf_ChainSide side;
    double socket_height;                    ///< socket base centre
    double socket_offset_f, socket_offset_o; ///< socket base centre ahead of and outside the pylon's axis; usually 0
    double cut_height;                       ///< cut end of the pylon: pivot of the clamp
    double heel_height;                      ///< underside of the foot's heel: the shoe's heel thickness
    double ankle_height;                     ///< ankle centre
    double socket_flexion;                   ///< as formed, against the pylon; + top forward (rad)
    double socket_adduction;                 ///< as formed; + top outward (rad)
    double shoe_tilt;                        ///< heel of the shoe higher than the foot was built for: + (rad)
} sf_Chain;

/// Where the socket base centre stands over the plumb point of the ankle centre, foot flat, in floor axes along the
/// socket's heading.
typedef struct sf_Pose {
    double socket_f, socket_o, height;       ///< m
    double socket_flexion, socket_adduction; ///< against plumb, as seen from the side and from the front (rad)
    double sole_sagittal, sole_coronal; ///< slope of the sole with the pylon held plumb: + toe up, + lateral edge up
    double toe_out;                     ///< foot's heading against the socket's, on the floor
} sf_Pose;

/// The floor seen from the socket's heading (x forward, y to the left, z up; right-handed).
typedef struct sf_Stand {
    sf_Vector base;      ///< socket base centre
    sf_Rotation socket;  ///< columns: the socket's forward, left and long axes
    sf_Rotation pylon;   ///< columns: the pylon's axes
    double foot_heading; ///< angle of the foot's long axis from x, counter-clockwise from above
} sf_Stand;

/// How far a change of settings would tilt a sole that stood flat, with the socket held where it stood, in the foot's
/// own directions; and the two tilt settings that put it flat again under that socket, toe-out and slide kept.
typedef struct sf_SoleChange {
    double sagittal, coronal;      ///< + toe up, + lateral edge up (rad)
    double dorsiflexion, eversion; ///< settings at which the sole is flat under the held socket (rad)
    bool undone_by_tilt;           ///< false where no tilt under 90 degrees does it
} sf_SoleChange;

/// The shoe's tilt from its rise (heel less ball thickness) against the rise the foot was built for, and foot length.
double sf_chain_shoe_tilt(double rise, double built_rise, double foot_length);

/// SF_E_RANGE with a sentence when heights contradict each other or a tilt leaves (-60, 60) degrees.
sf_Status sf_chain_check(const sf_Chain *chain, const sf_Settings *settings, sf_Error *err) SF_MUST_USE;

/// Forward: settings to where everything stands, foot flat.
sf_Stand sf_chain_stand(const sf_Chain *chain, const sf_Settings *settings);

/// The pose, from the same chain.
sf_Pose sf_chain_pose(const sf_Chain *chain, const sf_Settings *settings);

/// Inverse: the settings that give this place, attitude and toe-out (height and sole slopes follow and are not read).
sf_Settings sf_chain_settings(const sf_Chain *chain, const sf_Pose *pose);

/// What the change from `before` to `after` does to a sole that stood flat.
sf_SoleChange sf_chain_sole_change(const sf_Chain *chain, const sf_Settings *before, const sf_Settings *after);
