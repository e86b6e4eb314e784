// SPDX-License-Identifier: GPL-3.0-or-later
#include "ring_pixels.h"

#include <math.h>
#include <setjmp.h>
#include <stdio.h>
#include <string.h>

#include <jpeglib.h>

typedef struct Escape {
    struct jpeg_error_mgr manager;
    jmp_buf back;
} Escape;

static void escape(j_common_ptr jpeg)
{
    longjmp(((Escape *)(void *)jpeg->err)->back, 1);
}

typedef struct Writer {
    uint8_t bytes[256];
    size_t used;
} Writer;

static void put(Writer *w, uint32_t value, int size)
{
    for (int i = 0; i < size; i++)
        w->bytes[w->used++] = (uint8_t)(value >> (8 * i));
}

static void entry(Writer *w, uint32_t tag, uint32_t type, uint32_t value)
{
    put(w, tag, 2);
    put(w, type, 2);
    put(w, 1, 4);
    put(w, value, 4);
}

/// An Exif block (JEITA CP-3451): resolution in IFD0; colour space sRGB in the Exif IFD when the light is so coded.
static size_t exif_block(const sf_Scene *s, Writer *w)
{
    enum { SHORT = 3, LONG = 4, RATIONAL = 5, FIRST = 8 };
    const bool density = s->density == SF_DENSITY_EXIF, srgb = s->gamma == SF_GAMMA_SRGB;
    const uint32_t count = (density ? 3u : 0u) + (srgb ? 1u : 0u);
    const uint32_t ratios = FIRST + 2 + 12 * count + 4, inner = ratios + (density ? 16u : 0u);
    memcpy(w->bytes, "Exif\0\0II", 8);
    w->used = 8;
    put(w, 42, 2);
    put(w, FIRST, 4);
    put(w, count, 2);
    if (density) {
        entry(w, 0x011a, RATIONAL, ratios);
        entry(w, 0x011b, RATIONAL, ratios + 8);
        entry(w, 0x0128, SHORT, 2);
    }
    if (srgb)
        entry(w, 0x8769, LONG, inner);
    put(w, 0, 4);
    for (int i = 0; density && i < 2; i++) {
        put(w, (uint32_t)floor(s->dpi + 0.5), 4);
        put(w, 1, 4);
    }
    if (srgb) {
        put(w, 1, 2);
        entry(w, 0xa001, SHORT, 1);
        put(w, 0, 4);
    }
    return w->used;
}

static void set_density(const sf_Scene *s, struct jpeg_compress_struct *jpeg)
{
    const double density = s->density == SF_DENSITY_CM ? s->dpi / 2.54 : s->dpi;
    jpeg->density_unit = s->density == SF_DENSITY_INCH ? 1 : s->density == SF_DENSITY_CM ? 2 : 0;
    jpeg->X_density = jpeg->Y_density = jpeg->density_unit ? (UINT16)floor(density + 0.5) : 1;
    if (s->density == SF_DENSITY_ASPECT)
        jpeg->X_density = jpeg->Y_density = (UINT16)floor(s->dpi + 0.5); // looks like dpi, is a ratio
}

static void write_all(const sf_Scene *s, const sf_Pixels *p, struct jpeg_compress_struct *jpeg, FILE *file)
{
    jpeg_create_compress(jpeg);
    jpeg_stdio_dest(jpeg, file);
    jpeg->image_width = (JDIMENSION)p->columns;
    jpeg->image_height = (JDIMENSION)p->rows;
    jpeg->input_components = (int)p->channels;
    jpeg->in_color_space = p->channels == 3 ? JCS_RGB : JCS_GRAYSCALE;
    jpeg_set_defaults(jpeg);
    jpeg_set_quality(jpeg, (int)s->quality, TRUE);
    jpeg->dct_method = JDCT_ISLOW;
    if (s->interlaced)
        jpeg_simple_progression(jpeg);
    set_density(s, jpeg);
    jpeg_start_compress(jpeg, TRUE);
    if (s->density == SF_DENSITY_EXIF || s->gamma == SF_GAMMA_SRGB) {
        Writer w = { .used = 0 };
        const size_t size = exif_block(s, &w);
        jpeg_write_marker(jpeg, JPEG_APP0 + 1, w.bytes, (unsigned)size);
    }
    while (jpeg->next_scanline < jpeg->image_height) {
        JSAMPROW row = p->data + jpeg->next_scanline * sf_pixels_row_bytes(p);
        jpeg_write_scanlines(jpeg, &row, 1);
    }
    jpeg_finish_compress(jpeg);
}

sf_Status sf_encode_jpeg(const sf_Scene *s, const sf_Pixels *p, const char *path, sf_Error *err)
{
    if (p->depth != 8 || s->colour == SF_COLOUR_RGBA || s->colour == SF_COLOUR_PALETTE || s->gamma == SF_GAMMA_CHUNK)
        return SF_FAIL(err, SF_E_INPUT, s->name,
                       "%s: a JPEG holds 8-bit grey or rgb, coded as it is or as srgb; ask for one of these", s->name);
    struct jpeg_compress_struct jpeg = { 0 };
    Escape way = { 0 };
    FILE *file = fopen(path, "wb");
    volatile int good = file != NULL;
    jpeg.err = jpeg_std_error(&way.manager);
    way.manager.error_exit = escape;
    if (good && !setjmp(way.back))
        write_all(s, p, &jpeg, file);
    else
        good = 0;
    jpeg_destroy_compress(&jpeg);
    if (file && fclose(file) != 0)
        good = 0;
    return good ? SF_OK : SF_FAIL(err, SF_E_STORE, path, "could not write %s; check the folder and the space", path);
}
