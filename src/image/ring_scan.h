// SPDX-License-Identifier: GPL-3.0-or-later
// A picture of a cut-off ring becomes a measured outline in metres: both edges, the unjoined line, voids, and how well
// each is known. Theory: docs/theory/ring.md.
#pragma once

#include "geom/outline.h"

#include <stdint.h>

/// What a person may say beside the picture. Start from SF_RING_SCAN_DEFAULTS.
typedef struct sf_RingScanOptions {
    double dpi;                ///< 0: from the file's own tag
    double factor_x, factor_y; ///< scanner calibration: true length over scanned length, by axis (1 without)
    double scale_sd;           ///< relative 1 SD of the scale; SF_RING_SCAN_SCALE_SD without a calibration
    bool keep_view;            ///< keep a grey copy of the ring's surroundings for drawing
} sf_RingScanOptions;

/// Without a calibration the scale is known to 0.5 % (95 %, judgement, no source).
#define SF_RING_SCAN_SCALE_SD (0.005 / 1.959964)
#define SF_RING_SCAN_DEFAULTS                                                                                          \
    ((sf_RingScanOptions){ .dpi = 0, .factor_x = 1, .factor_y = 1, .scale_sd = SF_RING_SCAN_SCALE_SD })

/// Limits of what is measured.
#define SF_RING_LEAST_ACROSS 20e-3 ///< m
#define SF_RING_MOST_ACROSS  90e-3
#define SF_RING_LEAST_WALL   1.5e-3
#define SF_RING_MOST_WALL    15e-3
#define SF_RING_LEAST_DPI    140.0 ///< 150 dpi scans, with what their tags lose by rounding
#define SF_RING_MOST_DPI     2450.0

/// A grey copy, at most about 1400 pixels a side, gamma-coded for the eye; top row first.
typedef struct sf_RingView {
    uint8_t *grey; ///< owned; NULL when not kept
    size_t width, height;
    double x0, y0;           ///< lower left corner in the outline's frame, m
    double pitch_x, pitch_y; ///< m per pixel
} sf_RingView;

typedef struct sf_RingScan {
    sf_Outline outline; ///< checked; x right, y up from the picture's lower left corner
    double dpi_x, dpi_y;
    const char *dpi_origin; ///< "--dpi" or the file's tag
    double dpi_rounding;    ///< how far the tag's own rounding may put the resolution off, relative
    bool tone_stated;       ///< the file said how its values relate to light
    bool light_ring;        ///< light ring on dark ground, else inked ring on light ground
    size_t width, height;   ///< of the picture, pixels
    int bits;
    double blur;           ///< edge spread, 1 SD, m
    double contrast;       ///< face to ground, share of full scale
    double bridged;        ///< share of the edge that was bridged over dust or a line
    size_t voids_left_out; ///< seen, but beyond SF_OUTLINE_MAX_VOIDS or running into an edge
    sf_RingView view;
} sf_RingScan;

/// Measures the one ring in a picture file held in memory (`name` is for errors only). SF_E_INPUT: no picture, damaged,
/// too large, resolution unknown or outside SF_RING_LEAST_DPI..SF_RING_MOST_DPI, nothing / noise / two rings / a disc
/// without hole / a ring cut by the border, a ring outside the limits; SF_E_GEOMETRY; SF_E_MEMORY. On failure *scan is
/// empty. The caller frees.
sf_Status sf_ring_scan_read(sf_RingScan *scan, const char *name, const uint8_t *bytes, size_t size,
                            const sf_RingScanOptions *options, sf_Error *err) SF_MUST_USE;

/// Frees and empties; safe to call twice.
void sf_ring_scan_free(sf_RingScan *scan);
