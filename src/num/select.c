// SPDX-License-Identifier: GPL-3.0-or-later
#include "num/select.h"

#include <gsl/gsl_statistics.h>
#include <math.h>

static const double NORMAL_MAD = 1.482602218505602; // 1 / the upper quartile of the standard normal

double sf_select_median(double *x, size_t n)
{
    return gsl_stats_median(x, 1, n);
}

double sf_select_mad_sd(double *x, size_t n, double median)
{
    for (size_t i = 0; i < n; i++)
        x[i] = fabs(x[i] - median);
    return NORMAL_MAD * gsl_stats_median(x, 1, n);
}
