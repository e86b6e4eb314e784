// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/alloc.h"
#include "base/progress.h"
#include "base/units.h"
#include "image/picture_reader.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>
#include <tiffio.h>

typedef struct Source {
    const uint8_t *bytes;
    size_t size, place;
    bool short_of; // bytes were wanted that are not there
} Source;

static tmsize_t take_bytes(thandle_t handle, void *out, tmsize_t count)
{
    Source *s = handle;
    size_t left = s->place < s->size ? s->size - s->place : 0;
    size_t n = (size_t)count < left ? (size_t)count : left;
    memcpy(out, s->bytes + (n ? s->place : 0), n);
    s->place += n;
    s->short_of |= n < (size_t)count;
    return (tmsize_t)n;
}

static tmsize_t write_nothing(thandle_t handle, void *out, tmsize_t count)
{
    (void)handle;
    (void)out;
    (void)count;
    return 0;
}

static toff_t seek(thandle_t handle, toff_t offset, int whence)
{
    Source *s = handle;
    toff_t from = whence == SEEK_CUR ? s->place : whence == SEEK_END ? s->size : 0;
    s->place = from + offset;
    return s->place;
}

static int close_nothing(thandle_t handle)
{
    (void)handle;
    return 0;
}

static toff_t whole_size(thandle_t handle)
{
    return ((Source *)handle)->size;
}

static void silent(const char *module, const char *format, va_list args)
{
    (void)module;
    (void)format;
    (void)args;
}

typedef struct Layout {
    uint16_t bits, samples, photometric, planar, format;
    uint32_t width, height, tile_width, tile_height;
    bool tiled;
} Layout;

static void read_resolution(TIFF *tiff, sf_Picture *picture)
{
    float x = 0, y = 0;
    uint16_t unit = RESUNIT_INCH;
    TIFFGetFieldDefaulted(tiff, TIFFTAG_RESOLUTIONUNIT, &unit);
    if (!TIFFGetField(tiff, TIFFTAG_XRESOLUTION, &x) || !TIFFGetField(tiff, TIFFTAG_YRESOLUTION, &y))
        return;
    if (unit != RESUNIT_INCH && unit != RESUNIT_CENTIMETER)
        return;
    double length = unit == RESUNIT_INCH ? SF_INCH : 0.01;
    // libtiff hands the rational over as a 32-bit float; per cm, whole numbers are a usual rounding.
    bool whole_per_cm = unit == RESUNIT_CENTIMETER && x == (float)(int)x && y == (float)(int)y;
    sf_picture_set_resolution(picture, x / length, y / length, whole_per_cm ? 50.0 : 1e-6 * x / length,
                              "TIFF resolution");
}

static void read_tone(TIFF *tiff, const Layout *layout, sf_Tone *tone)
{
    uint32_t size = 0;
    void *profile = NULL;
    uint16_t *curve = NULL, *green = NULL, *blue = NULL;
    if (TIFFGetField(tiff, TIFFTAG_ICCPROFILE, &size, &profile) && profile && sf_tone_from_icc(tone, profile, size))
        return;
    // libtiff writes one pointer or three, by its own count of colour samples: all three are offered.
    bool found = TIFFGetField(tiff, TIFFTAG_TRANSFERFUNCTION, &curve, &green, &blue);
    if (!found || !curve)
        return;
    size_t codes = (size_t)1 << layout->bits;
    tone->kind = SF_TONE_TABLE;
    tone->table_count = codes < SF_TONE_TABLE_MAX ? codes : SF_TONE_TABLE_MAX;
    for (size_t i = 0; i < tone->table_count; i++)
        tone->table[i] = curve[i * (codes - 1) / (tone->table_count - 1)];
}

static sf_Status read_layout(TIFF *tiff, Layout *l, const char *name, sf_Error *err)
{
    TIFFGetFieldDefaulted(tiff, TIFFTAG_BITSPERSAMPLE, &l->bits);
    TIFFGetFieldDefaulted(tiff, TIFFTAG_SAMPLESPERPIXEL, &l->samples);
    TIFFGetFieldDefaulted(tiff, TIFFTAG_PLANARCONFIG, &l->planar);
    TIFFGetFieldDefaulted(tiff, TIFFTAG_SAMPLEFORMAT, &l->format);
    TIFFGetField(tiff, TIFFTAG_IMAGEWIDTH, &l->width);
    TIFFGetField(tiff, TIFFTAG_IMAGELENGTH, &l->height);
    if (!TIFFGetField(tiff, TIFFTAG_PHOTOMETRIC, &l->photometric))
        l->photometric = PHOTOMETRIC_MINISBLACK;
    l->tiled = TIFFIsTiled(tiff);
    if (l->tiled) {
        TIFFGetField(tiff, TIFFTAG_TILEWIDTH, &l->tile_width);
        TIFFGetField(tiff, TIFFTAG_TILELENGTH, &l->tile_height);
    }
    bool grey = l->photometric == PHOTOMETRIC_MINISBLACK || l->photometric == PHOTOMETRIC_MINISWHITE;
    bool colour = l->photometric == PHOTOMETRIC_RGB && l->samples >= 3;
    if ((l->bits != 8 && l->bits != 16) || l->format != SAMPLEFORMAT_UINT || !(grey || colour) || l->samples > 4 ||
        (l->samples > 1 && l->planar != PLANARCONFIG_CONTIG))
        return SF_FAIL(err, SF_E_INPUT, name,
                       "%s is a TIFF of a kind that is not read: save it as grey or RGB with 8 or 16 bits", name);
    return SF_OK;
}

static sf_Status damaged(const char *name, sf_Error *err)
{
    return SF_FAIL(err, SF_E_INPUT, name, "%s is a damaged TIFF picture: scan or copy it again", name);
}

static sf_Status read_strips(TIFF *tiff, sf_Picture *picture, const Layout *l, const uint16_t *light, const char *name,
                             sf_Error *err)
{
    uint8_t *row = sf_alloc((size_t)TIFFScanlineSize64(tiff), 1);
    if (!row)
        return SF_FAIL(err, SF_E_MEMORY, name, "out of memory while reading %s", name);
    sf_Status status = SF_OK;
    for (uint32_t y = 0; y < l->height && status == SF_OK; y++) {
        status = sf_progress_count(y, l->height, "rows", err);
        if (status == SF_OK && TIFFReadScanline(tiff, row, y, 0) < 0)
            status = damaged(name, err);
        else if (status == SF_OK)
            sf_picture_put_row(picture, y, row, l->samples, light);
    }
    sf_free(row);
    return status;
}

// Reads a row of tiles into a band of full rows, then hands the rows on.
static sf_Status read_tiles(TIFF *tiff, sf_Picture *picture, const Layout *l, const uint16_t *light, const char *name,
                            sf_Error *err)
{
    size_t pixel = (size_t)l->samples * l->bits / 8;
    size_t tile_row = (size_t)l->tile_width * pixel;
    size_t across = ((size_t)l->width + l->tile_width - 1) / l->tile_width;
    if (tile_row * l->tile_height > (size_t)1 << 30 || (size_t)TIFFTileSize64(tiff) < tile_row * l->tile_height)
        return damaged(name, err);
    uint8_t *tile = sf_alloc((size_t)TIFFTileSize64(tiff), 1);
    uint8_t *band = sf_alloc(l->tile_height, across * tile_row);
    sf_Status status = SF_OK;
    if (!tile || !band)
        status = SF_FAIL(err, SF_E_MEMORY, name, "out of memory while reading %s", name);
    for (uint32_t y0 = 0; y0 < l->height && status == SF_OK; y0 += l->tile_height) {
        status = sf_progress_tell((double)y0 / l->height, "rows of tiles", err);
        for (size_t c = 0; c < across && status == SF_OK; c++) {
            if (TIFFReadTile(tiff, tile, (uint32_t)(c * l->tile_width), y0, 0, 0) < 0)
                status = damaged(name, err);
            for (size_t r = 0; r < l->tile_height; r++)
                memcpy(band + (r * across + c) * tile_row, tile + r * tile_row, tile_row);
        }
        for (uint32_t r = 0; r < l->tile_height && y0 + r < l->height && status == SF_OK; r++)
            sf_picture_put_row(picture, y0 + r, band + r * across * tile_row, l->samples, light);
    }
    sf_free(tile);
    sf_free(band);
    return status;
}

static sf_Status read_all(TIFF *tiff, sf_Picture *picture, const char *name, sf_Error *err)
{
    Layout layout = { 0 };
    SF_TRY(read_layout(tiff, &layout, name, err));
    SF_TRY(sf_picture_reserve(picture, name, layout.width, layout.height, err));
    picture->bits = layout.bits;
    picture->coloured = layout.samples >= 3;
    read_resolution(tiff, picture);
    size_t codes = (size_t)1 << layout.bits;
    sf_Tone *tone = sf_alloc(1, sizeof *tone);
    uint16_t *light = sf_alloc(codes, sizeof *light);
    sf_Status status = SF_OK;
    if (!tone || !light) {
        status = SF_FAIL(err, SF_E_MEMORY, name, "out of memory while reading %s", name);
        goto done;
    }
    read_tone(tiff, &layout, tone);
    picture->tone_stated = tone->kind != SF_TONE_UNSTATED;
    sf_tone_fill(tone, light, codes);
    if (layout.photometric == PHOTOMETRIC_MINISWHITE)
        for (size_t i = 0; i < codes / 2; i++) {
            uint16_t swap = light[i];
            light[i] = light[codes - 1 - i];
            light[codes - 1 - i] = swap;
        }
    status = layout.tiled ? read_tiles(tiff, picture, &layout, light, name, err)
                          : read_strips(tiff, picture, &layout, light, name, err);
done:
    sf_free(tone);
    sf_free(light);
    return status;
}

sf_Status sf_tiff_read(sf_Picture *picture, const char *name, const uint8_t *bytes, size_t size, sf_Error *err)
{
    picture->kind = SF_PICTURE_TIFF;
    TIFFSetErrorHandler(silent);
    TIFFSetWarningHandler(silent);
    Source source = { bytes, size, 0, false };
    TIFF *tiff =
        TIFFClientOpen(name, "rm", &source, take_bytes, write_nothing, seek, close_nothing, whole_size, NULL, NULL);
    if (!tiff)
        return damaged(name, err);
    sf_Status status = read_all(tiff, picture, name, err);
    TIFFClose(tiff);
    // libtiff passes over a tag that it cannot read to its end, such as the curve from values to light.
    return status == SF_OK && source.short_of ? damaged(name, err) : status;
}
