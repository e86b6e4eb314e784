// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/alloc.h"
#include "ring_pixels.h"

#include <math.h>
#include <string.h>
#include <tiffio.h>

enum { TILE = 256 };

/// TransferFunction (TIFF 6.0, section 20): the light, 0..65535, that each code stands for. SF_E_MEMORY without room.
static sf_Status set_transfer(const sf_Scene *s, const sf_Pixels *p, TIFF *tiff, sf_Error *err)
{
    const size_t count = (size_t)1 << p->depth;
    uint16_t *table = sf_alloc(count, sizeof *table);
    if (!table)
        return SF_FAIL(err, SF_E_MEMORY, "", "no memory for a table");
    for (size_t i = 0; i < count; i++) {
        const double v = (double)i / (double)(count - 1);
        const double light = s->gamma == SF_GAMMA_CHUNK ? pow(v, 2.2)
                             : v <= 0.04045             ? v / 12.92
                                                        : pow((v + 0.055) / 1.055, 2.4);
        table[i] = (uint16_t)floor(light * 65535.0 + 0.5);
    }
    if (p->channels >= 3)
        TIFFSetField(tiff, TIFFTAG_TRANSFERFUNCTION, table, table, table);
    else
        TIFFSetField(tiff, TIFFTAG_TRANSFERFUNCTION, table);
    sf_free(table);
    return SF_OK;
}

static sf_Status set_tags(const sf_Scene *s, const sf_Pixels *p, TIFF *tiff, sf_Error *err)
{
    static const uint16_t packing[] = { COMPRESSION_NONE, COMPRESSION_LZW, COMPRESSION_ADOBE_DEFLATE };
    const int photometric = p->channels >= 3   ? PHOTOMETRIC_RGB
                            : s->white_is_zero ? PHOTOMETRIC_MINISWHITE
                                               : PHOTOMETRIC_MINISBLACK;
    TIFFSetField(tiff, TIFFTAG_IMAGEWIDTH, (uint32_t)p->columns);
    TIFFSetField(tiff, TIFFTAG_IMAGELENGTH, (uint32_t)p->rows);
    TIFFSetField(tiff, TIFFTAG_BITSPERSAMPLE, (int)p->depth);
    TIFFSetField(tiff, TIFFTAG_SAMPLESPERPIXEL, (int)p->channels);
    TIFFSetField(tiff, TIFFTAG_PHOTOMETRIC, photometric);
    TIFFSetField(tiff, TIFFTAG_PLANARCONFIG, PLANARCONFIG_CONTIG);
    TIFFSetField(tiff, TIFFTAG_ORIENTATION, ORIENTATION_TOPLEFT);
    TIFFSetField(tiff, TIFFTAG_COMPRESSION, packing[s->packing]);
    if (p->channels == 4) {
        uint16_t extra = EXTRASAMPLE_UNASSALPHA;
        TIFFSetField(tiff, TIFFTAG_EXTRASAMPLES, 1, &extra);
    }
    if (s->density == SF_DENSITY_NONE) {
        TIFFSetField(tiff, TIFFTAG_RESOLUTIONUNIT, RESUNIT_NONE);
    } else if (s->density == SF_DENSITY_ASPECT) {
        TIFFSetField(tiff, TIFFTAG_RESOLUTIONUNIT, RESUNIT_NONE);
        TIFFSetField(tiff, TIFFTAG_XRESOLUTION, s->dpi);
        TIFFSetField(tiff, TIFFTAG_YRESOLUTION, s->dpi);
    } else {
        const bool cm = s->density == SF_DENSITY_CM;
        TIFFSetField(tiff, TIFFTAG_RESOLUTIONUNIT, cm ? RESUNIT_CENTIMETER : RESUNIT_INCH);
        TIFFSetField(tiff, TIFFTAG_XRESOLUTION, cm ? floor(s->dpi + 0.5) / 2.54 : floor(s->dpi + 0.5));
        TIFFSetField(tiff, TIFFTAG_YRESOLUTION, cm ? floor(s->dpi + 0.5) / 2.54 : floor(s->dpi + 0.5));
    }
    if (s->tiles) {
        TIFFSetField(tiff, TIFFTAG_TILEWIDTH, TILE);
        TIFFSetField(tiff, TIFFTAG_TILELENGTH, TILE);
    } else {
        TIFFSetField(tiff, TIFFTAG_ROWSPERSTRIP, 64);
    }
    return s->gamma == SF_GAMMA_NONE ? SF_OK : set_transfer(s, p, tiff, err);
}

static int write_strips(const sf_Pixels *p, TIFF *tiff)
{
    for (size_t r = 0; r < p->rows; r++)
        if (TIFFWriteScanline(tiff, p->data + r * sf_pixels_row_bytes(p), (uint32_t)r, 0) < 0)
            return 0;
    return 1;
}

static int write_tiles(const sf_Pixels *p, TIFF *tiff)
{
    const size_t pixel = p->channels * (p->depth / 8), bytes = TILE * TILE * pixel;
    uint8_t *tile = sf_alloc(bytes, 1);
    int good = tile != NULL;
    for (size_t y = 0; good && y < p->rows; y += TILE)
        for (size_t x = 0; good && x < p->columns; x += TILE) {
            const size_t w = p->columns - x < TILE ? p->columns - x : TILE;
            const size_t h = p->rows - y < TILE ? p->rows - y : TILE;
            memset(tile, 0, bytes);
            for (size_t r = 0; r < h; r++)
                memcpy(tile + r * TILE * pixel, p->data + (y + r) * sf_pixels_row_bytes(p) + x * pixel, w * pixel);
            good = TIFFWriteTile(tiff, tile, (uint32_t)x, (uint32_t)y, 0, 0) >= 0;
        }
    sf_free(tile);
    return good;
}

sf_Status sf_encode_tiff(const sf_Scene *s, const sf_Pixels *p, const char *path, sf_Error *err)
{
    if (s->colour == SF_COLOUR_PALETTE)
        return SF_FAIL(err, SF_E_INPUT, s->name, "%s: palettes are only made as PNG; choose that format", s->name);
    if (s->white_is_zero && p->channels < 3) {
        const size_t bytes = p->rows * sf_pixels_row_bytes(p);
        for (size_t i = 0; i < bytes; i++)
            p->data[i] = (uint8_t)~p->data[i];
    }
    TIFF *tiff = TIFFOpen(path, s->big_endian ? "wb" : "wl");
    if (!tiff)
        return SF_FAIL(err, SF_E_STORE, path, "could not write %s; check the folder", path);
    sf_Status status = set_tags(s, p, tiff, err);
    const int good = status == SF_OK && (s->tiles ? write_tiles(p, tiff) : write_strips(p, tiff));
    TIFFClose(tiff);
    if (status == SF_OK && !good)
        status = SF_FAIL(err, SF_E_STORE, path, "could not write %s; check the space", path);
    return status;
}
