// SPDX-License-Identifier: GPL-3.0-or-later
// The bracket of one setting after each of the last walks, one bar below the other, so that it is seen to narrow.
#pragma once

#include "align/setting.h"
#include "draw/sheet.h"

enum { SF_BRACKET_ROWS = 6 };

typedef struct sf_BracketBars {
    sf_Setting setting;
    double low[SF_BRACKET_ROWS], high[SF_BRACKET_ROWS]; ///< deg or mm; the last row is after the last walk
    size_t count, first_walk;                           ///< rows; number of the walk of the first row
    double now, to;                                     ///< where it stands; where it is to go, NaN when it stays
    double resolution;
    bool lacking, contradiction; ///< the adapter does not move it; findings contradict one another
} sf_BracketBars;

/// Places of values on the paper.
typedef struct sf_BracketScale {
    sf_PaperMm left, right;
    double low, high;
} sf_BracketScale;

sf_BracketScale sf_bracket_scale(sf_Box box, const sf_BracketBars *bars);
sf_PaperMm sf_bracket_x(const sf_BracketScale *scale, double value);

void sf_bracket_bars_paint(sf_Sheet *sheet, sf_Box box, const sf_BracketBars *bars);
