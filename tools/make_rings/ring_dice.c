// SPDX-License-Identifier: GPL-3.0-or-later
#include "ring_dice.h"

#include <math.h>

static uint64_t splitmix(uint64_t *x)
{
    uint64_t z = (*x += 0x9e3779b97f4a7c15u);
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
    return z ^ (z >> 31);
}

void sf_dice_seed(sf_Dice *dice, uint64_t seed)
{
    for (int i = 0; i < 4; i++)
        dice->state[i] = splitmix(&seed);
    dice->spare = 0.0;
    dice->has_spare = 0;
}

static uint64_t rotate(uint64_t x, int k)
{
    return (x << k) | (x >> (64 - k));
}

uint64_t sf_dice_bits(sf_Dice *dice)
{
    uint64_t *s = dice->state;
    const uint64_t result = rotate(s[1] * 5, 7) * 9, t = s[1] << 17;
    s[2] ^= s[0];
    s[3] ^= s[1];
    s[1] ^= s[2];
    s[0] ^= s[3];
    s[2] ^= t;
    s[3] = rotate(s[3], 45);
    return result;
}

double sf_dice_between(sf_Dice *dice, double low, double high)
{
    return low + (high - low) * ((double)(sf_dice_bits(dice) >> 11) * 0x1.0p-53);
}

double sf_dice_normal(sf_Dice *dice)
{
    if (dice->has_spare) {
        dice->has_spare = 0;
        return dice->spare;
    }
    for (;;) {
        const double a = sf_dice_between(dice, -1.0, 1.0), b = sf_dice_between(dice, -1.0, 1.0);
        const double s = a * a + b * b;
        if (s > 0.0 && s < 1.0) {
            const double k = sqrt(-2.0 * log(s) / s);
            dice->spare = b * k;
            dice->has_spare = 1;
            return a * k;
        }
    }
}

int sf_dice_below(sf_Dice *dice, int count)
{
    return (int)sf_dice_between(dice, 0.0, (double)count);
}

int sf_dice_chance(sf_Dice *dice, double probability)
{
    return sf_dice_between(dice, 0.0, 1.0) < probability;
}
