// SPDX-License-Identifier: GPL-3.0-or-later
// A distribution that is a weighted sum of normal ones.
#pragma once

#include "base/status.h"

#include <stddef.h>

typedef struct sf_Mixture {
    size_t count;
    double *weight; ///< sum 1; owned, with mean and sd in the same block
    double *mean;
    double *sd;
} sf_Mixture;

/// Room for `count` parts, all zero. SF_E_MEMORY.
sf_Status sf_mixture_create(sf_Mixture *mixture, size_t count, sf_Error *err) SF_MUST_USE;

/// Frees and empties; safe to call twice.
void sf_mixture_free(sf_Mixture *mixture);

/// Turns logarithms of weights, held in `weight`, into weights that sum to 1.
void sf_mixture_normalise(sf_Mixture *mixture);

double sf_mixture_mean(const sf_Mixture *mixture);
double sf_mixture_sd(const sf_Mixture *mixture);

/// Share of the distribution at or below x.
double sf_mixture_below(const sf_Mixture *mixture, double x);

/// The x with that share below it, 0 < share < 1; by bisection to 1e-9 of the whole spread.
double sf_mixture_quantile(const sf_Mixture *mixture, double share);
