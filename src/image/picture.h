// SPDX-License-Identifier: GPL-3.0-or-later
// A decoded picture: one plane of linear light with its resolution. PNG, JPEG and TIFF, grey or colour, 8 or 16 bit.
#pragma once

#include "base/status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum { SF_PICTURE_MAX_MEGAPIXELS = 200 };

typedef enum sf_PictureKind { SF_PICTURE_PNG, SF_PICTURE_JPEG, SF_PICTURE_TIFF } sf_PictureKind;

typedef struct sf_Picture {
    uint16_t *light; ///< height x width, top row first, linear light 0 to 65535; owned
    size_t width, height;
    sf_PictureKind kind;
    int bits;               ///< per sample in the file
    bool coloured;          ///< the file held colour
    bool tone_stated;       ///< the file said how its values are coded and they were made linear
    double dpi_x, dpi_y;    ///< from the file's own tags; 0 when it has none
    bool dpi_conflict;      ///< two tags of the file disagree: both dpi are 0
    double dpi_rounding;    ///< how far the tag's own rounding may put it off, relative
    const char *dpi_origin; ///< which tag it came from, or NULL
} sf_Picture;

/// Decodes a whole file held in memory. Sizes are read from the header first. SF_E_INPUT when it is no such picture, is
/// damaged, or has more than SF_PICTURE_MAX_MEGAPIXELS; SF_E_MEMORY. On failure *picture is empty.
sf_Status sf_picture_read(sf_Picture *picture, const char *name, const uint8_t *bytes, size_t size,
                          sf_Error *err) SF_MUST_USE;

/// Frees and empties; safe to call twice.
void sf_picture_free(sf_Picture *picture);
