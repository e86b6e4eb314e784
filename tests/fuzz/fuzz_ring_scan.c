// SPDX-License-Identifier: GPL-3.0-or-later
// Any bytes as a picture of a ring: refused with a sentence and nothing left, or an outline that keeps its promises.
// The seeds are uncompressed where they can be, so that changed bytes are changed pixels and reach the measuring; PNG
// is tried again with its checksums mended, so that changed chunks get past them. ring_scan_scenes.json made the seeds.
#include "base/alloc.h"
#include "fuzz/fuzz_target.h"
#include "image/ring_scan.h"

#include <math.h>
#include <string.h>

static bool doubtful(double value)
{
    return !(isfinite(value) && value >= 0);
}

static void check_outline(const sf_Outline *o)
{
    double outer = sf_polygon_area(&o->outer), inner = sf_polygon_area(&o->inner), voids = 0;
    FUZZ_TRUE(isfinite(outer) && inner > 0 && outer > inner);
    FUZZ_TRUE(o->void_count <= SF_OUTLINE_MAX_VOIDS);
    for (size_t i = 0; i < o->void_count; i++)
        voids += sf_polygon_area(&o->voids[i]);
    FUZZ_TRUE(voids >= 0 && voids < outer - inner);
    double across = 2 * sqrt(outer / 3.14159265358979);
    FUZZ_TRUE(across > 0.5 * SF_RING_LEAST_ACROSS && across < 1.5 * SF_RING_MOST_ACROSS);
    const sf_EdgeDoubt *d = &o->doubt;
    FUZZ_TRUE(!doubtful(d->bias_outer) && !doubtful(d->bias_inner) && !doubtful(d->random));
    FUZZ_TRUE(!doubtful(d->correlation) && !doubtful(d->line_end) && !doubtful(d->scale));
    if (o->line.present)
        FUZZ_TRUE(isfinite(o->line.start.x + o->line.start.y + o->line.end.x + o->line.end.y));
}

static void check_scan(sf_RingScan *scan)
{
    check_outline(&scan->outline);
    sf_Error err = { 0 };
    sf_Status status = sf_outline_check(&scan->outline, &err); // whatever it hands out is fit for the section
    FUZZ_TRUE(status == SF_OK);
    FUZZ_TRUE(scan->dpi_x >= SF_RING_LEAST_DPI && scan->dpi_x <= SF_RING_MOST_DPI);
    FUZZ_TRUE(scan->dpi_y >= SF_RING_LEAST_DPI && scan->dpi_y <= SF_RING_MOST_DPI);
    FUZZ_TRUE(scan->dpi_origin && scan->width > 0 && scan->height > 0);
    FUZZ_TRUE(isfinite(scan->blur) && isfinite(scan->contrast) && scan->bridged >= 0 && scan->bridged <= 1);
    if (scan->view.grey) // read through once: a sanitizer sees a size that is not true
        for (size_t i = 0, sum = 0; i < scan->view.width * scan->view.height; i++)
            FUZZ_TRUE((sum += scan->view.grey[i]) <= 255 * (i + 1));
}

// Whether the bytes could be read as a picture of a ring.
static bool try_bytes(const uint8_t *data, size_t size)
{
    size_t live = sf_alloc_live();
    sf_RingScan scan = { 0 };
    sf_Error err = { 0 };
    sf_RingScanOptions options = SF_RING_SCAN_DEFAULTS;
    options.dpi = size % 2 ? 0 : 150;
    options.keep_view = size % 4 == 0;
    sf_Status status = sf_ring_scan_read(&scan, "fuzz", data, size, &options, &err);
    if (status == SF_OK) {
        check_scan(&scan);
    } else {
        FUZZ_TRUE(err.status == status && strlen(err.text) > 10);
        FUZZ_TRUE(status == SF_E_INPUT || status == SF_E_GEOMETRY || status == SF_E_MISSING || status == SF_E_LIMIT ||
                  status == SF_E_RANGE);
        FUZZ_TRUE(!scan.outline.outer.points && !scan.outline.inner.points && !scan.view.grey);
    }
    sf_ring_scan_free(&scan);
    sf_ring_scan_free(&scan);
    FUZZ_TRUE(sf_alloc_live() == live);
    return status == SF_OK;
}

static uint32_t big_endian(const uint8_t *p)
{
    return (uint32_t)p[0] << 24 | (uint32_t)p[1] << 16 | (uint32_t)p[2] << 8 | p[3];
}

// The checksum of PNG (ISO/IEC 15948, annex D), bit by bit.
static uint32_t checksum(const uint8_t *p, size_t n)
{
    uint32_t c = 0xffffffffu;
    for (size_t i = 0; i < n; i++) {
        c ^= p[i];
        for (int k = 0; k < 8; k++)
            c = c & 1 ? 0xedb88320u ^ c >> 1 : c >> 1;
    }
    return ~c;
}

// Puts the right checksum behind every whole chunk; whether anything had to be changed.
static bool mend_png(uint8_t *data, size_t size)
{
    bool changed = false;
    if (size < 8 || memcmp(data, "\x89PNG\r\n\x1a\n", 8) != 0)
        return false;
    for (size_t at = 8; at + 12 <= size;) {
        size_t length = big_endian(data + at);
        if (length > size - at - 12)
            break;
        uint32_t right = checksum(data + at + 4, length + 4);
        uint8_t *place = data + at + 8 + length;
        changed = changed || big_endian(place) != right;
        for (int i = 0; i < 4; i++)
            place[i] = (uint8_t)(right >> (24 - 8 * i));
        at += length + 12;
    }
    return changed;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    if (try_bytes(data, size))
        return 0;
    uint8_t *copy = sf_alloc(size ? size : 1, 1);
    FUZZ_TRUE(copy != NULL);
    memcpy(copy, data, size);
    if (mend_png(copy, size))
        try_bytes(copy, size);
    sf_free(copy);
    return 0;
}
