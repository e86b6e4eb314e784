// SPDX-License-Identifier: GPL-3.0-or-later
#include "record/migration.h"

#include "base/alloc.h"
#include "record/sealed.h"

extern const unsigned char sf_migration_001[];
extern const size_t sf_migration_001_size;

typedef struct Migration {
    const char *name;
    const unsigned char *sql;
    const size_t *size;
} Migration;

static const Migration MIGRATIONS[] = {
    { "first", sf_migration_001, &sf_migration_001_size },
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

static sf_Status run_one(sf_Transaction *t, int64_t number, sf_Error *err)
{
    const Migration *migration = &MIGRATIONS[number - 1];
    char *sql = sf_copy_text((const char *)migration->sql, *migration->size);
    if (!sql)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    sf_Status status = sf_database_script(t->db, sql, err);
    sf_free(sql);
    if (status != SF_OK)
        return status;
    const sf_Value row[] = { sf_whole(number), sf_words(migration->name), sf_words(t->time) };
    return sf_sealed_add(t, SF_SEALED_MIGRATION, "migrate", 0, row, err);
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
