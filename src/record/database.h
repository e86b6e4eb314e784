// SPDX-License-Identifier: GPL-3.0-or-later
// One connection to SQLite or to PostgreSQL behind the same few calls. Internal to record: SQL stays in this module.
//
// SQL text is the same for both: parameters are $1, $2, ...; what the two spell differently is written with a few
// @words that database_words() replaces (see there). Every answer is read whole into an arena before the call returns.
#pragma once

#include "base/arena.h"
#include "base/status.h"

#include <stdbool.h>
#include <stdint.h>

typedef enum sf_ValueKind { SF_VALUE_NULL, SF_VALUE_WHOLE, SF_VALUE_TEXT } sf_ValueKind;

/// A parameter or a cell of an answer.
typedef struct sf_Value {
    sf_ValueKind kind;
    int64_t whole;
    const char *text; ///< zero-terminated UTF-8
} sf_Value;

static inline sf_Value sf_whole(int64_t whole)
{
    return (sf_Value){ SF_VALUE_WHOLE, whole, NULL };
}

/// NULL becomes the database's NULL.
static inline sf_Value sf_words(const char *text)
{
    return (sf_Value){ text ? SF_VALUE_TEXT : SF_VALUE_NULL, 0, text };
}

/// A reference to another row: 0 becomes NULL.
static inline sf_Value sf_reference(int64_t id)
{
    return (sf_Value){ id ? SF_VALUE_WHOLE : SF_VALUE_NULL, id, NULL };
}

/// The values between the brackets and their number, as two arguments.
#define SF_BIND(...) (const sf_Value[]){ __VA_ARGS__ }, sizeof((const sf_Value[]){ __VA_ARGS__ }) / sizeof(sf_Value)
#define SF_BIND_NONE NULL, 0

/// An answer: rows x columns, row by row; owned by the arena.
typedef struct sf_Rows {
    size_t count, columns;
    sf_Value *cells;
} sf_Rows;

static inline const char *sf_cell_text(const sf_Rows *rows, size_t row, size_t column)
{
    return rows->cells[row * rows->columns + column].text;
}

static inline int64_t sf_cell_whole(const sf_Rows *rows, size_t row, size_t column)
{
    return rows->cells[row * rows->columns + column].whole;
}

enum { SF_DATABASE_ROWS_MOST = 1000000, SF_DATABASE_PARAMETERS_MOST = 32 };

typedef struct sf_Database sf_Database;

/// What a kind of database does. The functions are reached through the calls below.
typedef struct sf_DatabaseKind {
    const char *name;              ///< "SQLite", "PostgreSQL"
    const char *const (*words)[2]; ///< pairs { "@word", replacement }, closed by { NULL, NULL }
    sf_Status (*query)(sf_Database *db, sf_Arena *arena, const char *sql, const sf_Value *values, size_t count,
                       sf_Rows *rows, sf_Error *err);
    sf_Status (*script)(sf_Database *db, const char *sql, sf_Error *err);
    const char *has_table;                ///< query: is there a table called $1; answers 0 or 1
    const char *begin_read, *begin_write; ///< scripts that open a transaction: a snapshot, or the one writer
    bool (*lost)(sf_Database *db);        ///< whether the connection is gone
    sf_Status (*wake)(sf_Database *db, sf_Error *err); ///< connects again
    const char *scrub;   ///< script that clears away what the database keeps of rows that were rewritten
    const char *inspect; ///< query that looks at the file's structure: its first column is 'ok' or a complaint; or NULL
    void (*close)(sf_Database *db);
} sf_DatabaseKind;

struct sf_Database {
    const sf_DatabaseKind *kind;
    bool inside; ///< a transaction is open
};

/// Opens a file; `make` allows a new one. SF_E_MISSING when it is not there, SF_E_STORE when it is none of ours.
sf_Status sf_database_open_sqlite(sf_Database **db, const char *path, bool make, sf_Error *err) SF_MUST_USE;

/// Connects to postgres://... SF_E_STORE with the server's own words.
sf_Status sf_database_open_postgres(sf_Database **db, const char *address, sf_Error *err) SF_MUST_USE;

/// Closes and nulls; an open transaction is undone.
void sf_database_close(sf_Database **db);

/// Runs one statement. `rows` NULL throws the answer away. SF_E_STORE (with the database's words), SF_E_MEMORY,
/// SF_E_LIMIT when the answer has more than SF_DATABASE_ROWS_MOST rows or the arena's limit is reached.
sf_Status sf_database_query(sf_Database *db, sf_Arena *arena, const char *sql, const sf_Value *values, size_t count,
                            sf_Rows *rows, sf_Error *err) SF_MUST_USE;

/// Runs several statements without parameters, @words replaced.
sf_Status sf_database_script(sf_Database *db, const char *sql, sf_Error *err) SF_MUST_USE;

sf_Status sf_database_begin(sf_Database *db, bool write, sf_Error *err) SF_MUST_USE;
sf_Status sf_database_commit(sf_Database *db, sf_Error *err) SF_MUST_USE;
void sf_database_undo(sf_Database *db); ///< does nothing outside a transaction
