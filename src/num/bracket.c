// SPDX-License-Identifier: GPL-3.0-or-later
#include "num/bracket.h"

#include <math.h>

double sf_bracket_next(const sf_Bracket *b, double margin)
{
    return b->low + (b->high - b->low) * fmin(fmax(b->f_low / (b->f_low - b->f_high), margin), 1 - margin);
}

void sf_bracket_take(sf_Bracket *b, double at, double f, bool is_low)
{
    if (is_low) {
        b->low = at;
        b->f_low = f;
        b->f_high = b->stayed > 0 ? 0.5 * b->f_high : b->f_high;
        b->stayed = 1;
    } else {
        b->high = at;
        b->f_high = f;
        b->f_low = b->stayed < 0 ? 0.5 * b->f_low : b->f_low;
        b->stayed = -1;
    }
}
