// SPDX-License-Identifier: GPL-3.0-or-later
#include "num/student.h"

#include <gsl/gsl_cdf.h>
#include <math.h>

double sf_student_quantile(double p, double freedom)
{
    return isfinite(freedom) ? gsl_cdf_tdist_Pinv(p, freedom) : gsl_cdf_ugaussian_Pinv(p);
}

double sf_student_chance(double x, double freedom)
{
    return isfinite(freedom) ? gsl_cdf_tdist_P(x, freedom) : gsl_cdf_ugaussian_P(x);
}
