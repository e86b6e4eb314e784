// SPDX-License-Identifier: GPL-3.0-or-later
// Chi-square distribution and the interval of a coefficient of variation (GSL inside).
#pragma once

/// The value below which a chi-square variable of `freedom` degrees lies with probability p; 0 < p < 1, freedom > 0.
double sf_chi_square_quantile(double p, double freedom);

/// Interval of the coefficient of variation of a normal population from a sample's (`cv`, a share) with `n` values, by
/// the modified McKay method of Vangel (1996), The American Statistician 50:21. For n >= 2 and cv below about 0.33; the
/// upper end is NaN where the method has none.
void sf_cv_interval(double cv, double n, double coverage, double *low, double *high);
