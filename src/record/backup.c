// SPDX-License-Identifier: GPL-3.0-or-later
#define _XOPEN_SOURCE 700
#include "record/backup.h"

#include "base/alloc.h"
#include "base/doc.h"
#include "base/file.h"
#include "record/attachment.h"
#include "record/row_text.h"
#include "record/store_inside.h"
#include "record/table_walk.h"

#include <errno.h>
#include <ftw.h>
#include <inttypes.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum { PATH_BYTES = 4096, FORMAT_BYTES = 64 * 1024, OPEN_FOLDERS = 16 };
static const char FORMAT[] = "standfast-backup/1";

typedef struct Making {
    sf_Transaction *t;
    char folder[PATH_BYTES]; // the one that is renamed at the end
    FILE *file;
    size_t cells;
    int64_t rows;
    char last_file[SF_DIGEST_HEX];
    sf_Json *counts;
} Making;

static sf_Status path_of(char path[PATH_BYTES], const char *folder, const char *name, sf_Error *err)
{
    int n = snprintf(path, PATH_BYTES, "%s/%s", folder, name);
    return n > 0 && n < PATH_BYTES ? SF_OK : SF_FAIL(err, SF_E_INPUT, folder, "the path of the backup is too long");
}

static int remove_one(const char *path, const struct stat *info, int kind, struct FTW *where)
{
    (void)info;
    (void)kind;
    (void)where;
    return remove(path);
}

static void remove_tree(const char *folder)
{
    nftw(folder, remove_one, OPEN_FOLDERS, FTW_DEPTH | FTW_PHYS);
}

static sf_Status make_folder(const char *path, sf_Error *err)
{
    if (mkdir(path, 0700) != 0 && errno != EEXIST)
        return SF_FAIL(err, SF_E_STORE, path, "cannot make the folder %s: %s", path, strerror(errno));
    return SF_OK;
}

// ---- making --------------------------------------------------------------------------------------------------------

static sf_Status write_row(void *context, sf_Arena *arena, const sf_Value *cells, sf_Error *err)
{
    Making *making = context;
    (void)arena;
    making->rows++;
    if (!sf_row_text_write(making->file, cells, making->cells))
        return SF_FAIL(err, SF_E_STORE, making->folder, "cannot write the backup: %s", strerror(errno));
    return SF_OK;
}

static sf_Status write_table(Making *making, const sf_SealedTable *table, const char *extra, size_t extra_count,
                             sf_Error *err)
{
    char path[PATH_BYTES], name[64];
    snprintf(name, sizeof name, "rows/%s", table->name);
    SF_TRY(path_of(path, making->folder, name, err));
    making->file = fopen(path, "wbx");
    making->rows = 0;
    making->cells = table->count + extra_count;
    if (!making->file)
        return SF_FAIL(err, SF_E_STORE, path, "cannot write the backup: %s", strerror(errno));
    sf_Status status = sf_table_walk(making->t, table, extra, NULL, write_row, making, err);
    bool good = fflush(making->file) == 0 && fsync(fileno(making->file)) == 0;
    good = fclose(making->file) == 0 && good;
    if (status == SF_OK && !good)
        status = SF_FAIL(err, SF_E_STORE, path, "cannot write the backup: %s", strerror(errno));
    sf_json_set_whole(making->counts, table->name, making->rows);
    return status;
}

/// Copies a picture file through its hash.
static sf_Status write_picture(Making *making, const char *hash, sf_Error *err)
{
    unsigned char *bytes = NULL;
    size_t size = 0;
    char path[PATH_BYTES], name[SF_DIGEST_HEX + 16];
    sf_Status status = sf_shelf_get(making->t->store, hash, &bytes, &size, err);
    if (status == SF_E_MISSING)
        status = SF_FAIL(err, SF_E_STORE, hash, "the picture file %s is gone: look at store verify", hash);
    if (status != SF_OK)
        return status;
    snprintf(name, sizeof name, "files/%.2s", hash);
    SF_TRY_DONE(path_of(path, making->folder, name, err));
    SF_TRY_DONE(make_folder(path, err));
    snprintf(name, sizeof name, "files/%.2s/%s", hash, hash);
    SF_TRY_DONE(path_of(path, making->folder, name, err));
    SF_TRY_DONE(sf_file_write(path, bytes, size, err));
done:
    sf_free(bytes);
    return status;
}

static sf_Status write_pictures(Making *making, sf_Error *err)
{
    sf_Arena *arena = sf_arena_create(256 * 1024 * 1024);
    sf_Rows rows = { 0 };
    sf_Status status = arena ? sf_database_query(making->t->db, arena,
                                                 "SELECT DISTINCT file_hash FROM attachment WHERE removed_at IS NULL",
                                                 SF_BIND_NONE, &rows, err)
                             : SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    for (size_t i = 0; status == SF_OK && i < rows.count; i++)
        status = write_picture(making, sf_cell_text(&rows, i, 0), err);
    sf_arena_destroy(&arena);
    return status;
}

static sf_Status write_description(Making *making, sf_Error *err)
{
    char path[PATH_BYTES], *text = NULL;
    int64_t schema = 0;
    sf_Rows head;
    SF_TRY(sf_transaction_query(making->t, "SELECT coalesce(max(number), 0) FROM migration", SF_BIND_NONE, &head, err));
    schema = sf_cell_whole(&head, 0, 0);
    SF_TRY(sf_transaction_query(making->t, "SELECT seq, entry_hash FROM audit ORDER BY seq DESC LIMIT 1", SF_BIND_NONE,
                                &head, err));
    SF_TRY(path_of(path, making->folder, "backup.json", err));
    sf_Json *json = sf_json_object();
    sf_json_set_text(json, "format", FORMAT);
    sf_json_set_whole(json, "schema", schema);
    sf_json_set_text(json, "store", sf_store_id(making->t->store));
    sf_json_set_text(json, "made_at", sf_transaction_time(making->t));
    sf_json_set_whole(json, "head_seq", head.count ? sf_cell_whole(&head, 0, 0) : 0);
    sf_json_set_text(json, "head_hash", head.count ? sf_cell_text(&head, 0, 1) : "");
    sf_json_set(json, "rows", making->counts);
    making->counts = NULL;
    sf_Status status = sf_json_text(json, 15, &text, err);
    sf_json_destroy(&json);
    if (status == SF_OK)
        status = sf_file_write(path, text, strlen(text), err);
    sf_free(text);
    return status;
}

static sf_Status write_all(Making *making, sf_Error *err)
{
    char path[PATH_BYTES];
    SF_TRY(path_of(path, making->folder, "rows", err));
    SF_TRY(make_folder(path, err));
    SF_TRY(path_of(path, making->folder, "files", err));
    SF_TRY(make_folder(path, err));
    SF_TRY(write_table(making, &sf_chain_table, NULL, 0, err));
    for (int name = 0; name < SF_SEALED_COUNT; name++)
        SF_TRY(write_table(making, &sf_sealed_tables[name], "r.seq, r.salt", 2, err));
    SF_TRY(write_pictures(making, err));
    SF_TRY(path_of(path, making->folder, "signing.key", err));
    SF_TRY(sf_signing_key_write(&making->t->store->key, path, err));
    return write_description(making, err);
}

sf_Status sf_backup_make(sf_Store *store, const char *folder, sf_Error *err)
{
    Making making = { .counts = sf_json_object() };
    sf_Status status;
    struct stat info;
    bool made = false;
    if (stat(folder, &info) == 0) {
        status = SF_FAIL(err, SF_E_INPUT, folder, "%s is there already: name a folder that is not", folder);
        goto done;
    }
    SF_TRY_DONE(path_of(making.folder, folder, "", err));
    snprintf(making.folder + strlen(making.folder) - 1, 16, ".part-XXXXXX");
    made = mkdtemp(making.folder) != NULL;
    if (!made) {
        status = SF_FAIL(err, SF_E_STORE, folder, "cannot make the folder %s: %s", folder, strerror(errno));
        goto done;
    }
    SF_TRY_DONE(sf_transaction_read(&making.t, store, err));
    SF_TRY_DONE(write_all(&making, err));
    SF_TRY_DONE(sf_file_flush_folder(making.folder, err));
    if (rename(making.folder, folder) != 0)
        status = SF_FAIL(err, SF_E_STORE, folder, "cannot name the backup %s: %s", folder, strerror(errno));
    else
        status = sf_file_flush_folder(folder, err);
done:
    if (status != SF_OK && made)
        remove_tree(making.folder);
    sf_transaction_end(&making.t);
    sf_json_destroy(&making.counts);
    return status;
}

// ---- restoring -----------------------------------------------------------------------------------------------------

typedef struct Description {
    int64_t schema;
    int64_t rows[SF_SEALED_COUNT + 1]; // the chain last
} Description;

static sf_Status read_description(const char *folder, Description *found, sf_Error *err)
{
    char path[PATH_BYTES];
    const char *format = NULL;
    sf_Doc *doc = NULL;
    sf_Status status;
    SF_TRY(path_of(path, folder, "backup.json", err));
    status = sf_doc_read_file(&doc, path, err);
    if (status == SF_E_MISSING)
        return SF_FAIL(err, SF_E_MISSING, folder, "%s is no backup: there is no backup.json in it", folder);
    if (status != SF_OK)
        return status;
    sf_DocNode root = sf_doc_root(doc), rows = sf_doc_member(root, "rows");
    bool good = sf_doc_text(sf_doc_member(root, "format"), 100, &format) && strcmp(format, FORMAT) == 0 &&
                sf_doc_whole(sf_doc_member(root, "schema"), 1, 1000000, &found->schema);
    for (int name = 0; good && name <= SF_SEALED_COUNT; name++)
        good = sf_doc_whole(sf_doc_member(rows, name < SF_SEALED_COUNT ? sf_sealed_tables[name].name : "audit"), 0,
                            INT64_MAX / 2, &found->rows[name]);
    sf_doc_destroy(&doc);
    return good ? SF_OK : SF_FAIL(err, SF_E_PARSE, path, "%s does not describe a backup of this program", path);
}

/// A backup has the columns of its own schema: those that a later migration added, always at the end, are not in it.
static size_t columns_at(const sf_SealedTable *table, int64_t schema)
{
    static const struct {
        sf_SealedName table;
        int64_t schema;
    } added[] = { { SF_SEALED_LIMB, 2 },  { SF_SEALED_FACT, 2 },  { SF_SEALED_ATTACHMENT, 2 }, { SF_SEALED_LIMB, 3 },
                  { SF_SEALED_STORE, 4 }, { SF_SEALED_STORE, 4 }, { SF_SEALED_STORE, 4 },      { SF_SEALED_STORE, 4 } };
    size_t count = table->count;
    for (size_t i = 0; i < sizeof added / sizeof *added; i++)
        count -= table == &sf_sealed_tables[added[i].table] && schema < added[i].schema;
    return count;
}

/// "INSERT INTO fact (id, ..., seq, salt) VALUES ($1, ...)"
static void load_sql(sf_Text *sql, const sf_SealedTable *table, size_t columns, bool sealed)
{
    sf_text_format(sql, "INSERT INTO %s (", table->name);
    for (size_t i = 0; i < columns; i++)
        sf_text_format(sql, "%s%s", i ? ", " : "", table->columns[i]);
    sf_text_add(sql, sealed ? ", seq, salt) VALUES (" : ") VALUES (");
    for (size_t i = 1; i <= columns + (sealed ? 2 : 0); i++)
        sf_text_format(sql, "%s$%zu", i == 1 ? "" : ", ", i);
    sf_text_add(sql, ")");
}

static sf_Status load_rows(sf_Transaction *t, FILE *file, const char *sql, size_t cells, int64_t *count, sf_Error *err)
{
    sf_Value row[SF_DATABASE_PARAMETERS_MOST];
    bool end = false;
    sf_Status status = SF_OK;
    for (*count = 0; status == SF_OK; (*count)++) {
        sf_Arena *arena = sf_arena_create(512 * 1024 * 1024);
        status = arena ? sf_row_text_read(file, arena, row, cells, &end, err)
                       : SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
        if (status == SF_OK && !end)
            status = sf_database_query(t->db, arena, sql, row, cells, NULL, err);
        sf_arena_destroy(&arena);
        if (end)
            break;
    }
    return status;
}

static sf_Status load_table(sf_Transaction *t, const char *folder, const sf_SealedTable *table, size_t columns,
                            bool sealed, int64_t expected, sf_Error *err)
{
    char path[PATH_BYTES], name[64];
    snprintf(name, sizeof name, "rows/%s", table->name);
    SF_TRY(path_of(path, folder, name, err));
    FILE *file = fopen(path, "rb");
    if (!file)
        return SF_FAIL(err, SF_E_STORE, path, "cannot read %s: %s", path, strerror(errno));
    sf_Text sql = sf_text_make(PATH_BYTES);
    load_sql(&sql, table, columns, sealed);
    int64_t count = 0;
    sf_Status status = sql.broken ? SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory")
                                  : load_rows(t, file, sql.data, columns + (sealed ? 2 : 0), &count, err);
    sf_text_free(&sql);
    fclose(file);
    if (status == SF_OK && count != expected)
        status =
            SF_FAIL(err, SF_E_PARSE, path, "%s has %" PRId64 " rows and should have %" PRId64, path, count, expected);
    return status;
}

typedef struct Loading {
    const char *folder;
    const Description *description;
} Loading;

static sf_Status load_all(sf_Transaction *t, void *context, sf_Error *err)
{
    const Loading *loading = context;
    const Description *d = loading->description;
    SF_TRY(load_table(t, loading->folder, &sf_chain_table, sf_chain_table.count, false, d->rows[SF_SEALED_COUNT], err));
    for (int name = 0; name < SF_SEALED_COUNT; name++) {
        const sf_SealedTable *table = &sf_sealed_tables[name];
        SF_TRY(load_table(t, loading->folder, table, columns_at(table, d->schema), true, d->rows[name], err));
    }
    return SF_OK;
}

/// Brings the picture files back, each looked at through its hash.
static sf_Status load_pictures(sf_Store *store, const char *folder, sf_Error *err)
{
    sf_Transaction *t = NULL;
    sf_Rows rows = { 0 };
    SF_TRY(sf_transaction_read(&t, store, err));
    sf_Status status = sf_transaction_query(t, "SELECT DISTINCT file_hash FROM attachment WHERE removed_at IS NULL",
                                            SF_BIND_NONE, &rows, err);
    for (size_t i = 0; status == SF_OK && i < rows.count; i++) {
        const char *hash = sf_cell_text(&rows, i, 0);
        char path[PATH_BYTES], name[2 * SF_DIGEST_HEX], put[SF_DIGEST_HEX];
        unsigned char *bytes = NULL;
        size_t size = 0;
        snprintf(name, sizeof name, "files/%.2s/%.64s", hash, hash);
        status = path_of(path, folder, name, err);
        if (status == SF_OK)
            status = sf_file_read(path, SF_ATTACHMENT_BYTES_MOST, &bytes, &size, err);
        if (status == SF_OK)
            status = sf_shelf_put(store, bytes, size, put, err);
        if (status == SF_OK && strcmp(put, hash) != 0)
            status = SF_FAIL(err, SF_E_STORE, path, "the picture file %s of the backup was changed", path);
        sf_free(bytes);
    }
    sf_transaction_end(&t);
    return status;
}

sf_Status sf_backup_restore(const char *folder, const char *place, const char *files, sf_VerifyReport *report,
                            sf_Error *err)
{
    Description description = { 0 };
    char key[PATH_BYTES];
    sf_Store *store = NULL;
    sf_Status status;
    memset(report, 0, sizeof *report);
    SF_TRY(read_description(folder, &description, err));
    SF_TRY(path_of(key, folder, "signing.key", err));
    Loading loading = { folder, &description };
    SF_TRY(sf_store_found(&store, place, files, key, description.schema, load_all, &loading, err));
    SF_TRY_DONE(load_pictures(store, folder, err));
    SF_TRY_DONE(sf_store_verify(store, &(sf_VerifyAsk){ 0 }, report, err));
    if (report->problem_count > 0)
        status = SF_FAIL(err, SF_E_STORE, folder, "the backup does not hold together: %s", report->problems[0].text);
done:
    if (status == SF_OK)
        sf_store_close(&store);
    else
        sf_store_unmake(&store);
    return status;
}
