// SPDX-License-Identifier: GPL-3.0-or-later
// The store: what was committed is there, what was not never happened; rows of every kind; two editors.
#define _POSIX_C_SOURCE 200809L
#include "record/store.h"

#include "base/alloc.h"
#include "harness/tap.h"
#include "record/attachment.h"
#include "record/audit.h"
#include "record/fact.h"
#include "record/limb_record.h"
#include "record/people.h"
#include "record/session.h"
#include "record/wearer.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static char place[256];

static sf_Store *open_fresh(void)
{
    static int number;
    static char scratch[] = "/tmp/standfast-store-XXXXXX";
    if (number == 0 && !mkdtemp(scratch))
        return NULL;
    snprintf(place, sizeof place, "%s/store_%d.sqlite", scratch, ++number);
    sf_Store *store = NULL;
    sf_Error err = { 0 };
    if (!TAP_OK(sf_store_open(&store, place, NULL, SF_STORE_MAKE, &err)))
        tap_note("%s", err.text);
    return store;
}

TAP_CASE(rows_are_there_after_opening_again)
{
    sf_Error err = { 0 };
    sf_Store *store = open_fresh();
    char id[33];
    snprintf(id, sizeof id, "%s", sf_store_id(store));
    sf_Transaction *t = NULL;
    int64_t person = 0, wearer = 0, limb = 0, fact = 0;
    TAP_OK(sf_transaction_write(&t, store, 0, &err));
    TAP_OK(sf_person_add(t, &(sf_Person){ .name = "Ada Invented", .initials = "AI", .active = true }, &person, &err));
    TAP_OK(sf_wearer_add(t, "Invented wearer 1", &wearer, &err));
    TAP_OK(sf_limb_record_add(t, wearer, &(sf_LimbHead){ .label = "Invented wearer 1", .side = "left" }, "{}", &limb,
                              &err));
    TAP_OK(sf_fact_add(t, &(sf_Fact){ .limb = limb, .kind = "ring", .happened_at = "2026-01-31", .body = "{}" }, &fact,
                       &err));
    TAP_OK(sf_transaction_commit(t, &err));
    sf_transaction_end(&t);
    sf_store_close(&store);
    TAP_OK(sf_store_open(&store, place, NULL, SF_STORE_EXISTING, &err));
    TAP_TEXT(sf_store_id(store), id);
    TAP_OK(sf_transaction_read(&t, store, &err));
    sf_Fact found = { 0 };
    TAP_OK(sf_fact_get(t, fact, &found, &err));
    TAP_TEXT(found.kind, "ring");
    sf_Person somebody = { 0 };
    TAP_OK(sf_person_by_name(t, "ADA invented", &somebody, &err));
    TAP_TRUE(somebody.id == person);
    sf_transaction_end(&t);
    sf_store_close(&store);
}

TAP_CASE(the_second_editor_is_told)
{
    sf_Error err = { 0 };
    sf_Store *store = open_fresh();
    sf_Transaction *t = NULL;
    int64_t wearer = 0, limb = 0, version = 0;
    const sf_LimbHead head = { .label = "Invented wearer 2", .side = "right" };
    TAP_OK(sf_transaction_write(&t, store, 0, &err));
    TAP_OK(sf_wearer_add(t, "Invented wearer 2", &wearer, &err));
    TAP_OK(sf_limb_record_add(t, wearer, &head, "{\"n\":1}", &limb, &err));
    TAP_OK(sf_limb_record_save(t, limb, 1, &head, "{\"n\":2}", &version, &err));
    TAP_TRUE(version == 2);
    TAP_STATUS(sf_limb_record_save(t, limb, 1, &head, "{\"n\":3}", &version, &err), SF_E_CONFLICT);
    TAP_TRUE(version == 2, "the current version is told");
    TAP_OK(sf_transaction_commit(t, &err));
    sf_transaction_end(&t);
    TAP_OK(sf_transaction_read(&t, store, &err));
    const char *document = NULL;
    TAP_OK(sf_limb_record_document(t, limb, 0, &document, &err));
    TAP_TEXT(document, "{\"n\":2}");
    TAP_OK(sf_limb_record_document(t, limb, 1, &document, &err));
    TAP_TEXT(document, "{\"n\":1}");
    sf_transaction_end(&t);
    sf_store_close(&store);
}

TAP_CASE(what_was_not_committed_never_happened)
{
    sf_Error err = { 0 };
    sf_Store *store = open_fresh();
    sf_Transaction *t = NULL;
    int64_t wearer = 0;
    TAP_OK(sf_transaction_write(&t, store, 0, &err));
    TAP_OK(sf_wearer_add(t, "Invented wearer 3", &wearer, &err));
    sf_transaction_end(&t);
    TAP_OK(sf_transaction_read(&t, store, &err));
    sf_Wearer found = { 0 };
    TAP_STATUS(sf_wearer_get(t, wearer, &found, &err), SF_E_MISSING);
    sf_transaction_end(&t);
    sf_store_close(&store);
}

TAP_MAIN(TAP_RUN(rows_are_there_after_opening_again), TAP_RUN(the_second_editor_is_told),
         TAP_RUN(what_was_not_committed_never_happened))
