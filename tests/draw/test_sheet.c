// SPDX-License-Identifier: GPL-3.0-or-later
// The sheet's files: their size, their sameness, what they say of lettering that does not fit, and what happens when
// memory runs out.
#include "harness/tap.h"

#include "base/alloc.h"
#include "draw/lettering.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define WHOLE_PIXELS TAP_TOLERANCE("whole pixels", 0.0, 0.0)

static const sf_Lettering STYLE = { 9, false, SF_ALIGN_LEFT, { 0, 0, 0 } };

// A little of everything.
static void draw_all(sf_Sheet *sheet)
{
    const sf_Pen pen = { SF_INK, 0.3, SF_DASH_CENTRE };
    const sf_Spot square[] = { { 10, 10 }, { 30, 10 }, { 30, 30 }, { 10, 30 } };
    const sf_Loop loop = { square, 4 };
    uint8_t grey[64];
    for (size_t i = 0; i < sizeof grey; i++)
        grey[i] = (uint8_t)(i * 4);
    sf_sheet_hatch(sheet, &loop, 1, 0.7, 1.5, &pen);
    sf_sheet_clip_band(sheet, (sf_Spot){ 40, 20 }, 8, 3);
    sf_sheet_image(sheet, grey, 8, 8, (sf_Box){ 32, 12, 16, 16 });
    sf_sheet_unclip(sheet);
    sf_sheet_circle(sheet, (sf_Spot){ 40, 20 }, 8, &pen);
    sf_sheet_text(sheet, (sf_Spot){ 10, 40 }, &STYLE,
                  "wall 5.49 mm \u00b1 0.03, 271\u00b0, \u00d8 45, mm\u00b2 \u2013");
    sf_sheet_describe(sheet, "a <title>", "words & more");
}

static sf_Status draw_bytes(sf_SheetKind kind, unsigned char **bytes, size_t *size, sf_Error *err)
{
    sf_Sheet *sheet = NULL;
    SF_TRY(sf_sheet_create(&sheet, kind, 80, 50, err));
    draw_all(sheet);
    return sf_sheet_finish(&sheet, bytes, size, err);
}

TAP_CASE(kind_follows_the_ending)
{
    sf_SheetKind kind = SF_SHEET_PNG;
    TAP_OK(sf_sheet_kind(&kind, "a/ring.svg", NULL));
    TAP_TRUE(kind == SF_SHEET_SVG);
    TAP_OK(sf_sheet_kind(&kind, "RING.PNG", NULL));
    TAP_TRUE(kind == SF_SHEET_PNG);
    sf_Error err = { 0 };
    TAP_STATUS(sf_sheet_kind(&kind, "ring.jpg", &err), SF_E_USAGE);
    TAP_HOLDS(err.text, ".png, .svg or .pdf");
    TAP_STATUS(sf_sheet_kind(&kind, "svg", NULL), SF_E_USAGE);
    TAP_STATUS(sf_sheet_kind(&kind, ".svg", NULL), SF_E_USAGE);
}

TAP_CASE(size_has_bounds)
{
    sf_Sheet *sheet = NULL;
    TAP_STATUS(sf_sheet_create(&sheet, SF_SHEET_PNG, 5, 50, NULL), SF_E_RANGE);
    TAP_STATUS(sf_sheet_create(&sheet, SF_SHEET_PNG, 50, 5000, NULL), SF_E_RANGE);
    TAP_STATUS(sf_sheet_create(&sheet, SF_SHEET_PNG, NAN, 50, NULL), SF_E_RANGE);
    TAP_TRUE(!sheet);
}

static double big_endian(const unsigned char *at)
{
    return at[0] * 16777216.0 + at[1] * 65536.0 + at[2] * 256.0 + at[3];
}

TAP_CASE(png_has_its_pixels_and_prints_at_its_size)
{
    unsigned char *bytes = NULL;
    size_t size = 0;
    TAP_OK(draw_bytes(SF_SHEET_PNG, &bytes, &size, NULL));
    if (!TAP_TRUE(size > 60))
        return;
    TAP_NEAR(big_endian(bytes + 16), 800, WHOLE_PIXELS, TAP_CLOSED_FORM);
    TAP_NEAR(big_endian(bytes + 20), 500, WHOLE_PIXELS, TAP_CLOSED_FORM);
    TAP_TRUE(memcmp(bytes + 37, "pHYs", 4) == 0, "it is the chunk behind IHDR");
    TAP_NEAR(big_endian(bytes + 41), 10000, WHOLE_PIXELS, TAP_SOURCE("ISO/IEC 15948, 11.3.5.3: pixels per metre"));
    // The checksum of a chunk that holds 10000 x 10000 pixels per metre, by zlib's crc32.
    TAP_NEAR(big_endian(bytes + 50), 0x94695119, WHOLE_PIXELS, TAP_SOURCE("zlib 1.2.13, crc32 of the 13 bytes"));
    sf_free(bytes);
}

TAP_CASE(same_drawing_gives_same_bytes)
{
    static const sf_SheetKind kinds[] = { SF_SHEET_PNG, SF_SHEET_SVG, SF_SHEET_PDF };
    for (int i = 0; i < 3; i++) {
        unsigned char *first = NULL, *second = NULL;
        size_t a = 0, b = 0;
        TAP_OK(draw_bytes(kinds[i], &first, &a, NULL));
        TAP_OK(draw_bytes(kinds[i], &second, &b, NULL));
        TAP_TRUE(a == b && memcmp(first, second, a) == 0, "kind %d", i);
        sf_free(first);
        sf_free(second);
    }
}

TAP_CASE(svg_carries_words_and_fresh_numbers)
{
    unsigned char *bytes = NULL;
    size_t size = 0;
    TAP_OK(draw_bytes(SF_SHEET_SVG, &bytes, &size, NULL));
    char *text = sf_copy_text((const char *)bytes, size);
    TAP_HOLDS(text, "<title>a &lt;title&gt;</title>");
    TAP_HOLDS(text, "<desc>words &amp; more</desc>");
    TAP_HOLDS(text, "width=\"80mm\"");
    TAP_HOLDS(text, "data:image/png;base64,");
    TAP_HOLDS(text, "viewBox=\"0 0 800 500\"");
    sf_free(text);
    sf_free(bytes);
}

// What a test of a layout relies on: each fault is seen, and nothing else is.
TAP_CASE(faults_are_seen)
{
    sf_Sheet *sheet = NULL;
    const char *first = NULL;
    TAP_OK(sf_sheet_create(&sheet, SF_SHEET_SVG, 80, 50, NULL));
    sf_sheet_text(sheet, (sf_Spot){ 5, 10 }, &STYLE, "one");
    sf_sheet_text(sheet, (sf_Spot){ 5, 20 }, &STYLE, "another");
    sf_sheet_text_box(sheet, (sf_Box){ 5, 25, 30, 10 }, &STYLE, "two lines of words here");
    TAP_TRUE(sf_sheet_text_count(sheet) == 3);
    TAP_TRUE(sf_sheet_faults(sheet, &first) == 0, "%s", first);
    sf_sheet_destroy(&sheet);

    static const struct {
        const char *what, *text;
        sf_Spot at;
    } cases[] = { { "cover each other", "over", { 6, 11 } },
                  { "beyond the paper", "far to the right", { 70, 30 } },
                  { "no glyph", "\u4e00", { 30, 30 } } };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        TAP_OK(sf_sheet_create(&sheet, SF_SHEET_SVG, 80, 50, NULL));
        sf_sheet_text(sheet, (sf_Spot){ 5, 10 }, &STYLE, "onward");
        sf_sheet_text(sheet, cases[i].at, &STYLE, cases[i].text);
        TAP_TRUE(sf_sheet_faults(sheet, &first) == 1);
        TAP_HOLDS(first, cases[i].what);
        sf_sheet_destroy(&sheet);
    }
    TAP_OK(sf_sheet_create(&sheet, SF_SHEET_SVG, 80, 50, NULL));
    sf_sheet_text_box(sheet, (sf_Box){ 5, 5, 20, 5 }, &STYLE, "far more words than go into so small a box");
    sf_sheet_text_box(sheet, (sf_Box){ 30, 5, 20, 9 }, &STYLE, "unbreakablewordofgreatlength");
    TAP_TRUE(sf_sheet_faults(sheet, &first) == 2);
    TAP_HOLDS(first, "needs");
    sf_sheet_destroy(&sheet);
}

TAP_CASE(figures_are_all_of_one_width)
{
    sf_Sheet *sheet = NULL;
    TAP_OK(sf_sheet_create(&sheet, SF_SHEET_SVG, 80, 50, NULL));
    for (int bold = 0; bold < 2; bold++) {
        const sf_Lettering style = { 16, bold, SF_ALIGN_LEFT, SF_INK };
        double one = sf_sheet_text_width(sheet, &style, "1111111111");
        for (char digit = '0'; digit <= '9'; digit++) {
            char text[11];
            memset(text, digit, 10);
            text[10] = '\0';
            TAP_NEAR(sf_sheet_text_width(sheet, &style, text), one, TAP_TOLERANCE("pango's units", 0, 0.02),
                     TAP_SOURCE("what tabular figures means"));
        }
    }
    sf_sheet_destroy(&sheet);
}

// Our own allocations; cairo's and pango's are not ours to fail.
static sf_Status draw_once(void *context)
{
    unsigned char *bytes = NULL;
    size_t size = 0;
    sf_Status status = draw_bytes(*(sf_SheetKind *)context, &bytes, &size, NULL);
    sf_free(bytes);
    return status;
}

TAP_CASE(out_of_memory_is_told)
{
    sf_SheetKind kinds[] = { SF_SHEET_PNG, SF_SHEET_SVG, SF_SHEET_PDF };
    for (int i = 0; i < 3; i++)
        tap_every_allocation(draw_once, &kinds[i], 200, "drawing a sheet");
}

TAP_MAIN(TAP_RUN(kind_follows_the_ending), TAP_RUN(size_has_bounds), TAP_RUN(png_has_its_pixels_and_prints_at_its_size),
         TAP_RUN(same_drawing_gives_same_bytes), TAP_RUN(svg_carries_words_and_fresh_numbers), TAP_RUN(faults_are_seen),
         TAP_RUN(figures_are_all_of_one_width), TAP_RUN(out_of_memory_is_told))
