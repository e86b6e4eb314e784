// SPDX-License-Identifier: GPL-3.0-or-later
#include "record/database.h"

#include "base/text.h"

#include <string.h>

enum { SCRIPT_BYTES = 1 << 20 };

void sf_database_close(sf_Database **db)
{
    if (!db || !*db)
        return;
    sf_database_undo(*db);
    (*db)->kind->close(*db);
    *db = NULL;
}

sf_Status sf_database_query(sf_Database *db, sf_Arena *arena, const char *sql, const sf_Value *values, size_t count,
                            sf_Rows *rows, sf_Error *err)
{
    if (count > SF_DATABASE_PARAMETERS_MOST)
        return SF_FAIL(err, SF_E_INTERNAL, NULL, "a statement has more than %d parameters",
                       SF_DATABASE_PARAMETERS_MOST);
    return db->kind->query(db, arena, sql, values, count, rows, err);
}

/// Copies `sql` and puts what this database says in the place of each @word.
static void replace_words(sf_Text *text, const sf_DatabaseKind *kind, const char *sql)
{
    while (*sql) {
        size_t plain = strcspn(sql, "@");
        sf_text_add_bytes(text, sql, plain);
        sql += plain;
        if (!*sql)
            return;
        size_t length = 1 + strspn(sql + 1, "abcdefghijklmnopqrstuvwxyz");
        const char *with = NULL;
        for (const char *const(*pair)[2] = kind->words; (*pair)[0] && !with; pair++) {
            if (strlen((*pair)[0]) == length && strncmp((*pair)[0], sql, length) == 0)
                with = (*pair)[1];
        }
        if (with)
            sf_text_add(text, with);
        else
            sf_text_add_bytes(text, sql, length);
        sql += length;
    }
}

sf_Status sf_database_script(sf_Database *db, const char *sql, sf_Error *err)
{
    sf_Text text = sf_text_make(SCRIPT_BYTES);
    replace_words(&text, db->kind, sql);
    sf_Status status = text.broken ? SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory")
                                   : db->kind->script(db, sf_text_string(&text), err);
    sf_text_free(&text);
    return status;
}

sf_Status sf_database_begin(sf_Database *db, bool write, sf_Error *err)
{
    const char *sql = write ? db->kind->begin_write : db->kind->begin_read;
    db->inside = true; // a script of two statements may fail after its first
    sf_Status status = db->kind->script(db, sql, err);
    if (status != SF_OK && db->kind->lost(db)) {
        SF_TRY(db->kind->wake(db, err)); // the server was started again; nothing was begun yet
        status = db->kind->script(db, sql, err);
    }
    if (status != SF_OK)
        sf_database_undo(db);
    return status;
}

sf_Status sf_database_commit(sf_Database *db, sf_Error *err)
{
    sf_Status status = db->kind->script(db, "COMMIT", err);
    if (status == SF_OK)
        db->inside = false;
    else
        sf_database_undo(db);
    return status;
}

void sf_database_undo(sf_Database *db)
{
    if (!db->inside)
        return;
    db->inside = false;
    sf_Error ignored;
    if (db->kind->script(db, "ROLLBACK", &ignored) != SF_OK)
        return; // it was undone by the failure itself, or the connection is gone and the server undoes it
}
