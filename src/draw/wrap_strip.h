// SPDX-License-Identifier: GPL-3.0-or-later
// One stretch of a wrap's strip on the paper. Internal to `draw`.
#pragma once

#include "draw/lettering.h"
#include "draw/wrap_sheet.h"

/// Room above and below a strip for its name and the letters of the midlines.
#define SF_WRAP_ABOVE 9.0
#define SF_WRAP_BELOW 6.0

void sf_wrap_piece_paint(sf_Sheet *sheet, const sf_WrapSheet *wrap, const sf_WrapPiece *piece);

/// "125.0 mm" or "4.921 in".
void sf_wrap_length(char *text, size_t size, const sf_WrapSheet *wrap, double length);
