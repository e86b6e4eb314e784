// SPDX-License-Identifier: GPL-3.0-or-later
// The store on SQLite and on PostgreSQL: what was committed is there, what was not never happened; rows of every kind;
// two editors; lists and search; many at once; an upgrade from a kept store of the first schema.
#define _XOPEN_SOURCE 700
#include "record/store.h"

#include "base/alloc.h"
#include "base/file.h"
#include "harness/tap.h"
#include "record/attachment.h"
#include "record/audit.h"
#include "record/fact.h"
#include "record/letterhead.h"
#include "record/limb_record.h"
#include "record/people.h"
#include "record/session.h"
#include "record/verify.h"
#include "record/wearer.h"
#include "seal/digest.h"
#include "seal/token.h"
#include "shop_rows.h"
#include "workroom.h"

#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static bool is_clean(sf_Store *store)
{
    sf_Error err = { 0 };
    static sf_VerifyReport report;
    sf_Status status = sf_store_verify(store, &(sf_VerifyAsk){ 0 }, &report, &err);
    if (status != SF_OK)
        tap_note("%s", err.text);
    for (size_t i = 0; i < report.kept; i++)
        tap_note("problem: %s", report.problems[i].text);
    return status == SF_OK && report.problem_count == 0;
}

typedef struct Room {
    WorkroomPlace place;
    sf_Store *store;
    ShopRows rows;
    sf_Error err;
} Room;

static bool enter(Room *room, WorkroomKind kind, bool fill)
{
    *room = (Room){ .store = NULL };
    if (!TAP_TRUE(workroom_place(&room->place, kind), "a place for a %s store", workroom_kind_words[kind]))
        return false;
    room->store = workroom_open(&room->place);
    if (room->store && fill && !TAP_OK(shop_rows_add(room->store, &room->rows, &room->err)))
        tap_note("%s", room->err.text);
    return room->store != NULL;
}

static void leave(Room *room)
{
    TAP_TRUE(is_clean(room->store), "the proof is clean");
    sf_store_close(&room->store);
}

/// Opens a transaction or fails the case.
static sf_Transaction *begin(Room *room, bool write)
{
    sf_Transaction *t = NULL;
    if (!TAP_OK(write ? sf_transaction_write(&t, room->store, room->rows.people[0], &room->err)
                      : sf_transaction_read(&t, room->store, &room->err)))
        tap_note("%s", room->err.text);
    return t;
}

// ---- rows ----------------------------------------------------------------------------------------------------------

static void rows_are_there_after_opening_again(WorkroomKind kind)
{
    Room room;
    if (!enter(&room, kind, true))
        return;
    sf_Error *err = &room.err;
    char id[64];
    snprintf(id, sizeof id, "%s", sf_store_id(room.store));
    TAP_TEXT(sf_store_kind(room.store), workroom_kind_words[kind]);
    sf_store_close(&room.store);
    if (!TAP_OK(sf_store_open(&room.store, room.place.place, room.place.files, SF_STORE_EXISTING, err)))
        return;
    TAP_TEXT(sf_store_id(room.store), id);
    sf_Transaction *t = begin(&room, false);
    sf_Person person = { 0 };
    TAP_OK(sf_person_by_name(t, "ADA invented", &person, err));
    TAP_TRUE(person.id == room.rows.people[0] && person.role == SF_ROLE_PROSTHETIST && !person.inch && person.active);
    TAP_TEXT(person.license, "invented 1");
    int64_t failures = 0;
    const char *until = NULL;
    TAP_OK(sf_person_failures(t, room.rows.people[1], &failures, &until, err));
    TAP_TRUE(failures == 2 && !until);
    sf_Wearer wearer = { 0 };
    TAP_OK(sf_wearer_get(t, room.rows.wearers[1], &wearer, err));
    TAP_TEXT(wearer.label, "\xC3\x89mile 'L' (invented)");
    TAP_TRUE(strncmp(wearer.pseudonym, "W-", 2) == 0 && strlen(wearer.pseudonym) == 12);
    const char *document = NULL;
    TAP_OK(sf_limb_record_document(t, room.rows.limbs[1], 0, &document, err));
    TAP_TEXT(document, "{ \"version\": 2 }");
    TAP_OK(sf_limb_record_document(t, room.rows.limbs[1], 1, &document, err));
    TAP_TEXT(document, "{ \"version\": 1 }");
    TAP_STATUS(sf_limb_record_document(t, room.rows.limbs[1], 3, &document, err), SF_E_MISSING);
    sf_LimbVersion *versions = NULL;
    size_t count = 0;
    TAP_OK(sf_limb_record_versions(t, room.rows.limbs[1], true, &versions, &count, err));
    TAP_TRUE(count == 2 && versions[1].version == 2 && versions[1].who == room.rows.people[0]);
    sf_transaction_end(&t);
    leave(&room);
}

static void what_was_not_committed_never_happened(WorkroomKind kind)
{
    Room room;
    if (!enter(&room, kind, true))
        return;
    sf_Error *err = &room.err;
    char before[65], after[65];
    workroom_contents(&room.place, false, before);
    sf_Transaction *t = begin(&room, true);
    int64_t id = 0;
    TAP_OK(sf_wearer_add(t, "Nobody (invented)", &id, err));
    sf_Wearer wearer = { 0 };
    TAP_OK(sf_wearer_get(t, id, &wearer, err));
    sf_transaction_end(&t);
    workroom_contents(&room.place, false, after);
    TAP_TEXT(after, before);
    // A step that fails half way takes the whole transaction with it.
    t = begin(&room, true);
    TAP_OK(sf_wearer_add(t, "Nobody (invented)", &id, err));
    TAP_STATUS(sf_session_keep(
                   t,
                   &(sf_Session){
                       .token_hash = before, .person = 4711, .csrf = "c", .expires_at = "2199-01-01T00:00:00.000Z" },
                   err),
               SF_E_INTERNAL);
    TAP_TRUE(sf_transaction_commit(t, err) != SF_OK, "a broken transaction is not committed");
    sf_transaction_end(&t);
    workroom_contents(&room.place, false, after);
    TAP_TEXT(after, before);
    leave(&room);
}

static void the_second_editor_is_told_and_nothing_is_lost(WorkroomKind kind)
{
    Room room;
    if (!enter(&room, kind, true))
        return;
    sf_Error *err = &room.err;
    const sf_LimbHead head = { .label = "Nora (invented)", .side = "right" };
    int64_t limb = room.rows.limbs[0], version = 0;
    sf_Transaction *t = begin(&room, true);
    TAP_OK(sf_limb_record_save(t, limb, 1, &head, "{ \"of\": \"the first\" }", &version, err));
    TAP_OK(sf_transaction_commit(t, err));
    sf_transaction_end(&t);
    t = begin(&room, true);
    TAP_STATUS(sf_limb_record_save(t, limb, 1, &head, "{ \"of\": \"the second\" }", &version, err), SF_E_CONFLICT);
    TAP_TRUE(version == 2, "the current version is told");
    TAP_HOLDS(err->text, "version 2");
    TAP_OK(sf_limb_record_save(t, limb, version, &head, "{ \"of\": \"the second, again\" }", &version, err));
    TAP_OK(sf_transaction_commit(t, err));
    sf_transaction_end(&t);
    t = begin(&room, false);
    const char *document = NULL;
    TAP_OK(sf_limb_record_document(t, limb, 2, &document, err));
    TAP_TEXT(document, "{ \"of\": \"the first\" }");
    TAP_OK(sf_limb_record_document(t, limb, 0, &document, err));
    TAP_TEXT(document, "{ \"of\": \"the second, again\" }");
    sf_transaction_end(&t);
    leave(&room);
}

static void facts_are_added_and_withdrawn_once(WorkroomKind kind)
{
    Room room;
    if (!enter(&room, kind, true))
        return;
    sf_Error *err = &room.err;
    sf_Transaction *t = begin(&room, true);
    sf_Fact *facts = NULL;
    size_t count = 0;
    TAP_OK(sf_fact_list(t, room.rows.limbs[1], &facts, &count, err));
    TAP_TRUE(count == 3 && facts[0].withdrawn_by == room.rows.facts[7] && facts[2].withdraws == room.rows.withdrawn);
    TAP_TRUE(facts[1].withdrawn_by == 0 && facts[1].who == room.rows.people[0]);
    TAP_OK(sf_fact_of_kind(t, "ring", room.rows.facts[1], 10, &facts, &count, err));
    TAP_TRUE(count == 2 && facts[0].id == room.rows.facts[3] && facts[1].id == room.rows.facts[5]);
    int64_t id = 0;
    sf_Fact fact = { .limb = room.rows.limbs[1], .kind = "withdrawal", .happened_at = "2026-11-22", .body = "{}" };
    fact.withdraws = room.rows.withdrawn;
    TAP_STATUS(sf_fact_add(t, &fact, &id, err), SF_E_CONFLICT);
    fact.withdraws = room.rows.facts[0];
    TAP_STATUS(sf_fact_add(t, &fact, &id, err), SF_E_INPUT);
    fact.withdraws = 0;
    fact.happened_at = "2026-02-30";
    TAP_STATUS(sf_fact_add(t, &fact, &id, err), SF_E_INPUT);
    TAP_TEXT(err->path, "happened_at");
    fact.happened_at = "2026-11-22";
    fact.kind = "Ring!";
    TAP_STATUS(sf_fact_add(t, &fact, &id, err), SF_E_INPUT);
    fact.kind = "ring";
    fact.body = "{ \"broken\": \"\xC3\" }";
    TAP_STATUS(sf_fact_add(t, &fact, &id, err), SF_E_INPUT);
    fact.body = NULL;
    TAP_STATUS(sf_fact_add(t, &fact, &id, err), SF_E_INPUT);
    fact.body = "{}";
    fact.limb = 4711;
    TAP_STATUS(sf_fact_add(t, &fact, &id, err), SF_E_MISSING);
    fact.limb = room.rows.limbs[1];
    TAP_OK(sf_fact_add(t, &fact, &id, err)); // refusals before did not break the transaction
    TAP_OK(sf_transaction_commit(t, err));
    sf_transaction_end(&t);
    leave(&room);
}

static void pictures_come_back_as_they_were(WorkroomKind kind)
{
    Room room;
    if (!enter(&room, kind, true))
        return;
    sf_Error *err = &room.err;
    unsigned char *bytes = NULL;
    size_t size = 0, count = 0;
    TAP_OK(sf_shelf_get(room.store, room.rows.pictures[1], &bytes, &size, err));
    TAP_TRUE(size == 3000 && bytes[0] == 'b' && bytes[2999] == 'b');
    sf_free(bytes);
    sf_Transaction *t = begin(&room, true);
    sf_Attachment *list = NULL, one = { 0 };
    TAP_OK(sf_attachment_list(t, room.rows.limbs[0], &list, &count, err));
    TAP_TRUE(count == 1 && list[0].bytes == 3000 && list[0].fact == room.rows.facts[0]);
    TAP_OK(sf_attachment_by_hash(t, room.rows.pictures[1], &one, err));
    TAP_TRUE(one.limb == room.rows.limbs[1] && !one.name);
    int64_t id = 0;
    char absent[SF_DIGEST_HEX];
    sf_token_make(absent);
    one.file_hash = absent;
    TAP_STATUS(sf_attachment_add(t, &one, &id, err), SF_E_MISSING);
    one.file_hash = "../../etc/passwd";
    TAP_STATUS(sf_attachment_add(t, &one, &id, err), SF_E_MISSING);
    sf_transaction_end(&t);
    TAP_STATUS(sf_shelf_get(room.store, "../../etc/passwd", &bytes, &size, err), SF_E_INPUT);
    // What no row names is swept away once it is old, and only that.
    char hash[SF_DIGEST_HEX];
    size_t removed = 0;
    TAP_OK(sf_shelf_put(room.store, "left over", 9, hash, err));
    TAP_OK(sf_shelf_sweep(room.store, 3600, &removed, err));
    TAP_TRUE(removed == 0, "a fresh file may still get its row");
    TAP_OK(sf_shelf_sweep(room.store, 0, &removed, err));
    TAP_TRUE(removed == 1);
    struct stat info;
    char *path = sf_shelf_path(room.store, room.rows.pictures[0]);
    TAP_TRUE(stat(path, &info) == 0);
    *strrchr(path, '/') = 0;
    TAP_TRUE(stat(path, &info) == 0 && (info.st_mode & 077) == 0, "others cannot enter the folder of a picture");
    sf_free(path);
    leave(&room);
}

static void staff_and_sessions(WorkroomKind kind)
{
    Room room;
    if (!enter(&room, kind, true))
        return;
    sf_Error *err = &room.err;
    sf_Transaction *t = begin(&room, true);
    int64_t id = 0;
    sf_Person person = { .name = "ada INVENTED", .initials = "A", .role = SF_ROLE_READER };
    TAP_STATUS(sf_person_add(t, &person, &id, err), SF_E_INPUT);
    TAP_TEXT(err->path, "name");
    person.name = "Cy Invented";
    TAP_OK(sf_person_add(t, &person, &id, err));
    person.id = id;
    person.active = true;
    person.pin_hash = "pin";
    TAP_OK(sf_person_change(t, &person, err));
    person.id = 99;
    person.name = "Dee Invented";
    TAP_STATUS(sf_person_change(t, &person, err), SF_E_MISSING);
    sf_transaction_end(&t);

    t = begin(&room, true);
    char digest[SF_DIGEST_HEX];
    sf_token_digest("a token", digest);
    sf_Session session = {
        .token_hash = digest, .person = room.rows.people[0], .csrf = "csrf", .expires_at = "2199-01-01T00:00:00.000Z"
    };
    TAP_OK(sf_session_keep(t, &session, err));
    TAP_OK(sf_session_find(t, digest, &session, err));
    TAP_TEXT(session.csrf, "csrf");
    session.expires_at = "2020-01-01T00:00:00.000Z";
    TAP_OK(sf_session_keep(t, &session, err));
    TAP_STATUS(sf_session_find(t, digest, &session, err), SF_E_MISSING);
    session = (sf_Session){ .token_hash = digest, .person = room.rows.people[0], .csrf = "c", .expires_at = "soon" };
    TAP_STATUS(sf_session_keep(t, &session, err), SF_E_INPUT);
    sf_KeptAnswer answer = { 0 };
    TAP_OK(sf_repeat_find(t, room.rows.people[1], "key", "POST /limbs", &answer, err));
    TAP_TRUE(answer.status == 201 && answer.text && strcmp(answer.text, "{}") == 0);
    TAP_STATUS(sf_repeat_find(t, room.rows.people[1], "key", "POST /other", &answer, err), SF_E_CONFLICT);
    TAP_OK(sf_repeat_find(t, room.rows.people[0], "key", "POST /limbs", &answer, err));
    TAP_TRUE(!answer.text, "keys belong to one person");
    TAP_OK(sf_session_sweep(t, "2199-01-01T00:00:00.000Z", err));
    TAP_OK(sf_repeat_find(t, room.rows.people[1], "key", "POST /limbs", &answer, err));
    TAP_TRUE(!answer.text, "old answers are swept");
    TAP_OK(sf_transaction_commit(t, err));
    sf_transaction_end(&t);
    leave(&room);
}

// ---- lists and search
// ------------------------------------------------------------------------------------------------

/// Ids of all pages as "3 1 ", fetched `page` at a time.
static const char *ids(Room *room, sf_LimbAsk ask, size_t page)
{
    static char text[512];
    text[0] = 0;
    ask.count = page;
    sf_Transaction *t = begin(room, false);
    for (int pages = 0; pages < 50; pages++) {
        sf_LimbRow *rows = NULL;
        size_t count = 0;
        if (!TAP_OK(sf_limb_record_list(t, &ask, &rows, &count, &ask.after, &room->err))) {
            tap_note("%s", room->err.text);
            break;
        }
        for (size_t i = 0; i < count; i++)
            snprintf(text + strlen(text), sizeof text - strlen(text), "%d ", (int)rows[i].id);
        if (!ask.after)
            break;
    }
    sf_transaction_end(&t);
    return text;
}

static void lists_and_search(WorkroomKind kind)
{
    Room room;
    if (!enter(&room, kind, true))
        return;
    for (size_t page = 1; page <= 5; page += 2) {
        TAP_TEXT(ids(&room, (sf_LimbAsk){ 0 }, page), "4 3 2 1 ");
        TAP_TEXT(ids(&room, (sf_LimbAsk){ .order = SF_LIMB_NEXT_DUE }, page), "2 1 ");
        TAP_TEXT(ids(&room, (sf_LimbAsk){ .order = SF_LIMB_NEXT_DUE, .due_until = "2026-11-30" }, page), "2 ");
        TAP_TEXT(ids(&room, (sf_LimbAsk){ .order = SF_LIMB_CHANGED }, page), "4 3 2 1 ");
        TAP_TEXT(ids(&room, (sf_LimbAsk){ .sheet_lot = "LOT-17" }, page), "2 1 ");
        TAP_TEXT(ids(&room, (sf_LimbAsk){ .flag = "out-of-use" }, page), "3 ");
        TAP_TEXT(ids(&room, (sf_LimbAsk){ .flag = "out" }, page), "");
        TAP_TEXT(ids(&room, (sf_LimbAsk){ .stage = "ring" }, page), "3 2 1 ");
        TAP_TEXT(ids(&room, (sf_LimbAsk){ .wearer = room.rows.wearers[0] }, page), "4 1 ");
        TAP_TEXT(ids(&room, (sf_LimbAsk){ .search = "NOR" }, page), "4 1 ");
        TAP_TEXT(ids(&room, (sf_LimbAsk){ .search = "\xC3\xA9mi" }, page), "2 ");
        TAP_TEXT(ids(&room, (sf_LimbAsk){ .search = "lot-18 left" }, page), "4 ");
        TAP_TEXT(ids(&room, (sf_LimbAsk){ .search = "#3" }, page), "3 ");
        TAP_TEXT(ids(&room, (sf_LimbAsk){ .search = "ora" }, page), "");
        TAP_TEXT(ids(&room, (sf_LimbAsk){ .search = "%" }, page), "4 3 2 1 ");
        TAP_TEXT(ids(&room, (sf_LimbAsk){ .search = "nora' OR 1=1 --" }, page), "");
        TAP_TEXT(ids(&room, (sf_LimbAsk){ .search = "" }, page), "4 3 2 1 ");
    }
    sf_Transaction *t = begin(&room, false);
    sf_LimbRow *rows = NULL;
    size_t count = 0;
    const char *next = NULL;
    static const char *const wrong[] = { "x", "", "1/2/x", "-1", "99999999999999999999", "2026-01-01/7" };
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++)
        TAP_STATUS(
            sf_limb_record_list(t, &(sf_LimbAsk){ .after = wrong[i], .count = 5 }, &rows, &count, &next, &room.err),
            SF_E_INPUT);
    sf_transaction_end(&t);
    // A changed line is found by its new words and no longer by its old ones.
    t = begin(&room, true);
    TAP_OK(sf_limb_record_set_head(t, room.rows.limbs[0], &(sf_LimbHead){ .label = "Pia (invented)" }, &room.err));
    TAP_OK(sf_transaction_commit(t, &room.err));
    sf_transaction_end(&t);
    TAP_TEXT(ids(&room, (sf_LimbAsk){ .search = "nora" }, 5), "4 ");
    TAP_TEXT(ids(&room, (sf_LimbAsk){ .search = "pia" }, 5), "1 ");
    leave(&room);
}

/// Words that are all frequent, together or never, among the newest limbs or only far back: every page of every order
/// holds what it must and nothing twice. The rows are put in behind the store's back, seven thousand at once.
static void frequent_words(WorkroomKind kind)
{
    static const struct {
        const char *search;
        int first, step, last; // ids that must be found: last, last - step, ..., down to first
    } asks[] = {
        { "alpha gamma", 12, 6, 7008 }, { "alpha beta", 1, 1, 0 },          { "alpha gamma old", 12, 6, 2496 },
        { "beta ga", 15, 6, 7005 },     { "alpha rare gamma", 12, 6, 996 }, { "alpha", 10, 2, 7008 },
    };
    Room room;
    if (!enter(&room, kind, true))
        return;
    char sql[2048];
    snprintf(
        sql, sizeof sql,
        "%s; WITH RECURSIVE n(i) AS (SELECT 10 UNION ALL SELECT i + 1 FROM n WHERE i < 7009) INSERT INTO limb (id, "
        "wearer, version, made_at, changed_at, next_due, seq, salt) SELECT i, 1, 1, 't', 't', '2026-01-01', 100000 + "
        "i, "
        "'s' FROM n;"
        "INSERT INTO limb_word SELECT 'alpha', id FROM limb WHERE id >= 10 AND id %% 2 = 0;"
        "INSERT INTO limb_word SELECT 'beta', id FROM limb WHERE id >= 10 AND id %% 2 = 1;"
        "INSERT INTO limb_word SELECT 'gamma', id FROM limb WHERE id >= 10 AND id %% 3 = 0;"
        "INSERT INTO limb_word SELECT 'old', id FROM limb WHERE id >= 10 AND id < 2500;"
        "INSERT INTO limb_word SELECT 'rare', id FROM limb WHERE id >= 10 AND id < 1000",
        kind == WORKROOM_SQLITE ? "PRAGMA foreign_keys=OFF" : "SET session_replication_role = replica");
    if (!TAP_TRUE(workroom_meddle(&room.place, sql)))
        return;
    for (int i = 0; i < (int)(sizeof asks / sizeof *asks); i++) {
        for (sf_LimbOrder order = SF_LIMB_NEWEST; order <= SF_LIMB_CHANGED; order++) {
            sf_LimbAsk ask = { .search = asks[i].search, .order = order, .count = 400 };
            int found = 0, wrong = 0, due = order == SF_LIMB_NEXT_DUE, expected = due ? asks[i].first : asks[i].last;
            sf_Transaction *t = begin(&room, false);
            do {
                sf_LimbRow *rows = NULL;
                size_t count = 0;
                if (!TAP_OK(sf_limb_record_list(t, &ask, &rows, &count, &ask.after, &room.err)))
                    break;
                for (size_t k = 0; k < count; k++, expected += due ? asks[i].step : -asks[i].step)
                    wrong += rows[k].id != expected;
                found += (int)count;
            } while (ask.after);
            sf_transaction_end(&t);
            TAP_TRUE(wrong == 0 && found == (asks[i].last - asks[i].first + asks[i].step) / asks[i].step,
                     "'%s' in order %d: %d found, %d wrong", asks[i].search, (int)order, found, wrong);
        }
    }
    sf_store_close(&room.store);
}

static void entries_of_the_chain_are_listed(WorkroomKind kind)
{
    Room room;
    if (!enter(&room, kind, true))
        return;
    sf_Transaction *t = begin(&room, false);
    sf_AuditEntry *entries = NULL;
    size_t count = 0;
    TAP_OK(sf_audit_list(t, 0, 0, 2, &entries, &count, &room.err));
    TAP_TRUE(count == 2 && entries[0].seq == entries[1].seq + 1);
    TAP_TEXT(entries[0].action, "sign-in");
    TAP_TEXT(entries[0].previous_hash, entries[1].entry_hash);
    TAP_OK(sf_audit_list(t, room.rows.limbs[1], 0, 100, &entries, &count, &room.err));
    TAP_TRUE(count == 8, "one added, one saved with two rows each, three facts, one picture; got %zu", count);
    sf_transaction_end(&t);
    leave(&room);
}

// ---- many at once
// ----------------------------------------------------------------------------------------------------

enum { THREADS = 12, ROUNDS = 8 };

typedef struct Crowd {
    sf_Store *store;
    int64_t limb;
    int good;
} Crowd;

static void *crowd_work(void *context)
{
    Crowd *crowd = context;
    sf_Error err;
    for (int round = 0; round < ROUNDS; round++) {
        sf_Transaction *t = NULL;
        int64_t id = 0;
        sf_Status status = sf_transaction_write(&t, crowd->store, 0, &err);
        const sf_Fact fact = { .limb = crowd->limb, .kind = "walk", .happened_at = "2026-11-25", .body = "{}" };
        if (status == SF_OK)
            status = sf_fact_add(t, &fact, &id, &err);
        if (status == SF_OK)
            status = sf_transaction_commit(t, &err);
        sf_transaction_end(&t);
        sf_Fact *facts = NULL;
        size_t count = 0;
        if (status == SF_OK)
            status = sf_transaction_read(&t, crowd->store, &err);
        if (status == SF_OK)
            status = sf_fact_list(t, crowd->limb, &facts, &count, &err);
        bool mine = false;
        for (size_t i = 0; i < count; i++)
            mine |= facts[i].id == id;
        sf_transaction_end(&t);
        crowd->good += status == SF_OK && mine;
    }
    return NULL;
}

static void many_write_and_read_at_once(WorkroomKind kind)
{
    Room room;
    if (!enter(&room, kind, true))
        return;
    pthread_t threads[THREADS];
    Crowd crowd[THREADS];
    int good = 0;
    for (int i = 0; i < THREADS; i++) {
        crowd[i] = (Crowd){ room.store, room.rows.limbs[3], 0 };
        pthread_create(&threads[i], NULL, crowd_work, &crowd[i]);
    }
    for (int i = 0; i < THREADS; i++) {
        pthread_join(threads[i], NULL);
        good += crowd[i].good;
    }
    TAP_TRUE(good == THREADS * ROUNDS, "%d of %d", good, THREADS * ROUNDS);
    leave(&room);
}

static void two_programs_on_one_store(WorkroomKind kind)
{
    Room room;
    if (!enter(&room, kind, true))
        return;
    sf_Store *other = workroom_open(&room.place);
    for (int i = 0; i < 6; i++) {
        sf_Transaction *t = NULL;
        int64_t id = 0;
        TAP_OK(sf_transaction_write(&t, i % 2 ? other : room.store, 0, &room.err));
        TAP_OK(sf_wearer_add(t, "In turns (invented)", &id, &room.err));
        TAP_OK(sf_transaction_commit(t, &room.err));
        sf_transaction_end(&t);
    }
    TAP_TRUE(workroom_number(&room.place, "SELECT count(*) FROM wearer") == 9);
    sf_store_close(&other);
    leave(&room);
}

// ---- upgrade
// ---------------------------------------------------------------------------------------------------------

/// The first schema is never edited: stores that were made by it exist.
static const char FIRST_SCHEMA[] = "faee5b8fb5e0a6191e65e0a2b2de53632954fe0668289dbe2dc0262cbc48c055";

static bool meddle_with_file(const WorkroomPlace *place, const char *path)
{
    unsigned char *text = NULL;
    size_t size = 0;
    sf_Error err = { 0 };
    if (!TAP_OK(sf_file_read(path, 1 << 20, &text, &size, &err)))
        return false;
    bool good = workroom_meddle(place, (const char *)text);
    sf_free(text);
    return good;
}

static bool make_old_store(WorkroomPlace *place, WorkroomKind kind)
{
    char schema[512];
    snprintf(schema, sizeof schema, "%s/src/record/migrations/001_first.sql", getenv("TAP_ROOT"));
    return workroom_place(place, kind) && meddle_with_file(place, schema) &&
           meddle_with_file(place, tap_data("stores/schema_1/rows.sql")) &&
           workroom_shell("cp -r %s %s && rm %s/rows.sql && chmod 700 %s %s/07 && chmod 600 %s/signing.key",
                          tap_data("stores/schema_1"), place->files, place->files, place->files, place->files,
                          place->files);
}

static void an_old_store_is_brought_up_to_date(WorkroomKind kind)
{
    Room room = { .store = NULL };
    sf_Error *err = &room.err;
    if (!TAP_TRUE(make_old_store(&room.place, kind)))
        return;
    room.store = workroom_open(&room.place);
    if (!room.store)
        return;
    TAP_TEXT(sf_store_id(room.store), "d6d306cd55693772f644f0669a51d184");
    TAP_TRUE(is_clean(room.store), "after the upgrade");
    TAP_TEXT(ids(&room, (sf_LimbAsk){ .search = "quoted" }, 5), "2 ");
    TAP_TEXT(ids(&room, (sf_LimbAsk){ .flag = "out-of-order" }, 5), "3 ");
    sf_Transaction *t = begin(&room, true);
    const char *document = NULL;
    TAP_OK(sf_limb_record_document(t, 1, 0, &document, err));
    TAP_TEXT(document, "{ \"third\": true }");
    sf_Fact *facts = NULL;
    size_t count = 0;
    TAP_OK(sf_fact_list(t, 2, &facts, &count, err));
    TAP_TRUE(count == 3 && facts[0].withdrawn_by == 7 && !facts[0].origin);
    TAP_OK(sf_letterhead_set(t, &(sf_Letterhead){ .name = "Invented shop" }, err));
    int64_t id = 0;
    TAP_OK(
        sf_fact_add(t, &(sf_Fact){ .limb = 1, .kind = "walk", .happened_at = "2026-11-25", .body = "{}" }, &id, err));
    TAP_OK(sf_transaction_commit(t, err));
    sf_transaction_end(&t);
    sf_store_close(&room.store);
    room.store = workroom_open(&room.place);
    TAP_TRUE(workroom_number(&room.place, "SELECT count(*) FROM migration") == 4, "it is brought up once");
    TAP_TRUE(is_clean(room.store), "and holds with what was written since");
    leave(&room);
}

static void the_shop_names_itself(WorkroomKind kind)
{
    Room room;
    if (!enter(&room, kind, true))
        return;
    sf_Error *err = &room.err;
    sf_Letterhead shop = { "Invented shop", "", NULL, "Line one\nline two" }, seen;
    char long_name[SF_LETTERHEAD_LINE_MOST + 2];
    memset(long_name, 'n', sizeof long_name);
    long_name[sizeof long_name - 1] = '\0';
    sf_Transaction *t = begin(&room, true);
    TAP_OK(sf_letterhead_get(t, &seen, err));
    TAP_TRUE(!seen.name && !seen.address && !seen.telephone && !seen.statement, "a new store says nothing");
    TAP_OK(sf_letterhead_set(t, &shop, err));
    TAP_STATUS(sf_letterhead_set(t, &(sf_Letterhead){ .name = long_name }, err), SF_E_INPUT);
    TAP_TEXT(err->path, "name");
    TAP_STATUS(sf_letterhead_set(t, &(sf_Letterhead){ .statement = "bell \a" }, err), SF_E_INPUT);
    TAP_OK(sf_transaction_commit(t, err));
    sf_transaction_end(&t);
    sf_store_close(&room.store);
    room.store = workroom_open(&room.place);
    t = begin(&room, false);
    TAP_OK(sf_letterhead_get(t, &seen, err));
    TAP_TEXT(seen.name, "Invented shop");
    TAP_TEXT(seen.statement, "Line one\nline two");
    TAP_TRUE(!seen.address, "an empty text is none");
    sf_transaction_end(&t);
    TAP_TRUE(is_clean(room.store));
    TAP_TRUE(workroom_meddle(&room.place, "UPDATE store SET shop_telephone = '1'"));
    TAP_TRUE(!is_clean(room.store), "a telephone put in behind the chain's back is found");
    TAP_TRUE(workroom_meddle(&room.place, "UPDATE store SET shop_telephone = NULL"));
    leave(&room);
}

static void a_newer_store_and_a_strange_key_are_refused(WorkroomKind kind)
{
    Room room;
    if (!enter(&room, kind, true))
        return;
    sf_store_close(&room.store);
    TAP_TRUE(workroom_meddle(&room.place, "UPDATE migration SET number = 99 WHERE number = 2"));
    TAP_STATUS(sf_store_open(&room.store, room.place.place, room.place.files, SF_STORE_MAKE, &room.err), SF_E_STORE);
    TAP_HOLDS(room.err.text, "newer program");
    TAP_TRUE(workroom_meddle(&room.place, "UPDATE migration SET number = 2 WHERE number = 99"));
    TAP_TRUE(workroom_shell("chmod 644 %s/signing.key", room.place.files));
    TAP_STATUS(sf_store_open(&room.store, room.place.place, room.place.files, SF_STORE_MAKE, &room.err), SF_E_STORE);
    TAP_HOLDS(room.err.text, "chmod 600");
    TAP_TRUE(workroom_shell("rm %s/signing.key", room.place.files));
    TAP_STATUS(sf_store_open(&room.store, room.place.place, room.place.files, SF_STORE_MAKE, &room.err), SF_E_STORE);
    TAP_TRUE(workroom_shell("cp %s %s && chmod 600 %s/signing.key", tap_data("stores/schema_1/signing.key"),
                            room.place.files, room.place.files));
    TAP_STATUS(sf_store_open(&room.store, room.place.place, room.place.files, SF_STORE_MAKE, &room.err), SF_E_STORE);
    TAP_HOLDS(room.err.text, "another store");
}

#define ON_BOTH(name)                                                                                                  \
    TAP_CASE(name##_sqlite)                                                                                            \
    {                                                                                                                  \
        name(WORKROOM_SQLITE);                                                                                         \
    }                                                                                                                  \
    TAP_CASE(name##_postgres)                                                                                          \
    {                                                                                                                  \
        name(WORKROOM_POSTGRES);                                                                                       \
    }
#define RUN_BOTH(name) TAP_RUN(name##_sqlite), TAP_RUN(name##_postgres)

ON_BOTH(rows_are_there_after_opening_again)
ON_BOTH(what_was_not_committed_never_happened)
ON_BOTH(the_second_editor_is_told_and_nothing_is_lost)
ON_BOTH(facts_are_added_and_withdrawn_once)
ON_BOTH(pictures_come_back_as_they_were)
ON_BOTH(staff_and_sessions)
ON_BOTH(lists_and_search)
ON_BOTH(frequent_words)
ON_BOTH(entries_of_the_chain_are_listed)
ON_BOTH(many_write_and_read_at_once)
ON_BOTH(two_programs_on_one_store)
ON_BOTH(an_old_store_is_brought_up_to_date)
ON_BOTH(the_shop_names_itself)
ON_BOTH(a_newer_store_and_a_strange_key_are_refused)

TAP_CASE(the_first_schema_is_as_it_was)
{
    unsigned char *text = NULL;
    size_t size = 0;
    char path[512], hex[SF_DIGEST_HEX];
    sf_Error err = { 0 };
    snprintf(path, sizeof path, "%s/src/record/migrations/001_first.sql", getenv("TAP_ROOT"));
    TAP_OK(sf_file_read(path, 1 << 20, &text, &size, &err));
    sf_digest(text, size, NULL, 0, hex);
    TAP_TEXT(hex, FIRST_SCHEMA);
    sf_free(text);
}

TAP_CASE(places_that_are_none)
{
    sf_Store *store = NULL;
    sf_Error err = { 0 };
    const char *other = workroom_path("other.sqlite"), *absent = workroom_path("absent.sqlite");
    TAP_STATUS(sf_store_open(&store, absent, NULL, SF_STORE_EXISTING, &err), SF_E_MISSING);
    TAP_TRUE(access(absent, F_OK) != 0, "looking for a store makes none");
    TAP_TRUE(workroom_shell("python3 -c \"import sqlite3; c = sqlite3.connect('%s'); c.execute('create table x(y)'); "
                            "c.commit()\"",
                            other));
    TAP_STATUS(sf_store_open(&store, other, NULL, SF_STORE_MAKE, &err), SF_E_STORE);
    TAP_HOLDS(err.text, "another program");
    TAP_TRUE(workroom_shell("echo 'no database, a text of more than a hundred bytes, which is what it takes to be seen "
                            "as no database at all' > %s",
                            workroom_path("text.sqlite")));
    TAP_STATUS(sf_store_open(&store, workroom_path("text.sqlite"), NULL, SF_STORE_MAKE, &err), SF_E_STORE);
    TAP_STATUS(sf_store_open(&store, workroom_path("no/folder.sqlite"), NULL, SF_STORE_MAKE, &err), SF_E_STORE);
    TAP_STATUS(sf_store_open(&store, "mysql://somewhere", NULL, SF_STORE_MAKE, &err), SF_E_INPUT);
    TAP_STATUS(sf_store_open(&store, "postgres://nobody@/nothing?host=/nowhere", NULL, SF_STORE_MAKE, &err),
               SF_E_INPUT);
    TAP_STATUS(
        sf_store_open(&store, "postgres://nobody@/nothing?host=/nowhere", workroom_path("f"), SF_STORE_MAKE, &err),
        SF_E_STORE);
    TAP_HOLDS(err.text, "cannot be reached");
    TAP_TRUE(store == NULL);
}

/// The server was stopped and started again under an open store: it is found again.
TAP_CASE(a_server_that_was_started_again_is_found)
{
    Room room;
    if (!enter(&room, WORKROOM_POSTGRES, true))
        return;
    TAP_TRUE(workroom_restart_server());
    sf_Transaction *t = begin(&room, true);
    int64_t id = 0;
    TAP_OK(sf_wearer_add(t, "After the restart (invented)", &id, &room.err));
    TAP_OK(sf_transaction_commit(t, &room.err));
    sf_transaction_end(&t);
    leave(&room);
}

TAP_MAIN(RUN_BOTH(rows_are_there_after_opening_again), RUN_BOTH(what_was_not_committed_never_happened),
         RUN_BOTH(the_second_editor_is_told_and_nothing_is_lost), RUN_BOTH(facts_are_added_and_withdrawn_once),
         RUN_BOTH(pictures_come_back_as_they_were), RUN_BOTH(staff_and_sessions), RUN_BOTH(lists_and_search),
         RUN_BOTH(frequent_words), RUN_BOTH(entries_of_the_chain_are_listed), RUN_BOTH(many_write_and_read_at_once),
         RUN_BOTH(two_programs_on_one_store), TAP_RUN(the_first_schema_is_as_it_was),
         RUN_BOTH(an_old_store_is_brought_up_to_date), RUN_BOTH(the_shop_names_itself),
         RUN_BOTH(a_newer_store_and_a_strange_key_are_refused), TAP_RUN(places_that_are_none),
         TAP_RUN(a_server_that_was_started_again_is_found))
