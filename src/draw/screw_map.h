// SPDX-License-Identifier: GPL-3.0-or-later
// The permanent fixing on one A5 sheet: the pylon's section at the clamp seen from above with seam, holes and where
// none may go; beside it the torque card, each hole's distances beside their limits, and what to do when the alignment
// must move after all (docs/theory/fastening.md). An aid to a licensed prosthetist, not a certificate.
#pragma once

#include "draw/wrap_sheet.h"
#include "geom/outline.h"

enum { SF_MAP_LINES = 6, SF_MAP_LINE = 420 };

/// What is drawn. Pointers are borrowed. Places, roles and side are those of the wrap.
typedef struct sf_ScrewMap {
    const sf_WrapSheet *wrap;
    const sf_Outline *section; ///< limb frame; NULL: a plain ring of the two radii
    double inner_radius;       ///< m; NaN: not known
    double torque;             ///< N.m; NaN: not given
    const char *fixing;        ///< "pinch band", ... or NULL
    char doubt[SF_MAP_LINES][SF_MAP_LINE], rescues[SF_MAP_LINES][SF_MAP_LINE], remarks[SF_MAP_LINES][SF_MAP_LINE];
    size_t doubt_count, rescue_count, remark_count;
} sf_ScrewMap;

/// Draws onto an A5 sheet lying down. SF_E_MEMORY.
sf_Status sf_screw_map_paint(sf_Sheet *sheet, const sf_ScrewMap *map, sf_Error *err) SF_MUST_USE;
