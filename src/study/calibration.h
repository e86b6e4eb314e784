// SPDX-License-Identifier: GPL-3.0-or-later
// A shop's scanner calibration as a file (`standfast-scanner/1`).
#pragma once

#include "image/gauge.h"
#include "study/result.h"

typedef struct sf_Calibration {
    double factor_x, factor_y; ///< true over scanned length, by axis of the picture
    double scale_sd;           ///< relative 1 SD
    sf_Gauge gauge;            ///< what it was made from; zero when read from a file
    double gauge_diameter;     ///< m
} sf_Calibration;

/// Measures a gauge of `true_diameter` (m); `dpi` 0: from the file.
sf_Status sf_calibration_make(sf_Calibration *calibration, const char *name, const uint8_t *bytes, size_t size,
                              double dpi, double true_diameter, sf_Error *err) SF_MUST_USE;

sf_Status sf_calibration_save(const sf_Calibration *calibration, const char *path, sf_Error *err) SF_MUST_USE;
sf_Status sf_calibration_load(sf_Calibration *calibration, const char *path, sf_Error *err) SF_MUST_USE;

/// The same from a document that is open; problems are noted in it.
void sf_calibration_read(sf_Calibration *calibration, sf_DocNode root);

/// Sets the calibration's figures into a result.
void sf_calibration_result(sf_Result *result, const sf_Calibration *calibration);
