// SPDX-License-Identifier: GPL-3.0-or-later
#include "record/database.h"

#include "base/alloc.h"
#include "record/libpq_on_demand.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { STATEMENTS = 64, NAME_BYTES = 16, NUMBER_BYTES = 24 };

// Types of PostgreSQL's catalogue (pg_type.dat), which never change.
enum { TYPE_ANY = 0, TYPE_INT8 = 20, TYPE_INT2 = 21, TYPE_INT4 = 23, TYPE_TEXT = 25 };

typedef struct Postgres {
    sf_Database base;
    PGconn *server;
    char *kept[STATEMENTS]; // texts of the statements prepared as "s0", "s1", ...
    size_t next;            // the place that gives way next
    bool gone;              // the connection broke
} Postgres;

// A search of one word found everywhere and one found nowhere else wants another plan than the average word: a plan
// made once for all took 150 ms where one made for the words takes 0.6 ms, planning in it. Compiling a query never pays
// here.
static const char SETTINGS[] =
    "SET client_min_messages = warning; SET synchronous_commit = on; SET lock_timeout = '10s';"
    "SET statement_timeout = '120s'; SET idle_in_transaction_session_timeout = '300s';"
    "SET standard_conforming_strings = on; SET client_encoding = 'UTF8';"
    "SELECT set_config(name, CASE name WHEN 'jit' THEN 'off' ELSE 'force_custom_plan' END, false) FROM pg_settings"
    " WHERE name IN ('jit', 'plan_cache_mode')"; // servers before 11 and 12 lack them

// ---- errors --------------------------------------------------------------------------------------------------------

/// The server's first line, without its line end.
static void first_line(const char *words, char line[256])
{
    snprintf(line, 256, "%s", words ? words : "no answer");
    line[strcspn(line, "\n")] = 0;
}

static sf_Status fail(Postgres *db, const PGresult *result, sf_Error *err)
{
    char line[256];
    const char *state = result ? sf_libpq.PQresultErrorField(result, PG_DIAG_SQLSTATE) : NULL;
    const char *words = result ? sf_libpq.PQresultErrorField(result, PG_DIAG_MESSAGE_PRIMARY) : NULL;
    first_line(words ? words : sf_libpq.PQerrorMessage(db->server), line);
    // A result without a code of the server did not come from the server.
    db->gone = db->gone || sf_libpq.PQstatus(db->server) != CONNECTION_OK || (result && !state);
    if (db->gone)
        return SF_FAIL(err, SF_E_STORE, "--store", "the PostgreSQL server is gone (%s): try again when it is back",
                       line);
    if (!state)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory while asking the PostgreSQL server (%s)", line);
    if (strcmp(state, "53100") == 0)
        return SF_FAIL(err, SF_E_STORE, NULL, "the disk of the store is full: make room and try again");
    if (strcmp(state, "53200") == 0)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "the PostgreSQL server is out of memory");
    if (strcmp(state, "55P03") == 0)
        return SF_FAIL(err, SF_E_STORE, NULL, "the store is in use by another program for more than 10 s: try again");
    if (strncmp(state, "23", 2) == 0)
        return SF_FAIL(err, SF_E_INTERNAL, NULL, "the store refused a row that breaks its own rules (%s)", line);
    return SF_FAIL(err, SF_E_STORE, NULL, "the store could not be read or written: %s", line);
}

// ---- statements ----------------------------------------------------------------------------------------------------

static void forget_statements(Postgres *db)
{
    for (size_t i = 0; i < STATEMENTS; i++) {
        sf_free(db->kept[i]);
        db->kept[i] = NULL;
    }
    db->next = 0;
}

static sf_Status prepare(Postgres *db, const char *sql, const sf_Value *values, size_t count, char name[NAME_BYTES],
                         sf_Error *err)
{
    for (size_t i = 0; i < STATEMENTS; i++) {
        if (db->kept[i] && strcmp(db->kept[i], sql) == 0) {
            snprintf(name, NAME_BYTES, "s%zu", i);
            return SF_OK;
        }
    }
    size_t place = db->next;
    snprintf(name, NAME_BYTES, "s%zu", place);
    if (db->kept[place]) {
        char drop[NAME_BYTES + 16];
        snprintf(drop, sizeof drop, "DEALLOCATE %s", name);
        sf_libpq.PQclear(sf_libpq.PQexec(db->server, drop));
        sf_free(db->kept[place]);
        db->kept[place] = NULL;
    }
    Oid types[SF_DATABASE_PARAMETERS_MOST];
    for (size_t i = 0; i < count; i++)
        types[i] = values[i].kind == SF_VALUE_WHOLE  ? TYPE_INT8
                   : values[i].kind == SF_VALUE_TEXT ? TYPE_TEXT
                                                     : TYPE_ANY;
    char *copy = sf_copy_text(sql, strlen(sql));
    if (!copy)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    PGresult *result = sf_libpq.PQprepare(db->server, name, sql, (int)count, types);
    sf_Status status = sf_libpq.PQresultStatus(result) == PGRES_COMMAND_OK ? SF_OK : fail(db, result, err);
    sf_libpq.PQclear(result);
    if (status != SF_OK) {
        sf_free(copy);
        return status;
    }
    db->kept[place] = copy;
    db->next = (place + 1) % STATEMENTS;
    return SF_OK;
}

static sf_Status take_rows(sf_Arena *arena, const PGresult *result, sf_Rows *rows, sf_Error *err)
{
    rows->count = (size_t)sf_libpq.PQntuples(result);
    rows->columns = (size_t)sf_libpq.PQnfields(result);
    if (rows->count > SF_DATABASE_ROWS_MOST)
        return SF_FAIL(err, SF_E_LIMIT, NULL, "the answer of the store is too large");
    rows->cells = sf_arena_alloc(arena, rows->count * rows->columns, sizeof *rows->cells);
    if (!rows->cells)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory while reading the store");
    for (size_t i = 0; i < rows->count * rows->columns; i++) {
        int row = (int)(i / rows->columns), column = (int)(i % rows->columns);
        Oid type = sf_libpq.PQftype(result, column);
        if (sf_libpq.PQgetisnull(result, row, column)) {
            rows->cells[i] = sf_words(NULL);
        } else if (type == TYPE_INT8 || type == TYPE_INT4 || type == TYPE_INT2) {
            rows->cells[i] = sf_whole(strtoll(sf_libpq.PQgetvalue(result, row, column), NULL, 10));
        } else {
            const char *copy = sf_arena_text(arena, sf_libpq.PQgetvalue(result, row, column));
            if (!copy)
                return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory while reading the store");
            rows->cells[i] = sf_words(copy);
        }
    }
    return SF_OK;
}

static sf_Status query(sf_Database *base, sf_Arena *arena, const char *sql, const sf_Value *values, size_t count,
                       sf_Rows *rows, sf_Error *err)
{
    Postgres *db = (Postgres *)base;
    char name[NAME_BYTES], numbers[SF_DATABASE_PARAMETERS_MOST][NUMBER_BYTES];
    const char *texts[SF_DATABASE_PARAMETERS_MOST];
    if (rows)
        *rows = (sf_Rows){ 0 };
    SF_TRY(prepare(db, sql, values, count, name, err));
    for (size_t i = 0; i < count; i++) {
        texts[i] = values[i].text; // NULL is the database's NULL
        if (values[i].kind == SF_VALUE_WHOLE) {
            snprintf(numbers[i], NUMBER_BYTES, "%lld", (long long)values[i].whole);
            texts[i] = numbers[i];
        }
    }
    PGresult *result = sf_libpq.PQexecPrepared(db->server, name, (int)count, texts, NULL, NULL, 0);
    ExecStatusType what = sf_libpq.PQresultStatus(result);
    sf_Status status = SF_OK;
    if (what != PGRES_COMMAND_OK && what != PGRES_TUPLES_OK)
        status = fail(db, result, err);
    else if (rows && what == PGRES_TUPLES_OK)
        status = take_rows(arena, result, rows, err);
    sf_libpq.PQclear(result);
    return status;
}

static sf_Status script(sf_Database *base, const char *sql, sf_Error *err)
{
    Postgres *db = (Postgres *)base;
    PGresult *result = sf_libpq.PQexec(db->server, sql);
    ExecStatusType what = sf_libpq.PQresultStatus(result);
    sf_Status status = SF_OK;
    if (what != PGRES_COMMAND_OK && what != PGRES_TUPLES_OK && what != PGRES_EMPTY_QUERY)
        status = fail(db, result, err);
    else if (strcmp(sql, "COMMIT") == 0 && strcmp(sf_libpq.PQcmdStatus(result), "COMMIT") != 0)
        status = SF_FAIL(err, SF_E_STORE, NULL, "nothing was kept: an earlier step had failed"); // it rolled back
    sf_libpq.PQclear(result);
    return status;
}

/// What goes wrong comes back as a status; the library's own way would be the program's stderr.
static void ignore_notice(void *unused, const char *words)
{
    (void)unused;
    (void)words;
}

static sf_Status set_up(Postgres *db, sf_Error *err)
{
    sf_libpq.PQsetNoticeProcessor(db->server, ignore_notice, NULL);
    forget_statements(db);
    return script(&db->base, SETTINGS, err);
}

static bool lost(sf_Database *base)
{
    return ((Postgres *)base)->gone;
}

/// A server that was started again is found again.
static sf_Status wake(sf_Database *base, sf_Error *err)
{
    Postgres *db = (Postgres *)base;
    sf_libpq.PQreset(db->server);
    if (sf_libpq.PQstatus(db->server) != CONNECTION_OK)
        return fail(db, NULL, err);
    db->gone = false;
    return set_up(db, err);
}

static void close_server(sf_Database *base)
{
    Postgres *db = (Postgres *)base;
    forget_statements(db);
    sf_libpq.PQfinish(db->server);
    sf_free(db);
}

static const char *const POSTGRES_WORDS[][2] = {
    { "@whole", "BIGINT" }, { "@text", "TEXT COLLATE \"C\"" }, { "@strict", "" }, { "@keyed", "" }, { NULL, NULL },
};

/// The lock that lets one writer in at a time, from whichever machine: any number, the same in every program.
#define WRITER_LOCK "1398031940"

static const sf_DatabaseKind POSTGRES = {
    "PostgreSQL",
    POSTGRES_WORDS,
    query,
    script,
    "SELECT count(*) FROM information_schema.tables WHERE table_schema = current_schema() AND table_name = $1",
    "BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY",
    "BEGIN ISOLATION LEVEL READ COMMITTED; SELECT pg_advisory_xact_lock(" WRITER_LOCK ")",
    lost,
    wake,
    "VACUUM wearer, limb, limb_version, limb_word, fact, attachment, repeat_key",
    NULL,
    close_server,
};

sf_Status sf_database_open_postgres(sf_Database **out, const char *address, sf_Error *err)
{
    *out = NULL;
    SF_TRY(sf_libpq_load(err));
    Postgres *db = sf_alloc(1, sizeof *db);
    if (!db)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    db->base.kind = &POSTGRES;
    db->server = sf_libpq.PQconnectdb(address);
    sf_Status status = SF_OK;
    if (!db->server) {
        status = SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    } else if (sf_libpq.PQstatus(db->server) != CONNECTION_OK) {
        char line[256];
        first_line(sf_libpq.PQerrorMessage(db->server), line);
        status = SF_FAIL(err, SF_E_STORE, "--store", "the PostgreSQL server cannot be reached: %s", line);
    } else {
        status = set_up(db, err);
    }
    if (status != SF_OK)
        close_server(&db->base);
    else
        *out = &db->base;
    return status;
}
