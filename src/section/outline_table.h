// SPDX-License-Identifier: GPL-3.0-or-later
// Outlines as text: two closed curves in a CSV, or caliper readings round a ring.
#pragma once

#include "geom/outline.h"

enum { SF_CALIPER_MIN_READINGS = 8, SF_CALIPER_MAX_READINGS = 3600 };

/// Reads `curve,x_mm,y_mm` with curves `outer`, `inner`, and where there are any `void1`, `void2`, ... and `line` (its
/// two ends, from the inner edge outward). Checks the result (sf_outline_check). No doubt is known: all zero;
/// line_searched is true only when a `line` or a void is there. SF_E_PARSE with the line, SF_E_GEOMETRY, SF_E_MEMORY.
/// The caller frees.
sf_Status sf_outline_read_csv(sf_Outline *outline, const char *name, const char *text, size_t size,
                              sf_Error *err) SF_MUST_USE;

/// The same text back, 6 decimals of a millimetre (free with sf_free). SF_E_MEMORY.
sf_Status sf_outline_write_csv(const sf_Outline *outline, char **text, size_t *size, sf_Error *err) SF_MUST_USE;

typedef struct sf_CaliperOptions {
    double reading_sd; ///< one reading's standard deviation, m; 0 takes SF_CALIPER_READING_SD
} sf_CaliperOptions;

#define SF_CALIPER_READING_SD 0.02e-3 ///< m; judgement: a 0.02 mm caliper in a practised hand on a soft edge

/// Reads `angle_deg,outer_mm,wall_mm`: outer radius (or half diameter) and wall at n >= 8 angles in any order and
/// spacing, wall read along the radius. A smooth closed curve is laid through the readings (periodic cubic spline in
/// the angle); doubt comes from the reading and from how well each reading is foretold by the others. Voids and line
/// are not searched. SF_E_PARSE / SF_E_RANGE / SF_E_INPUT with the line; SF_E_GEOMETRY; SF_E_MEMORY. The caller frees.
sf_Status sf_outline_read_caliper(sf_Outline *outline, const char *name, const char *text, size_t size,
                                  const sf_CaliperOptions *options, sf_Error *err) SF_MUST_USE;
