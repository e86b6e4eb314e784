// SPDX-License-Identifier: GPL-3.0-or-later
#include "record/migration.h"

#include "base/alloc.h"
#include "record/sealed.h"
#include "record/search_word.h"

extern const unsigned char sf_migration_001[];
extern const size_t sf_migration_001_size;
extern const unsigned char sf_migration_002[];
extern const size_t sf_migration_002_size;
extern const unsigned char sf_migration_003[];
extern const size_t sf_migration_003_size;
extern const unsigned char sf_migration_004[];
extern const size_t sf_migration_004_size;

typedef struct Migration {
    const char *name;
    const unsigned char *sql;
    const size_t *size;
    sf_Status (*fill)(sf_Transaction *t, sf_Error *err); ///< what SQL alone cannot do; may be NULL
} Migration;

enum { PAGE = 500, PAGE_BYTES = 64 * 1024 * 1024 };

static sf_Status fill_words_of_page(sf_Transaction *t, sf_Arena *arena, int64_t *last, size_t *count, sf_Error *err)
{
    sf_Rows rows;
    SF_TRY(sf_database_query(t->db, arena,
                             "SELECT l.id, l.label, l.side, l.sheet_lot, l.stage, l.flags, w.pseudonym FROM limb l"
                             " JOIN wearer w ON w.id = l.wearer WHERE l.id > $1 ORDER BY l.id LIMIT $2",
                             SF_BIND(sf_whole(*last), sf_whole(PAGE)), &rows, err));
    for (size_t i = 0; i < rows.count; i++) {
        const sf_Value *cell = &rows.cells[i * rows.columns];
        const sf_LimbHead head = { .label = cell[1].text,
                                   .side = cell[2].text,
                                   .sheet_lot = cell[3].text,
                                   .stage = cell[4].text,
                                   .flags = cell[5].text };
        sf_SearchWords words;
        sf_search_words_of(&words, &head, cell[6].text);
        *last = cell[0].whole;
        SF_TRY(sf_search_words_store(t, *last, &words, true, err));
    }
    *count = rows.count;
    return SF_OK;
}

static sf_Status fill_words(sf_Transaction *t, sf_Error *err)
{
    int64_t last = 0;
    size_t count = PAGE;
    sf_Status status = SF_OK;
    while (status == SF_OK && count == PAGE) {
        sf_Arena *arena = sf_arena_create(PAGE_BYTES);
        status =
            arena ? fill_words_of_page(t, arena, &last, &count, err) : SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
        sf_arena_destroy(&arena);
    }
    return status;
}

static const Migration MIGRATIONS[] = {
    { "first", sf_migration_001, &sf_migration_001_size, NULL },
    { "words", sf_migration_002, &sf_migration_002_size, fill_words },
    { "dues", sf_migration_003, &sf_migration_003_size, NULL },
    { "letterhead", sf_migration_004, &sf_migration_004_size, NULL },
};

int64_t sf_migration_newest(void)
{
    return (int64_t)(sizeof MIGRATIONS / sizeof *MIGRATIONS);
}

sf_Status sf_migration_found(sf_Transaction *t, int64_t *number, sf_Error *err)
{
    sf_Rows rows;
    *number = 0;
    SF_TRY(sf_transaction_query(t, t->db->kind->has_table, SF_BIND(sf_words("migration")), &rows, err));
    if (sf_cell_whole(&rows, 0, 0) == 0)
        return SF_OK;
    SF_TRY(sf_transaction_query(t, "SELECT coalesce(max(number), 0) FROM migration", SF_BIND_NONE, &rows, err));
    *number = sf_cell_whole(&rows, 0, 0);
    return SF_OK;
}

static sf_Status run_script(sf_Transaction *t, int64_t number, sf_Error *err)
{
    const Migration *migration = &MIGRATIONS[number - 1];
    char *sql = sf_copy_text((const char *)migration->sql, *migration->size);
    if (!sql)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    sf_Status status = sf_database_script(t->db, sql, err);
    sf_free(sql);
    return status;
}

static sf_Status run_one(sf_Transaction *t, int64_t number, sf_Error *err)
{
    const Migration *migration = &MIGRATIONS[number - 1];
    SF_TRY(run_script(t, number, err));
    if (migration->fill)
        SF_TRY(migration->fill(t, err));
    const sf_Value row[] = { sf_whole(number), sf_words(migration->name), sf_words(t->time) };
    return sf_sealed_add(t, SF_SEALED_MIGRATION, "migrate", 0, row, sizeof row / sizeof *row, err);
}

sf_Status sf_migration_run(sf_Transaction *t, int64_t from, int64_t to, sf_Error *err)
{
    for (int64_t number = from + 1; number <= to; number++) {
        sf_Status status = run_one(t, number, err);
        if (status != SF_OK) {
            t->over = true;
            return status;
        }
    }
    return SF_OK;
}

sf_Status sf_migration_schema(sf_Transaction *t, int64_t to, sf_Error *err)
{
    for (int64_t number = 1; number <= to; number++)
        SF_TRY(run_script(t, number, err));
    return SF_OK;
}

sf_Status sf_migration_refill(sf_Transaction *t, int64_t schema, sf_Error *err)
{
    for (int64_t number = 1; number <= schema; number++) {
        if (MIGRATIONS[number - 1].fill)
            SF_TRY(MIGRATIONS[number - 1].fill(t, err));
    }
    return SF_OK;
}
