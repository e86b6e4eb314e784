// SPDX-License-Identifier: GPL-3.0-or-later
// Any index of an export, well packed and well signed, so that the reader comes to it: refused with a sentence, or
// taken in whole by a store that is put back afterwards. Input that begins like an archive is read as one.
#define _XOPEN_SOURCE 700
#include "fuzz/fuzz_target.h"
#include "record/archive.h"
#include "record/bundle.h"
#include "record/sealed.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static sf_Store *store;
static char folder[] = "/tmp/standfast-fuzz-XXXXXX";

static void leave(void)
{
    char command[128];
    sf_store_close(&store);
    snprintf(command, sizeof command, "rm -rf %s", folder);
    if (system(command) != 0)
        fprintf(stderr, "%s stays\n", folder);
}

static void begin(void)
{
    char place[128];
    sf_Error err = { 0 };
    if (store)
        return;
    FUZZ_TRUE(mkdtemp(folder) != NULL);
    snprintf(place, sizeof place, "%s/s.sqlite", folder);
    FUZZ_TRUE(sf_store_open(&store, place, NULL, SF_STORE_MAKE, &err) == SF_OK);
    atexit(leave);
}

/// The archive around an index: the files that the corpus speaks of, and a good signature.
static void pack(sf_Text *archive, const uint8_t *index, size_t size)
{
    char signature[SF_SIGNATURE_HEX], line[SF_SIGNATURE_HEX + SF_PUBLIC_KEY_HEX + 2];
    sf_signature_make(&store->key, index, size, signature);
    int n = snprintf(line, sizeof line, "%s %s\n", store->key.public_key, signature);
    sf_archive_add(archive, "export.json", index, size);
    sf_archive_add(archive, "export.signature", line, (size_t)n);
    sf_archive_add(archive, "a", "{}", 2);
    sf_archive_add(archive, "pictures/d161d71145abeec5ef15abcf0459cec60a27321e2f0ac0ef7ace5254f5944476", "x", 1);
    sf_archive_close(archive);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    sf_Text archive = sf_text_make(1 << 24);
    sf_Transaction *t = NULL;
    sf_Error err = { 0 };
    sf_BundleReport report;
    begin();
    if (size >= 512 && memcmp(data + 257, "ustar", 5) == 0)
        sf_text_add_bytes(&archive, data, size);
    else
        pack(&archive, data, size);
    FUZZ_TRUE(sf_transaction_write(&t, store, 0, &err) == SF_OK);
    sf_Status status =
        sf_bundle_import(t, (const unsigned char *)sf_text_string(&archive), archive.length, 0, &report, &err);
    if (status != SF_OK)
        FUZZ_TRUE(err.status == status && err.text[0]);
    else
        FUZZ_TRUE(report.wearer > 0 && report.limbs >= 0);
    sf_transaction_end(&t); // nothing is kept
    sf_text_free(&archive);
    return 0;
}
