// SPDX-License-Identifier: GPL-3.0-or-later
#include "record/database.h"

#include "base/alloc.h"

#include <pthread.h>
#include <sqlite3.h>
#include <stdio.h>
#include <string.h>

enum { STATEMENTS = 64, WAIT_MS = 10000 };

static const int32_t APPLICATION_ID = 0x53544644; // marks the file as one of ours

typedef struct Statement {
    char *sql;
    sqlite3_stmt *stmt;
    uint64_t used;
} Statement;

typedef struct Sqlite {
    sf_Database base;
    sqlite3 *file;
    Statement kept[STATEMENTS]; // prepared once, used often; the one not used for longest gives way
    uint64_t clock;
} Sqlite;

// ---- memory: every block of SQLite goes through base/alloc.h, with its size in front
// -----------------------------------

typedef union Head {
    size_t size;
    max_align_t align;
} Head;

static void *block_make(int size)
{
    Head *head = sf_alloc(1, sizeof *head + (size_t)size);
    if (!head)
        return NULL;
    head->size = (size_t)size;
    return head + 1;
}

static void block_free(void *block)
{
    if (block)
        sf_free((Head *)block - 1);
}

static void *block_resize(void *block, int size)
{
    Head *head = sf_realloc((Head *)block - 1, 1, sizeof *head + (size_t)size);
    if (!head)
        return NULL;
    head->size = (size_t)size;
    return head + 1;
}

static int block_size(void *block)
{
    return block ? (int)((Head *)block - 1)->size : 0;
}

static int block_round(int size)
{
    return (size + 7) & ~7;
}

static int heap_begin(void *unused)
{
    (void)unused;
    return SQLITE_OK;
}

static void heap_end(void *unused)
{
    (void)unused;
}

static void configure(void)
{
    static const sqlite3_mem_methods heap = { block_make,  block_free, block_resize, block_size,
                                              block_round, heap_begin, heap_end,     NULL };
    // Without statistics no lock is taken for each allocation: readers would wait for one another there.
    if (sqlite3_config(SQLITE_CONFIG_MALLOC, &heap) == SQLITE_OK &&
        sqlite3_config(SQLITE_CONFIG_MEMSTATUS, 0) == SQLITE_OK)
        sqlite3_initialize();
}

// ---- errors --------------------------------------------------------------------------------------------------------

static sf_Status fail(Sqlite *db, int code, sf_Error *err)
{
    const char *words = db->file ? sqlite3_errmsg(db->file) : sqlite3_errstr(code);
    switch (code & 0xff) {
    case SQLITE_NOMEM: return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory in the store");
    case SQLITE_FULL: return SF_FAIL(err, SF_E_STORE, NULL, "the disk of the store is full: make room and try again");
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
        return SF_FAIL(err, SF_E_STORE, NULL, "the store is in use by another program for more than %d s: try again",
                       WAIT_MS / 1000);
    case SQLITE_READONLY:
        return SF_FAIL(err, SF_E_STORE, NULL,
                       "the store may not be written: look at the rights of its file and folder");
    case SQLITE_CORRUPT:
    case SQLITE_NOTADB:
        return SF_FAIL(err, SF_E_STORE, NULL, "the store's file is damaged (%s): bring the last backup back", words);
    case SQLITE_CONSTRAINT:
        return SF_FAIL(err, SF_E_INTERNAL, NULL, "the store refused a row that breaks its own rules (%s)", words);
    default: return SF_FAIL(err, SF_E_STORE, NULL, "the store could not be read or written: %s", words);
    }
}

// ---- statements ----------------------------------------------------------------------------------------------------

static void forget(Statement *statement)
{
    sqlite3_finalize(statement->stmt);
    sf_free(statement->sql);
    *statement = (Statement){ 0 };
}

static sf_Status prepare(Sqlite *db, const char *sql, sqlite3_stmt **stmt, sf_Error *err)
{
    Statement *place = &db->kept[0];
    for (Statement *kept = db->kept; kept < db->kept + STATEMENTS; kept++) {
        if (kept->sql && strcmp(kept->sql, sql) == 0) {
            kept->used = ++db->clock;
            *stmt = kept->stmt;
            return SF_OK;
        }
        if (kept->used < place->used)
            place = kept;
    }
    sqlite3_stmt *fresh = NULL;
    int code = sqlite3_prepare_v3(db->file, sql, -1, SQLITE_PREPARE_PERSISTENT, &fresh, NULL);
    if (code != SQLITE_OK)
        return fail(db, code, err);
    char *copy = sf_copy_text(sql, strlen(sql));
    if (!copy) {
        sqlite3_finalize(fresh);
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    }
    forget(place);
    *place = (Statement){ copy, fresh, ++db->clock };
    *stmt = fresh;
    return SF_OK;
}

static int bind(sqlite3_stmt *stmt, const sf_Value *values, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        char name[24];
        snprintf(name, sizeof name, "$%zu", i + 1);
        int at = sqlite3_bind_parameter_index(stmt, name);
        if (at == 0)
            continue;
        int code = values[i].kind == SF_VALUE_NULL    ? sqlite3_bind_null(stmt, at)
                   : values[i].kind == SF_VALUE_WHOLE ? sqlite3_bind_int64(stmt, at, values[i].whole)
                                                      : sqlite3_bind_text(stmt, at, values[i].text, -1, SQLITE_STATIC);
        if (code != SQLITE_OK)
            return code;
    }
    return SQLITE_OK;
}

/// Makes room for one more row; rows grow by doubling, old blocks stay in the arena until it ends.
static bool grow(sf_Arena *arena, sf_Rows *rows, size_t *room)
{
    if (rows->count < *room)
        return true;
    size_t bigger = *room ? 2 * *room : 8;
    sf_Value *cells = sf_arena_alloc(arena, bigger * rows->columns, sizeof *cells);
    if (!cells)
        return false;
    if (rows->count)
        memcpy(cells, rows->cells, rows->count * rows->columns * sizeof *cells);
    rows->cells = cells;
    *room = bigger;
    return true;
}

static sf_Status take_row(sf_Arena *arena, sqlite3_stmt *stmt, sf_Rows *rows, size_t *room, sf_Error *err)
{
    rows->columns = (size_t)sqlite3_column_count(stmt);
    if (rows->count >= SF_DATABASE_ROWS_MOST || !grow(arena, rows, room))
        return SF_FAIL(err, SF_E_LIMIT, NULL, "the answer of the store is too large");
    for (size_t i = 0; i < rows->columns; i++) {
        sf_Value *cell = &rows->cells[rows->count * rows->columns + i];
        switch (sqlite3_column_type(stmt, (int)i)) {
        case SQLITE_NULL: *cell = sf_words(NULL); break;
        case SQLITE_INTEGER: *cell = sf_whole(sqlite3_column_int64(stmt, (int)i)); break;
        default: {
            const char *text = (const char *)sqlite3_column_text(stmt, (int)i);
            size_t size = (size_t)sqlite3_column_bytes(stmt, (int)i);
            char *copy = text ? sf_arena_alloc(arena, size + 1, 1) : NULL;
            for (size_t n = 0; copy && n < size; n++)
                copy[n] = text[n] ? text[n] : '\1'; // never written by us: it must not hide what follows it
            if (!copy)
                return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory while reading the store");
            *cell = sf_words(copy);
        }
        }
    }
    rows->count++;
    return SF_OK;
}

static sf_Status query(sf_Database *base, sf_Arena *arena, const char *sql, const sf_Value *values, size_t count,
                       sf_Rows *rows, sf_Error *err)
{
    Sqlite *db = (Sqlite *)base;
    sqlite3_stmt *stmt = NULL;
    if (rows)
        *rows = (sf_Rows){ 0 };
    SF_TRY(prepare(db, sql, &stmt, err));
    sf_Status status = SF_OK;
    size_t room = 0;
    int code = bind(stmt, values, count);
    while (code == SQLITE_OK || code == SQLITE_ROW) {
        code = sqlite3_step(stmt);
        if (code == SQLITE_ROW && rows) {
            status = take_row(arena, stmt, rows, &room, err);
            if (status != SF_OK)
                break;
        }
    }
    if (status == SF_OK && code != SQLITE_DONE)
        status = fail(db, code, err);
    sqlite3_reset(stmt);
    sqlite3_clear_bindings(stmt);
    return status;
}

static sf_Status script(sf_Database *base, const char *sql, sf_Error *err)
{
    Sqlite *db = (Sqlite *)base;
    int code = sqlite3_exec(db->file, sql, NULL, NULL, NULL);
    return code == SQLITE_OK ? SF_OK : fail(db, code, err);
}

static bool lost(sf_Database *base)
{
    (void)base;
    return false;
}

static sf_Status wake(sf_Database *base, sf_Error *err)
{
    (void)base;
    (void)err;
    return SF_OK;
}

static void close_file(sf_Database *base)
{
    Sqlite *db = (Sqlite *)base;
    for (size_t i = 0; i < STATEMENTS; i++)
        forget(&db->kept[i]);
    sqlite3_close(db->file);
    sf_free(db);
}

static const char *const SQLITE_WORDS[][2] = {
    { "@whole", "INTEGER" }, { "@text", "TEXT" }, { "@strict", "STRICT" }, { "@keyed", "STRICT, WITHOUT ROWID" },
    { NULL, NULL },
};

static const sf_DatabaseKind SQLITE = {
    "SQLite",
    SQLITE_WORDS,
    query,
    script,
    "SELECT count(*) FROM sqlite_schema WHERE type = 'table' AND name = $1",
    "BEGIN",
    "BEGIN IMMEDIATE",
    lost,
    wake,
    "PRAGMA wal_checkpoint(TRUNCATE)",
    "PRAGMA integrity_check(20)",
    close_file,
};

// ---- opening -------------------------------------------------------------------------------------------------------

static sf_Status look_whether_ours(Sqlite *db, const char *path, bool *fresh, sf_Error *err)
{
    sf_Arena *arena = sf_arena_create(64 * 1024);
    if (!arena)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    sf_Rows rows;
    int64_t id = 0, tables = 0;
    sf_Status status = query(&db->base, arena, "PRAGMA application_id", NULL, 0, &rows, err);
    if (status == SF_OK) {
        id = sf_cell_whole(&rows, 0, 0);
        status = query(&db->base, arena, "SELECT count(*) FROM sqlite_schema", NULL, 0, &rows, err);
    }
    if (status == SF_OK)
        tables = sf_cell_whole(&rows, 0, 0);
    sf_arena_destroy(&arena);
    *fresh = tables == 0 && id != APPLICATION_ID;
    if (status == SF_OK && tables > 0 && id != APPLICATION_ID)
        status = SF_FAIL(err, SF_E_STORE, path, "%s is a database of another program: name another file", path);
    return status;
}

sf_Status sf_database_open_sqlite(sf_Database **out, const char *path, bool make, sf_Error *err)
{
    static pthread_once_t once = PTHREAD_ONCE_INIT;
    pthread_once(&once, configure);
    *out = NULL;
    Sqlite *db = sf_alloc(1, sizeof *db);
    if (!db)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    db->base.kind = &SQLITE;
    sf_Status status = SF_OK;
    int flags = SQLITE_OPEN_READWRITE | SQLITE_OPEN_NOMUTEX | (make ? SQLITE_OPEN_CREATE : 0);
    int code = sqlite3_open_v2(path, &db->file, flags, NULL);
    if (code != SQLITE_OK) {
        status = (code & 0xff) == SQLITE_CANTOPEN
                     ? SF_FAIL(err, SF_E_MISSING, path,
                               "cannot open the store %s: is the folder there, may it be written?", path)
                     : fail(db, code, err);
        goto done;
    }
    sqlite3_busy_timeout(db->file, WAIT_MS);
    sqlite3_extended_result_codes(db->file, 1);
    sqlite3_db_config(db->file, SQLITE_DBCONFIG_DEFENSIVE, 1, NULL);
    bool fresh = false;
    SF_TRY_DONE(look_whether_ours(db, path, &fresh, err));
    char pragmas[512];
    snprintf(pragmas, sizeof pragmas,
             "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL; PRAGMA foreign_keys=ON; PRAGMA trusted_schema=OFF;"
             "PRAGMA cell_size_check=ON; PRAGMA secure_delete=ON; PRAGMA cache_size=-16384; PRAGMA temp_store=MEMORY;");
    SF_TRY_DONE(script(&db->base, pragmas, err));
    if (fresh) {
        snprintf(pragmas, sizeof pragmas, "PRAGMA application_id=%d", (int)APPLICATION_ID);
        SF_TRY_DONE(script(&db->base, pragmas, err));
    }
done:
    if (status != SF_OK)
        close_file(&db->base);
    else
        *out = &db->base;
    return status;
}
