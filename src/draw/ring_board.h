// SPDX-License-Identifier: GPL-3.0-or-later
// Rings beside one another at one scale, each with its decision, so that an eye can compare them.
#pragma once

#include "draw/sheet.h"
#include "geom/outline.h"
#include "section/ring_decision.h"

enum { SF_BOARD_RINGS = 36, SF_BOARD_ACROSS = 6 };

typedef struct sf_BoardRing {
    sf_Outline outline; ///< in its picture's frame
    double seam;        ///< direction of the seam there, rad; NaN: not known, the ring lies as it was scanned
    bool mirrored;      ///< seen from below: turned over, so that all are seen from above
    sf_Verdict verdict;
    bool judged;       ///< false: no decision is known
    const char *label; ///< whose, one line
    char number[24];   ///< "R1"
    double wall;       ///< median, m; NaN
} sf_BoardRing;

typedef struct sf_RingBoard {
    const sf_BoardRing *rings;
    size_t count; ///< at most SF_BOARD_RINGS
    const char *title;
} sf_RingBoard;

/// Size of the sheet that so many rings want, mm.
sf_Box sf_ring_board_size(size_t count);

/// Fills the sheet: seams at the bottom, a bar of 20 mm. SF_E_MEMORY.
sf_Status sf_ring_board_paint(sf_Sheet *sheet, const sf_RingBoard *board, sf_Error *err) SF_MUST_USE;
