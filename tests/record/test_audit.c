// SPDX-License-Identifier: GPL-3.0-or-later
// Whatever is changed behind the store's back is found, and the first broken entry is named: every column of every
// table, every byte class, rows taken away, put in or put back to an older state, picture files, the file of SQLite
// byte by byte.
#define _XOPEN_SOURCE 700
#include "base/alloc.h"
#include "base/file.h"
#include "harness/tap.h"
#include "record/attachment.h"
#include "record/limb_record.h"
#include "record/sealed.h"
#include "record/verify.h"
#include "shop_rows.h"
#include "workroom.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static sf_VerifyReport report;

/// Opens, proves and closes: true when something was found (or the store would not even open).
static bool found(const WorkroomPlace *place, const char *expect)
{
    sf_Store *store = NULL;
    sf_Error err = { 0 };
    memset(&report, 0, sizeof report);
    sf_Status status = sf_store_open(&store, place->place, place->files, SF_STORE_EXISTING, &err);
    if (status == SF_OK)
        status = sf_store_verify(store, &(sf_VerifyAsk){ .expect = expect }, &report, &err);
    if (status != SF_OK)
        snprintf(report.problems[0].text, sizeof report.problems[0].text, "refused: %.300s", err.text);
    sf_store_close(&store);
    return status != SF_OK || report.problem_count > 0;
}

static bool make_shop(WorkroomPlace *place, WorkroomKind kind, ShopRows *rows)
{
    sf_Error err = { 0 };
    if (!TAP_TRUE(workroom_place(place, kind)))
        return false;
    sf_Store *store = workroom_open(place);
    bool good = store && TAP_OK(shop_rows_add(store, rows, &err));
    sf_store_close(&store);
    return good && TAP_TRUE(!found(place, NULL), "clean before anything was changed");
}

/// Rules of the database that would stand in the way of somebody who meddles are switched off.
static void meddle(const WorkroomPlace *place, const char *sql)
{
    char all[2048];
    snprintf(all, sizeof all, "%s; %s",
             place->kind == WORKROOM_SQLITE ? "PRAGMA foreign_keys=OFF; PRAGMA ignore_check_constraints=ON"
                                            : "SET session_replication_role = replica",
             sql);
    TAP_TRUE(workroom_meddle(place, all), "%s", sql);
}

// ---- every column --------------------------------------------------------------------------------------------------

typedef struct Cell {
    bool whole, null;
    int64_t number, seq;
    char text[8192], which[9000]; // as a literal; the condition that finds its row
} Cell;

static void literal(char *to, size_t room, const sf_Value *value)
{
    size_t used = 0;
    if (value->kind == SF_VALUE_NULL)
        snprintf(to, room, "NULL");
    else if (value->kind == SF_VALUE_WHOLE)
        snprintf(to, room, "%lld", (long long)value->whole);
    else {
        to[used++] = '\'';
        for (const char *s = value->text; *s && used + 4 < room; s++) {
            to[used++] = *s;
            if (*s == '\'')
                to[used++] = '\'';
        }
        to[used++] = '\'';
        to[used] = 0;
    }
}

/// Reads the cell in the row that comes last by `order`; `ident` is a column that tells the row from all others.
static bool read_cell(const WorkroomPlace *place, const char *table, const char *column, const char *ident,
                      const char *order, Cell *cell)
{
    sf_Database *db = NULL;
    sf_Error err = { 0 };
    sf_Rows rows = { 0 };
    sf_Arena *arena = sf_arena_create(1 << 20);
    char sql[512], key[8200];
    snprintf(sql, sizeof sql, "SELECT %s, %s, %s FROM %s ORDER BY %s DESC LIMIT 1", column, ident, order, table, order);
    sf_Status status = place->kind == WORKROOM_SQLITE ? sf_database_open_sqlite(&db, place->place, true, &err)
                                                      : sf_database_open_postgres(&db, place->place, &err);
    if (status == SF_OK)
        status = sf_database_query(db, arena, sql, NULL, 0, &rows, &err);
    bool good = TAP_TRUE(status == SF_OK && rows.count == 1, "%s: %s", sql, err.text);
    if (good) {
        cell->number = rows.cells[0].whole;
        cell->null = rows.cells[0].kind == SF_VALUE_NULL;
        cell->whole = rows.cells[0].kind == SF_VALUE_WHOLE;
        cell->seq = strcmp(order, "seq") == 0 ? rows.cells[2].whole : 0;
        literal(cell->text, sizeof cell->text, &rows.cells[0]);
        literal(key, sizeof key, &rows.cells[1]);
        snprintf(cell->which, sizeof cell->which, "%s = %s", ident, key);
    }
    sf_database_close(&db);
    sf_arena_destroy(&arena);
    return good;
}

/// What somebody puts in the place of a cell: one sign, at its beginning or its end, is another.
static bool other_value(const Cell *cell, const char *column, bool at_end, char *to, size_t room)
{
    static const char *const two[][3] = { { "role", "'admin'", "'reader'" },
                                          { "units", "'metric'", "'inch'" },
                                          { "active", "0", "1" } };
    for (size_t i = 0; i < 3; i++) {
        if (strcmp(column, two[i][0]) == 0) {
            snprintf(to, room, "%s", strcmp(cell->text, two[i][1]) == 0 ? two[i][2] : two[i][1]);
            return true;
        }
    }
    if (cell->null)
        snprintf(to, room, "%s",
                 strcmp(column, "fact") && strcmp(column, "withdraws") && strcmp(column, "limb") ? "'x'" : "1");
    else if (cell->whole)
        snprintf(to, room, "%lld", (long long)cell->number + (at_end ? 1 : 4096));
    else {
        size_t n = strlen(cell->text);
        if (n < 3)
            return false;
        snprintf(to, room, "%s", cell->text);
        char *sign = &to[at_end ? n - 2 : 1];
        *sign = (char)(*sign == '0' ? '1' : '0');
    }
    return true;
}

static void one_cell(const WorkroomPlace *place, const char *table, const char *column, const char *ident,
                     const char *order, bool at_end)
{
    static Cell cell;
    static char other[8192], sql[20000];
    if (!read_cell(place, table, column, ident, order, &cell) ||
        !other_value(&cell, column, at_end, other, sizeof other))
        return;
    snprintf(sql, sizeof sql, "UPDATE %s SET %s = %s WHERE %s", table, column, other, cell.which);
    meddle(place, sql);
    TAP_TRUE(found(place, NULL), "%s.%s changed at its %s", table, column, at_end ? "end" : "beginning");
    if (report.entries > 0 && cell.seq > 0 && strcmp(column, "seq") != 0)
        TAP_TRUE(report.problems[0].seq == cell.seq, "%s.%s: entry %d is named first, not %d (%s)", table, column,
                 (int)cell.seq, (int)report.problems[0].seq, report.problems[0].text);
    snprintf(sql, sizeof sql, "UPDATE %s SET %s = %s WHERE %s", table, column, cell.text, cell.which);
    meddle(place, sql);
}

/// A hash with a capital letter for a small one is the same number, and yet a changed byte.
static void capital_letters(const WorkroomPlace *place, const char *table, const char *column, const char *ident,
                            const char *order)
{
    static Cell cell;
    static char sql[20000];
    if (!read_cell(place, table, column, ident, order, &cell) || cell.null)
        return;
    snprintf(sql, sizeof sql, "UPDATE %s SET %s = upper(%s) WHERE %s", table, column, column, cell.which);
    meddle(place, sql);
    TAP_TRUE(found(place, NULL), "%s.%s in capital letters", table, column);
    snprintf(sql, sizeof sql, "UPDATE %s SET %s = %s WHERE %s", table, column, cell.text, cell.which);
    meddle(place, sql);
}

static void both_ends(const WorkroomPlace *place, const char *table, const char *column, const char *ident,
                      const char *order)
{
    if (place->kind == WORKROOM_SQLITE) // a new connection to a server takes its time: one end will do there
        one_cell(place, table, column, ident, order, false);
    one_cell(place, table, column, ident, order, true);
}

static void every_column_of_every_table(WorkroomKind kind)
{
    WorkroomPlace place;
    ShopRows rows;
    if (!make_shop(&place, kind, &rows))
        return;
    for (int name = 0; name < SF_TABLE_COUNT; name++) {
        const sf_SealedTable *table = &sf_sealed_tables[name];
        bool sealed = name < SF_SEALED_COUNT;
        for (size_t i = 0; i < table->count; i++)
            both_ends(&place, table->name, table->columns[i], sealed ? "salt" : "seal", sealed ? "seq" : "seal");
        if (sealed) {
            both_ends(&place, table->name, "salt", "seq", "seq");
            capital_letters(&place, table->name, "salt", "seq", "seq");
            both_ends(&place, table->name, "seq", "salt", "seq");
        } else {
            both_ends(&place, table->name, "seal", table->columns[table->keys - 1], table->columns[0]);
        }
    }
    static const char *const chain[] = { "seq",  "at",           "who",           "action",    "subject",
                                         "limb", "payload_hash", "previous_hash", "entry_hash" };
    for (size_t i = 0; i < sizeof chain / sizeof *chain; i++)
        both_ends(&place, "audit", chain[i], "signature", "seq");
    both_ends(&place, "audit", "signature", "seq", "seq");
    for (size_t i = 6; i < sizeof chain / sizeof *chain; i++)
        capital_letters(&place, "audit", chain[i], "signature", "seq");
    capital_letters(&place, "audit", "signature", "seq", "seq");
    capital_letters(&place, "store", "id", "salt", "seq");
    capital_letters(&place, "store", "public_key", "salt", "seq");
    capital_letters(&place, "attachment", "file_hash", "salt", "seq");
    TAP_TRUE(!found(&place, NULL), "clean again when everything was put back: %s", report.problems[0].text);
}

// ---- rows ----------------------------------------------------------------------------------------------------------

static void rows_taken_away_and_put_in(WorkroomKind kind)
{
    WorkroomPlace place;
    ShopRows rows;
    char sql[512];
    for (int name = 0; name < SF_SEALED_COUNT; name++) {
        const char *table = sf_sealed_tables[name].name;
        if (!make_shop(&place, kind, &rows))
            return;
        snprintf(sql, sizeof sql, "SELECT max(seq) FROM %s", table);
        int64_t seq = workroom_number(&place, sql);
        snprintf(sql, sizeof sql, "DELETE FROM %s WHERE seq = %d", table, (int)seq);
        meddle(&place, sql);
        TAP_TRUE(found(&place, NULL), "a row of %s is gone", table);
        if (report.entries > 0)
            TAP_TRUE(report.problems[0].seq == seq, "%s: %s", table, report.problems[0].text);
    }
    static const char *const more[] = {
        "INSERT INTO fact (id, limb, kind, happened_at, recorded_at, who, body, seq, salt) SELECT 900, limb, kind, "
        "happened_at, recorded_at, who, body, 3, salt FROM fact WHERE id = 1",
        "INSERT INTO limb_word (word, limb) VALUES ('another', 1)",
        "INSERT INTO limb_word (word, limb) VALUES ('another', 77)",
        "DELETE FROM limb_word WHERE word = 'nora' AND limb = 1",
        "DELETE FROM audit WHERE seq = 7",
        "DELETE FROM audit WHERE seq < 4",
        "INSERT INTO audit SELECT seq + 100, at, who, action, subject, limb, payload_hash, entry_hash, entry_hash, "
        "signature FROM audit WHERE seq = (SELECT max(seq) FROM audit)",
        // Two rows change places with all that vouches for them, but not their names.
        "UPDATE fact SET body = (SELECT f.body FROM fact f WHERE f.id = CASE fact.id WHEN 1 THEN 2 ELSE 1 END), "
        "salt = (SELECT f.salt FROM fact f WHERE f.id = CASE fact.id WHEN 1 THEN 2 ELSE 1 END) WHERE id IN (1, 2)",
    };
    for (size_t i = 0; i < sizeof more / sizeof *more; i++) {
        if (!make_shop(&place, kind, &rows))
            return;
        meddle(&place, more[i]);
        TAP_TRUE(found(&place, NULL), "%s", more[i]);
    }
}

/// The newest state of a limb is replaced by an older one, with the entry and salt that once vouched for it.
static void an_older_state_put_back(WorkroomKind kind)
{
    WorkroomPlace place;
    ShopRows rows;
    sf_Error err = { 0 };
    if (!make_shop(&place, kind, &rows))
        return;
    meddle(&place, "CREATE TABLE kept_row AS SELECT * FROM limb WHERE id = 1");
    sf_Store *store = workroom_open(&place);
    sf_Transaction *t = NULL;
    TAP_OK(sf_transaction_write(&t, store, 0, &err));
    TAP_OK(sf_limb_record_set_head(t, 1, &(sf_LimbHead){ .label = "Nora (invented)", .flags = "cracked out-of-use" },
                                   &err));
    TAP_OK(sf_transaction_commit(t, &err));
    sf_transaction_end(&t);
    sf_store_close(&store);
    int64_t newest = workroom_number(&place, "SELECT seq FROM limb WHERE id = 1");
    TAP_TRUE(!found(&place, NULL));
    meddle(&place, "DELETE FROM limb WHERE id = 1; INSERT INTO limb SELECT * FROM kept_row; DROP TABLE kept_row");
    TAP_TRUE(found(&place, NULL), "the crack was made to disappear");
    bool named = false;
    for (size_t i = 0; i < report.kept; i++)
        named |= report.problems[i].seq == newest;
    TAP_TRUE(named, "the entry that the row is too old for is named");
}

/// Whoever has the database but not the key: hashes can be made anew, signatures cannot.
static void a_forged_entry(WorkroomKind kind)
{
    WorkroomPlace place;
    ShopRows rows;
    if (!make_shop(&place, kind, &rows))
        return;
    static Cell at, who, previous;
    read_cell(&place, "audit", "at", "seq", "seq", &at);
    read_cell(&place, "audit", "who", "seq", "seq", &who);
    read_cell(&place, "audit", "previous_hash", "seq", "seq", &previous);
    at.text[strlen(at.text) - 1] = 0;
    previous.text[strlen(previous.text) - 1] = 0;
    const sf_Value entry[8] = { sf_whole(at.seq),     sf_words(at.text + 1),      sf_whole(who.number),
                                sf_words("sign-out"), sf_words("person/1"),       sf_words(NULL),
                                sf_words(NULL),       sf_words(previous.text + 1) };
    char hash[SF_DIGEST_HEX], sql[512];
    sf_chain_hash(entry, hash);
    snprintf(sql, sizeof sql, "UPDATE audit SET action = 'sign-out', entry_hash = '%s' WHERE seq = %d", hash,
             (int)at.seq);
    meddle(&place, sql);
    TAP_TRUE(found(&place, NULL));
    TAP_HOLDS(report.problems[0].text, "not signed by this store");
    TAP_TRUE(report.problem_count == 1, "the hash itself was made well");
}

/// Cutting the end off, rows and entries, leaves a good chain that is shorter: only what was noted down shows it.
static void an_end_cut_off(WorkroomKind kind)
{
    WorkroomPlace place;
    ShopRows rows;
    if (!make_shop(&place, kind, &rows))
        return;
    char expect[128];
    snprintf(expect, sizeof expect, "%d:%s", (int)report.head_seq, report.head_hash);
    TAP_TRUE(!found(&place, expect), "the noted entry is there");
    meddle(&place, "DELETE FROM audit WHERE seq = (SELECT max(seq) FROM audit)"); // a sign-in: it has no row
    TAP_TRUE(!found(&place, NULL), "nothing but the note can know");
    TAP_TRUE(found(&place, expect), "the noted entry is gone");
    snprintf(expect, sizeof expect, "3:%064d", 0);
    TAP_TRUE(found(&place, expect), "another entry than the noted one");
    TAP_TRUE(found(&place, "three"), "a malformed note is refused");
}

// ---- files
// -----------------------------------------------------------------------------------------------------------

static uint32_t seed = 20260131;

static uint32_t next_random(uint32_t below)
{
    seed = seed * 1664525u + 1013904223u; // Numerical Recipes' quick generator: any spread will do
    return (uint32_t)((uint64_t)seed * below >> 32);
}

static bool flip_file(const char *path, size_t at, unsigned char mask)
{
    FILE *file = fopen(path, "r+b");
    if (!file)
        return false;
    fseek(file, (long)at, SEEK_SET);
    int byte = fgetc(file);
    fseek(file, (long)at, SEEK_SET);
    bool good = byte != EOF && fputc(byte ^ mask, file) != EOF;
    return fclose(file) == 0 && good;
}

static void picture_files(WorkroomKind kind)
{
    WorkroomPlace place;
    ShopRows rows;
    if (!make_shop(&place, kind, &rows))
        return;
    char path[1024];
    snprintf(path, sizeof path, "%s/%.2s/%s", place.files, rows.pictures[1], rows.pictures[1]);
    int64_t seq = workroom_number(&place, "SELECT seq FROM attachment WHERE id = 2");
    for (int i = 0; i < 12; i++) {
        size_t at = i == 0 ? 0 : i == 1 ? 2999 : next_random(3000);
        unsigned char mask = (unsigned char)(1u << next_random(8));
        TAP_TRUE(flip_file(path, at, mask));
        TAP_TRUE(found(&place, NULL), "byte %zu of a picture", at);
        TAP_TRUE(report.problems[0].seq == seq, "%s", report.problems[0].text);
        flip_file(path, at, mask);
    }
    TAP_TRUE(!found(&place, NULL));
    TAP_TRUE(workroom_shell("cp %s %s.kept && truncate -s -1 %s", path, path, path));
    TAP_TRUE(found(&place, NULL), "a byte is missing");
    TAP_TRUE(workroom_shell("cp %s.kept %s && echo >> %s", path, path, path));
    TAP_TRUE(found(&place, NULL), "a byte too many");
    TAP_TRUE(workroom_shell("rm %s", path));
    TAP_TRUE(found(&place, NULL), "the file is gone");
    TAP_HOLDS(report.problems[0].text, "its file is gone");
    TAP_TRUE(workroom_shell("mv %s.kept %s", path, path));
    TAP_TRUE(!found(&place, NULL) && report.files == 2 && report.file_bytes == 6000 && report.unnamed_files == 0);
    TAP_TRUE(workroom_shell("cp %s %s.part-aB3dEf", path, path));
    TAP_TRUE(!found(&place, NULL) && report.unnamed_files == 1,
             "an upload that was not finished is counted, no problem");
}

/// Single bits of the database's file: each is found, or what all tables say is the same as before (free space,
/// caches).
TAP_CASE(single_bits_of_the_sqlite_file)
{
    WorkroomPlace place;
    ShopRows rows;
    if (!make_shop(&place, WORKROOM_SQLITE, &rows))
        return;
    char before[65], after[65];
    workroom_contents(&place, false, before);
    TAP_TRUE(workroom_shell("cp %s %s.kept", place.place, place.place));
    FILE *file = fopen(place.place, "rb");
    fseek(file, 0, SEEK_END);
    uint32_t size = (uint32_t)ftell(file);
    fclose(file);
    int tries = getenv("TAP_LONG") ? 4000 : 120, seen = 0, harmless = 0, missed = 0;
    for (int i = 0; i < tries; i++) {
        uint32_t at = next_random(size);
        unsigned char mask = (unsigned char)(1u << next_random(8));
        flip_file(place.place, at, mask);
        if (found(&place, NULL)) {
            seen++;
        } else {
            workroom_contents(&place, false, after);
            bool same = strcmp(before, after) == 0;
            harmless += same;
            missed += !same;
            if (!same)
                tap_note("byte %u, bits %02x: contents changed unseen", at, mask);
        }
        workroom_shell("cp %s.kept %s && rm -f %s-wal %s-shm", place.place, place.place, place.place, place.place);
    }
    TAP_TRUE(missed == 0, "%d bits changed: %d found, %d without any effect on contents, %d missed", tries, seen,
             harmless, missed);
    TAP_TRUE(seen > tries / 10, "the trial is worth something: %d of %d were found", seen, tries);
    tap_note("%d bits changed: %d found, %d without any effect on contents, %d missed", tries, seen, harmless, missed);
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

ON_BOTH(every_column_of_every_table)
ON_BOTH(rows_taken_away_and_put_in)
ON_BOTH(an_older_state_put_back)
ON_BOTH(a_forged_entry)
ON_BOTH(an_end_cut_off)
ON_BOTH(picture_files)

TAP_MAIN(RUN_BOTH(every_column_of_every_table), RUN_BOTH(rows_taken_away_and_put_in), RUN_BOTH(an_older_state_put_back),
         RUN_BOTH(a_forged_entry), RUN_BOTH(an_end_cut_off), RUN_BOTH(picture_files),
         TAP_RUN(single_bits_of_the_sqlite_file))
