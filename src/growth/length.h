// SPDX-License-Identifier: GPL-3.0-or-later
// Where to saw the pylon, how far that may be off, and what mends a limb that came out short (docs/theory/length.md).
// Lengths in m, heights above the floor with the shoe on.
#pragma once

#include <stddef.h>

/// Left long at the first cut, m (judgement).
#define SF_LENGTH_LEAVE_LONG 0.008
/// A limb counts as short when it ends more than this below its target, m (Friberg 1984: limit used below the knee).
#define SF_LENGTH_SHORT_LIMIT 0.005
/// Part of the foot's length between the middle of heel and ball that a heel rise acts over (judgement).
#define SF_LENGTH_RISE_BASE 0.65

typedef struct sf_LengthPlan {
    double sound_knee_height; ///< floor to the medial tibial plateau of the sound side, barefoot
    double target_difference; ///< prosthesis minus sound
    double shoe_heel, shoe_sole;
    double foot_build_height, foot_compression, foot_recess, foot_heel_height, foot_length;
    double spacers, adapter_build_height;
    double dorsiflexion, eversion; ///< rad
    double leave_long;
} sf_LengthPlan;

typedef struct sf_CutLine {
    double knee_level;       ///< u of the knee line when the limb stands as wanted
    double cut_height;       ///< u of the cut, standing and loaded
    double lean;             ///< of the pylon from upright, rad, 0 or more
    double below_knee;       ///< cut below the knee line, along the pylon
    double first_below_knee; ///< the same for the first, longer cut
} sf_CutLine;

/// The sum of computations: knee level = knee height + shoe heel + target difference; cut height = shoe heel + foot
/// build height - compression - recess + spacers + adapter build height. The pylon leans as the foot's settings and
/// a shoe with another heel rise make it (NaN foot length or heel height: no lean from the shoe).
sf_CutLine sf_length_cut_line(const sf_LengthPlan *plan);

typedef struct sf_LengthError {
    const char *item;
    double sd; ///< one standard deviation, m
    const char *origin;
} sf_LengthError;

enum { SF_LENGTH_ERRORS = 8 };

/// The error budget of a cut made straight to length (judgement throughout; docs/theory/length.md).
extern const sf_LengthError sf_length_errors[SF_LENGTH_ERRORS];
/// The error that is left when the limb was cut long, stood on, read with blocks and trimmed.
extern const sf_LengthError sf_length_trim_errors[];
extern const size_t sf_length_trim_error_count;

/// Root of the summed squares: the items are independent.
double sf_length_sd(const sf_LengthError *errors, size_t count);

/// Chance that a normal error with that spread about `bias` (+ = long) ends below -limit.
double sf_length_chance_short(double bias, double sd, double limit);

/// Mean shortfall of those that end below -limit (mean of a truncated normal), m, positive.
double sf_length_mean_shortfall(double bias, double sd, double limit);
