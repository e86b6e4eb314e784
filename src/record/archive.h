// SPDX-License-Identifier: GPL-3.0-or-later
// A POSIX ustar archive in memory (POSIX.1-2008, pax, "ustar Interchange Format"): plain files only. Internal to
// record.
#pragma once

#include "base/status.h"
#include "base/text.h"

enum { SF_ARCHIVE_NAME_MOST = 100 };

/// Adds a file. `archive` is marked broken when its limit is reached. Names of at most 100 bytes.
void sf_archive_add(sf_Text *archive, const char *name, const void *bytes, size_t size);

/// Adds the two empty blocks of the end.
void sf_archive_close(sf_Text *archive);

typedef struct sf_ArchiveFile {
    char name[SF_ARCHIVE_NAME_MOST + 1];
    const unsigned char *bytes; ///< inside the archive
    size_t size;
} sf_ArchiveFile;

/// The file at *offset, which moves on to the next; *end at the archive's end. SF_E_PARSE for whatever is no plain file
/// with a good header.
sf_Status sf_archive_next(const unsigned char *archive, size_t size, size_t *offset, sf_ArchiveFile *file, bool *end,
                          sf_Error *err) SF_MUST_USE;
