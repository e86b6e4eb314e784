// SPDX-License-Identifier: GPL-3.0-or-later
#include "image/picture.h"

#include "base/alloc.h"
#include "base/units.h"
#include "image/picture_reader.h"

#include <math.h>
#include <string.h>

enum { MAX_SIDE = 1 << 20 };

sf_Status sf_picture_reserve(sf_Picture *picture, const char *name, size_t width, size_t height, sf_Error *err)
{
    if (width == 0 || height == 0)
        return SF_FAIL(err, SF_E_INPUT, name, "%s has no pixels", name);
    if (width > MAX_SIDE || height > MAX_SIDE || width * height > (size_t)SF_PICTURE_MAX_MEGAPIXELS * 1000000)
        return SF_FAIL(
            err, SF_E_INPUT, name,
            "%s is %zu x %zu pixels, above the %d megapixels that are read: crop it to the ring or scan at a "
            "lower resolution",
            name, width, height, SF_PICTURE_MAX_MEGAPIXELS);
    picture->light = sf_alloc(width * height, sizeof *picture->light);
    if (!picture->light)
        return SF_FAIL(err, SF_E_MEMORY, name, "out of memory for a picture of %zu x %zu pixels", width, height);
    picture->width = width;
    picture->height = height;
    return SF_OK;
}

static void put_row_8(uint16_t *out, size_t width, const uint8_t *row, int samples, const uint16_t *light)
{
    if (samples < 3)
        for (size_t x = 0; x < width; x++, row += samples)
            out[x] = light[row[0]];
    else
        for (size_t x = 0; x < width; x++, row += samples)
            out[x] = (uint16_t)((light[row[0]] + light[row[1]] + light[row[2]]) / 3);
}

static void put_row_16(uint16_t *out, size_t width, const uint16_t *row, int samples, const uint16_t *light)
{
    if (samples < 3)
        for (size_t x = 0; x < width; x++, row += samples)
            out[x] = light[row[0]];
    else
        for (size_t x = 0; x < width; x++, row += samples)
            out[x] = (uint16_t)((light[row[0]] + light[row[1]] + light[row[2]]) / 3);
}

void sf_picture_put_row(sf_Picture *picture, size_t y, const void *row, int samples, const uint16_t *light)
{
    uint16_t *out = picture->light + y * picture->width;
    if (picture->bits == 16)
        put_row_16(out, picture->width, row, samples, light);
    else
        put_row_8(out, picture->width, row, samples, light);
}

// Scanners run at whole dpi: where the tag's rounding cannot tell it from one, it is that.
static double unrounded(double per_metre, double rounding)
{
    double dpi = per_metre * SF_INCH, slack = rounding * SF_INCH;
    const double fine = 0.25; // dpi; a coarser tag could mean several whole dpi
    return slack < fine && fabs(dpi - round(dpi)) <= slack * 1.01 ? round(dpi) : dpi;
}

void sf_picture_set_resolution(sf_Picture *picture, double per_metre_x, double per_metre_y, double rounding,
                               const char *origin)
{
    if (!(per_metre_x > 0) || !(per_metre_y > 0) || picture->dpi_conflict)
        return;
    double dpi_x = unrounded(per_metre_x, rounding), dpi_y = unrounded(per_metre_y, rounding);
    // Two tags of one file that differ by more than this share cannot both be right.
    const double agreement = 0.005;
    if (picture->dpi_x > 0) {
        if (fabs(dpi_x / picture->dpi_x - 1) > agreement || fabs(dpi_y / picture->dpi_y - 1) > agreement) {
            picture->dpi_conflict = true;
            picture->dpi_x = picture->dpi_y = 0;
        }
        return;
    }
    picture->dpi_x = dpi_x;
    picture->dpi_y = dpi_y;
    picture->dpi_rounding = rounding / fmin(per_metre_x, per_metre_y);
    picture->dpi_origin = origin;
}

sf_Status sf_picture_read(sf_Picture *picture, const char *name, const uint8_t *bytes, size_t size, sf_Error *err)
{
    *picture = (sf_Picture){ 0 };
    sf_Status status;
    if (size >= 8 && memcmp(bytes, "\x89PNG\r\n\x1a\n", 8) == 0)
        status = sf_png_read(picture, name, bytes, size, err);
    else if (size >= 3 && memcmp(bytes, "\xff\xd8\xff", 3) == 0)
        status = sf_jpeg_read(picture, name, bytes, size, err);
    else if (size >= 4 && (memcmp(bytes, "II*\0", 4) == 0 || memcmp(bytes, "MM\0*", 4) == 0))
        status = sf_tiff_read(picture, name, bytes, size, err);
    else
        status = SF_FAIL(err, SF_E_INPUT, name,
                         "%s is not a PNG, JPEG or TIFF picture: scan the ring into one of these", name);
    if (status != SF_OK)
        sf_picture_free(picture);
    return status;
}

void sf_picture_free(sf_Picture *picture)
{
    sf_free(picture->light);
    *picture = (sf_Picture){ 0 };
}
