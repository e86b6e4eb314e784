// SPDX-License-Identifier: GPL-3.0-or-later
// Coded samples between the painter and the file formats (internal to the encoder).
#pragma once

#include "ring_raster.h"
#include "ring_scene.h"

#include <stdint.h>

/// Interleaved samples, 8 or 16 bit in the machine's byte order.
typedef struct sf_Pixels {
    size_t columns, rows, channels, depth;
    uint8_t *data;
} sf_Pixels;

static inline size_t sf_pixels_row_bytes(const sf_Pixels *p)
{
    return p->columns * p->channels * (p->depth / 8);
}

sf_Status sf_encode_png(const sf_Scene *scene, const sf_Pixels *pixels, const char *path, sf_Error *err) SF_MUST_USE;
sf_Status sf_encode_jpeg(const sf_Scene *scene, const sf_Pixels *pixels, const char *path, sf_Error *err) SF_MUST_USE;
sf_Status sf_encode_tiff(const sf_Scene *scene, const sf_Pixels *pixels, const char *path, sf_Error *err) SF_MUST_USE;
