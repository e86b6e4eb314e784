// SPDX-License-Identifier: GPL-3.0-or-later
// Robust and ordinary statistics of plain arrays (GSL inside).
#pragma once

#include <stddef.h>

/// Arithmetic mean; n >= 1.
double sf_stats_mean(const double *x, size_t n);

/// Sample standard deviation (n - 1 in the denominator); NaN when n < 2.
double sf_stats_sd(const double *x, size_t n);

/// Median; sorts x in place. n >= 1.
double sf_stats_median(double *x, size_t n);

/// Quantile p in [0,1] by linear interpolation; sorts x in place. n >= 1.
double sf_stats_quantile(double *x, size_t n, double p);

/// 1.4826 x median absolute deviation, the standard deviation of a normal sample; sorts and overwrites x. n >= 1.
double sf_stats_mad_sd(double *x, size_t n);

/// Two-sided standard normal factor for a coverage, such as 1.96 for 0.95.
double sf_stats_normal_factor(double coverage);
