// SPDX-License-Identifier: GPL-3.0-or-later
// Voids: places inside the wall where the ground shows through the cut face. Internal to image.
#pragma once

#include "geom/outline.h"
#include "image/edge.h"

#define SF_VOID_LEAST_ACROSS 0.3e-3 ///< m, of the circle of equal area

/// Adds the voids to outline->voids (counter-clockwise). `line` is left out of the search. *left_out counts voids
/// beyond SF_OUTLINE_MAX_VOIDS and those that cannot be drawn within the wall. SF_E_MEMORY.
sf_Status sf_hollows_find(sf_Outline *outline, size_t *left_out, const sf_ScanEdges *edges, const sf_Raster *raster,
                          const sf_UnjoinedLine *line, sf_Error *err) SF_MUST_USE;
