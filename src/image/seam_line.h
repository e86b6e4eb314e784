// SPDX-License-Identifier: GPL-3.0-or-later
// The unjoined line: a narrow dark line in the cut face that starts at the inner edge, where the sheet's edges met and
// did not fuse. Internal to image.
#pragma once

#include "geom/outline.h"
#include "image/edge.h"

/// Follows the line outward from the inner edge. *end_sd becomes the 1 SD of its tip's place, m. SF_E_MEMORY.
sf_Status sf_seam_line_find(sf_UnjoinedLine *line, double *end_sd, const sf_ScanEdges *edges, const sf_Raster *raster,
                            sf_Error *err) SF_MUST_USE;
