// SPDX-License-Identifier: GPL-3.0-or-later
// The timing of a walk on one A5 sheet: the strip first, the figures below it, each kind of support by itself. Timing
// tells about the walking and grades no alignment.
#pragma once

#include "draw/step_strip.h"

enum { SF_STEPS_SHEET_ROWS = 4, SF_STEPS_SHEET_CELLS = 11, SF_STEPS_SHEET_CELL = 24, SF_STEPS_SHEET_NOTES = 8 };

typedef struct sf_StepsSheet {
    const char *name, *program, *safety, *kind;
    const char *order; ///< of ratio and index: "left over right"
    sf_StepStrip strip;
    char cells[SF_STEPS_SHEET_ROWS][SF_STEPS_SHEET_CELLS][SF_STEPS_SHEET_CELL]; ///< as the columns stand
    size_t row_count;
    const char *notes[SF_STEPS_SHEET_NOTES];
    size_t note_count;
} sf_StepsSheet;

/// Names of the columns, in the order of the cells.
extern const char *const SF_STEPS_SHEET_COLUMNS[SF_STEPS_SHEET_CELLS];

/// Draws onto an A5 sheet lying down. SF_E_MEMORY.
sf_Status sf_steps_sheet_paint(sf_Sheet *sheet, const sf_StepsSheet *steps, sf_Error *err) SF_MUST_USE;
