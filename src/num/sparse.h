// SPDX-License-Identifier: GPL-3.0-or-later
// Sparse symmetric positive definite equations: gather, factor once, solve many times. Sole owner of CHOLMOD.
#pragma once

#include "base/status.h"

#include <stddef.h>

typedef struct sf_Sparse sf_Sparse; ///< one matrix, and its factor once there is one

/// An empty symmetric matrix of `n` rows with room for `room` entries to start with. SF_E_MEMORY, SF_E_LIMIT.
sf_Status sf_sparse_create(sf_Sparse **sparse, size_t n, size_t room, sf_Error *err) SF_MUST_USE;

/// Frees and nulls; NULL and pointer to NULL are allowed.
void sf_sparse_destroy(sf_Sparse **sparse);

/// Adds `value` to the entries (row, column) and (column, row), which are one entry: name each pair once, in either
/// order. Entries named again add up. When memory runs out, sf_sparse_factor() says so.
void sf_sparse_add(sf_Sparse *sparse, size_t row, size_t column, double value);

/// Supernodal Cholesky factor (CHOLMOD; minimum degree order). Nothing can be added afterwards. SF_E_SINGULAR when the
/// matrix is not positive definite within rounding, SF_E_MEMORY.
sf_Status sf_sparse_factor(sf_Sparse *sparse, sf_Error *err) SF_MUST_USE;

/// Solves A x = b for `count` right sides, each of n entries, one after another in `b` and `x`. *residual (NULL
/// allowed) becomes the largest |b - A x| / |b| in Euclidean norms; a right side of zeros counts as 0. SF_E_MEMORY.
sf_Status sf_sparse_solve(sf_Sparse *sparse, const double *b, double *x, size_t count, double *residual,
                          sf_Error *err) SF_MUST_USE;
