// SPDX-License-Identifier: GPL-3.0-or-later
// Filters along a closed curve: entry n-1 is the neighbour of entry 0. Internal to image.
#pragma once

#include "base/status.h"

#include <stdbool.h>
#include <stddef.h>

/// Median of a few values (the upper middle of an even number), by insertion sort in place.
double sf_small_median(double *x, size_t n);

/// Running median over an odd window (made odd), in place; `scratch` has n entries. Windows above n
/// or 511 entries are cut to that.
void sf_periodic_median(double *x, size_t n, size_t window, double *scratch);

/// Replaces flagged entries by the straight line between the nearest good ones either side. All flagged: unchanged.
void sf_periodic_bridge(double *x, const bool *flagged, size_t n);

/// Value at each entry of the least-squares parabola through the unflagged entries within +-half. With `robust`,
/// entries are weighed down by their distance from the first fit (Tukey's biweight, one repeat). Where fewer than five
/// good entries lie within, the window widens. SF_E_MEMORY.
sf_Status sf_periodic_parabola(const double *x, const bool *flagged, size_t n, size_t half, bool robust, double *out,
                               sf_Error *err) SF_MUST_USE;
