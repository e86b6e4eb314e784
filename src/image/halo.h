// SPDX-License-Identifier: GPL-3.0-or-later
// Light that leaks through a translucent edge: the face is dimmer and the ground lighter close to it. Internal to
// image.
#pragma once

#include "base/status.h"

#include <stddef.h>

/// The mean light across an edge: sample i at distance (i - middle) * step from where it crosses one half; positive
/// onto the face; 0 = ground, 1 = face.
typedef struct sf_EdgeProfile {
    double *light;
    size_t count, middle;
    double step; ///< m
} sf_EdgeProfile;

/// What the profile says of its edge.
typedef struct sf_EdgeModel {
    double level;  ///< light at the true edge, as a share of the way from ground to face
    double blur;   ///< standard deviation of the Gaussian spread, m
    double leak;   ///< length L over which light leaks, m
    double misfit; ///< root mean square of profile minus model, share of the contrast
} sf_EdgeModel;

/// Fits a sharp edge, face 1 - a exp(-d/L), ground b exp(-d/L), seen through a Gaussian spread: linear least squares
/// for the four levels, Gauss-Newton for place and spread, a grid for L. `blur` is the first guess of the spread, m.
/// When the fit does not hold together the level is one half. SF_E_MEMORY.
sf_Status sf_halo_fit(const sf_EdgeProfile *profile, double blur, sf_EdgeModel *model, sf_Error *err) SF_MUST_USE;
