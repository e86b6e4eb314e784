// SPDX-License-Identifier: GPL-3.0-or-later
#include "num/cholesky.h"

#include <math.h>

sf_Status sf_cholesky_factor(double *a, size_t n, double floor_share, sf_Error *err)
{
    for (size_t i = 0; i < n; i++) {
        double diagonal = a[i * n + i];
        for (size_t j = 0; j <= i; j++) {
            double sum = a[i * n + j];
            for (size_t k = 0; k < j; k++)
                sum -= a[i * n + k] * a[j * n + k];
            if (j < i) {
                a[i * n + j] = sum / a[j * n + j];
                continue;
            }
            if (!(sum > floor_share * diagonal) || !(sum > 0))
                return SF_FAIL(err, SF_E_SINGULAR, NULL, "a covariance of %zu values is not positive definite at %zu",
                               n, i);
            a[i * n + i] = sqrt(sum);
        }
    }
    return SF_OK;
}

void sf_cholesky_forward(const double *l, size_t n, double *b)
{
    for (size_t i = 0; i < n; i++) {
        for (size_t k = 0; k < i; k++)
            b[i] -= l[i * n + k] * b[k];
        b[i] /= l[i * n + i];
    }
}

void sf_cholesky_backward(const double *l, size_t n, double *b)
{
    for (size_t i = n; i-- > 0;) {
        for (size_t k = i + 1; k < n; k++)
            b[i] -= l[k * n + i] * b[k];
        b[i] /= l[i * n + i];
    }
}

double sf_cholesky_half_log_det(const double *l, size_t n)
{
    double sum = 0;
    for (size_t i = 0; i < n; i++)
        sum += log(l[i * n + i]);
    return sum;
}
