// SPDX-License-Identifier: GPL-3.0-or-later
#include "seal/hash.h"

#include "base/alloc.h"

#include <sodium.h>

struct sf_Hash {
    crypto_hash_sha256_state state;
};

sf_Status sf_hash_create(sf_Hash **hash, sf_Error *err)
{
    *hash = sf_alloc(1, sizeof **hash);
    if (!*hash)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    crypto_hash_sha256_init(&(*hash)->state);
    return SF_OK;
}

void sf_hash_add(sf_Hash *hash, const void *bytes, size_t size)
{
    crypto_hash_sha256_update(&hash->state, bytes, size);
}

void sf_hash_finish(sf_Hash **hash, char hex[SF_HASH_HEX])
{
    unsigned char digest[crypto_hash_sha256_BYTES];
    crypto_hash_sha256_final(&(*hash)->state, digest);
    sodium_bin2hex(hex, SF_HASH_HEX, digest, sizeof digest);
    sf_hash_destroy(hash);
}

void sf_hash_destroy(sf_Hash **hash)
{
    if (!hash || !*hash)
        return;
    sf_free(*hash);
    *hash = NULL;
}
