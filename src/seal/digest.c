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

bool sf_hex_read(const char *hex, unsigned char *bytes, size_t size)
{
    size_t got = 0;
    return hex && strlen(hex) == 2 * size && strspn(hex, "0123456789abcdef") == 2 * size &&
           sodium_hex2bin(bytes, size, hex, 2 * size, NULL, &got, NULL) == 0 && got == size;
}

bool sf_digest_salted(const void *bytes, size_t size, const char *salt, char hex[SF_DIGEST_HEX])
{
    unsigned char key[SF_SALT_BYTES];
    if (!sf_hex_read(salt, key, sizeof key))
        return false;
    sf_digest(bytes, size, key, sizeof key, hex);
    return true;
}
