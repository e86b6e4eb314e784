// SPDX-License-Identifier: GPL-3.0-or-later
// Scanner calibration from a scan of a round gauge of known diameter: what each axis of the scanner makes of it.
#pragma once

#include "base/status.h"

#include <stddef.h>
#include <stdint.h>

typedef struct sf_Gauge {
    double dpi_x, dpi_y;
    double diameter_x, diameter_y; ///< as scanned, along the picture's axes, m
    double misfit;                 ///< root mean square distance of the edge from the fitted ellipse, m
    double factor_x, factor_y;     ///< true over scanned length
    double scale_sd;               ///< relative 1 SD of the factors
} sf_Gauge;

/// The gauge's own diameter is taken as known to this, 1 SD, m (judgement, no source: a workshop gauge).
#define SF_GAUGE_SD 0.005e-3
/// An edge this far from an ellipse is no round gauge, m.
#define SF_GAUGE_MOST_MISFIT 0.05e-3

/// Measures the outer edge of a disc or a ring and fits an ellipse with axes along the picture's. `dpi` 0: from the
/// file. `true_diameter` in m, 15 to 105 mm. SF_E_INPUT as for sf_ring_scan_read, and when the thing is not round, or
/// its size is off by more than 5 % (then the resolution is wrong, not the scanner).
sf_Status sf_gauge_measure(sf_Gauge *gauge, const char *name, const uint8_t *bytes, size_t size, double dpi,
                           double true_diameter, sf_Error *err) SF_MUST_USE;
