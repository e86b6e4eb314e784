// SPDX-License-Identifier: GPL-3.0-or-later
// A smooth closed curve through readings at uneven angles. Internal to `section`.
#pragma once

#include "base/status.h"

#include <stddef.h>

/// Second derivatives of the periodic cubic spline through (angle[i], value[i]), i < n, n >= 3, angles rising within
/// one turn of `period`. Solves the cyclic tridiagonal system (Sherman-Morrison). SF_E_MEMORY.
sf_Status sf_periodic_spline(const double *angle, const double *value, size_t n, double period, double *second,
                             sf_Error *err) SF_MUST_USE;

/// The spline's value at any angle.
double sf_periodic_spline_at(const double *angle, const double *value, const double *second, size_t n, double period,
                             double at);
