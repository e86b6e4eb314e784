// SPDX-License-Identifier: GPL-3.0-or-later
#define _POSIX_C_SOURCE 200809L
#include "base/file.h"

#include "base/alloc.h"
#include "base/text.h"

#include <errno.h>
#include <fcntl.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum { FIRST_CHUNK = 64 * 1024, MAX_PATH_BYTES = 4096 };

sf_Status sf_file_read(const char *path, size_t limit, unsigned char **data, size_t *size, sf_Error *err)
{
    FILE *file = fopen(path, "rb");
    if (!file)
        return SF_FAIL(err, errno == ENOENT ? SF_E_MISSING : SF_E_INPUT, path, "cannot open %s: %s", path,
                       strerror(errno));
    sf_Status status = SF_OK;
    unsigned char *block = NULL;
    size_t used = 0, room = 0;
    struct stat info;
    size_t first = FIRST_CHUNK;
    if (fstat(fileno(file), &info) == 0 && S_ISREG(info.st_mode))
        first = (size_t)info.st_size < limit ? (size_t)info.st_size + 1 : limit + 1;
    for (;;) {
        if (used + 1 >= room) {
            size_t bigger = room ? room * 2 : first + 1;
            unsigned char *moved = sf_realloc(block, bigger, 1);
            if (!moved) {
                status = SF_FAIL(err, SF_E_MEMORY, path, "out of memory while reading %s", path);
                goto done;
            }
            block = moved;
            room = bigger;
        }
        size_t got = fread(block + used, 1, room - used - 1, file);
        used += got;
        if (used > limit) {
            status = SF_FAIL(err, SF_E_INPUT, path, "%s is larger than %zu bytes, the most that is read", path, limit);
            goto done;
        }
        if (got == 0)
            break;
    }
    if (ferror(file)) {
        status = SF_FAIL(err, SF_E_INPUT, path, "cannot read %s: %s", path, strerror(errno));
        goto done;
    }
    block[used] = 0;
    *data = block;
    *size = used;
    block = NULL;
done:
    sf_free(block);
    fclose(file);
    return status;
}

static bool write_all(int fd, const unsigned char *bytes, size_t size)
{
    while (size > 0) {
        ssize_t n = write(fd, bytes, size);
        if (n < 0 && errno == EINTR)
            continue;
        if (n <= 0)
            return false;
        bytes += n;
        size -= (size_t)n;
    }
    return true;
}

sf_Status sf_file_write(const char *path, const void *data, size_t size, sf_Error *err)
{
    sf_Text temporary = sf_text_make(MAX_PATH_BYTES);
    sf_text_format(&temporary, "%s.part-XXXXXX", path);
    if (temporary.broken) {
        sf_text_free(&temporary);
        return SF_FAIL(err, SF_E_STORE, path, "no room for the path of the file to write");
    }
    sf_Status status = SF_OK;
    int fd = mkstemp(temporary.data);
    if (fd < 0) {
        status = SF_FAIL(err, SF_E_STORE, path, "cannot write %s: %s", path, strerror(errno));
        sf_text_free(&temporary);
        return status;
    }
    bool good = write_all(fd, data, size) && fchmod(fd, 0644) == 0 && fsync(fd) == 0;
    good = close(fd) == 0 && good;
    good = good && rename(temporary.data, path) == 0;
    if (!good) {
        status = SF_FAIL(err, SF_E_STORE, path, "cannot write %s: %s", path, strerror(errno));
        unlink(temporary.data);
    }
    sf_text_free(&temporary);
    return status;
}

sf_Status sf_file_flush_folder(const char *path, sf_Error *err)
{
    const char *slash = strrchr(path, '/');
    size_t n = slash == path ? 1 : slash ? (size_t)(slash - path) : 0;
    char *folder = slash ? sf_copy_text(path, n) : sf_copy_text(".", 1);
    if (!folder)
        return SF_FAIL(err, SF_E_MEMORY, path, "out of memory");
    int fd = open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    bool good = fd >= 0 && fsync(fd) == 0;
    sf_Status status = SF_OK;
    if (!good)
        status = SF_FAIL(err, SF_E_STORE, path, "cannot flush the folder %s: %s", folder, strerror(errno));
    if (fd >= 0)
        close(fd);
    sf_free(folder);
    return status;
}
