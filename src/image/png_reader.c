// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/alloc.h"
#include "base/progress.h"
#include "image/picture_reader.h"

#include <png.h>
#include <setjmp.h>
#include <stdio.h>
#include <string.h>

typedef struct Source {
    const uint8_t *bytes;
    size_t size, used;
} Source;

// All that must survive a longjmp out of libpng.
typedef struct Reading {
    png_structp png;
    png_infop info;
    Source source;
    char message[160];
    bool starved; // an allocation failed; libpng passes over some of these
    uint16_t *light;
    uint8_t *rows; // one row, or the whole picture when interlaced
    png_bytepp row_starts;
    sf_Tone tone;
} Reading;

static void take_bytes(png_structp png, png_bytep out, size_t count)
{
    Source *source = png_get_io_ptr(png);
    if (count > source->size - source->used)
        png_error(png, "it ends too early");
    memcpy(out, source->bytes + source->used, count);
    source->used += count;
}

static void keep_error(png_structp png, png_const_charp message)
{
    Reading *reading = png_get_error_ptr(png);
    snprintf(reading->message, sizeof reading->message, "%s", message);
    png_longjmp(png, 1);
}

static void ignore_warning(png_structp png, png_const_charp message)
{
    (void)png;
    (void)message;
}

static png_voidp heap_take(png_structp png, png_alloc_size_t bytes)
{
    Reading *reading = png_get_mem_ptr(png);
    void *block = sf_alloc(bytes, 1);
    reading->starved |= !block;
    return block;
}

static void heap_free(png_structp png, png_voidp block)
{
    (void)png;
    sf_free(block);
}

// The file's own word on how values relate to light: sRGB, else an ICC curve, else gAMA.
static void read_tone(Reading *r, sf_Picture *picture)
{
    int intent;
    double file_gamma;
    png_charp profile_name;
    png_bytep profile;
    png_uint_32 profile_size;
    int compression;
    if (png_get_sRGB(r->png, r->info, &intent))
        r->tone.kind = SF_TONE_SRGB;
    else if (png_get_iCCP(r->png, r->info, &profile_name, &compression, &profile, &profile_size) &&
             sf_tone_from_icc(&r->tone, profile, profile_size))
        ;
    else if (png_get_gAMA(r->png, r->info, &file_gamma) && file_gamma > 0.1 && file_gamma < 10) {
        r->tone.kind = SF_TONE_GAMMA;
        r->tone.exponent = 1 / file_gamma;
    }
    picture->tone_stated = r->tone.kind != SF_TONE_UNSTATED;
}

static sf_Status read_resolution(Reading *r, sf_Picture *picture, const char *name, sf_Error *err)
{
    png_uint_32 x = 0, y = 0;
    int unit = PNG_RESOLUTION_UNKNOWN;
    if (png_get_pHYs(r->png, r->info, &x, &y, &unit) && unit == PNG_RESOLUTION_METER)
        sf_picture_set_resolution(picture, x, y, 0.5, "PNG pHYs");
    png_bytep exif;
    png_uint_32 exif_size;
    double per_metre_x, per_metre_y;
    bool srgb = false;
    if (!png_get_eXIf_1(r->png, r->info, &exif_size, &exif) || exif_size > 65000)
        return SF_OK;
    uint8_t *block = sf_alloc(exif_size + 6, 1);
    if (!block)
        return SF_FAIL(err, SF_E_MEMORY, name, "out of memory while reading %s", name);
    memcpy(block, "Exif\0\0", 6);
    memcpy(block + 6, exif, exif_size);
    if (sf_exif_resolution(block, exif_size + 6, &per_metre_x, &per_metre_y, &srgb))
        sf_picture_set_resolution(picture, per_metre_x, per_metre_y, 0.0, "EXIF in PNG");
    sf_free(block);
    return SF_OK;
}

static sf_Status read_rows(Reading *r, sf_Picture *picture, const char *name, sf_Error *err)
{
    size_t row_bytes = png_get_rowbytes(r->png, r->info);
    int samples = png_get_channels(r->png, r->info);
    bool interlaced = png_get_interlace_type(r->png, r->info) != PNG_INTERLACE_NONE;
    size_t held = interlaced ? picture->height : 1;
    r->rows = sf_alloc(held, row_bytes);
    r->row_starts = sf_alloc(held, sizeof *r->row_starts);
    if (!r->rows || !r->row_starts)
        return SF_FAIL(err, SF_E_MEMORY, name, "out of memory while reading %s", name);
    if (interlaced) {
        for (size_t y = 0; y < held; y++)
            r->row_starts[y] = r->rows + y * row_bytes;
        png_read_image(r->png, r->row_starts);
    }
    for (size_t y = 0; y < picture->height; y++) {
        SF_TRY(sf_progress_count(y, picture->height, "rows", err));
        if (!interlaced)
            png_read_row(r->png, r->rows, NULL);
        sf_picture_put_row(picture, y, interlaced ? r->row_starts[y] : r->rows, samples, r->light);
    }
    png_read_end(r->png, NULL); // a file cut off behind its last row is still a damaged file
    return SF_OK;
}

// Everything between the two setjmp guards of sf_png_read.
static sf_Status read_all(Reading *r, sf_Picture *picture, const char *name, sf_Error *err)
{
    png_set_read_fn(r->png, &r->source, take_bytes);
    png_set_user_limits(r->png, 0x7fffffff, 0x7fffffff);
    png_set_crc_action(r->png, PNG_CRC_ERROR_QUIT, PNG_CRC_WARN_DISCARD);
    png_read_info(r->png, r->info);
    SF_TRY(sf_picture_reserve(picture, name, png_get_image_width(r->png, r->info),
                              png_get_image_height(r->png, r->info), err));
    picture->coloured = (png_get_color_type(r->png, r->info) & PNG_COLOR_MASK_COLOR) != 0;
    picture->bits = png_get_bit_depth(r->png, r->info) == 16 ? 16 : 8;
    png_set_expand(r->png);
    if (picture->bits == 16)
        png_set_swap(r->png);
    read_tone(r, picture);
    SF_TRY(read_resolution(r, picture, name, err));
    png_set_interlace_handling(r->png);
    png_read_update_info(r->png, r->info);
    size_t codes = picture->bits == 16 ? 65536 : 256;
    r->light = sf_alloc(codes, sizeof *r->light);
    if (!r->light)
        return SF_FAIL(err, SF_E_MEMORY, name, "out of memory while reading %s", name);
    sf_tone_fill(&r->tone, r->light, codes);
    return read_rows(r, picture, name, err);
}

sf_Status sf_png_read(sf_Picture *picture, const char *name, const uint8_t *bytes, size_t size, sf_Error *err)
{
    picture->kind = SF_PICTURE_PNG;
    Reading *r = sf_alloc(1, sizeof *r);
    if (!r)
        return SF_FAIL(err, SF_E_MEMORY, name, "out of memory while reading %s", name);
    volatile sf_Status status;
    r->source = (Source){ bytes, size, 0 };
    r->png = png_create_read_struct_2(PNG_LIBPNG_VER_STRING, r, keep_error, ignore_warning, r, heap_take, heap_free);
    r->info = r->png ? png_create_info_struct(r->png) : NULL;
    if (!r->info)
        status = SF_FAIL(err, SF_E_MEMORY, name, "out of memory while reading %s", name);
    else if (setjmp(png_jmpbuf(r->png)))
        status =
            SF_FAIL(err, SF_E_INPUT, name, "%s is a damaged PNG picture (%s): scan or copy it again", name, r->message);
    else
        status = read_all(r, picture, name, err);
    if (r->starved)
        status = SF_FAIL(err, SF_E_MEMORY, name, "out of memory while reading %s", name);
    png_destroy_read_struct(&r->png, &r->info, NULL);
    sf_free(r->light);
    sf_free(r->rows);
    sf_free(r->row_starts);
    sf_free(r);
    return status;
}
