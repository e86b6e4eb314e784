// SPDX-License-Identifier: GPL-3.0-or-later
// What a sheet is made of. Internal to `draw`.
#pragma once

#include "draw/lettering.h"

#include <cairo.h>
#include <pango/pangocairo.h>

enum { SF_SVG_UNITS_PER_MM = 10 };

enum { SF_SHEET_TEXTS = 400, SF_SHEET_TEXT_HEAD = 48, SF_SHEET_FAULT = 240 };

/// A growing block that cairo writes into.
typedef struct sf_SheetBytes {
    unsigned char *data;
    size_t size, room;
    bool broken; ///< out of memory
} sf_SheetBytes;

/// Where one piece of lettering lies.
typedef struct sf_SheetText {
    sf_Box ink;
    char head[SF_SHEET_TEXT_HEAD];
} sf_SheetText;

struct sf_Sheet {
    sf_SheetKind kind;
    sf_PaperMm width, height;
    cairo_surface_t *surface;
    cairo_t *cairo;
    PangoFontMap *fonts;
    PangoContext *context;
    PangoLayout *layout;
    sf_SheetBytes bytes;
    char *title, *description; ///< owned
    bool no_memory, no_pages; ///< no_pages: a page was asked for that this kind does not have
    sf_SheetText texts[SF_SHEET_TEXTS];
    size_t text_count, fault_count;
    bool overlaps_counted;
    char fault[SF_SHEET_FAULT];
};

/// Opens pango for the sheet and makes sure that the typeface is the one asked for. SF_E_MISSING, SF_E_MEMORY.
sf_Status sf_sheet_open_lettering(sf_Sheet *sheet, sf_Error *err) SF_MUST_USE;

/// Adds bytes; false and `broken` when out of memory.
bool sf_sheet_bytes_add(sf_SheetBytes *bytes, const void *more, size_t count);

/// Gives a closed SVG its size in mm, its title and description, and numbers its identifiers from 1. SF_E_MEMORY,
/// SF_E_INTERNAL.
sf_Status sf_svg_settle(sf_Sheet *sheet, sf_Error *err) SF_MUST_USE;

/// Puts the size of a pixel into a PNG, so that it prints at its size. SF_E_MEMORY, SF_E_INTERNAL.
sf_Status sf_png_settle(sf_SheetBytes *bytes, double px_per_mm, sf_Error *err) SF_MUST_USE;
