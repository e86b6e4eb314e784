// SPDX-License-Identifier: GPL-3.0-or-later
// The files of the page as web/ builds them, held in the program: nothing has to be found on a disk to serve them.
// The table is written by web/embed_page.py (meson: `page_c`).
#pragma once

#include <stddef.h>

typedef struct sf_PageFile {
    const char *path;       ///< as it is asked for: "/" for the page itself, "/page.js"
    const char *media_type; ///< for Content-Type
    const char *etag;       ///< with its quotes; changes with the bytes
    const unsigned char *bytes;
    size_t size;
    const unsigned char *gzip; ///< the same, gzipped; NULL where that is no smaller
    size_t gzip_size;
} sf_PageFile;

extern const sf_PageFile sf_page_files[];
extern const size_t sf_page_file_count;
