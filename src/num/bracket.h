// SPDX-License-Identifier: GPL-3.0-or-later
// A root between two places, narrowed step by step by its caller.
#pragma once

#include <stdbool.h>

/// Ends of the bracket and the function there; the sign changes in between.
typedef struct sf_Bracket {
    double low, high, f_low, f_high;
    int stayed; ///< 1: the upper end stayed in the last step, -1: the lower; begin with 0
} sf_Bracket;

/// Where to look next: where the chord between the ends is zero, but no nearer an end than `margin` (a share, 0 to 0.5)
/// of the bracket.
double sf_bracket_next(const sf_Bracket *bracket, double margin);

/// Lets `at` with its value `f` replace the lower end (`is_low`) or the upper one. The value of an end that stays twice
/// is halved, so that both ends move (Illinois rule: Dowell and Jarratt, BIT 11, 1971).
void sf_bracket_take(sf_Bracket *bracket, double at, double f, bool is_low);
