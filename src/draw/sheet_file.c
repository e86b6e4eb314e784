// SPDX-License-Identifier: GPL-3.0-or-later
// What cairo leaves undone in its files: identifiers that start anew in each file, words for a reader who cannot see
// the drawing, and the size of a pixel.
#include "base/alloc.h"
#include "draw/sheet_inside.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

// ---- SVG -----------------------------------------------------------------------------------------------------------

enum { MOST_IDS = 4096, HEAD_SEARCH = 4096, HEAD_ROOM = 320 };

// cairo numbers these over the life of the process.
static const char *const NUMBERED[] = { "surface", "image", "source", "mask" };

typedef struct Renumber {
    const char *text, *end;
    sf_SheetBytes out;
    unsigned long seen[MOST_IDS];
    size_t count;
} Renumber;

// The number that stands in this file for cairo's; 0 when there are too many.
static size_t place_of(Renumber *r, unsigned long number)
{
    for (size_t i = 0; i < r->count; i++)
        if (r->seen[i] == number)
            return i + 1;
    if (r->count == MOST_IDS)
        return 0;
    r->seen[r->count++] = number;
    return r->count;
}

// At a `"` or `#`: the length of a numbered word behind it, else 0. Neither sign occurs within the data of an image.
static size_t word_at(const char *at, const char *end)
{
    for (size_t i = 0; i < sizeof NUMBERED / sizeof *NUMBERED; i++) {
        size_t n = strlen(NUMBERED[i]);
        if ((size_t)(end - at) > n + 1 && memcmp(at + 1, NUMBERED[i], n) == 0 && at[n + 1] >= '0' && at[n + 1] <= '9')
            return n + 1;
    }
    return 0;
}

static bool renumber(Renumber *r)
{
    const char *from = r->text;
    for (const char *at = from; at < r->end; at++) {
        if (*at != '"' && *at != '#')
            continue;
        size_t word = word_at(at, r->end);
        if (word == 0)
            continue;
        char *rest = NULL, number[24];
        size_t place = place_of(r, strtoul(at + word, &rest, 10));
        if (place == 0)
            return false;
        sf_sheet_bytes_add(&r->out, from, (size_t)(at + word - from));
        snprintf(number, sizeof number, "%zu", place);
        sf_sheet_bytes_add(&r->out, number, strlen(number));
        from = rest;
        at = rest - 1;
    }
    sf_sheet_bytes_add(&r->out, from, (size_t)(r->end - from));
    return true;
}

static void add_escaped(sf_SheetBytes *out, const char *text)
{
    for (; *text; text++) {
        const char *entity = *text == '&'                                  ? "&amp;"
                             : *text == '<'                                ? "&lt;"
                             : *text == '>'                                ? "&gt;"
                             : (unsigned char)*text < ' ' && *text != '\n' ? " " // not allowed in XML
                                                                           : NULL;
        if (entity)
            sf_sheet_bytes_add(out, entity, strlen(entity));
        else
            sf_sheet_bytes_add(out, text, 1);
    }
}

static void add_element(sf_SheetBytes *out, const char *name, const char *text)
{
    if (!text)
        return;
    char tag[32];
    snprintf(tag, sizeof tag, "\n<%s>", name);
    sf_sheet_bytes_add(out, tag, strlen(tag));
    add_escaped(out, text);
    snprintf(tag, sizeof tag, "</%s>", name);
    sf_sheet_bytes_add(out, tag, strlen(tag));
}

// A new opening tag with the size in mm and the words behind it; returns what follows cairo's own tag, or NULL.
static const char *add_head(sf_SheetBytes *out, const char *text, const char *end, const sf_Sheet *sheet)
{
    const char *tag = NULL, *close = NULL;
    for (const char *at = text; at + 5 < end && at < text + HEAD_SEARCH && !tag; at++)
        if (memcmp(at, "<svg ", 5) == 0)
            tag = at;
    if (tag)
        close = memchr(tag, '>', (size_t)(end - tag));
    if (!close)
        return NULL;
    char head[HEAD_ROOM];
    int n =
        snprintf(head, sizeof head,
                 "<svg xmlns=\"http://www.w3.org/2000/svg\" xmlns:xlink=\"http://www.w3.org/1999/xlink\" "
                 "width=\"%gmm\" height=\"%gmm\" viewBox=\"0 0 %g %g\" version=\"1.1\" role=\"img\">",
                 sheet->width, sheet->height, sheet->width * SF_SVG_UNITS_PER_MM, sheet->height * SF_SVG_UNITS_PER_MM);
    sf_sheet_bytes_add(out, text, (size_t)(tag - text));
    sf_sheet_bytes_add(out, head, (size_t)n);
    add_element(out, "title", sheet->title);
    add_element(out, "desc", sheet->description);
    return close + 1;
}

sf_Status sf_svg_settle(sf_Sheet *sheet, sf_Error *err)
{
    sf_SheetBytes *bytes = &sheet->bytes;
    sf_Status status = SF_OK;
    unsigned char zero = 0;
    Renumber *r = sf_alloc(1, sizeof *r);
    if (!r || !sf_sheet_bytes_add(bytes, &zero, 1)) { // the zero stops strtoul at the end
        sf_free(r);
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory while writing a drawing");
    }
    const char *text = (const char *)bytes->data;
    r->end = text + bytes->size - 1;
    r->text = add_head(&r->out, text, r->end, sheet);
    if (!r->text || !renumber(r))
        status = SF_FAIL(err, SF_E_INTERNAL, NULL, "the drawing library wrote an SVG of an unknown shape");
    else if (r->out.broken)
        status = SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory while writing a drawing");
    if (status == SF_OK) {
        sf_free(bytes->data);
        *bytes = r->out;
    } else {
        sf_free(r->out.data);
    }
    sf_free(r);
    return status;
}

// ---- PNG -----------------------------------------------------------------------------------------------------------

static void put_32(unsigned char *at, uint32_t value)
{
    for (int i = 0; i < 4; i++)
        at[i] = (unsigned char)(value >> (24 - 8 * i));
}

// The checksum of a PNG chunk (ISO/IEC 15948, annex D), bit by bit: the chunk has 13 bytes.
static uint32_t png_sum(const unsigned char *bytes, size_t count)
{
    uint32_t sum = 0xffffffffu;
    for (size_t i = 0; i < count; i++) {
        sum ^= bytes[i];
        for (int bit = 0; bit < 8; bit++)
            sum = sum & 1 ? 0xedb88320u ^ (sum >> 1) : sum >> 1;
    }
    return ~sum;
}

sf_Status sf_png_settle(sf_SheetBytes *bytes, double px_per_mm, sf_Error *err)
{
    enum { BEFORE = 8 + 25, CHUNK = 21 }; // signature and IHDR come first, pHYs anywhere before the pixels
    if (bytes->size < BEFORE || memcmp(bytes->data + 12, "IHDR", 4) != 0)
        return SF_FAIL(err, SF_E_INTERNAL, NULL, "the drawing library wrote a PNG of an unknown shape");
    unsigned char chunk[CHUNK] = { 0, 0, 0, 9, 'p', 'H', 'Y', 's' };
    uint32_t per_metre = (uint32_t)lround(px_per_mm * 1000);
    put_32(chunk + 8, per_metre);
    put_32(chunk + 12, per_metre);
    chunk[16] = 1; // per metre
    put_32(chunk + 17, png_sum(chunk + 4, 13));
    if (!sf_sheet_bytes_add(bytes, chunk, CHUNK))
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory while writing a picture");
    memmove(bytes->data + BEFORE + CHUNK, bytes->data + BEFORE, bytes->size - BEFORE - CHUNK);
    memcpy(bytes->data + BEFORE, chunk, CHUNK);
    return SF_OK;
}
