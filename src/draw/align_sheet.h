// SPDX-License-Identifier: GPL-3.0-or-later
// What a change at the clamp does, on one A5 sheet: the limb before and after from three sides first, the moments
// second. An aid to a licensed prosthetist, not a certificate; there is no mark that a moment must reach.
#pragma once

#include "draw/limb_views.h"

enum { SF_ALIGN_SHEET_NOTES = 6, SF_ALIGN_SHEET_POSES = 6 };

/// One figure of the pose with its words and unit.
typedef struct sf_AlignFigure {
    const char *words;
    double before, after;
} sf_AlignFigure;

typedef struct sf_AlignSheet {
    const char *label, *program, *safety;
    double body_mass;
    const char *change; ///< "+10 mm foot outset", or that nothing is changed
    sf_LimbViews views;
    sf_AlignFigure poses[SF_ALIGN_SHEET_POSES];
    size_t pose_count;
    const char *notes[SF_ALIGN_SHEET_NOTES]; ///< most weighty first
    size_t note_count;
} sf_AlignSheet;

/// The boxes of the views on the A5 sheet, for sf_limb_views_places.
sf_ViewPlaces sf_align_sheet_places(const sf_AlignSheet *align);

/// Draws onto an A5 sheet lying down. SF_E_MEMORY.
sf_Status sf_align_sheet_paint(sf_Sheet *sheet, const sf_AlignSheet *align, sf_Error *err) SF_MUST_USE;
