// SPDX-License-Identifier: GPL-3.0-or-later
#include "num/chi_square.h"

#include <gsl/gsl_cdf.h>
#include <math.h>

// Above this GSL's inverse may not settle, and Wilson and Hilferty's cube (1931) is good to seven digits.
static const double CUBE_FROM = 5000;

double sf_chi_square_quantile(double p, double freedom)
{
    if (freedom >= CUBE_FROM) {
        double c = 2 / (9 * freedom), root = 1 - c + gsl_cdf_ugaussian_Pinv(p) * sqrt(c);
        return freedom * root * root * root;
    }
    return gsl_cdf_chisq_Pinv(p, freedom);
}

static double end(double cv, double n, double u)
{
    double inside = ((u + 2) / n - 1) * cv * cv + u / (n - 1);
    return inside > 0 ? cv / sqrt(inside) : NAN;
}

void sf_cv_interval(double cv, double n, double coverage, double *low, double *high)
{
    double tail = (1 - coverage) / 2;
    *low = end(cv, n, sf_chi_square_quantile(1 - tail, n - 1));
    *high = end(cv, n, sf_chi_square_quantile(tail, n - 1));
}
