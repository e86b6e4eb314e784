// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/alloc.h"
#include "ring_pixels.h"

#include <math.h>
#include <png.h>
#include <stdio.h>

static void set_header(const sf_Scene *s, const sf_Pixels *p, png_structp png, png_infop info)
{
    int type = PNG_COLOR_TYPE_GRAY;
    if (s->colour == SF_COLOUR_RGB)
        type = PNG_COLOR_TYPE_RGB;
    else if (s->colour == SF_COLOUR_RGBA)
        type = PNG_COLOR_TYPE_RGB_ALPHA;
    else if (s->colour == SF_COLOUR_PALETTE)
        type = PNG_COLOR_TYPE_PALETTE;
    png_set_IHDR(png, info, (png_uint_32)p->columns, (png_uint_32)p->rows, (int)p->depth, type,
                 s->interlaced ? PNG_INTERLACE_ADAM7 : PNG_INTERLACE_NONE, PNG_COMPRESSION_TYPE_DEFAULT,
                 PNG_FILTER_TYPE_DEFAULT);
    const png_uint_32 per_metre = (png_uint_32)floor(s->dpi / 0.0254 + 0.5);
    if (s->density != SF_DENSITY_NONE)
        png_set_pHYs(png, info, per_metre, per_metre,
                     s->density == SF_DENSITY_ASPECT ? PNG_RESOLUTION_UNKNOWN : PNG_RESOLUTION_METER);
    if (s->gamma == SF_GAMMA_CHUNK)
        png_set_gAMA(png, info, 1.0 / 2.2);
    else if (s->gamma == SF_GAMMA_SRGB)
        png_set_sRGB_gAMA_and_cHRM(png, info, PNG_sRGB_INTENT_PERCEPTUAL);
    if (s->colour == SF_COLOUR_PALETTE) { // backwards, so that an index is not its own grey
        png_color palette[256];
        for (int i = 0; i < 256; i++)
            palette[i].red = palette[i].green = palette[i].blue = (png_byte)(255 - i);
        png_set_PLTE(png, info, palette, 256);
    }
}

static void write_rows(const sf_Scene *s, const sf_Pixels *p, png_structp png, png_bytep work)
{
    const int passes = png_set_interlace_handling(png);
    if (p->depth == 16)
        png_set_swap(png);
    for (int pass = 0; pass < passes; pass++)
        for (size_t r = 0; r < p->rows; r++) {
            const uint8_t *row = p->data + r * sf_pixels_row_bytes(p);
            if (s->colour == SF_COLOUR_PALETTE) {
                for (size_t c = 0; c < p->columns; c++)
                    work[c] = (png_byte)(255 - row[c]);
                row = work;
            }
            png_write_row(png, row);
        }
}

sf_Status sf_encode_png(const sf_Scene *s, const sf_Pixels *p, const char *path, sf_Error *err)
{
    if (s->colour == SF_COLOUR_PALETTE && p->depth != 8)
        return SF_FAIL(err, SF_E_INPUT, s->name, "%s: a palette holds 8 bits; set depth to 8", s->name);
    FILE *file = fopen(path, "wb");
    png_bytep work = sf_alloc(p->columns, 1);
    png_structp png = png_create_write_struct(PNG_LIBPNG_VER_STRING, NULL, NULL, NULL);
    png_infop info = png ? png_create_info_struct(png) : NULL;
    volatile int good = file && info && work;
    if (good && !setjmp(png_jmpbuf(png))) {
        png_init_io(png, file);
        png_set_compression_level(png, 3);
        png_set_filter(png, 0, PNG_FILTER_SUB);
        set_header(s, p, png, info);
        png_write_info(png, info);
        write_rows(s, p, png, work);
        png_write_end(png, info);
    } else {
        good = 0;
    }
    png_destroy_write_struct(&png, &info);
    sf_free(work);
    if (file && fclose(file) != 0)
        good = 0;
    return good ? SF_OK : SF_FAIL(err, SF_E_STORE, path, "could not write %s; check the folder and the space", path);
}
