// SPDX-License-Identifier: GPL-3.0-or-later
// Fills a store with invented limbs, many to a transaction, for measuring the server on a large one. Prints the cookie
// of a session that may look at them. Usage: fill_store PLACE FILES COUNT DOCUMENT.json
#include "base/alloc.h"
#include "base/file.h"
#include "record/fact.h"
#include "record/limb_record.h"
#include "record/people.h"
#include "record/session.h"
#include "record/wearer.h"
#include "seal/token.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { OF_ONE_TRANSACTION = 500, MOST_DOCUMENT = 1 << 20 };

static const char *const lots[] = { "L-101", "L-102", "L-103", "L-104", "L-105", "L-106", "L-107" };
static const char *const places[] = { "ring", "standing", "trials", "fasten", "follow-up" };

static sf_Status add_reader(sf_Store *store, char token[SF_TOKEN_HEX], sf_Error *err)
{
    sf_Transaction *t = NULL;
    char hash[SF_DIGEST_HEX];
    sf_Person person = { .name = "bench", .initials = "B", .role = SF_ROLE_READER, .active = true };
    sf_token_make(token);
    sf_token_digest(token, hash);
    SF_TRY(sf_transaction_write(&t, store, 0, err));
    sf_Status status;
    SF_TRY_DONE(sf_person_add(t, &person, &person.id, err));
    const sf_Session session = {
        hash, person.id, "00000000000000000000000000000000", NULL, "2200-01-01T00:00:00.000Z", "bench"
    };
    SF_TRY_DONE(sf_session_keep(t, &session, err));
    SF_TRY_DONE(sf_transaction_commit(t, err));
done:
    sf_transaction_end(&t);
    return status;
}

static sf_Status add_limb(sf_Transaction *t, int number, const char *document, sf_Error *err)
{
    char label[40], due[16];
    int64_t wearer, limb, id;
    snprintf(label, sizeof label, "invented %d", number);
    snprintf(due, sizeof due, "2027-%02d-%02d", 1 + number % 12, 1 + number % 28);
    const sf_LimbHead head = { label,
                               number % 2 ? "left" : "right",
                               lots[number % 7],
                               places[number % 5],
                               "What comes next for this invented limb",
                               number % 3 ? due : NULL,
                               number % 50 ? NULL : "out-of-order",
                               NULL };
    SF_TRY(sf_wearer_add(t, label, &wearer, err));
    SF_TRY(sf_limb_record_add(t, wearer, &head, document, &limb, err));
    const sf_Fact fact = { .limb = limb,
                           .kind = "note",
                           .happened_at = "2026-11-01T10:00:00.000Z",
                           .body =
                               "{\"by\":{\"role\":\"technician\",\"name\":\"bench\",\"licensed\":false,\"signs\":true},"
                               "\"fields\":{\"text\":\"invented\"}}" };
    return sf_fact_add(t, &fact, &id, err);
}

static sf_Status fill(sf_Store *store, int count, const char *document, sf_Error *err)
{
    for (int number = 0; number < count;) {
        sf_Transaction *t = NULL;
        SF_TRY(sf_transaction_write(&t, store, 0, err));
        sf_Status status = SF_OK;
        for (int i = 0; i < OF_ONE_TRANSACTION && number < count && status == SF_OK; i++)
            status = add_limb(t, ++number, document, err);
        if (status == SF_OK)
            status = sf_transaction_commit(t, err);
        sf_transaction_end(&t);
        SF_TRY(status);
    }
    return SF_OK;
}

int main(int argc, char **argv)
{
    sf_Error err = { 0 };
    sf_Store *store = NULL;
    unsigned char *document = NULL;
    size_t size;
    char token[SF_TOKEN_HEX];
    sf_Status status;
    if (argc != 5) {
        fprintf(stderr, "usage: fill_store PLACE FILES COUNT DOCUMENT.json (FILES '-': beside an SQLite file)\n");
        return 2;
    }
    sf_token_begin();
    SF_TRY_DONE(sf_file_read(argv[4], MOST_DOCUMENT, &document, &size, &err));
    SF_TRY_DONE(sf_store_open(&store, argv[1], strcmp(argv[2], "-") == 0 ? NULL : argv[2], SF_STORE_MAKE, &err));
    SF_TRY_DONE(add_reader(store, token, &err));
    SF_TRY_DONE(fill(store, atoi(argv[3]), (const char *)document, &err));
    printf("%s\n", token);
done:
    if (status != SF_OK)
        fprintf(stderr, "fill_store: %s\n", err.text);
    sf_store_close(&store);
    sf_free(document);
    return status != SF_OK;
}
