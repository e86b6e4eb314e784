// SPDX-License-Identifier: GPL-3.0-or-later
#define _POSIX_C_SOURCE 200809L // threads, clocks, sockets, signals

#include "server/certificate.h"

#include "base/alloc.h"
#include "base/file.h"

#include <arpa/inet.h>
#include <errno.h>
#include <fcntl.h>
#include <gnutls/crypto.h>
#include <gnutls/gnutls.h>
#include <gnutls/x509.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

enum { PEM_MOST = 64 * 1024, PATH_MOST = 4096, SERIAL_BYTES = 16 };

static const double YEARS = 10, YEAR_S = 31557600;

// What the library refused, as a failure of ours.
static sf_Status check(int result, sf_Error *err)
{
    if (result >= 0)
        return SF_OK;
    return SF_FAIL(err, result == GNUTLS_E_MEMORY_ERROR ? SF_E_MEMORY : SF_E_INTERNAL, NULL,
                   "no certificate could be made: %s", gnutls_strerror(result));
}

static sf_Status add_name(gnutls_x509_crt_t crt, const char *name, sf_Error *err)
{
    unsigned char bytes[16];
    if (inet_pton(AF_INET, name, bytes) == 1)
        return check(gnutls_x509_crt_set_subject_alt_name(crt, GNUTLS_SAN_IPADDRESS, bytes, 4, GNUTLS_FSAN_APPEND),
                     err);
    if (inet_pton(AF_INET6, name, bytes) == 1)
        return check(gnutls_x509_crt_set_subject_alt_name(crt, GNUTLS_SAN_IPADDRESS, bytes, 16, GNUTLS_FSAN_APPEND),
                     err);
    return check(
        gnutls_x509_crt_set_subject_alt_name(crt, GNUTLS_SAN_DNSNAME, name, (unsigned)strlen(name), GNUTLS_FSAN_APPEND),
        err);
}

static sf_Status fill(gnutls_x509_crt_t crt, gnutls_x509_privkey_t key, const char *name, sf_Error *err)
{
    static const char *const always[] = { "localhost", "127.0.0.1", "::1" };
    unsigned char serial[SERIAL_BYTES];
    time_t now = time(NULL);
    SF_TRY(check(
        gnutls_x509_privkey_generate(key, GNUTLS_PK_ECDSA, GNUTLS_CURVE_TO_BITS(GNUTLS_ECC_CURVE_SECP256R1), 0), err));
    SF_TRY(check(gnutls_rnd(GNUTLS_RND_NONCE, serial, sizeof serial), err));
    serial[0] &= 0x7f;
    SF_TRY(check(gnutls_x509_crt_set_version(crt, 3), err));
    SF_TRY(check(gnutls_x509_crt_set_serial(crt, serial, sizeof serial), err));
    SF_TRY(check(gnutls_x509_crt_set_activation_time(crt, now - 86400), err));
    SF_TRY(check(gnutls_x509_crt_set_expiration_time(crt, now + (time_t)(YEARS * YEAR_S)), err));
    SF_TRY(
        check(gnutls_x509_crt_set_dn_by_oid(crt, GNUTLS_OID_X520_COMMON_NAME, 0, name, (unsigned)strlen(name)), err));
    SF_TRY(add_name(crt, name, err));
    for (size_t i = 0; i < sizeof always / sizeof *always; i++)
        if (strcmp(always[i], name) != 0)
            SF_TRY(add_name(crt, always[i], err));
    SF_TRY(check(gnutls_x509_crt_set_key_usage(crt, GNUTLS_KEY_DIGITAL_SIGNATURE), err));
    SF_TRY(check(gnutls_x509_crt_set_key_purpose_oid(crt, GNUTLS_KP_TLS_WWW_SERVER, 0), err));
    SF_TRY(check(gnutls_x509_crt_set_basic_constraints(crt, 0, -1), err));
    SF_TRY(check(gnutls_x509_crt_set_key(crt, key), err));
    return check(gnutls_x509_crt_sign2(crt, crt, key, GNUTLS_DIG_SHA256, 0), err);
}

// The secret half: from its first byte on nobody but its owner may read it.
static sf_Status keep_key(const char *path, const gnutls_datum_t *pem, sf_Error *err)
{
    if (unlink(path) != 0 && errno != ENOENT)
        return SF_FAIL(err, SF_E_STORE, path, "%s could not be replaced: %s", path, strerror(errno));
    int fd = open(path, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
    bool good = fd >= 0 && write(fd, pem->data, pem->size) == (ssize_t)pem->size && fsync(fd) == 0;
    int why = errno;
    if (fd >= 0)
        close(fd);
    return good ? SF_OK : SF_FAIL(err, SF_E_STORE, path, "%s could not be written: %s", path, strerror(why));
}

static sf_Status make(const char *name, const char *certificate_path, const char *key_path, sf_Error *err)
{
    gnutls_x509_crt_t crt = NULL;
    gnutls_x509_privkey_t key = NULL;
    gnutls_datum_t crt_pem = { 0 }, key_pem = { 0 };
    sf_Status status;
    SF_TRY_DONE(check(gnutls_x509_crt_init(&crt), err));
    SF_TRY_DONE(check(gnutls_x509_privkey_init(&key), err));
    SF_TRY_DONE(fill(crt, key, name, err));
    SF_TRY_DONE(check(gnutls_x509_crt_export2(crt, GNUTLS_X509_FMT_PEM, &crt_pem), err));
    SF_TRY_DONE(check(gnutls_x509_privkey_export2(key, GNUTLS_X509_FMT_PEM, &key_pem), err));
    SF_TRY_DONE(keep_key(key_path, &key_pem, err));
    SF_TRY_DONE(sf_file_write(certificate_path, crt_pem.data, crt_pem.size, err));
done:
    gnutls_free(crt_pem.data);
    gnutls_free(key_pem.data);
    if (crt)
        gnutls_x509_crt_deinit(crt);
    if (key)
        gnutls_x509_privkey_deinit(key);
    return status;
}

static sf_Status fingerprint(const char *pem, char print[SF_CERTIFICATE_PRINT], sf_Error *err)
{
    gnutls_x509_crt_t crt = NULL;
    const gnutls_datum_t data = { (unsigned char *)(uintptr_t)pem, (unsigned)strlen(pem) };
    unsigned char hash[32];
    size_t size = sizeof hash;
    sf_Status status;
    SF_TRY_DONE(check(gnutls_x509_crt_init(&crt), err));
    SF_TRY_DONE(check(gnutls_x509_crt_import(crt, &data, GNUTLS_X509_FMT_PEM), err));
    SF_TRY_DONE(check(gnutls_x509_crt_get_fingerprint(crt, GNUTLS_DIG_SHA256, hash, &size), err));
    for (size_t i = 0; i < sizeof hash; i++)
        snprintf(print + 3 * i, 4, "%02X%s", hash[i], i + 1 < sizeof hash ? ":" : "");
done:
    if (crt)
        gnutls_x509_crt_deinit(crt);
    return status;
}

sf_Status sf_certificate_own(const char *folder, const char *name, char **certificate, char **key,
                             char print[SF_CERTIFICATE_PRINT], sf_Error *err)
{
    char certificate_path[PATH_MOST], key_path[PATH_MOST];
    size_t size;
    *certificate = *key = NULL;
    snprintf(certificate_path, sizeof certificate_path, "%s/cert.pem", folder);
    snprintf(key_path, sizeof key_path, "%s/key.pem", folder);
    if (mkdir(folder, 0700) != 0 && errno != EEXIST)
        return SF_FAIL(err, SF_E_STORE, folder, "%s could not be made: %s", folder, strerror(errno));
    if (access(certificate_path, F_OK) != 0 || access(key_path, F_OK) != 0)
        SF_TRY(make(name, certificate_path, key_path, err));
    SF_TRY(sf_file_read(certificate_path, PEM_MOST, (unsigned char **)certificate, &size, err));
    sf_Status status = sf_file_read(key_path, PEM_MOST, (unsigned char **)key, &size, err);
    if (status == SF_OK)
        status = fingerprint(*certificate, print, err);
    if (status != SF_OK) {
        sf_free(*certificate);
        sf_free(*key);
        *certificate = *key = NULL;
    }
    return status;
}
