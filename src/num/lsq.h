// SPDX-License-Identifier: GPL-3.0-or-later
// Dense linear least squares (LAPACK inside).
#pragma once

#include "base/status.h"

#include <stddef.h>

/// Minimises |A x - b|. `a` is rows x columns, row by row, rows >= columns >= 1, and is overwritten; `b` has `rows`
/// entries and is overwritten: its first `columns` become x. *residual (NULL allowed) becomes the root mean square of
/// A x - b. QR by dgels. SF_E_SINGULAR when the columns depend on each other.
sf_Status sf_lsq_solve(double *a, double *b, size_t rows, size_t columns, double *residual, sf_Error *err) SF_MUST_USE;
