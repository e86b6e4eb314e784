// SPDX-License-Identifier: GPL-3.0-or-later
// Picture files, named by what is in them, and the rows that say to which limb they belong.
#pragma once

#include "record/store.h"
#include "seal/digest.h"

enum { SF_ATTACHMENT_BYTES_MOST = 256 * 1024 * 1024, SF_ATTACHMENT_NAME_MOST = 200, SF_MEDIA_TYPE_MOST = 100 };

/// Puts bytes on the shelf: a file "<files>/ab/abcd..." named by their BLAKE2b, flushed with its folder, before any row
/// may name it. The same bytes twice are one file. Needs no transaction. SF_E_STORE, SF_E_LIMIT.
sf_Status sf_shelf_put(sf_Store *store, const void *bytes, size_t size, char hash[SF_DIGEST_HEX],
                       sf_Error *err) SF_MUST_USE;

/// Reads a file back (free with sf_free) and checks that it is what its name says. SF_E_MISSING, SF_E_STORE.
sf_Status sf_shelf_get(sf_Store *store, const char *hash, unsigned char **bytes, size_t *size,
                       sf_Error *err) SF_MUST_USE;

/// The path of a file on the shelf, whether it is there or not. Freed with sf_free; NULL when out of memory or the hash
/// is none.
char *sf_shelf_path(const sf_Store *store, const char *hash);

/// Removes files that no row names and that are older than `age_s` seconds. *removed counts them.
sf_Status sf_shelf_sweep(sf_Store *store, double age_s, size_t *removed, sf_Error *err) SF_MUST_USE;

typedef struct sf_Attachment {
    int64_t id, limb, who;
    int64_t fact;           ///< the fact it goes with; 0: none
    const char *file_hash;  ///< of sf_shelf_put()
    const char *name;       ///< as the person called the file
    const char *media_type; ///< such as "image/png"
    int64_t bytes;
    const char *at;
    const char *removed_at; ///< the file was removed with the wearer's data; NULL: it is there
} sf_Attachment;

/// Adds a row; id, who, at and bytes of the struct are not read. SF_E_MISSING when limb, fact or file are not there.
sf_Status sf_attachment_add(sf_Transaction *t, const sf_Attachment *attachment, int64_t *id, sf_Error *err) SF_MUST_USE;

sf_Status sf_attachment_list(sf_Transaction *t, int64_t limb, sf_Attachment **attachments, size_t *count,
                             sf_Error *err) SF_MUST_USE;

/// The first row that names this file. SF_E_MISSING.
sf_Status sf_attachment_by_hash(sf_Transaction *t, const char *hash, sf_Attachment *attachment,
                                sf_Error *err) SF_MUST_USE;
