// SPDX-License-Identifier: GPL-3.0-or-later
// Picture files of every kind: size, depth, resolution and linear light come out as they were put in; damaged files,
// absurd sizes and contradicting resolutions are refused in sentences. The small files lie in tests/data/rings; others
// are written here by the libraries themselves.
#include "harness/tap.h"

#include "base/alloc.h"
#include "base/doc.h"
#include "base/file.h"
#include "base/units.h"
#include "image/picture.h"
#include "image/picture_reader.h"
#include "image/resolution.h"

#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>

#include <jpeglib.h>
#include <png.h>

enum { ROOM = 1 << 16 };

#define WHOLE_DPI TAP_TOLERANCE("whole dpi, in a tag of dots per metre", 0, 1e-9)
#define DRAWN     TAP_TOLERANCE("median over noise of 0.4 to 0.6 % and an 8-bit code", 0, 0.012)

static const char *const FILES[] = { "png-grey8.png",
                                     "png-grey16-gamma.png",
                                     "png-rgb8-srgb-interlaced.png",
                                     "png-rgba8.png",
                                     "png-palette.png",
                                     "png-grey8-unscaled.png",
                                     "jpeg-grey-inch.jpg",
                                     "jpeg-rgb-cm-progressive.jpg",
                                     "jpeg-exif-srgb.jpg",
                                     "tiff-grey8-inch.tif",
                                     "tiff-grey16-cm-lzw.tif",
                                     "tiff-rgb8-deflate-tiles.tif",
                                     "tiff-white-is-zero-big-endian.tif",
                                     "tiff-grey16-gamma.tif" };
enum { FILE_COUNT = sizeof FILES / sizeof *FILES };

typedef struct Bytes {
    unsigned char *data;
    size_t size;
} Bytes;

static Bytes load(const char *name)
{
    Bytes b = { 0 };
    char path[128];
    snprintf(path, sizeof path, "rings/%s", name);
    TAP_OK(sf_file_read(tap_data(path), 1 << 24, &b.data, &b.size, NULL));
    return b;
}

static double median_light(const sf_Picture *p, double x_mm, double y_mm, double half_mm, double dpi)
{
    static uint16_t values[ROOM];
    size_t count = 0, histogram[65536 / 16] = { 0 };
    double pixel = 25.4 / dpi;
    for (size_t r = 0; r < p->height; r++)
        for (size_t c = 0; c < p->width; c++) {
            double x = ((double)c + 0.5) * pixel, y = ((double)(p->height - r) - 0.5) * pixel;
            if (fabs(x - x_mm) < half_mm && fabs(y - y_mm) < half_mm && count < ROOM)
                values[count++] = p->light[r * p->width + c];
        }
    for (size_t i = 0; i < count; i++)
        histogram[values[i] / 16]++;
    size_t sum = 0, k = 0;
    while (k < 65536 / 16 && (sum += histogram[k]) * 2 < count)
        k++;
    return ((double)k * 16 + 8) / 65535;
}

// ---- each kind of file -----------------------------------------------------------------------------------------

static double number(sf_DocNode scene, const char *key, double otherwise)
{
    sf_doc_number(sf_doc_member(scene, key), -1e9, 1e9, &otherwise);
    return otherwise;
}

static const char *word(sf_DocNode scene, const char *key, const char *otherwise)
{
    sf_doc_text(sf_doc_member(scene, key), 64, &otherwise);
    return otherwise;
}

static void check_kind(sf_DocNode scene, const char *file)
{
    Bytes b = load(file);
    sf_Picture p;
    if (!TAP_OK(sf_picture_read(&p, file, b.data, b.size, NULL)))
        return;
    const double dpi = number(scene, "dpi", 0), width = number(scene, "width_mm", 0);
    const char *density = word(scene, "density", "inch"), *colour = word(scene, "colour", "grey");
    const bool jpeg_cm = strstr(file, "jpeg") && strcmp(density, "cm") == 0, none = strcmp(density, "none") == 0;
    tap_note("%s", file);
    TAP_TRUE(p.width == (size_t)lround(width / 25.4 * dpi), "(%zu wide)", p.width);
    TAP_TRUE(p.height == (size_t)lround(number(scene, "height_mm", 0) / 25.4 * dpi), "(%zu high)", p.height);
    TAP_TRUE(p.bits == (int)number(scene, "depth", 8), "(%d bits)", p.bits);
    TAP_TRUE(p.coloured == (strcmp(colour, "grey") != 0));
    TAP_TRUE(p.tone_stated == (strcmp(word(scene, "gamma", "none"), "none") != 0));
    // Dots per cm of a JPEG are whole numbers: the tag says what it can and its rounding is carried.
    double per_cm = round(dpi / 2.54);
    TAP_NEAR(p.dpi_x, none ? 0 : jpeg_cm ? 2.54 * per_cm : dpi, WHOLE_DPI, TAP_INVENTED);
    TAP_NEAR(p.dpi_y, p.dpi_x, TAP_EXACT, TAP_INVENTED);
    if (jpeg_cm)
        TAP_NEAR(p.dpi_rounding, 0.5 / per_cm, TAP_TIGHT, TAP_CLOSED_FORM);
    else
        TAP_TRUE(p.dpi_rounding < 1e-4, "(rounding %.2g)", p.dpi_rounding);
    // A coloured picture has the cast that the generator gives it: 1, 0.985, 0.95; of a JPEG its luma is read.
    const bool cast = strncmp(colour, "rgb", 3) == 0;
    const double share = !cast                  ? 1
                         : strstr(file, "jpeg") ? 0.299 + 0.587 * 0.985 + 0.114 * 0.95
                                                : (1 + 0.985 + 0.95) / 3;
    // Linear light of the face (above the bore) and of the ground (a corner) as drawn.
    const double cx = number(scene, "centre_x_mm", 0), cy = number(scene, "centre_y_mm", 0);
    const double middle = number(scene, "outer_diameter_mm", 0) / 2 - number(scene, "wall_mm", 0) / 2;
    TAP_NEAR(median_light(&p, cx, cy + middle, 0.5, dpi), share * number(scene, "face", 0.82), DRAWN, TAP_INVENTED);
    TAP_NEAR(median_light(&p, 1, 1, 0.8, dpi), share * number(scene, "ground", 0.08), DRAWN, TAP_INVENTED);
    sf_picture_free(&p);
    sf_picture_free(&p); // twice
    sf_free(b.data);
}

TAP_CASE(every_kind_comes_out_as_drawn)
{
    sf_Doc *doc = NULL;
    TAP_OK(sf_doc_read_file(&doc, tap_data("rings/kinds.json"), NULL));
    sf_DocNode scenes = sf_doc_member(sf_doc_root(doc), "scenes");
    size_t met = 0;
    for (size_t i = 0; i < sf_doc_length(scenes); i++)
        for (size_t f = 0; f < FILE_COUNT; f++) {
            const char *name = word(sf_doc_item(scenes, i), "name", "");
            size_t length = strlen(name);
            if (strncmp(FILES[f], name, length) == 0 && FILES[f][length] == '.') {
                check_kind(sf_doc_item(scenes, i), FILES[f]);
                met++;
            }
        }
    TAP_TRUE(met == FILE_COUNT && sf_doc_length(scenes) == FILE_COUNT, "(%zu kinds)", met);
    sf_doc_destroy(&doc);
}

// ---- files written here ----------------------------------------------------------------------------------------

static void keep(png_structp png, png_bytep data, size_t size)
{
    Bytes *b = png_get_io_ptr(png);
    memcpy(b->data + b->size, data, size);
    b->size += size;
}

typedef struct Tags {
    double gamma;          // 0: none
    bool srgb;             // chunk
    unsigned per_metre[2]; // pHYs; 0: none
    int unit;
    const uint8_t *exif; // TIFF header first
    size_t exif_size;
} Tags;

/// 256 x 2 pixels: code k in column k, `bits` deep.
static Bytes write_png(const Tags *t, int bits)
{
    Bytes b = { sf_alloc(ROOM, 1), 0 };
    png_structp png = png_create_write_struct(PNG_LIBPNG_VER_STRING, NULL, NULL, NULL);
    png_infop info = png_create_info_struct(png);
    png_set_write_fn(png, &b, keep, NULL);
    png_set_IHDR(png, info, 256, 2, bits, PNG_COLOR_TYPE_GRAY, PNG_INTERLACE_NONE, PNG_COMPRESSION_TYPE_DEFAULT,
                 PNG_FILTER_TYPE_DEFAULT);
    if (t->gamma > 0)
        png_set_gAMA(png, info, t->gamma);
    if (t->srgb)
        png_set_sRGB(png, info, PNG_sRGB_INTENT_RELATIVE);
    if (t->per_metre[0])
        png_set_pHYs(png, info, t->per_metre[0], t->per_metre[1], t->unit);
    uint8_t exif[256];
    if (t->exif) {
        memcpy(exif, t->exif, t->exif_size);
        png_set_eXIf_1(png, info, (png_uint_32)t->exif_size, exif);
    }
    png_write_info(png, info);
    uint8_t row[512];
    for (int k = 0; k < 256; k++) {
        row[bits / 8 * k] = (uint8_t)k;
        row[bits / 8 * k + bits / 8 - 1] = (uint8_t)k;
    }
    png_write_row(png, row);
    png_write_row(png, row);
    png_write_end(png, info);
    png_destroy_write_struct(&png, &info);
    return b;
}

/// An EXIF block, little endian: X and Y resolution in dots per inch, in IFD 0.
static size_t write_exif(uint8_t out[128], unsigned dpi)
{
    static const uint8_t lead[] = { 'I', 'I', 42, 0, 8, 0, 0, 0, 3, 0 };
    memset(out, 0, 128);
    memcpy(out, lead, sizeof lead);
    const unsigned entries[3][3] = { { 0x011a, 5, 50 }, { 0x011b, 5, 58 }, { 0x0128, 3, 2 } };
    for (size_t i = 0; i < 3; i++) {
        uint8_t *entry = out + 10 + 12 * i;
        entry[0] = (uint8_t)entries[i][0];
        entry[1] = (uint8_t)(entries[i][0] >> 8);
        entry[2] = (uint8_t)entries[i][1];
        entry[4] = 1;
        entry[8] = (uint8_t)entries[i][2];
    }
    for (size_t i = 0; i < 2; i++) {
        out[50 + 8 * i] = (uint8_t)dpi;
        out[51 + 8 * i] = (uint8_t)(dpi >> 8);
        out[54 + 8 * i] = 1;
    }
    return 66;
}

static Bytes write_jpeg(int unit, unsigned density, unsigned exif_dpi)
{
    struct jpeg_compress_struct jpeg;
    struct jpeg_error_mgr errors;
    Bytes b = { 0 };
    unsigned char *out = NULL;
    unsigned long size = 0;
    jpeg.err = jpeg_std_error(&errors);
    jpeg_create_compress(&jpeg);
    jpeg_mem_dest(&jpeg, &out, &size);
    jpeg.image_width = jpeg.image_height = 16;
    jpeg.input_components = 1;
    jpeg.in_color_space = JCS_GRAYSCALE;
    jpeg_set_defaults(&jpeg);
    jpeg.write_JFIF_header = density > 0;
    jpeg.density_unit = (UINT8)unit;
    jpeg.X_density = jpeg.Y_density = (UINT16)density;
    jpeg_start_compress(&jpeg, TRUE);
    if (exif_dpi) {
        uint8_t block[134] = "Exif\0";
        size_t length = 6 + write_exif(block + 6, exif_dpi);
        jpeg_write_marker(&jpeg, JPEG_APP0 + 1, block, (unsigned)length);
    }
    uint8_t row[16] = { 0 };
    JSAMPROW rows = row;
    for (int i = 0; i < 16; i++)
        jpeg_write_scanlines(&jpeg, &rows, 1);
    jpeg_finish_compress(&jpeg);
    jpeg_destroy_compress(&jpeg);
    b.data = sf_alloc(size, 1);
    b.size = size;
    memcpy(b.data, out, size);
    free(out);
    return b;
}

static sf_Picture read_and_free(Bytes b, const char *what)
{
    sf_Picture p;
    tap_note("%s", what);
    TAP_OK(sf_picture_read(&p, what, b.data, b.size, NULL));
    sf_free(b.data);
    return p;
}

static double light_of(const sf_Picture *p, int code)
{
    return p->light[code] / 65535.0;
}

#define CODED TAP_TOLERANCE("rounded to one in 65535", 0, 0.51 / 65535)

TAP_CASE(tone_tags_are_followed)
{
    sf_Picture p = read_and_free(write_png(&(Tags){ 0 }, 8), "no tag: proportional");
    TAP_TRUE(!p.tone_stated);
    TAP_NEAR(light_of(&p, 100), 100 / 255.0, CODED, TAP_CLOSED_FORM);
    sf_picture_free(&p);
    p = read_and_free(write_png(&(Tags){ .gamma = 0.45455 }, 16), "gAMA 0.45455, 16 bit");
    TAP_TRUE(p.tone_stated && p.bits == 16);
    TAP_NEAR(light_of(&p, 100), pow(100 / 255.0, 1 / 0.45455), CODED,
             TAP_SOURCE("PNG specification, 11.3.3.2 gAMA: sample = light ^ gamma"));
    sf_picture_free(&p);
    p = read_and_free(write_png(&(Tags){ .gamma = 0.45455, .srgb = true }, 8), "sRGB beside gAMA: sRGB wins");
    TAP_NEAR(light_of(&p, 188), pow((188 / 255.0 + 0.055) / 1.055, 2.4), CODED,
             TAP_SOURCE("PNG specification, 11.3.3.5: sRGB overrides gAMA; IEC 61966-2-1"));
    TAP_NEAR(light_of(&p, 5), 5 / 255.0 / 12.92, CODED, TAP_SOURCE("IEC 61966-2-1"));
    sf_picture_free(&p);
    p = read_and_free(write_png(&(Tags){ .gamma = 1.0 }, 8), "gAMA 1: said to be linear");
    TAP_TRUE(p.tone_stated);
    TAP_NEAR(light_of(&p, 77), 77 / 255.0, CODED, TAP_CLOSED_FORM);
    sf_picture_free(&p);
}

TAP_CASE(png_resolution)
{
    uint8_t exif[128];
    size_t exif_size = write_exif(exif, 300);
    sf_Picture p = read_and_free(write_png(&(Tags){ .per_metre = { 23622, 11811 }, .unit = 1 }, 8), "600 x 300 dpi");
    TAP_NEAR(p.dpi_x, 600, WHOLE_DPI, TAP_CLOSED_FORM);
    TAP_NEAR(p.dpi_y, 300, WHOLE_DPI, TAP_CLOSED_FORM);
    sf_picture_free(&p);
    p = read_and_free(write_png(&(Tags){ .per_metre = { 11800, 11800 }, .unit = 1 }, 8), "no whole dpi: kept as said");
    TAP_NEAR(p.dpi_x, 11800 * 0.0254, TAP_TIGHT, TAP_CLOSED_FORM);
    sf_picture_free(&p);
    p = read_and_free(write_png(&(Tags){ .per_metre = { 3, 4 }, .unit = 0 }, 8), "an aspect ratio is no resolution");
    TAP_NEAR(p.dpi_x, 0, TAP_EXACT, TAP_CLOSED_FORM);
    sf_picture_free(&p);
    p = read_and_free(write_png(&(Tags){ .exif = exif, .exif_size = exif_size }, 8), "eXIf alone");
    TAP_NEAR(p.dpi_x, 300, WHOLE_DPI, TAP_CLOSED_FORM);
    TAP_TEXT(p.dpi_origin, "EXIF in PNG");
    sf_picture_free(&p);
    p = read_and_free(
        write_png(&(Tags){ .per_metre = { 11811, 11811 }, .unit = 1, .exif = exif, .exif_size = exif_size }, 8),
        "pHYs and eXIf agree");
    TAP_TRUE(!p.dpi_conflict);
    TAP_NEAR(p.dpi_x, 300, WHOLE_DPI, TAP_CLOSED_FORM);
    sf_picture_free(&p);
    p = read_and_free(
        write_png(&(Tags){ .per_metre = { 23622, 23622 }, .unit = 1, .exif = exif, .exif_size = exif_size }, 8),
        "pHYs and eXIf contradict");
    TAP_TRUE(p.dpi_conflict && p.dpi_x == 0 && p.dpi_y == 0);
    sf_picture_free(&p);
}

TAP_CASE(jpeg_resolution)
{
    sf_Picture p = read_and_free(write_jpeg(1, 300, 0), "JFIF per inch");
    TAP_NEAR(p.dpi_x, 300, WHOLE_DPI, TAP_CLOSED_FORM);
    sf_picture_free(&p);
    p = read_and_free(write_jpeg(2, 118, 0), "JFIF per cm");
    TAP_NEAR(p.dpi_x, 118 * 2.54, WHOLE_DPI, TAP_CLOSED_FORM);
    TAP_NEAR(p.dpi_rounding, 0.5 / 118, TAP_TIGHT, TAP_CLOSED_FORM);
    sf_picture_free(&p);
    p = read_and_free(write_jpeg(0, 1, 0), "JFIF aspect ratio");
    TAP_NEAR(p.dpi_x, 0, TAP_EXACT, TAP_CLOSED_FORM);
    sf_picture_free(&p);
    p = read_and_free(write_jpeg(0, 0, 600), "EXIF alone");
    TAP_NEAR(p.dpi_x, 600, WHOLE_DPI, TAP_CLOSED_FORM);
    sf_picture_free(&p);
    p = read_and_free(write_jpeg(1, 300, 300), "JFIF and EXIF agree");
    TAP_TRUE(!p.dpi_conflict && p.dpi_x == 300);
    sf_picture_free(&p);
    p = read_and_free(write_jpeg(1, 300, 600), "JFIF and EXIF contradict");
    TAP_TRUE(p.dpi_conflict && p.dpi_x == 0);
    sf_picture_free(&p);
}

TAP_CASE(resolution_is_settled_or_refused)
{
    sf_Error err = { 0 };
    sf_Resolution r;
    sf_Picture p = { .dpi_x = 600, .dpi_y = 600, .dpi_origin = "JFIF density", .dpi_rounding = 0.002 };
    TAP_OK(sf_resolution_settle(&r, &p, "a.jpg", 0, &err));
    TAP_TRUE(r.dpi_x == 600 && r.rounding == 0.002);
    TAP_OK(sf_resolution_settle(&r, &p, "a.jpg", 400, &err));
    TAP_TRUE(r.dpi_x == 400 && r.rounding == 0, "(what is typed wins and is exact)");
    TAP_TEXT(r.origin, "--dpi");
    p.dpi_conflict = true;
    p.dpi_x = p.dpi_y = 0;
    TAP_STATUS(sf_resolution_settle(&r, &p, "a.jpg", 0, &err), SF_E_INPUT);
    TAP_HOLDS(err.text, "two different resolutions");
    TAP_HOLDS(err.text, "--dpi");
    TAP_OK(sf_resolution_settle(&r, &p, "a.jpg", 300, &err));
    p.dpi_conflict = false;
    TAP_STATUS(sf_resolution_settle(&r, &p, "a.jpg", 0, &err), SF_E_INPUT);
    TAP_HOLDS(err.text, "does not state its resolution");
    static const double outside[] = { 72, 139, 2500, 4800 };
    for (size_t i = 0; i < 4; i++) {
        TAP_STATUS(sf_resolution_settle(&r, &p, "a.jpg", outside[i], &err), SF_E_INPUT);
        TAP_HOLDS(err.text, "150 to 2400 dpi");
    }
    p.dpi_x = 600;
    p.dpi_y = 96;
    TAP_STATUS(sf_resolution_settle(&r, &p, "a.jpg", 0, &err), SF_E_INPUT);
    TAP_HOLDS(err.text, "96 dpi");
}

// ---- what must be refused --------------------------------------------------------------------------------------

TAP_CASE(no_picture_at_all)
{
    static const char *const texts[] = { "",        "P",        "Dear sir, the ring is in the post.",
                                         "\x89PNG", "\xff\xd8", "GIF89a........" };
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        sf_Picture p;
        sf_Error err = { 0 };
        TAP_STATUS(sf_picture_read(&p, "letter.png", (const uint8_t *)texts[i], strlen(texts[i]), &err), SF_E_INPUT);
        TAP_HOLDS(err.text, "letter.png is not a PNG, JPEG or TIFF picture");
        TAP_TRUE(!p.light);
    }
}

/// A file cut off anywhere is refused, or what was cut off did not matter: the light is that of the whole file.
TAP_CASE(cut_files)
{
    for (size_t f = 0; f < FILE_COUNT; f++) {
        Bytes b = load(FILES[f]);
        sf_Picture whole;
        TAP_OK(sf_picture_read(&whole, FILES[f], b.data, b.size, NULL));
        size_t refused = 0, wrong = 0, mute = 0;
        enum { CUTS = 24 };
        for (size_t i = 0; i < CUTS; i++) {
            size_t size = i < 4 ? b.size - 1 - i : b.size * (i - 3) / CUTS;
            uint8_t *cut = sf_alloc(size, 1); // of its own size, so that reading past its end shows
            memcpy(cut, b.data, size);
            sf_Picture p;
            sf_Error err = { 0 };
            sf_Status status = sf_picture_read(&p, FILES[f], cut, size, &err);
            refused += status == SF_E_INPUT;
            mute += status != SF_OK && (!strstr(err.text, FILES[f]) || !strstr(err.text, "again"));
            wrong += status == SF_OK ? p.width != whole.width || p.height != whole.height ||
                                           memcmp(p.light, whole.light, p.width * p.height * sizeof *p.light) != 0
                                     : status != SF_E_INPUT || p.light != NULL;
            sf_picture_free(&p);
            sf_free(cut);
        }
        TAP_TRUE(wrong == 0 && mute == 0 && refused >= CUTS - 4, "(%s: %zu of %d refused, %zu wrong, %zu mute)",
                 FILES[f], refused, CUTS, wrong, mute);
        sf_picture_free(&whole);
        sf_free(b.data);
    }
}

/// Three changed bytes: read or refused, never a crash, and nothing left behind.
TAP_CASE(mutated_files)
{
    const size_t rounds = getenv("TAP_LONG") ? 3000 : 150, live = sf_alloc_live();
    uint64_t dice = 88172645463325252u;
    size_t refused = 0, odd = 0;
    for (size_t f = 0; f < FILE_COUNT; f++) {
        Bytes b = load(FILES[f]);
        for (size_t round = 0; round < rounds; round++) {
            uint8_t *copy = sf_alloc(b.size, 1);
            memcpy(copy, b.data, b.size);
            for (int i = 0; i < 3; i++) {
                dice ^= dice << 13, dice ^= dice >> 7, dice ^= dice << 17; // Marsaglia 2003, xorshift
                size_t reach = dice % 3 ? 300 : b.size;                    // headers mostly
                copy[(dice >> 8) % reach] = (uint8_t)(dice >> 40);
            }
            sf_Picture p;
            sf_Error err = { 0 };
            sf_Status status = sf_picture_read(&p, "mutated", copy, b.size, &err);
            refused += status != SF_OK;
            odd += status != SF_OK && (status != SF_E_INPUT || err.text[0] == 0);
            sf_picture_free(&p);
            sf_free(copy);
        }
        sf_free(b.data);
    }
    TAP_TRUE(odd == 0, "(%zu of %zu refused, %zu of them oddly)", refused, rounds * FILE_COUNT, odd);
    TAP_TRUE(sf_alloc_live() == live, "(blocks left behind)");
}

static long peak_kb(void)
{
    struct rusage usage;
    getrusage(RUSAGE_SELF, &usage);
    return usage.ru_maxrss;
}

/// Headers that claim 100000 x 100000 pixels (65500 x 65500 for JPEG) are refused before memory is taken for them.
TAP_CASE(absurd_headers)
{
    static const char *const kinds[] = { "png-grey8.png", "jpeg-grey-inch.jpg", "jpeg-rgb-cm-progressive.jpg",
                                         "tiff-grey8-inch.tif" };
    const long before = peak_kb();
    for (size_t i = 0; i < 4; i++) {
        Bytes b = load(kinds[i]);
        size_t patched = 0;
        if (i == 0) {
            static const uint8_t side[] = { 0, 1, 0x86, 0xa0 };
            memcpy(b.data + 16, side, 4);
            memcpy(b.data + 20, side, 4);
            uint32_t crc = 0xffffffff; // PNG specification, annex D
            for (size_t k = 12; k < 29; k++)
                for (crc ^= b.data[k], patched = 0; patched < 8; patched++)
                    crc = crc & 1 ? 0xedb88320 ^ crc >> 1 : crc >> 1;
            for (int k = 0; k < 4; k++)
                b.data[29 + k] = (uint8_t)(~crc >> (24 - 8 * k));
        }
        for (size_t k = 0; (i == 1 || i == 2) && k + 9 < b.size && !patched; k++)
            if (b.data[k] == 0xff && (b.data[k + 1] == 0xc0 || b.data[k + 1] == 0xc2) && b.data[k + 2] == 0) {
                memset(b.data + k + 5, 0xff, 4); // height and width 65535, which libjpeg refuses itself
                b.data[k + 6] = b.data[k + 8] = 0xdc;
                patched = 1;
            }
        if (i == 3) {
            uint32_t at = b.data[4] | (uint32_t)b.data[5] << 8 | (uint32_t)b.data[6] << 16;
            for (size_t k = at + 2; k + 12 <= b.size && patched < 2; k += 12)
                if (b.data[k + 1] == 1 && (b.data[k] == 0 || b.data[k] == 1)) {
                    static const uint8_t side[] = { 4, 0, 1, 0, 0, 0, 0xa0, 0x86, 1, 0 };
                    memcpy(b.data + k + 2, side, sizeof side);
                    patched++;
                }
        }
        sf_Picture p;
        sf_Error err = { 0 };
        TAP_TRUE(patched > 0);
        TAP_STATUS(sf_picture_read(&p, kinds[i], b.data, b.size, &err), SF_E_INPUT);
        TAP_HOLDS(err.text, "above the 200 megapixels");
        TAP_HOLDS(err.text, "crop it");
        sf_free(b.data);
    }
    TAP_TRUE(peak_kb() - before < 30000, "(%ld kB more at the peak)", peak_kb() - before);
}

TAP_CASE(the_bound_is_200_megapixels)
{
    sf_Picture p = { 0 };
    sf_Error err = { 0 };
    TAP_STATUS(sf_picture_reserve(&p, "a", 20001, 10000, &err), SF_E_INPUT);
    TAP_STATUS(sf_picture_reserve(&p, "a", (size_t)1 << 32, (size_t)1 << 32, &err), SF_E_INPUT);
    TAP_STATUS(sf_picture_reserve(&p, "a", 0, 10, &err), SF_E_INPUT);
    TAP_OK(sf_picture_reserve(&p, "a", 20000, 10000, &err));
    sf_picture_free(&p);
}

// ---- memory ----------------------------------------------------------------------------------------------------

static sf_Status read_bytes(void *context)
{
    Bytes *b = context;
    sf_Picture p;
    sf_Status status = sf_picture_read(&p, "small", b->data, b->size, NULL);
    sf_picture_free(&p);
    return status;
}

TAP_CASE(out_of_memory)
{
    for (size_t f = 0; f < FILE_COUNT; f++) {
        Bytes b = load(FILES[f]);
        tap_every_allocation(read_bytes, &b, 300, FILES[f]);
        sf_free(b.data);
    }
    uint8_t exif[128];
    size_t exif_size = write_exif(exif, 300);
    Bytes b = write_png(&(Tags){ .exif = exif, .exif_size = exif_size }, 8);
    tap_every_allocation(read_bytes, &b, 300, "PNG with eXIf");
    sf_free(b.data);
}

TAP_MAIN(TAP_RUN(absurd_headers), TAP_RUN(every_kind_comes_out_as_drawn), TAP_RUN(tone_tags_are_followed),
         TAP_RUN(png_resolution), TAP_RUN(jpeg_resolution), TAP_RUN(resolution_is_settled_or_refused),
         TAP_RUN(no_picture_at_all), TAP_RUN(cut_files), TAP_RUN(mutated_files), TAP_RUN(the_bound_is_200_megapixels),
         TAP_RUN(out_of_memory))
