// SPDX-License-Identifier: GPL-3.0-or-later
#include "record/archive.h"

#include <assert.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

enum { BLOCK = 512 };

typedef struct Header { // the fields of POSIX ustar, in octal text
    char name[100], mode[8], uid[8], gid[8], size[12], mtime[12], sum[8], kind, link[100], magic[6], version[2],
        user[32], group[32], major[8], minor[8], prefix[155], rest[12];
} Header;

static unsigned sum_of(const Header *header)
{
    Header copy = *header;
    memset(copy.sum, ' ', sizeof copy.sum);
    unsigned sum = 0;
    const unsigned char *bytes = (const unsigned char *)&copy;
    for (size_t i = 0; i < BLOCK; i++)
        sum += bytes[i];
    return sum;
}

static void octal(char *field, size_t room, uint64_t number)
{
    field[room - 1] = 0;
    for (size_t i = room - 1; i-- > 0; number /= 8)
        field[i] = (char)('0' + number % 8);
}

void sf_archive_add(sf_Text *archive, const char *name, const void *bytes, size_t size)
{
    static const char zeros[BLOCK] = { 0 };
    Header header = { .kind = '0', .magic = "ustar", .version = { '0', '0' } };
    static_assert(sizeof header == BLOCK, "a header is one block");
    assert(strlen(name) <= SF_ARCHIVE_NAME_MOST);
    memcpy(header.name, name, strlen(name));
    octal(header.mode, sizeof header.mode, 0600);
    octal(header.uid, sizeof header.uid, 0);
    octal(header.gid, sizeof header.gid, 0);
    octal(header.size, sizeof header.size, size);
    octal(header.mtime, sizeof header.mtime, 0);
    octal(header.sum, sizeof header.sum - 1, sum_of(&header));
    header.sum[7] = ' ';
    sf_text_add_bytes(archive, &header, sizeof header);
    sf_text_add_bytes(archive, bytes, size);
    sf_text_add_bytes(archive, zeros, (BLOCK - size % BLOCK) % BLOCK);
}

void sf_archive_close(sf_Text *archive)
{
    static const char zeros[2 * BLOCK] = { 0 };
    sf_text_add_bytes(archive, zeros, sizeof zeros);
}

static bool read_octal(const char *field, size_t room, uint64_t *number)
{
    size_t i = 0;
    *number = 0;
    while (i < room && field[i] == ' ')
        i++;
    size_t first = i;
    for (; i < room && field[i] >= '0' && field[i] <= '7'; i++)
        *number = *number * 8 + (uint64_t)(field[i] - '0');
    return i > first && (i == room || field[i] == 0 || field[i] == ' ');
}

sf_Status sf_archive_next(const unsigned char *archive, size_t size, size_t *offset, sf_ArchiveFile *file, bool *end,
                          sf_Error *err)
{
    static const Header empty = { .kind = 0 };
    Header header;
    uint64_t bytes = 0, sum = 0;
    *end = false;
    if (size - *offset < BLOCK)
        return SF_FAIL(err, SF_E_PARSE, NULL, "the archive ends too soon: send it again");
    memcpy(&header, archive + *offset, BLOCK);
    if (memcmp(&header, &empty, BLOCK) == 0) {
        *end = true;
        return SF_OK;
    }
    if (memcmp(header.magic, "ustar", 5) != 0 || !read_octal(header.sum, sizeof header.sum, &sum) ||
        sum != sum_of(&header) || !read_octal(header.size, sizeof header.size, &bytes) || header.prefix[0] ||
        (header.kind != '0' && header.kind != 0))
        return SF_FAIL(err, SF_E_PARSE, NULL, "this is no export of the store, or it was damaged on the way");
    if (bytes > size - *offset - BLOCK)
        return SF_FAIL(err, SF_E_PARSE, NULL, "the archive ends too soon: send it again");
    memcpy(file->name, header.name, sizeof header.name);
    file->name[sizeof header.name] = 0;
    file->bytes = archive + *offset + BLOCK;
    file->size = (size_t)bytes;
    size_t step = BLOCK + ((size_t)bytes + BLOCK - 1) / BLOCK * BLOCK;
    *offset = step > size - *offset ? size : *offset + step;
    return SF_OK;
}
