// SPDX-License-Identifier: GPL-3.0-or-later
// A stored picture as a browser can show it: PNG, grey, not too large. Browsers show no TIFF, and a scan of a whole
// page is more than a tablet needs.
#pragma once

#include "base/status.h"

#include <stddef.h>

enum { SF_PICTURE_VIEW_SIDE = 1400 }; ///< pixels, the longer side

/// Decodes a PNG, JPEG or TIFF and hands over a PNG of at most SF_PICTURE_VIEW_SIDE a side (free with sf_free).
/// `width` and `height` are those of the picture itself. Errors of sf_picture_read and of the sheet.
sf_Status sf_picture_view(unsigned char **png, size_t *png_size, size_t *width, size_t *height,
                          const unsigned char *bytes, size_t size, sf_Error *err) SF_MUST_USE;
