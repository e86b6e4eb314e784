// SPDX-License-Identifier: GPL-3.0-or-later
// Files that are read with a bound and appear whole or not at all.
#pragma once

#include "base/status.h"

#include <stddef.h>

/// Reads a whole file of at most `limit` bytes into a fresh block (free with sf_free; one zero byte follows the data).
/// SF_E_MISSING when it is not there, SF_E_LIMIT when larger, SF_E_STORE when it cannot be read.
sf_Status sf_file_read(const char *path, size_t limit, unsigned char **data, size_t *size, sf_Error *err) SF_MUST_USE;

/// Writes `size` bytes beside `path`, flushes them to the disk and renames onto `path`: whoever looks sees the old file
/// or the new one, never a part. SF_E_STORE when the folder refuses it.
sf_Status sf_file_write(const char *path, const void *data, size_t size, sf_Error *err) SF_MUST_USE;

/// Flushes the folder that holds `path`, so that a file made or renamed there is found after a loss of power. SF_E_STORE.
sf_Status sf_file_flush_folder(const char *path, sf_Error *err) SF_MUST_USE;
