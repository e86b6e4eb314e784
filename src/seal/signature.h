// SPDX-License-Identifier: GPL-3.0-or-later
// Ed25519 signatures (RFC 8032, by libsodium) and the file that holds the secret half.
#pragma once

#include "base/status.h"

#include <stdbool.h>

enum { SF_SIGNATURE_HEX = 129, SF_PUBLIC_KEY_HEX = 65, SF_SEED_HEX = 65, SF_DERIVED_KEY_BYTES = 32 };

typedef struct sf_SigningKey {
    unsigned char seed[32];
    unsigned char secret[64];
    char public_key[SF_PUBLIC_KEY_HEX]; ///< hexadecimal
} sf_SigningKey;

/// A fresh key from random bytes.
void sf_signing_key_make(sf_SigningKey *key);

/// The key that belongs to a seed of 64 hexadecimal digits. SF_E_PARSE.
sf_Status sf_signing_key_from_seed(sf_SigningKey *key, const char *seed, sf_Error *err) SF_MUST_USE;

/// Reads a key file. SF_E_MISSING when it is not there, SF_E_PARSE when it is no key, SF_E_STORE when others than its
/// owner may read it.
sf_Status sf_signing_key_read(sf_SigningKey *key, const char *path, sf_Error *err) SF_MUST_USE;

/// Writes a new key file that only its owner may read (0600), flushed with its folder. SF_E_STORE when it is there
/// already or cannot be written; nothing half written stays.
sf_Status sf_signing_key_write(const sf_SigningKey *key, const char *path, sf_Error *err) SF_MUST_USE;

/// A key of 32 bytes for another `purpose`, made from the seed by BLAKE2b.
void sf_signing_key_derive(const sf_SigningKey *key, const char *purpose, unsigned char derived[SF_DERIVED_KEY_BYTES]);

/// Wipes the key from memory.
void sf_signing_key_forget(sf_SigningKey *key);

/// Signs `size` bytes: 128 hexadecimal digits.
void sf_signature_make(const sf_SigningKey *key, const void *bytes, size_t size, char hex[SF_SIGNATURE_HEX]);

/// Whether `hex` is the signature of `size` bytes by the holder of the public key; false for anything malformed.
bool sf_signature_holds(const char *public_key, const void *bytes, size_t size, const char *hex);
