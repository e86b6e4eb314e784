// SPDX-License-Identifier: GPL-3.0-or-later
// A sheet of paper to draw on: PNG, SVG or PDF of a given size, with lines, hatching, pictures and lettering. One sheet
// is used by one thread. Conventions of the hand: docs/theory/drawing.md.
//
// Drawing calls return nothing: the first trouble is kept and sf_sheet_finish() tells it. Lettering that does not fit,
// covers other lettering, or has no glyph is remembered as a fault (sf_sheet_faults), so that a test can see it.
#pragma once

#include "base/status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/// A length on the paper in millimetres. This is the one place in the core that is not in metres, so that the numbers
/// of a layout can be read with a ruler.
typedef double sf_PaperMm;

/// A place on the paper: x to the right, y down, from the upper left corner.
typedef struct sf_Spot {
    sf_PaperMm x, y;
} sf_Spot;

typedef struct sf_Box {
    sf_PaperMm x, y, width, height; ///< x, y: upper left corner
} sf_Box;

typedef struct sf_Colour {
    double red, green, blue; ///< 0 to 1, sRGB
} sf_Colour;

/// The inks. Each is told from its neighbours by its grey alone; none carries a meaning by itself.
#define SF_INK        ((sf_Colour){ 0.08, 0.09, 0.11 })
#define SF_INK_SOFT   ((sf_Colour){ 0.33, 0.35, 0.38 })
#define SF_INK_FAINT  ((sf_Colour){ 0.66, 0.68, 0.70 })
#define SF_PAPER      ((sf_Colour){ 1, 1, 1 })
#define SF_INK_MARK   ((sf_Colour){ 0.70, 0.22, 0.02 }) ///< what was found wrong or wants a look
#define SF_INK_SCRIBE ((sf_Colour){ 0.02, 0.26, 0.52 }) ///< measured edges

typedef enum sf_Dash {
    SF_DASH_NONE,
    SF_DASH_SHORT,  ///< hidden or limit
    SF_DASH_LONG,   ///< another limit
    SF_DASH_CENTRE, ///< long and short: a centre line
    SF_DASH_DOTS
} sf_Dash;

typedef struct sf_Pen {
    sf_Colour colour;
    sf_PaperMm width;
    sf_Dash dash;
} sf_Pen;

/// One closed outline of a region; several are filled by the even-odd rule.
typedef struct sf_Loop {
    const sf_Spot *spots; ///< borrowed
    size_t count;
} sf_Loop;

typedef enum sf_SheetKind { SF_SHEET_PNG, SF_SHEET_SVG, SF_SHEET_PDF } sf_SheetKind;

#define SF_A5_LONG      210.0 ///< mm (ISO 216)
#define SF_A5_SHORT     148.0
#define SF_A4_LONG      297.0
#define SF_A4_SHORT     210.0
#define SF_LETTER_LONG  279.4 ///< 11 in (ANSI/ASME Y14.1, size A)
#define SF_LETTER_SHORT 215.9 ///< 8.5 in

/// Pixels for each millimetre of a PNG: 254 to the inch.
enum { SF_SHEET_PX_PER_MM = 10 };

typedef struct sf_Sheet sf_Sheet;

/// PNG, SVG or PDF by the ending of `path`. SF_E_USAGE for any other.
sf_Status sf_sheet_kind(sf_SheetKind *kind, const char *path, sf_Error *err) SF_MUST_USE;

/// An empty white sheet of 10 to 1200 mm a side. SF_E_MISSING when the typeface is not installed (the sentence names
/// the package), SF_E_MEMORY. Destroy with sf_sheet_destroy or sf_sheet_finish.
sf_Status sf_sheet_create(sf_Sheet **sheet, sf_SheetKind kind, sf_PaperMm width, sf_PaperMm height,
                          sf_Error *err) SF_MUST_USE;

/// What a reader who cannot see the drawing gets: title and description of an SVG, the title of a PDF. Copied.
void sf_sheet_describe(sf_Sheet *sheet, const char *title, const char *text);

/// Ends the page and begins another, white and of the same size. Lettering of the page left behind has been counted for
/// faults. Only a PDF has pages: for the other kinds the first trouble that sf_sheet_finish() tells is this one.
void sf_sheet_next_page(sf_Sheet *sheet);

/// Closes the sheet and hands over its bytes (free with sf_free). The same drawing gives the same bytes. Destroys the
/// sheet in any case. SF_E_MEMORY, SF_E_INTERNAL when the drawing library refused something.
sf_Status sf_sheet_finish(sf_Sheet **sheet, unsigned char **bytes, size_t *size, sf_Error *err) SF_MUST_USE;

/// Drops the sheet; NULL and pointer to NULL are allowed.
void sf_sheet_destroy(sf_Sheet **sheet);

sf_Box sf_sheet_box(const sf_Sheet *sheet); ///< the whole paper

void sf_sheet_line(sf_Sheet *sheet, sf_Spot from, sf_Spot to, const sf_Pen *pen);
void sf_sheet_polyline(sf_Sheet *sheet, const sf_Spot *spots, size_t count, bool closed, const sf_Pen *pen);
void sf_sheet_rectangle(sf_Sheet *sheet, sf_Box box, const sf_Pen *pen);
void sf_sheet_circle(sf_Sheet *sheet, sf_Spot centre, sf_PaperMm radius, const sf_Pen *pen);
void sf_sheet_dot(sf_Sheet *sheet, sf_Spot centre, sf_PaperMm radius, sf_Colour colour); ///< filled circle
void sf_sheet_fill(sf_Sheet *sheet, const sf_Loop *loops, size_t count, sf_Colour colour);
void sf_sheet_fill_box(sf_Sheet *sheet, sf_Box box, sf_Colour colour);

/// Hatches a region with parallel lines `pitch` apart that rise to the right at `angle` (rad); they meet between
/// regions hatched alike, as the lines all belong to one pattern that is fixed to the paper.
void sf_sheet_hatch(sf_Sheet *sheet, const sf_Loop *loops, size_t count, double angle, sf_PaperMm pitch,
                    const sf_Pen *pen);

/// Draws only within the region until sf_sheet_unclip(). Pairs may be nested.
void sf_sheet_clip(sf_Sheet *sheet, const sf_Loop *loops, size_t count);
void sf_sheet_clip_band(sf_Sheet *sheet, sf_Spot centre, sf_PaperMm outer, sf_PaperMm inner); ///< between two circles
void sf_sheet_unclip(sf_Sheet *sheet);

/// A grey picture, top row first, laid into the box. Finer pictures than the paper can show are averaged down first.
void sf_sheet_image(sf_Sheet *sheet, const uint8_t *grey, size_t columns, size_t rows, sf_Box box);
