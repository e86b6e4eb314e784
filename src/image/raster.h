// SPDX-License-Identifier: GPL-3.0-or-later
// A picture laid out in metres: x right, y up, the origin at the picture's lower left corner. Internal to image.
#pragma once

#include "geom/point.h"
#include "image/picture.h"

typedef struct sf_Raster {
    const uint16_t *light; ///< borrowed from the picture
    size_t width, height;
    double pitch_x, pitch_y; ///< pixel pitch, m
} sf_Raster;

/// Mean pixel pitch, m.
static inline double sf_raster_pitch(const sf_Raster *raster)
{
    return 0.5 * (raster->pitch_x + raster->pitch_y);
}

/// Light at a place by bilinear interpolation between pixel centres, 0 to 65535; places outside take the border's
/// value.
static inline double sf_raster_light(const sf_Raster *raster, sf_Point place)
{
    double column = place.x / raster->pitch_x - 0.5;
    double row = (double)raster->height - place.y / raster->pitch_y - 0.5;
    double right = (double)raster->width - 1.000001, bottom = (double)raster->height - 1.000001;
    column = column < 0 ? 0 : column > right ? right : column;
    row = row < 0 ? 0 : row > bottom ? bottom : row;
    size_t c = (size_t)column, r = (size_t)row;
    double u = column - (double)c, v = row - (double)r;
    const uint16_t *above = raster->light + r * raster->width + c;
    const uint16_t *below = r + 1 < raster->height ? above + raster->width : above;
    size_t next = c + 1 < raster->width ? 1 : 0;
    return (above[0] * (1 - u) + above[next] * u) * (1 - v) + (below[0] * (1 - u) + below[next] * u) * v;
}
