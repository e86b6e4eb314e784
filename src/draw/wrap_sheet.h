// SPDX-License-Identifier: GPL-3.0-or-later
// The wrap to drill by: strips at full size that go round the pylon and round the clamp, with seam, cut line, old
// holes, where no hole may go, screw places and witness marks (docs/theory/wrap.md). Lying sheets of A4 or letter
// paper, as many as it takes.
#pragma once

#include "draw/sheet.h"
#include "growth/fastening.h"

enum { SF_WRAP_MAX_PIECES = 24, SF_WRAP_STRIPS = 2, SF_WRAP_NOTES = 8, SF_WRAP_WITNESSES = 2 };

/// Paper that hangs over where the strip's ends meet, mm; and what two parts of one strip share.
#define SF_WRAP_FLAP    8.0
#define SF_WRAP_OVERLAP 15.0

typedef enum sf_WrapRole { SF_WRAP_PROPOSED, SF_WRAP_PLANNED, SF_WRAP_FITTED, SF_WRAP_OLD, SF_WRAP_VENT } sf_WrapRole;

typedef struct sf_WrapHole {
    double angle, height, diameter; ///< limb angle rad, u m, m
    sf_WrapRole role;
    double wall;   ///< of the pylon there, m; NaN: not known
    double collar; ///< drill's stop from the clamp's outside (or the pylon's, see collar_from_clamp), m; NaN: not known
    sf_HoleDistances distances;
} sf_WrapHole;

/// Something round that a strip goes round.
typedef struct sf_WrapStrip {
    const char *name;
    bool clamp;       ///< round the clamp; else round the pylon
    double radius;    ///< of what is gone round, m
    double low, high; ///< u, m
} sf_WrapStrip;

/// What is drawn. Pointers are borrowed; SI.
typedef struct sf_WrapSheet {
    const char *label, *program, *safety, *fingerprint; ///< fingerprint: hash of the inputs or the record, NULL: none
    bool left;                                          ///< a left limb: limb angles run the other way round
    bool inch;                                          ///< lengths are told in inches
    bool band;                                          ///< fixed by a pinch band: no screws through the wall
    double cut, grip, seam, join;                       ///< seam NaN: not known; join: limb angle of the strips' ends
    double screw_diameter, pilot;                       ///< NaN: not known
    bool collar_from_clamp;
    sf_WrapStrip strips[SF_WRAP_STRIPS];
    size_t strip_count;
    sf_WrapHole holes[SF_FASTEN_MAX_HOLES];
    size_t hole_count;
    double witness[SF_WRAP_WITNESSES]; ///< limb angles; NaN: none
    const char *notes[SF_WRAP_NOTES];
    size_t note_count;
} sf_WrapSheet;

/// A stretch of a strip on a page: what lies `from` to `to` along it (mm of paper from the join, left to right seen
/// from outside) starts at `at`, the strip's lower left corner.
typedef struct sf_WrapPiece {
    size_t strip, page;
    sf_PaperMm from, to;
    sf_Spot at;
} sf_WrapPiece;

typedef struct sf_WrapLayout {
    sf_PaperMm width, height;
    sf_WrapPiece pieces[SF_WRAP_MAX_PIECES];
    size_t piece_count, pages;
    size_t table_page; ///< the table of holes stands here ...
    sf_PaperMm table_y;
} sf_WrapLayout;

/// Shares the strips out over sheets of that size. SF_E_RANGE when a strip is too high for the paper, SF_E_LIMIT.
sf_Status sf_wrap_layout(sf_WrapLayout *layout, const sf_WrapSheet *wrap, sf_PaperMm width, sf_PaperMm height,
                         sf_Error *err) SF_MUST_USE;

/// Where a place of the limb lies along a strip: mm from the join, 0 up to the circumference.
sf_PaperMm sf_wrap_along(const sf_WrapSheet *wrap, size_t strip, double angle);

/// The paper's place of a limb angle and height on a piece.
sf_Spot sf_wrap_spot(const sf_WrapSheet *wrap, const sf_WrapPiece *piece, double angle, double height);

/// Draws one page, counted from 0. SF_E_MEMORY.
sf_Status sf_wrap_page_paint(sf_Sheet *sheet, const sf_WrapSheet *wrap, const sf_WrapLayout *layout, size_t page,
                             sf_Error *err) SF_MUST_USE;
