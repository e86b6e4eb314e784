// SPDX-License-Identifier: GPL-3.0-or-later
#include "num/lsq.h"

#include <lapacke.h>
#include <math.h>

// A diagonal entry of R below this share of the largest counts as zero.
static const double RANK_TOLERANCE = 1e-12;

sf_Status sf_lsq_solve(double *a, double *b, size_t rows, size_t columns, double *residual, sf_Error *err)
{
    lapack_int m = (lapack_int)rows, n = (lapack_int)columns;
    lapack_int info = LAPACKE_dgels(LAPACK_ROW_MAJOR, 'N', m, n, 1, a, n, b, 1);
    if (info == LAPACK_WORK_MEMORY_ERROR || info == LAPACK_TRANSPOSE_MEMORY_ERROR)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory in a least-squares fit");
    double largest = 0, least = INFINITY;
    for (size_t i = 0; i < columns; i++) {
        double d = fabs(a[i * columns + i]);
        largest = d > largest ? d : largest;
        least = d < least ? d : least;
    }
    if (info != 0 || !(least > RANK_TOLERANCE * largest))
        return SF_FAIL(err, SF_E_SINGULAR, NULL, "a least-squares fit has no single answer: too few distinct readings");
    if (residual) {
        double sum = 0;
        for (size_t i = columns; i < rows; i++)
            sum += b[i] * b[i];
        *residual = sqrt(sum / (double)rows);
    }
    return SF_OK;
}
