// SPDX-License-Identifier: GPL-3.0-or-later
// BLAKE2b fingerprints of 32 bytes (RFC 7693, by libsodium), with a key or without, and hexadecimal text.
#pragma once

#include <stdbool.h>
#include <stddef.h>

enum { SF_DIGEST_BYTES = 32, SF_DIGEST_HEX = 65, SF_SALT_BYTES = 16, SF_SALT_HEX = 33 };

/// Writes the 64 hexadecimal digits of BLAKE2b-256 of `size` bytes. `key` of `key_size` bytes (16 to 64; 0 and NULL for
/// none) makes it one that nobody can guess at without the key.
void sf_digest(const void *bytes, size_t size, const unsigned char *key, size_t key_size, char hex[SF_DIGEST_HEX]);

/// The same keyed by a salt in hexadecimal text as sf_token_salt() makes it. False when `salt` is not 32 digits.
bool sf_digest_salted(const void *bytes, size_t size, const char *salt, char hex[SF_DIGEST_HEX]);

/// Reads exactly `size` bytes of small hexadecimal digits, nothing else: one value has one text, so that a changed sign
/// is always another value.
bool sf_hex_read(const char *hex, unsigned char *bytes, size_t size);
