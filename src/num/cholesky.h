// SPDX-License-Identifier: GPL-3.0-or-later
// Small symmetric positive definite systems, row by row, lower triangle. Plain C: a few dozen unknowns.
#pragma once

#include "base/status.h"

#include <stddef.h>

/// Replaces the lower triangle of `a` (n x n) by L with a = L L^T; the upper triangle is left alone. SF_E_SINGULAR when
/// a pivot falls below `floor_share` of its diagonal entry.
sf_Status sf_cholesky_factor(double *a, size_t n, double floor_share, sf_Error *err) SF_MUST_USE;

/// Solves L x = b in place.
void sf_cholesky_forward(const double *l, size_t n, double *b);

/// Solves L^T x = b in place.
void sf_cholesky_backward(const double *l, size_t n, double *b);

/// Sum of the logarithms of L's diagonal: half the log determinant of a.
double sf_cholesky_half_log_det(const double *l, size_t n);
