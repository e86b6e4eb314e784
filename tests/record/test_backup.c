// SPDX-License-Identifier: GPL-3.0-or-later
// Backup while others write, restore into either database, export and import, tables for the spreadsheet, and a
// wearer's data taken out.
#define _XOPEN_SOURCE 700
#include "record/backup.h"

#include "base/alloc.h"
#include "base/file.h"
#include "harness/tap.h"
#include "record/archive.h"
#include "record/audit.h"
#include "record/bundle.h"
#include "record/people.h"
#include "record/removal.h"
#include "record/session.h"
#include "record/table_csv.h"
#include "record/wearer.h"
#include "seal/token.h"
#include "shop_rows.h"
#include "workroom.h"

#include <dirent.h>
#include <pthread.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

static sf_VerifyReport report;

static bool is_clean(sf_Store *store)
{
    sf_Error err = { 0 };
    sf_Status status = sf_store_verify(store, &(sf_VerifyAsk){ 0 }, &report, &err);
    if (status != SF_OK || report.problem_count)
        tap_note("%s %s", err.text, report.problems[0].text);
    return status == SF_OK && report.problem_count == 0;
}

typedef struct Room {
    WorkroomPlace place;
    sf_Store *store;
    ShopRows rows;
    sf_Error err;
} Room;

static bool enter(Room *room, WorkroomKind kind)
{
    *room = (Room){ .store = NULL };
    if (!TAP_TRUE(workroom_place(&room->place, kind)))
        return false;
    room->store = workroom_open(&room->place);
    return room->store && TAP_OK(shop_rows_add(room->store, &room->rows, &room->err));
}

static void leave(Room *room)
{
    TAP_TRUE(is_clean(room->store), "the proof is clean");
    sf_store_close(&room->store);
}

static sf_Transaction *begin(sf_Store *store, bool write)
{
    sf_Transaction *t = NULL;
    sf_Error err = { 0 };
    TAP_OK(write ? sf_transaction_write(&t, store, 1, &err) : sf_transaction_read(&t, store, &err));
    return t;
}

static void commit(sf_Transaction **t)
{
    sf_Error err = { 0 };
    TAP_OK(sf_transaction_commit(*t, &err));
    sf_transaction_end(t);
}

// ---- backup
// ----------------------------------------------------------------------------------------------------------

/// Restoring gives every row of the chain and of every sealed table back as it was, from and to each kind of database.
static void a_restore_equals_the_original(WorkroomKind from, WorkroomKind to)
{
    Room room;
    WorkroomPlace there;
    if (!enter(&room, from) || !TAP_TRUE(workroom_place(&there, to)))
        return;
    char before[65], after[65];
    const char *folder = workroom_path("backup_%d_%d", from, to);
    TAP_OK(sf_backup_make(room.store, folder, &room.err));
    TAP_STATUS(sf_backup_make(room.store, folder, &room.err), SF_E_INPUT);
    if (!TAP_OK(sf_backup_restore(folder, there.place, there.files, &report, &room.err)))
        tap_note("%s", room.err.text);
    workroom_contents(&room.place, true, before);
    workroom_contents(&there, true, after);
    TAP_TRUE(before[0], "there are rows to compare");
    TAP_TEXT(after, before);
    TAP_TRUE(workroom_shell("diff -r -x '*.part-*' %s %s", room.place.files, there.files), "picture files and key");
    TAP_STATUS(sf_backup_restore(folder, there.place, there.files, &report, &room.err), SF_E_INPUT);
    sf_Store *store = workroom_open(&there);
    TAP_TEXT(sf_store_id(store), sf_store_id(room.store));
    sf_Transaction *t = begin(store, true);
    int64_t id = 0;
    TAP_OK(sf_wearer_add(t, "After the restore (invented)", &id, &room.err));
    TAP_TRUE(id == 4);
    sf_LimbRow *limbs = NULL;
    size_t count = 0;
    const char *next = NULL;
    TAP_OK(sf_limb_record_list(t, &(sf_LimbAsk){ .search = "nora", .count = 9 }, &limbs, &count, &next, &room.err));
    TAP_TRUE(count == 2, "search works");
    commit(&t);
    TAP_TRUE(is_clean(store));
    sf_store_close(&store);
    leave(&room);
}

/// A backup that the program of schema 2 wrote (kept since; an invented limb) becomes a store of today.
static void an_old_backup_is_restored(WorkroomKind kind)
{
    WorkroomPlace there;
    sf_Error err = { 0 };
    const char *folder = workroom_path("old_%d", kind);
    if (!TAP_TRUE(workroom_place(&there, kind)) ||
        !TAP_TRUE(
            workroom_shell("cp -r %s %s && chmod 600 %s/signing.key", tap_data("stores/backup_2"), folder, folder)))
        return;
    if (!TAP_OK(sf_backup_restore(folder, there.place, there.files, &report, &err)))
        tap_note("%s", err.text);
    sf_Store *store = workroom_open(&there);
    TAP_TRUE(store && is_clean(store), "the chain of then holds");
    sf_Transaction *t = begin(store, true);
    sf_LimbRow limb = { 0 };
    TAP_OK(sf_limb_record_get(t, 1, &limb, &err));
    TAP_TEXT(limb.head.side, "right");
    TAP_TRUE(!limb.head.dues && !limb.origin, "what schema 2 did not have is not there");
    commit(&t);
    sf_store_close(&store);
}

/// Whatever of a backup is damaged, nothing half restored stays.
static void a_damaged_backup_leaves_nothing(WorkroomKind kind)
{
    static const char *const damages[] = {
        "sed -i 's/scan the ring/scan the rink/' %s/rows/limb",
        "sed -i '$d' %s/rows/fact",
        "echo 'i1;' >> %s/rows/fact",
        "truncate -s -3 %s/rows/audit",
        "rm %s/rows/wearer",
        "rm %s/signing.key",
        "for f in $(find %s/files -type f); do echo x >> $f; done",
        "for f in $(find %s/files -type f); do rm $f; done",
        "sed -i 's/\"schema\": [0-9]*/\"schema\": 77/' %s/backup.json",
        "sed -i 's/standfast-backup/other-backup/' %s/backup.json",
    };
    Room room;
    if (!enter(&room, kind))
        return;
    char folder[512];
    snprintf(folder, sizeof folder, "%s", workroom_path("good_%d", kind));
    TAP_OK(sf_backup_make(room.store, folder, &room.err));
    for (size_t i = 0; i < sizeof damages / sizeof *damages; i++) {
        WorkroomPlace there;
        const char *bad = workroom_path("bad_%d_%zu", kind, i);
        char command[512];
        snprintf(command, sizeof command, damages[i], bad);
        if (!workroom_place(&there, kind) || !workroom_shell("cp -r %s %s && %s", folder, bad, command))
            return;
        TAP_TRUE(sf_backup_restore(bad, there.place, there.files, &report, &room.err) != SF_OK, "%s", damages[i]);
        TAP_TRUE(strlen(room.err.text) > 10, "%s", damages[i]);
        TAP_TRUE(access(there.files, F_OK) != 0, "files are gone after: %s", damages[i]);
        if (kind == WORKROOM_SQLITE)
            TAP_TRUE(access(there.place, F_OK) != 0, "the store is gone after: %s", damages[i]);
        TAP_OK(sf_backup_restore(folder, there.place, there.files, &report, &room.err)); // the place is free again
    }
    leave(&room);
}

typedef struct Writer {
    sf_Store *store;
    int64_t limb;
    atomic_bool stop;
    int written;
} Writer;

static void *keep_writing(void *context)
{
    Writer *writer = context;
    sf_Error err;
    while (!atomic_load(&writer->stop)) {
        sf_Transaction *t = NULL;
        int64_t id = 0;
        const sf_Fact fact = { .limb = writer->limb, .kind = "walk", .happened_at = "2026-11-25", .body = "{}" };
        sf_Status status = sf_transaction_write(&t, writer->store, 1, &err);
        if (status == SF_OK)
            status = sf_fact_add(t, &fact, &id, &err);
        if (status == SF_OK)
            status = sf_transaction_commit(t, &err);
        sf_transaction_end(&t);
        writer->written += status == SF_OK;
    }
    return NULL;
}

static void a_backup_while_others_write(WorkroomKind kind)
{
    Room room;
    WorkroomPlace there;
    if (!enter(&room, kind))
        return;
    Writer writer = { .store = room.store, .limb = room.rows.limbs[0] };
    pthread_t thread;
    pthread_create(&thread, NULL, keep_writing, &writer);
    nanosleep(&(struct timespec){ 0, 50000000 }, NULL);
    for (int i = 0; i < 3; i++) {
        const char *folder = workroom_path("running_%d_%d", kind, i);
        TAP_OK(sf_backup_make(room.store, folder, &room.err));
        if (TAP_TRUE(workroom_place(&there, WORKROOM_SQLITE)) &&
            !TAP_OK(sf_backup_restore(folder, there.place, there.files, &report, &room.err)))
            tap_note("%s", room.err.text);
    }
    atomic_store(&writer.stop, true);
    pthread_join(thread, NULL);
    TAP_TRUE(writer.written > 0, "%d facts were written meanwhile", writer.written);
    leave(&room);
}

// ---- export and import
// -----------------------------------------------------------------------------------------------

static void an_export_goes_into_another_store(WorkroomKind kind)
{
    Room from, to;
    unsigned char *bytes = NULL;
    size_t size = 0;
    if (!enter(&from, kind) || !TAP_TRUE(workroom_place(&to.place, kind)))
        return;
    to.store = workroom_open(&to.place);
    sf_Error err = { 0 };
    sf_Transaction *t = begin(from.store, true);
    TAP_OK(sf_bundle_export(t, from.rows.wearers[1], 0, &bytes, &size, &err));
    TAP_STATUS(sf_bundle_export(t, 77, 0, &bytes, &size, &err), SF_E_MISSING);
    TAP_STATUS(sf_bundle_export(t, from.rows.wearers[1], from.rows.limbs[0], &bytes, &size, &err), SF_E_MISSING);
    sf_BundleReport got;
    TAP_STATUS(sf_bundle_import(t, bytes, size, 0, &got, &err), SF_E_CONFLICT); // into the store it is from
    sf_transaction_end(&t);

    // Another program reads the archive.
    const char *tar = workroom_path("one_%d.tar", kind);
    TAP_OK(sf_file_write(tar, bytes, size, &err));
    TAP_TRUE(workroom_shell("tar -tf %s | sort > %s.list && printf '%%s\\n' export.json export.signature "
                            "limb-2/document-1.json limb-2/document-2.json limb-2/fact-2.json limb-2/fact-6.json "
                            "limb-2/fact-8.json pictures/%s | sort | diff - %s.list",
                            tar, tar, from.rows.pictures[1], tar),
             "what tar sees in it");

    t = begin(to.store, true);
    if (!TAP_OK(sf_bundle_import(t, bytes, size, 0, &got, &err)))
        tap_note("%s", err.text);
    TAP_TRUE(got.limbs == 1 && got.facts == 3 && got.attachments == 1 && !got.own);
    TAP_TEXT(got.store, sf_store_id(from.store));
    commit(&t);
    t = begin(to.store, true);
    sf_Fact *facts = NULL;
    size_t count = 0;
    const char *document = NULL;
    TAP_OK(sf_fact_list(t, 1, &facts, &count, &err));
    TAP_TRUE(count == 3 && facts[0].withdrawn_by == facts[2].id, "the withdrawal points at the new fact");
    TAP_HOLDS(facts[0].origin, "Ada Invented");
    TAP_TEXT(facts[1].body, "{ \"number\": 5 }");
    TAP_OK(sf_limb_record_document(t, 1, 1, &document, &err));
    TAP_TEXT(document, "{ \"version\": 1 }");
    TAP_STATUS(sf_bundle_import(t, bytes, size, 0, &got, &err), SF_E_CONFLICT);
    TAP_TRUE(sf_transaction_commit(t, &err) != SF_OK, "a second import leaves nothing");
    sf_transaction_end(&t);
    TAP_TRUE(is_clean(to.store));

    // Any changed byte of the archive is refused or without effect (dates and rights in its headers say nothing).
    uint32_t seed = 7;
    int refused = 0, tries = getenv("TAP_LONG") ? 3000 : 200;
    char before[65], after[65];
    workroom_contents(&to.place, true, before);
    for (int i = 0; i < tries; i++) {
        seed = seed * 1664525u + 1013904223u;
        size_t at = (size_t)((uint64_t)seed * size >> 32);
        bytes[at] ^= 0x10;
        t = begin(to.store, true);
        sf_Status status = sf_bundle_import(t, bytes, size, 0, &got, &err);
        refused += status == SF_E_PARSE || status == SF_E_INPUT;
        TAP_TRUE(status != SF_OK, "byte %zu", at); // what has no effect is a conflict
        sf_transaction_end(&t);
        bytes[at] ^= 0x10;
    }
    workroom_contents(&to.place, true, after);
    TAP_TEXT(after, before);
    TAP_TRUE(refused > tries / 2, "%d of %d refused as damaged, the others changed only padding", refused, tries);
    for (size_t cut = 0; cut < size; cut += 1000) {
        t = begin(to.store, true);
        TAP_TRUE(sf_bundle_import(t, bytes, cut, 0, &got, &err) != SF_OK, "cut at %zu", cut);
        sf_transaction_end(&t);
    }
    sf_free(bytes);
    sf_store_close(&to.store);
    leave(&from);
}

// ---- tables
// ----------------------------------------------------------------------------------------------------------

TAP_CASE(tables_for_the_spreadsheet)
{
    Room room;
    if (!enter(&room, WORKROOM_SQLITE))
        return;
    sf_Transaction *t = begin(room.store, true);
    int64_t id = 0;
    TAP_OK(sf_wearer_add(t, "=HYPERLINK(\"x\")", &id, &room.err));
    commit(&t);
    t = begin(room.store, false);
    static const char *const names[] = { "limbs", "facts", "attachments", "wearers", "audit" };
    for (int i = 0; i < 5; i++) {
        FILE *file = fopen(workroom_path("%s.csv", names[i]), "wb");
        TAP_OK(sf_table_csv(t, (sf_CsvTable)i, file, &room.err));
        fclose(file);
    }
    sf_transaction_end(&t);
    // Python's reader is the judge.
    TAP_TRUE(workroom_shell(
        "python3 - %s <<'END'\n"
        "import csv, sys\n"
        "def rows(name): return list(csv.DictReader(open(sys.argv[1] + '/' + name + '.csv', newline='', "
        "encoding='utf-8')))\n"
        "limbs = rows('limbs')\n"
        "assert [r['id'] for r in limbs] == list('1234'), limbs\n"
        "assert limbs[2]['label'] == 'Otto \"X\" (invented)' and limbs[1]['pseudonym'].startswith('W-')\n"
        "assert limbs[3]['stage'] == ''\n"
        "assert rows('facts')[1]['withdrawn_by'] == '8' and rows('facts')[0]['body'] == '{ \"number\": 0 }'\n"
        "assert rows('wearers')[3]['label'] == \"'=HYPERLINK(\\\"x\\\")\"\n"
        "assert len(rows('attachments')) == 2\n"
        "assert [int(r['seq']) for r in rows('audit')] == list(range(1, len(rows('audit')) + 1))\n"
        "END",
        workroom_folder()));
    leave(&room);
}

// ---- removal
// ---------------------------------------------------------------------------------------------------------

static sf_Status keep_document(void *context, sf_Arena *arena, int64_t limb, const sf_LimbVersion *version,
                               const char **kept, sf_Error *err)
{
    (void)context;
    (void)limb;
    (void)err;
    *kept = version->version == 1 ? NULL : sf_arena_text(arena, "{ \"kept\": true }");
    return SF_OK;
}

static sf_Status keep_body(void *context, sf_Arena *arena, const sf_Fact *fact, const char **kept, sf_Error *err)
{
    (void)context;
    (void)err;
    *kept = strcmp(fact->kind, "ring") == 0 ? sf_arena_text(arena, "{ \"wall_mm\": 6 }") : NULL;
    return SF_OK;
}

/// Whether any file of the store still holds the words.
static bool holds_words(const WorkroomPlace *place, const char *words)
{
    if (place->kind == WORKROOM_SQLITE)
        return workroom_shell("grep -a -q -d skip -F -e '%s' %s*", words, place->place);
    char sql[256];
    snprintf(
        sql, sizeof sql,
        "SELECT (SELECT count(*) FROM limb l WHERE l::text LIKE '%%%s%%') + (SELECT count(*) FROM limb_version v WHERE"
        " v::text LIKE '%%%s%%') + (SELECT count(*) FROM wearer w WHERE w::text LIKE '%%%s%%')",
        words, words, words);
    return workroom_number(place, sql) != 0;
}

static void a_wearer_is_taken_out(WorkroomKind kind)
{
    Room room;
    if (!enter(&room, kind))
        return;
    sf_Error *err = &room.err;
    sf_Transaction *t = begin(room.store, true);
    int64_t limb = room.rows.limbs[1], version = 2;
    const sf_LimbHead head = {
        .label = "Zebulon Secretname", .side = "left", .sheet_lot = "LOT-17", .flags = "cracked"
    };
    TAP_OK(sf_wearer_rename(t, room.rows.wearers[1], "Zebulon Secretname", err));
    TAP_OK(sf_limb_record_save(t, limb, 2, &head, "{ \"who\": \"Zebulon Secretname\" }", &version, err));
    TAP_OK(sf_repeat_keep(t, 1, "k", "r", &(sf_KeptAnswer){ 200, "Zebulon Secretname" }, err));
    commit(&t);
    sf_store_close(&room.store); // all into the file, so that the search below would find it
    TAP_TRUE(holds_words(&room.place, "Secretname"), "the search works");
    room.store = workroom_open(&room.place);
    TAP_TRUE(is_clean(room.store));
    char head_before[128];
    snprintf(head_before, sizeof head_before, "%d:%s", (int)report.head_seq, report.head_hash);

    const sf_Removal removal = { .document = keep_document, .body = keep_body };
    t = begin(room.store, true);
    TAP_OK(sf_wearer_remove(t, room.rows.wearers[1], &removal, err));
    TAP_OK(sf_wearer_remove(t, room.rows.wearers[1], &removal, err)); // again, for what was written down since
    commit(&t);
    size_t files = 0;
    TAP_OK(sf_store_scrub(room.store, &files, err));
    TAP_TRUE(files == 1);
    TAP_OK(sf_store_scrub(room.store, &files, err));
    TAP_TRUE(files == 0, "it may be called again");

    t = begin(room.store, false);
    sf_Wearer wearer = { 0 };
    TAP_OK(sf_wearer_get(t, room.rows.wearers[1], &wearer, err));
    TAP_TRUE(!wearer.label && wearer.removed_at && strncmp(wearer.pseudonym, "W-", 2) == 0);
    const char *document = NULL;
    TAP_STATUS(sf_limb_record_document(t, limb, 1, &document, err), SF_E_MISSING);
    TAP_OK(sf_limb_record_document(t, limb, 0, &document, err));
    TAP_TEXT(document, "{ \"kept\": true }");
    sf_Fact *facts = NULL;
    size_t count = 0;
    TAP_OK(sf_fact_list(t, limb, &facts, &count, err));
    TAP_TRUE(count == 3 && facts[0].withdrawn_by && !facts[2].body);
    TAP_TEXT(facts[1].body, "{ \"wall_mm\": 6 }");
    sf_LimbRow row = { 0 };
    TAP_OK(sf_limb_record_get(t, limb, &row, err));
    TAP_TRUE(!row.head.label && !row.head.next_action);
    TAP_TEXT(row.head.sheet_lot, "LOT-17");
    TAP_TEXT(row.head.flags, "cracked");
    sf_LimbRow *rows = NULL;
    const char *next = NULL;
    TAP_OK(sf_limb_record_list(t, &(sf_LimbAsk){ .search = "zebulon", .count = 9 }, &rows, &count, &next, err));
    TAP_TRUE(count == 0);
    TAP_OK(sf_limb_record_list(t, &(sf_LimbAsk){ .sheet_lot = "LOT-17", .count = 9 }, &rows, &count, &next, err));
    TAP_TRUE(count == 2, "recall of its lot still finds the limb");
    unsigned char *bytes = NULL;
    size_t size = 0;
    TAP_STATUS(sf_shelf_get(room.store, room.rows.pictures[1], &bytes, &size, err), SF_E_MISSING);
    TAP_OK(sf_shelf_get(room.store, room.rows.pictures[0], &bytes, &size, err));
    sf_free(bytes);
    sf_transaction_end(&t);

    sf_Error other = { 0 };
    TAP_OK(sf_store_verify(room.store, &(sf_VerifyAsk){ .expect = head_before }, &report, &other));
    TAP_TRUE(report.problem_count == 0, "the chain of before is still part of the chain: %s", report.problems[0].text);
    TAP_TRUE(!holds_words(&room.place, "Secretname"), "nothing of the name is left in the files");
    t = begin(room.store, true);
    TAP_STATUS(sf_wearer_rename(t, room.rows.wearers[1], "Back again", err), SF_E_INPUT);
    sf_transaction_end(&t);
    leave(&room);
}

TAP_CASE(sqlite_to_sqlite)
{
    a_restore_equals_the_original(WORKROOM_SQLITE, WORKROOM_SQLITE);
}
TAP_CASE(sqlite_to_postgres)
{
    a_restore_equals_the_original(WORKROOM_SQLITE, WORKROOM_POSTGRES);
}
TAP_CASE(postgres_to_sqlite)
{
    a_restore_equals_the_original(WORKROOM_POSTGRES, WORKROOM_SQLITE);
}
TAP_CASE(postgres_to_postgres)
{
    a_restore_equals_the_original(WORKROOM_POSTGRES, WORKROOM_POSTGRES);
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

ON_BOTH(an_old_backup_is_restored)
ON_BOTH(a_damaged_backup_leaves_nothing)
ON_BOTH(a_backup_while_others_write)
ON_BOTH(an_export_goes_into_another_store)
ON_BOTH(a_wearer_is_taken_out)

TAP_MAIN(TAP_RUN(sqlite_to_sqlite), TAP_RUN(sqlite_to_postgres), TAP_RUN(postgres_to_sqlite),
         TAP_RUN(postgres_to_postgres), RUN_BOTH(an_old_backup_is_restored), RUN_BOTH(a_damaged_backup_leaves_nothing),
         RUN_BOTH(a_backup_while_others_write), RUN_BOTH(an_export_goes_into_another_store),
         TAP_RUN(tables_for_the_spreadsheet), RUN_BOTH(a_wearer_is_taken_out))
