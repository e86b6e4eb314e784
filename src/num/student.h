// SPDX-License-Identifier: GPL-3.0-or-later
// Student's t distribution (GSL inside).
#pragma once

/// The value below which t lies with probability p; 0 < p < 1, freedom > 0; INFINITY gives the normal distribution's.
double sf_student_quantile(double p, double freedom);

/// The probability that t lies below x.
double sf_student_chance(double x, double freedom);
