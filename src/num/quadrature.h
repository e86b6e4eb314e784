// SPDX-License-Identifier: GPL-3.0-or-later
// Gauss-Legendre rules on [-1, 1].
#pragma once

#include <stddef.h>

enum { SF_GAUSS_MAX = 5 };

typedef struct sf_Gauss {
    size_t count;
    double x[SF_GAUSS_MAX], w[SF_GAUSS_MAX];
} sf_Gauss;

/// The rule with `count` points (1 to SF_GAUSS_MAX): exact for polynomials up to degree 2 count - 1. Points and weights
/// from their closed forms (Abramowitz and Stegun, 25.4.29 and table 25.4).
const sf_Gauss *sf_gauss_rule(size_t count);
