// SPDX-License-Identifier: GPL-3.0-or-later
// The generator's own random numbers: the same seed gives the same pictures on every machine.
#pragma once

#include <stdint.h>

/// State of xoshiro256** (Blackman and Vigna, "Scrambled linear pseudorandom number generators", 2021).
typedef struct sf_Dice {
    uint64_t state[4];
    double spare; ///< the second normal number of a pair
    int has_spare;
} sf_Dice;

void sf_dice_seed(sf_Dice *dice, uint64_t seed);                ///< any seed is good; filled by splitmix64
uint64_t sf_dice_bits(sf_Dice *dice);                           ///< 64 random bits
double sf_dice_between(sf_Dice *dice, double low, double high); ///< uniform in [low, high)
double sf_dice_normal(sf_Dice *dice);                           ///< mean 0, deviation 1 (polar method)
int sf_dice_below(sf_Dice *dice, int count);                    ///< 0 .. count - 1
int sf_dice_chance(sf_Dice *dice, double probability);          ///< 1 with this probability
