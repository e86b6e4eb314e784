// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/alloc.h"
#include "base/progress.h"
#include "image/picture_reader.h"

#include <setjmp.h>
#include <stdio.h>
#include <string.h>

#include <jpeglib.h>

enum { EXIF_MARKER = JPEG_APP0 + 1, ICC_MARKER = JPEG_APP0 + 2, ICC_LEAD = 14 };

// All that must survive a longjmp out of libjpeg.
typedef struct Reading {
    struct jpeg_error_mgr errors; // first, so that libjpeg's pointer is ours
    struct jpeg_decompress_struct jpeg;
    jmp_buf escape;
    char message[JMSG_LENGTH_MAX];
    bool damaged; // a warning of lost data was raised
    uint8_t *row;
    sf_Tone tone;
} Reading;

static void keep_error(j_common_ptr jpeg)
{
    Reading *r = (Reading *)jpeg->err;
    jpeg->err->format_message(jpeg, r->message);
    longjmp(r->escape, 1);
}

// Level -1 is libjpeg's word for corrupt or missing data: such a picture must not be measured.
static void keep_warning(j_common_ptr jpeg, int level)
{
    Reading *r = (Reading *)jpeg->err;
    if (level >= 0 || r->damaged)
        return;
    r->damaged = true;
    jpeg->err->format_message(jpeg, r->message);
}

static void read_markers(Reading *r, sf_Picture *picture)
{
    if (r->jpeg.saw_JFIF_marker && r->jpeg.density_unit == 1)
        sf_picture_set_resolution(picture, r->jpeg.X_density / 0.0254, r->jpeg.Y_density / 0.0254, 0.0, "JFIF density");
    if (r->jpeg.saw_JFIF_marker && r->jpeg.density_unit == 2)
        sf_picture_set_resolution(picture, r->jpeg.X_density * 100.0, r->jpeg.Y_density * 100.0, 50.0, "JFIF density");
    for (jpeg_saved_marker_ptr m = r->jpeg.marker_list; m; m = m->next) {
        double per_metre_x, per_metre_y;
        bool srgb = false;
        if (m->marker == EXIF_MARKER) {
            if (sf_exif_resolution(m->data, m->data_length, &per_metre_x, &per_metre_y, &srgb))
                sf_picture_set_resolution(picture, per_metre_x, per_metre_y, 0.0, "EXIF");
            if (srgb && r->tone.kind == SF_TONE_UNSTATED)
                r->tone.kind = SF_TONE_SRGB;
        }
        // A tone curve fits into the first part of a profile that is split over several markers.
        if (m->marker == ICC_MARKER && m->data_length > ICC_LEAD && memcmp(m->data, "ICC_PROFILE", 12) == 0 &&
            m->data[12] == 1)
            sf_tone_from_icc(&r->tone, m->data + ICC_LEAD, m->data_length - ICC_LEAD);
    }
    picture->tone_stated = r->tone.kind != SF_TONE_UNSTATED;
}

static sf_Status read_all(Reading *r, sf_Picture *picture, const char *name, const uint8_t *bytes, size_t size,
                          sf_Error *err)
{
    struct jpeg_decompress_struct *jpeg = &r->jpeg;
    jpeg_create_decompress(jpeg);
    jpeg_mem_src(jpeg, bytes, size);
    jpeg_save_markers(jpeg, EXIF_MARKER, 0xffff);
    jpeg_save_markers(jpeg, ICC_MARKER, 0xffff);
    jpeg_read_header(jpeg, TRUE);
    SF_TRY(sf_picture_reserve(picture, name, jpeg->image_width, jpeg->image_height, err));
    picture->bits = 8;
    picture->coloured = jpeg->num_components > 1;
    read_markers(r, picture);
    // Luma is kept at full resolution by every JPEG; chroma often is not.
    if (jpeg->jpeg_color_space == JCS_YCbCr || jpeg->jpeg_color_space == JCS_GRAYSCALE)
        jpeg->out_color_space = JCS_GRAYSCALE;
    else if (jpeg->jpeg_color_space == JCS_RGB)
        jpeg->out_color_space = JCS_RGB;
    else
        return SF_FAIL(err, SF_E_INPUT, name, "%s is a JPEG in print colours (CMYK): save it as grey or RGB", name);
    uint16_t light[256];
    sf_tone_fill(&r->tone, light, 256);
    jpeg_start_decompress(jpeg);
    r->row = sf_alloc(jpeg->output_width, (size_t)jpeg->output_components);
    if (!r->row)
        return SF_FAIL(err, SF_E_MEMORY, name, "out of memory while reading %s", name);
    while (jpeg->output_scanline < jpeg->output_height) {
        size_t y = jpeg->output_scanline;
        SF_TRY(sf_progress_count(y, picture->height, "rows", err));
        jpeg_read_scanlines(jpeg, &r->row, 1);
        sf_picture_put_row(picture, y, r->row, jpeg->output_components, light);
    }
    if (r->damaged)
        return SF_FAIL(err, SF_E_INPUT, name, "%s is a damaged JPEG picture (%s): scan or copy it again", name,
                       r->message);
    return SF_OK;
}

sf_Status sf_jpeg_read(sf_Picture *picture, const char *name, const uint8_t *bytes, size_t size, sf_Error *err)
{
    picture->kind = SF_PICTURE_JPEG;
    Reading *r = sf_alloc(1, sizeof *r);
    if (!r)
        return SF_FAIL(err, SF_E_MEMORY, name, "out of memory while reading %s", name);
    volatile sf_Status status;
    r->jpeg.err = jpeg_std_error(&r->errors);
    r->errors.error_exit = keep_error;
    r->errors.emit_message = keep_warning;
    if (setjmp(r->escape))
        status = SF_FAIL(err, SF_E_INPUT, name, "%s is a damaged JPEG picture (%s): scan or copy it again", name,
                         r->message);
    else
        status = read_all(r, picture, name, bytes, size, err);
    jpeg_destroy_decompress(&r->jpeg);
    sf_free(r->row);
    sf_free(r);
    return status;
}
