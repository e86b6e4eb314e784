// SPDX-License-Identifier: GPL-3.0-or-later
// Which resolution a picture is measured at. Internal to image.
#pragma once

#include "image/picture.h"

typedef struct sf_Resolution {
    double dpi_x, dpi_y;
    const char *origin; ///< "--dpi" or the file's tag
    double rounding;    ///< how far the tag's own rounding may put it off, relative
} sf_Resolution;

/// `given` dpi (0: none) wins over the file's own tag. SF_E_INPUT when there is neither, when the file contradicts
/// itself, or when it is outside what is measured; never a guess.
sf_Status sf_resolution_settle(sf_Resolution *resolution, const sf_Picture *picture, const char *name, double given,
                               sf_Error *err) SF_MUST_USE;
