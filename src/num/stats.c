// SPDX-License-Identifier: GPL-3.0-or-later
#include "num/stats.h"

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_sort.h>
#include <gsl/gsl_statistics_double.h>
#include <math.h>

static const double MAD_TO_SD = 1.482602218505602; // 1 / Phi^-1(3/4): closed form

double sf_stats_mean(const double *x, size_t n)
{
    return gsl_stats_mean(x, 1, n);
}

double sf_stats_sd(const double *x, size_t n)
{
    return n < 2 ? NAN : gsl_stats_sd(x, 1, n);
}

double sf_stats_quantile(double *x, size_t n, double p)
{
    gsl_sort(x, 1, n);
    return gsl_stats_quantile_from_sorted_data(x, 1, n, p);
}

double sf_stats_median(double *x, size_t n)
{
    return sf_stats_quantile(x, n, 0.5);
}

double sf_stats_mad_sd(double *x, size_t n)
{
    double middle = sf_stats_median(x, n);
    for (size_t i = 0; i < n; i++)
        x[i] = fabs(x[i] - middle);
    return MAD_TO_SD * sf_stats_median(x, n);
}

double sf_stats_normal_factor(double coverage)
{
    return gsl_cdf_ugaussian_Pinv(0.5 + 0.5 * coverage);
}
