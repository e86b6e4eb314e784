// SPDX-License-Identifier: GPL-3.0-or-later
// How far a pylon is from first yield and from collapse, on one A5 sheet: the limb's lower end as an elevation to
// scale, beside it the stress along the height with the yield stresses of three temperatures and the strength used with
// its band, the factors, and the stress over the governing section. An aid to a licensed prosthetist, not a
// certificate.
#pragma once

#include "draw/sheet.h"
#include "strength/elastic.h"

enum { SF_PYLON_CURVES = 2, SF_PYLON_TEMPERATURES = 3, SF_PYLON_NOTES = 6 };

/// The stress along the pylon under one condition's proof force.
typedef struct sf_PylonCurve {
    const char *condition; ///< "I" or "II"
    double force;          ///< N
    bool balanced;         ///< false: no bent shape holds the force, there is no curve
    bool governs;          ///< the one with the least factor
    const sf_Peak *peaks;  ///< borrowed, one per station of the pylon
    sf_LoadLine line;
} sf_PylonCurve;

/// What is drawn. All pointers are borrowed. Heights in m above the floor, NaN where not known.
typedef struct sf_PylonSheet {
    const char *label; ///< of the person or the file
    const char *program, *safety;
    const char *level, *card;
    bool comparison_only; ///< no level is held for this body mass
    double mass;          ///< kg
    double temperature_c; ///< of the curves
    const sf_Pylon *pylon;
    double seam; ///< limb angle, rad
    double knee_level, mounting_face, foot_length, rim;
    sf_PylonCurve curves[SF_PYLON_CURVES];
    double temperatures_c[SF_PYLON_TEMPERATURES];
    double yields[SF_PYLON_TEMPERATURES];                  ///< Pa
    double factors[SF_FORCE_COUNT][SF_PYLON_TEMPERATURES]; ///< by sf_ForceKind; the worse of the conditions
    double forces[SF_FORCE_COUNT];                         ///< N, of the worse condition
    const sf_Outline *section;    ///< at the peak of the governing curve, limb frame; NULL when that has no balance
    sf_Actions peak_actions;      ///< at the governing curve's most stressed station
    const double *used;           ///< moment over strength at every station under the governing curve; NULL: not known
    const double (*used_band)[2]; ///< its 90 % band, NaN where there is none; NULL allowed
    double collapse_factor;       ///< on the governing curve's force, NaN: not known
    double collapse_band[2];      ///< NaN: none
    const char *collapse_by;      ///< what ends it, for a sentence
    const char *notes[SF_PYLON_NOTES]; ///< what a reader must know, most weighty first
    size_t note_count;
} sf_PylonSheet;

/// Draws onto an A5 sheet lying down. SF_E_MEMORY.
sf_Status sf_pylon_sheet_paint(sf_Sheet *sheet, const sf_PylonSheet *pylon, sf_Error *err) SF_MUST_USE;
