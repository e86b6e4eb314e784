// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/picture_view.h"

#include "base/alloc.h"
#include "draw/sheet.h"
#include "image/picture.h"

#include <math.h>
#include <stdint.h>

static const double LEAST_MM = 10; // of a sheet

// Linear light to what a screen takes (the power law of sRGB, nearly: it is for looking at only).
static uint8_t *grey_of(const sf_Picture *picture)
{
    enum { LEVELS = 1 << 12 };
    uint8_t table[LEVELS];
    size_t count = picture->width * picture->height;
    uint8_t *grey = sf_alloc(count, 1);
    for (int i = 0; i < LEVELS; i++)
        table[i] = (uint8_t)lround(255 * pow((i + 0.5) / LEVELS, 1 / 2.2));
    for (size_t i = 0; grey && i < count; i++)
        grey[i] = table[picture->light[i] >> 4];
    return grey;
}

sf_Status sf_picture_view(unsigned char **png, size_t *png_size, size_t *width, size_t *height,
                          const unsigned char *bytes, size_t size, sf_Error *err)
{
    sf_Picture picture = { 0 };
    sf_Sheet *sheet = NULL;
    uint8_t *grey = NULL;
    sf_Status status;
    *png = NULL;
    SF_TRY_DONE(sf_picture_read(&picture, "the picture", bytes, size, err));
    *width = picture.width;
    *height = picture.height;
    grey = grey_of(&picture);
    if (!grey) {
        status = SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
        goto done;
    }
    double side = (double)(picture.width > picture.height ? picture.width : picture.height);
    double scale = fmin(1, SF_PICTURE_VIEW_SIDE / side) / SF_SHEET_PX_PER_MM;
    sf_Box box = { 0, 0, fmax(LEAST_MM, (double)picture.width * scale),
                   fmax(LEAST_MM, (double)picture.height * scale) };
    SF_TRY_DONE(sf_sheet_create(&sheet, SF_SHEET_PNG, box.width, box.height, err));
    sf_sheet_image(sheet, grey, picture.width, picture.height, box);
    SF_TRY_DONE(sf_sheet_finish(&sheet, png, png_size, err));
done:
    sf_sheet_destroy(&sheet);
    sf_free(grey);
    sf_picture_free(&picture);
    return status;
}
