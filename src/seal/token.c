// SPDX-License-Identifier: GPL-3.0-or-later
#include "seal/token.h"

#include <assert.h>
#include <sodium.h>
#include <string.h>

void sf_token_begin(void)
{
    int ready = sodium_init();
    assert(ready >= 0);
    (void)ready;
}

static void random_hex(char *hex, size_t room)
{
    unsigned char bytes[SF_DIGEST_BYTES];
    assert((room - 1) / 2 <= sizeof bytes);
    randombytes_buf(bytes, (room - 1) / 2);
    sodium_bin2hex(hex, room, bytes, (room - 1) / 2);
    sodium_memzero(bytes, sizeof bytes);
}

void sf_token_make(char hex[SF_TOKEN_HEX])
{
    random_hex(hex, SF_TOKEN_HEX);
}

void sf_token_salt(char hex[SF_SALT_HEX])
{
    random_hex(hex, SF_SALT_HEX);
}

void sf_token_pseudonym(char text[SF_PSEUDONYM_TEXT])
{
    static const char signs[] = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"; // 32 of them: without I, L, O and U
    memcpy(text, "W-", 2);
    for (size_t i = 2; i < SF_PSEUDONYM_TEXT - 1; i++)
        text[i] = signs[randombytes_uniform(sizeof signs - 1)];
    text[SF_PSEUDONYM_TEXT - 1] = 0;
}

void sf_token_digest(const char *token, char hex[SF_DIGEST_HEX])
{
    sf_digest(token, strlen(token), NULL, 0, hex);
}

bool sf_token_same(const char *given, const char *kept)
{
    size_t n = strlen(given), room = strlen(kept);
    unsigned char differ = n != room;
    for (size_t i = 0; i < n; i++)
        differ |= (unsigned char)((unsigned char)given[i] ^ (unsigned char)(room ? kept[i % room] : 0));
    return differ == 0;
}
