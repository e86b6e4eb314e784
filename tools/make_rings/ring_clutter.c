// SPDX-License-Identifier: GPL-3.0-or-later
#include "ring_clutter.h"

#include "ring_dice.h"

#include <math.h>

/// A soft-edged speck of `radius` pixels.
static void speck(sf_Field *f, double x, double y, double radius, double level)
{
    const double reach = radius + 1.0;
    for (double r = fmax(floor(y - reach), 0.0); r < fmin(y + reach, (double)f->rows); r++)
        for (double c = fmax(floor(x - reach), 0.0); c < fmin(x + reach, (double)f->columns); c++) {
            const double d = hypot(c + 0.5 - x, r + 0.5 - y) - radius;
            const double k = d < -0.5 ? 1.0 : d > 0.5 ? 0.0 : 0.5 - d;
            float *v = &f->value[(size_t)r * f->columns + (size_t)c];
            *v += (float)(k * (level - *v));
        }
}

static void dust(const sf_Scene *s, sf_Field *f, sf_Dice *dice)
{
    const double pixel = 25.4 / s->dpi;
    for (int64_t i = 0; i < s->dust; i++) {
        const double x = sf_dice_between(dice, 0, (double)f->columns), y = sf_dice_between(dice, 0, (double)f->rows);
        const double radius = sf_dice_between(dice, 0.02, 0.11) / pixel;
        const double level =
            sf_dice_chance(dice, 0.5) ? sf_dice_between(dice, 0.4, 1.0) : sf_dice_between(dice, 0.0, 0.2);
        speck(f, x, y, radius, level);
    }
}

void sf_clutter_paint(const sf_Scene *s, sf_Field *f)
{
    sf_Dice dice;
    sf_dice_seed(&dice, (uint64_t)s->seed ^ 0xd057u);
    dust(s, f, &dice);
}
