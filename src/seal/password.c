// SPDX-License-Identifier: GPL-3.0-or-later
#define _POSIX_C_SOURCE 200809L
#include "seal/password.h"

#include <pthread.h>
#include <sodium.h>
#include <string.h>

enum { AT_A_TIME = 2 }; // each takes 64 MiB

static pthread_mutex_t lock = PTHREAD_MUTEX_INITIALIZER;
static pthread_cond_t left = PTHREAD_COND_INITIALIZER;
static int inside;

static void enter(void)
{
    pthread_mutex_lock(&lock);
    while (inside >= AT_A_TIME)
        pthread_cond_wait(&left, &lock);
    inside++;
    pthread_mutex_unlock(&lock);
}

static void leave(void)
{
    pthread_mutex_lock(&lock);
    inside--;
    pthread_cond_signal(&left);
    pthread_mutex_unlock(&lock);
}

sf_Status sf_password_hash(const char *password, char hash[SF_PASSWORD_HASH], sf_Error *err)
{
    size_t n = strlen(password);
    if (n == 0 || n > SF_PASSWORD_MOST)
        return SF_FAIL(err, SF_E_INPUT, "password", "a password has 1 to %d bytes", SF_PASSWORD_MOST);
    enter();
    int made =
        crypto_pwhash_str(hash, password, n, crypto_pwhash_OPSLIMIT_INTERACTIVE, crypto_pwhash_MEMLIMIT_INTERACTIVE);
    leave();
    if (made != 0)
        return SF_FAIL(err, SF_E_MEMORY, "password", "not enough memory to hash a password: 64 MiB are needed");
    return SF_OK;
}

bool sf_password_matches(const char *password, const char *hash)
{
    size_t n = strlen(password);
    if (n > SF_PASSWORD_MOST)
        return false;
    bool same = false;
    enter();
    if (hash) {
        same = crypto_pwhash_str_verify(hash, password, n) == 0;
    } else {
        static const unsigned char salt[crypto_pwhash_SALTBYTES] = { 0 };
        unsigned char spent[32];
        if (crypto_pwhash(spent, sizeof spent, password, n, salt, crypto_pwhash_OPSLIMIT_INTERACTIVE,
                          crypto_pwhash_MEMLIMIT_INTERACTIVE, crypto_pwhash_ALG_ARGON2ID13) == 0)
            sodium_memzero(spent, sizeof spent);
    }
    leave();
    return same;
}
