// SPDX-License-Identifier: GPL-3.0-or-later
// Unguessable texts: tokens for sessions and links, salts, pseudonyms (random bytes by libsodium).
#pragma once

#include "seal/digest.h"

enum { SF_TOKEN_HEX = 65, SF_PSEUDONYM_TEXT = 13 };

/// Makes libsodium ready; call it once before threads start. Asserts that random bytes are there.
void sf_token_begin(void);

/// 256 random bits as 64 hexadecimal digits.
void sf_token_make(char hex[SF_TOKEN_HEX]);

/// 128 random bits as 32 hexadecimal digits.
void sf_token_salt(char hex[SF_SALT_HEX]);

/// A name that says nothing: "W-" and ten signs of digits and letters that are not mistaken for one another (50 bits).
void sf_token_pseudonym(char text[SF_PSEUDONYM_TEXT]);

/// What is stored of a token: its BLAKE2b, so that whoever reads the store cannot use it.
void sf_token_digest(const char *token, char hex[SF_DIGEST_HEX]);

/// Whether two texts are the same, in a time that depends on the length of `given` only.
bool sf_token_same(const char *given, const char *kept);
