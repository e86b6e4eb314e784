// SPDX-License-Identifier: GPL-3.0-or-later
// Median and median absolute deviation by selection: for long arrays, where sorting would cost most of the time.
#pragma once

#include <stddef.h>

/// Median; changes the order of x. n >= 1. Time grows with n.
double sf_select_median(double *x, size_t n);

/// 1.4826 x median absolute deviation from `median`, the standard deviation of a normal sample; overwrites x. n >= 1.
double sf_select_mad_sd(double *x, size_t n, double median);
