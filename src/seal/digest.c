// SPDX-License-Identifier: GPL-3.0-or-later
#include "seal/digest.h"

#include <sodium.h>
#include <string.h>

void sf_digest(const void *bytes, size_t size, const unsigned char *key, size_t key_size, char hex[SF_DIGEST_HEX])
{
    unsigned char digest[SF_DIGEST_BYTES];
    crypto_generichash(digest, sizeof digest, bytes, size, key, key_size);
    sodium_bin2hex(hex, SF_DIGEST_HEX, digest, sizeof digest);
}

bool sf_digest_salted(const void *bytes, size_t size, const char *salt, char hex[SF_DIGEST_HEX])
{
    unsigned char key[SF_SALT_BYTES];
    size_t got = 0;
    if (!salt || strlen(salt) != SF_SALT_HEX - 1 ||
        sodium_hex2bin(key, sizeof key, salt, SF_SALT_HEX - 1, NULL, &got, NULL) != 0 || got != sizeof key)
        return false;
    sf_digest(bytes, size, key, sizeof key, hex);
    return true;
}
