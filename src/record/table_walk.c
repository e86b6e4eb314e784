// SPDX-License-Identifier: GPL-3.0-or-later
#include "record/table_walk.h"

#include <stdio.h>
#include <string.h>

enum { PAGE = 25, CHAIN_PAGE = 2000, PAGE_BYTES = 512 * 1024 * 1024, SQL_BYTES = 4096, MOST_KEYS = 2 };

const sf_SealedTable sf_chain_table = {
    "audit",
    (const char *const[]){ "seq", "at", "who", "action", "subject", "limb", "payload_hash", "previous_hash",
                           "entry_hash", "signature" },
    10,
    1,
};

/// "SELECT r.id, ..., extra FROM fact r join [WHERE (key) > (...)] ORDER BY key LIMIT n"
static void walk_sql(sf_Text *sql, const sf_SealedTable *table, const char *extra, const char *join, bool first,
                     size_t page)
{
    const char *one = table->columns[0], *two = table->keys == MOST_KEYS ? table->columns[1] : NULL;
    sf_text_add(sql, "SELECT ");
    for (size_t i = 0; i < table->count; i++)
        sf_text_format(sql, "%sr.%s", i ? ", " : "", table->columns[i]);
    sf_text_format(sql, "%s%s FROM %s r %s", extra ? ", " : "", extra ? extra : "", table->name, join ? join : "");
    if (!first && two)
        sf_text_format(sql, " WHERE (r.%s, r.%s) > ($1, $2)", one, two);
    else if (!first)
        sf_text_format(sql, " WHERE r.%s > $1", one);
    sf_text_format(sql, " ORDER BY r.%s%s%s LIMIT %zu", one, two ? ", r." : "", two ? two : "", page);
}

/// One page into `arena`; its last key becomes `last` (texts stay in the arena, which the caller keeps one page
/// longer).
static sf_Status one_page(sf_Transaction *t, sf_Arena *arena, const sf_SealedTable *table, const char *sql,
                          sf_Value last[MOST_KEYS], size_t keys, sf_RowVisit visit, void *context, size_t *count,
                          sf_Error *err)
{
    sf_Rows rows;
    SF_TRY(sf_database_query(t->db, arena, sql, last, keys, &rows, err));
    for (size_t i = 0; i < rows.count; i++)
        SF_TRY(visit(context, arena, &rows.cells[i * rows.columns], err));
    if (rows.count)
        memcpy(last, &rows.cells[(rows.count - 1) * rows.columns], table->keys * sizeof *last);
    *count = rows.count;
    return SF_OK;
}

sf_Status sf_table_walk(sf_Transaction *t, const sf_SealedTable *table, const char *extra, const char *join,
                        sf_RowVisit visit, void *context, sf_Error *err)
{
    size_t page = table == &sf_chain_table ? CHAIN_PAGE : PAGE, count = page;
    sf_Text first = sf_text_make(SQL_BYTES), later = sf_text_make(SQL_BYTES);
    walk_sql(&first, table, extra, join, true, page);
    walk_sql(&later, table, extra, join, false, page);
    sf_Status status = first.broken || later.broken ? SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory") : SF_OK;
    sf_Value last[MOST_KEYS] = { 0 };
    sf_Arena *arena = NULL;
    for (bool begun = false; status == SF_OK && count == page; begun = true) {
        sf_Arena *next = sf_arena_create(PAGE_BYTES);
        status = next ? one_page(t, next, table, begun ? later.data : first.data, last, begun ? table->keys : 0, visit,
                                 context, &count, err)
                      : SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
        sf_arena_destroy(&arena);
        arena = next;
    }
    sf_arena_destroy(&arena);
    sf_text_free(&first);
    sf_text_free(&later);
    return status;
}
