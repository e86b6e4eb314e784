// SPDX-License-Identifier: GPL-3.0-or-later
#define _POSIX_C_SOURCE 200809L
#include "seal/signature.h"

#include "base/alloc.h"
#include "base/file.h"
#include "seal/digest.h"

#include <errno.h>
#include <fcntl.h>
#include <sodium.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static const char HEADING[] = "standfast-signing-key/1\n";
enum { KEY_FILE_BYTES = sizeof HEADING - 1 + SF_SEED_HEX };

static void complete(sf_SigningKey *key)
{
    unsigned char public_key[crypto_sign_PUBLICKEYBYTES];
    crypto_sign_seed_keypair(public_key, key->secret, key->seed);
    sodium_bin2hex(key->public_key, sizeof key->public_key, public_key, sizeof public_key);
}

void sf_signing_key_make(sf_SigningKey *key)
{
    randombytes_buf(key->seed, sizeof key->seed);
    complete(key);
}

sf_Status sf_signing_key_from_seed(sf_SigningKey *key, const char *seed, sf_Error *err)
{
    if (!sf_hex_read(seed, key->seed, sizeof key->seed))
        return SF_FAIL(err, SF_E_PARSE, NULL, "a signing key is 64 hexadecimal digits");
    complete(key);
    return SF_OK;
}

sf_Status sf_signing_key_read(sf_SigningKey *key, const char *path, sf_Error *err)
{
    struct stat info;
    if (stat(path, &info) == 0 && (info.st_mode & (S_IRWXG | S_IRWXO)) != 0)
        return SF_FAIL(err, SF_E_STORE, path, "others may read the signing key: chmod 600 %s", path);
    unsigned char *bytes = NULL;
    size_t size = 0;
    SF_TRY(sf_file_read(path, KEY_FILE_BYTES + 1, &bytes, &size, err));
    sf_Status status = SF_OK;
    size_t heading = sizeof HEADING - 1;
    if (size != KEY_FILE_BYTES || memcmp(bytes, HEADING, heading) != 0 || bytes[size - 1] != '\n') {
        status =
            SF_FAIL(err, SF_E_PARSE, path, "%s is no signing key: bring the store's own key back from a backup", path);
    } else {
        bytes[size - 1] = 0;
        status = sf_signing_key_from_seed(key, (const char *)bytes + heading, err);
    }
    sodium_memzero(bytes, size);
    sf_free(bytes);
    return status;
}

sf_Status sf_signing_key_write(const sf_SigningKey *key, const char *path, sf_Error *err)
{
    char text[KEY_FILE_BYTES + 1];
    size_t heading = sizeof HEADING - 1;
    memcpy(text, HEADING, heading);
    sodium_bin2hex(text + heading, SF_SEED_HEX, key->seed, sizeof key->seed);
    text[KEY_FILE_BYTES - 1] = '\n';
    int fd = open(path, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
    if (fd < 0) {
        sodium_memzero(text, sizeof text);
        return SF_FAIL(err, SF_E_STORE, path, "cannot write the signing key %s: %s", path, strerror(errno));
    }
    bool good = write(fd, text, KEY_FILE_BYTES) == KEY_FILE_BYTES && fsync(fd) == 0;
    int why = errno;
    good = close(fd) == 0 && good;
    sodium_memzero(text, sizeof text);
    if (!good) {
        unlink(path);
        return SF_FAIL(err, SF_E_STORE, path, "cannot write the signing key %s: %s", path, strerror(why));
    }
    return sf_file_flush_folder(path, err);
}

void sf_signing_key_derive(const sf_SigningKey *key, const char *purpose, unsigned char derived[SF_DERIVED_KEY_BYTES])
{
    crypto_generichash(derived, SF_DERIVED_KEY_BYTES, (const unsigned char *)purpose, strlen(purpose), key->seed,
                       sizeof key->seed);
}

void sf_signing_key_forget(sf_SigningKey *key)
{
    sodium_memzero(key, sizeof *key);
}

void sf_signature_make(const sf_SigningKey *key, const void *bytes, size_t size, char hex[SF_SIGNATURE_HEX])
{
    unsigned char signature[crypto_sign_BYTES];
    crypto_sign_detached(signature, NULL, bytes, size, key->secret);
    sodium_bin2hex(hex, SF_SIGNATURE_HEX, signature, sizeof signature);
}

bool sf_signature_holds(const char *public_key, const void *bytes, size_t size, const char *hex)
{
    unsigned char key[crypto_sign_PUBLICKEYBYTES], signature[crypto_sign_BYTES];
    return sf_hex_read(public_key, key, sizeof key) && sf_hex_read(hex, signature, sizeof signature) &&
           crypto_sign_verify_detached(signature, bytes, size, key) == 0;
}
