// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/units.h"
#include "image/picture_reader.h"

#include <libexif/exif-data.h>

static bool read_rational(ExifData *data, ExifTag tag, double *value)
{
    ExifEntry *entry = exif_content_get_entry(data->ifd[EXIF_IFD_0], tag);
    if (!entry || entry->format != EXIF_FORMAT_RATIONAL || entry->size < 8)
        return false;
    ExifRational r = exif_get_rational(entry->data, exif_data_get_byte_order(data));
    if (r.denominator == 0 || r.numerator == 0)
        return false;
    *value = (double)r.numerator / r.denominator;
    return true;
}

static int read_short(ExifData *data, ExifIfd ifd, ExifTag tag, int otherwise)
{
    ExifEntry *entry = exif_content_get_entry(data->ifd[ifd], tag);
    if (!entry || entry->format != EXIF_FORMAT_SHORT || entry->size < 2)
        return otherwise;
    return exif_get_short(entry->data, exif_data_get_byte_order(data));
}

bool sf_exif_resolution(const uint8_t *block, size_t size, double *per_metre_x, double *per_metre_y, bool *srgb)
{
    if (size > 65535)
        return false;
    ExifData *data = exif_data_new();
    if (!data)
        return false;
    // As it stands in the file: libexif would otherwise add a 72 dpi that nobody wrote.
    exif_data_unset_option(data, EXIF_DATA_OPTION_FOLLOW_SPECIFICATION);
    exif_data_load_data(data, block, (unsigned)size);
    *srgb = read_short(data, EXIF_IFD_EXIF, EXIF_TAG_COLOR_SPACE, 0) == 1;
    double x, y;
    bool found = read_rational(data, EXIF_TAG_X_RESOLUTION, &x) && read_rational(data, EXIF_TAG_Y_RESOLUTION, &y);
    int unit = read_short(data, EXIF_IFD_0, EXIF_TAG_RESOLUTION_UNIT, 2);
    if (found && (unit == 2 || unit == 3)) {
        double length = unit == 2 ? SF_INCH : 0.01;
        *per_metre_x = x / length;
        *per_metre_y = y / length;
    } else {
        found = false;
    }
    exif_data_unref(data);
    return found;
}
