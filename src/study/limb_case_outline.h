// SPDX-License-Identifier: GPL-3.0-or-later
// A measured outline as the limb document keeps it. Internal to limb_case.
#pragma once

#include "geom/outline.h"

/// The outline as text (section/outline_table.h), in its picture's frame, with only those of its points that say more
/// than `tolerance` (m; Ramer 1972, Douglas and Peucker 1973): a scan gives some 2000 points to an edge, and
/// every version of the document holds them all. Voids and the unjoined line stay as they are. Freed with sf_free.
/// SF_E_MEMORY.
sf_Status sf_limb_case_outline(const sf_Outline *outline, double tolerance, char **text, sf_Error *err) SF_MUST_USE;

#define SF_CASE_OUTLINE_TOLERANCE 2e-6 ///< m; a twentieth of a pixel at 600 dpi, below every edge's doubt
#define SF_CASE_BOARD_TOLERANCE   2e-5 ///< m; what the eye sees of a ring drawn at half its size
