// SPDX-License-Identifier: GPL-3.0-or-later
#include "draw/sheet_head.h"

#include "draw/lettering.h"

#include <stdio.h>
#include <string.h>

enum { TITLE_BYTES = 1024 };

// Cuts before the last character that is not of the dots, whatever its number of bytes.
static void shorten(char *title, bool *cut)
{
    size_t n = strlen(title) - (*cut ? 3 : 0);
    do
        n--;
    while (n > 0 && ((unsigned char)title[n] & 0xC0U) == 0x80U);
    memcpy(title + n, "...", 4);
    *cut = true;
}

void sf_sheet_head(sf_Sheet *sheet, sf_PaperMm margin, sf_PaperMm width, const char *kind, const char *label,
                   const char *about)
{
    const sf_Pen rule = { SF_INK, 0.35, SF_DASH_NONE };
    const sf_Lettering left = { 9, true, SF_ALIGN_LEFT, SF_INK },
                       right = { SF_SMALLEST_PT, false, SF_ALIGN_RIGHT, SF_INK };
    char title[TITLE_BYTES];
    bool cut = false;
    double end = width - margin, y = margin + 3.4;
    double room = end - margin - sf_sheet_text_width(sheet, &right, about) - 4;
    // Room is kept for the dots; a label that fills the rest has been through the file's own limit.
    int length = snprintf(title, sizeof title - 4, "%s%s%s", kind, *kind ? "  " : "", label);
    if (length >= (int)sizeof title - 4)
        shorten(title, &cut);
    while (strlen(title) > strlen(kind) + 4 && sf_sheet_text_width(sheet, &left, title) > room)
        shorten(title, &cut);
    sf_sheet_text(sheet, (sf_Spot){ margin, y }, &left, title);
    sf_sheet_text(sheet, (sf_Spot){ end, y }, &right, about);
    sf_sheet_line(sheet, (sf_Spot){ margin, margin + 5 }, (sf_Spot){ end, margin + 5 }, &rule);
}
