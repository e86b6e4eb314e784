// SPDX-License-Identifier: GPL-3.0-or-later
// Lettering on a sheet: one typeface, B612, whose figures are all of one width.
#pragma once

#include "draw/sheet.h"

/// The typeface and the Debian package that holds it.
#define SF_TYPEFACE         "B612"
#define SF_TYPEFACE_PACKAGE "fonts-b612"

/// The smallest lettering that is still read on an A5 print (judgement; common practice for small print).
#define SF_SMALLEST_PT 7.0

typedef enum sf_Align { SF_ALIGN_LEFT, SF_ALIGN_CENTRE, SF_ALIGN_RIGHT } sf_Align;

typedef struct sf_Lettering {
    double size_pt; ///< 1/72 inch
    bool bold;
    sf_Align align; ///< of a line about its place, of lines within a box
    sf_Colour colour;
} sf_Lettering;

/// One line whose baseline starts (left), is centred or ends (right) at `at`.
void sf_sheet_text(sf_Sheet *sheet, sf_Spot at, const sf_Lettering *style, const char *text);

/// The same on a patch of paper, so that it can be read over lines.
void sf_sheet_text_patch(sf_Sheet *sheet, sf_Spot at, const sf_Lettering *style, const char *text);

/// Lines wrapped at words to the box's width, from its top down; returns the height they took. Text beyond the box's
/// height is drawn all the same and remembered as a fault.
sf_PaperMm sf_sheet_text_box(sf_Sheet *sheet, sf_Box box, const sf_Lettering *style, const char *text);

/// Width of one line.
sf_PaperMm sf_sheet_text_width(sf_Sheet *sheet, const sf_Lettering *style, const char *text);

/// Height of the lines when wrapped to `width`.
sf_PaperMm sf_sheet_text_height(sf_Sheet *sheet, sf_PaperMm width, const sf_Lettering *style, const char *text);

/// How many pieces of lettering do not fit, cover each other or lack a glyph; *first (NULL allowed) says which came
/// first, or "". Borrowed from the sheet.
size_t sf_sheet_faults(sf_Sheet *sheet, const char **first);

/// How many pieces of lettering there are.
size_t sf_sheet_text_count(const sf_Sheet *sheet);
