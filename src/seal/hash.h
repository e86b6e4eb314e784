// SPDX-License-Identifier: GPL-3.0-or-later
// SHA-256 fingerprints of inputs (FIPS 180-4, by libsodium).
#pragma once

#include "base/status.h"

#include <stddef.h>

enum { SF_HASH_HEX = 65 }; ///< 64 hexadecimal digits and the closing zero

typedef struct sf_Hash sf_Hash;

/// Starts a fingerprint. SF_E_MEMORY.
sf_Status sf_hash_create(sf_Hash **hash, sf_Error *err) SF_MUST_USE;
void sf_hash_add(sf_Hash *hash, const void *bytes, size_t size);

/// Writes the 64 hexadecimal digits, frees the hash and nulls the pointer.
void sf_hash_finish(sf_Hash **hash, char hex[SF_HASH_HEX]);

/// Frees without a result; NULL and pointer to NULL are allowed.
void sf_hash_destroy(sf_Hash **hash);
