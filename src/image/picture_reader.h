// SPDX-License-Identifier: GPL-3.0-or-later
// What the three file readers share. Internal to image.
#pragma once

#include "image/picture.h"
#include "image/tone.h"

/// One reader per file kind. Each fills size, plane, resolution and tone.
sf_Status sf_png_read(sf_Picture *picture, const char *name, const uint8_t *bytes, size_t size, sf_Error *err);
sf_Status sf_jpeg_read(sf_Picture *picture, const char *name, const uint8_t *bytes, size_t size, sf_Error *err);
sf_Status sf_tiff_read(sf_Picture *picture, const char *name, const uint8_t *bytes, size_t size, sf_Error *err);

/// Checks the size that a header states and allocates the plane.
sf_Status sf_picture_reserve(sf_Picture *picture, const char *name, size_t width, size_t height, sf_Error *err);

/// Converts one row of `width` pixels of 1 to 4 samples (grey, grey+alpha, RGB, RGBA; alpha is ignored; 8 or 16 bit in
/// the machine's order) through the `light` table (256 or 65536 entries) into row `y` of the plane. Colour is the plain
/// mean of the three channels in linear light, so that no hue of plastic loses its contrast.
void sf_picture_put_row(sf_Picture *picture, size_t y, const void *row, int samples, const uint16_t *light);

/// A stated resolution in pixels per metre, known to +-`rounding` of it. A value that the rounding cannot tell from a
/// whole dpi becomes that. A second, contradicting call marks the picture as such.
void sf_picture_set_resolution(sf_Picture *picture, double per_metre_x, double per_metre_y, double rounding,
                               const char *origin);

/// Resolution and colour space out of an EXIF block ("Exif\0\0" first). False when it holds no resolution; *srgb is set
/// when the block says so.
bool sf_exif_resolution(const uint8_t *block, size_t size, double *per_metre_x, double *per_metre_y, bool *srgb);
