// SPDX-License-Identifier: GPL-3.0-or-later
#include "ring_spoil.h"

#include "base/alloc.h"
#include "base/file.h"

#include <string.h>
#include <zlib.h>

static void put_big(unsigned char *p, uint32_t value, int bytes)
{
    for (int i = 0; i < bytes; i++)
        p[i] = (unsigned char)(value >> (8 * (bytes - 1 - i)));
}

static uint32_t get_little(const unsigned char *p, int bytes)
{
    uint32_t v = 0;
    for (int i = bytes; i-- > 0;)
        v = v << 8 | p[i];
    return v;
}

static int huge_png(unsigned char *data, size_t size)
{
    enum { HEADER = 12, WIDTH = 16, CRC = 29 };
    if (size < CRC + 4 || memcmp(data + HEADER, "IHDR", 4) != 0)
        return 0;
    put_big(data + WIDTH, 100000, 4);
    put_big(data + WIDTH + 4, 100000, 4);
    put_big(data + CRC, (uint32_t)crc32(0, data + HEADER, CRC - HEADER), 4);
    return 1;
}

static int huge_jpeg(unsigned char *data, size_t size)
{
    for (size_t at = 2; at + 10 < size && data[at] == 0xff;) {
        if (data[at + 1] == 0xc0) {
            put_big(data + at + 5, 65500, 2);
            put_big(data + at + 7, 65500, 2);
            return 1;
        }
        at += 2 + ((size_t)data[at + 2] << 8 | data[at + 3]);
    }
    return 0;
}

static int huge_tiff(unsigned char *data, size_t size)
{
    if (size < 8 || memcmp(data, "II", 2) != 0)
        return 0;
    const size_t ifd = get_little(data + 4, 4);
    if (ifd + 2 > size)
        return 0;
    int found = 0;
    for (size_t i = 0; i < get_little(data + ifd, 2) && ifd + 14 + 12 * i <= size; i++) {
        unsigned char *entry = data + ifd + 2 + 12 * i;
        const uint32_t tag = get_little(entry, 2);
        if (tag == 256 || tag == 257) {
            static const unsigned char claim[] = { 4, 0, 1, 0, 0, 0, 0xa0, 0x86, 0x01, 0x00 }; // LONG, one, 100000
            memcpy(entry + 2, claim, sizeof claim);
            found++;
        }
    }
    return found == 2;
}

sf_Status sf_spoil_file(const sf_Scene *s, const char *path, sf_Error *err)
{
    static const char letter[] = "This is a letter about a ring, and no picture of one.\n";
    unsigned char *data = NULL;
    size_t size = 0;
    sf_Status status = SF_OK;
    if (s->spoil == SF_SPOIL_NONE)
        return SF_OK;
    if (s->spoil == SF_SPOIL_NOT_AN_IMAGE)
        return sf_file_write(path, letter, sizeof letter - 1, err);
    SF_TRY(sf_file_read(path, (size_t)1 << 30, &data, &size, err));
    if (s->spoil == SF_SPOIL_TRUNCATED) {
        size = size * 45 / 100;
    } else {
        const int found = s->format == SF_FORMAT_PNG    ? huge_png(data, size)
                          : s->format == SF_FORMAT_JPEG ? huge_jpeg(data, size)
                                                        : huge_tiff(data, size);
        if (!found)
            status = SF_FAIL(err, SF_E_INTERNAL, path, "the header of %s was not found", path);
    }
    if (status == SF_OK)
        status = sf_file_write(path, data, size, err);
    sf_free(data);
    return status;
}
