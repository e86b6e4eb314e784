// SPDX-License-Identifier: GPL-3.0-or-later
#define _XOPEN_SOURCE 700
#include "record/store.h"

#include "base/alloc.h"
#include "base/date.h"
#include "record/migration.h"
#include "record/sealed.h"
#include "record/store_inside.h"
#include "seal/token.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <ftw.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

enum { PATH_BYTES = 4096 };

static void machine_clock(void *unused, char text[SF_TIME_TEXT])
{
    (void)unused;
    struct timespec now = { 0 };
    struct tm utc = { 0 };
    clock_gettime(CLOCK_REALTIME, &now);
    gmtime_r(&now.tv_sec, &utc);
    char day[20];
    strftime(day, sizeof day, "%Y-%m-%dT%H:%M:%S", &utc);
    snprintf(text, SF_TIME_TEXT, "%.19s.%03uZ", day, (unsigned)(now.tv_nsec / 1000000) % 1000);
}

void sf_store_set_clock(sf_Store *store, sf_StoreClock now, void *context)
{
    store->clock = now ? now : machine_clock;
    store->clock_context = context;
}

void sf_store_now(sf_Store *store, char text[SF_TIME_TEXT])
{
    store->clock(store->clock_context, text);
}

bool sf_time_is_good(const char *text)
{
    static const char form[] = "dddd-dd-ddTdd:dd:dd.dddZ";
    if (!text || strlen(text) != SF_TIME_TEXT - 1)
        return false;
    for (size_t i = 0; i < SF_TIME_TEXT - 1; i++) {
        if (form[i] == 'd' ? text[i] < '0' || text[i] > '9' : text[i] != form[i])
            return false;
    }
    sf_Date date;
    char day[SF_DATE_TEXT];
    snprintf(day, sizeof day, "%.10s", text);
    return sf_date_parse(&date, day, NULL, NULL) == SF_OK && strncmp(text + 11, "24", 2) < 0 && text[14] < '6' &&
           text[17] < '6';
}

// ---- folders -------------------------------------------------------------------------------------------------------

/// Makes a folder that only its owner may enter, and those above it.
static sf_Status make_folder(const char *path, sf_Error *err)
{
    char part[PATH_BYTES];
    size_t n = strlen(path);
    if (n >= sizeof part)
        return SF_FAIL(err, SF_E_INPUT, path, "the path of the store is too long");
    for (size_t i = 1; i <= n; i++) {
        if (path[i] != '/' && path[i] != 0)
            continue;
        memcpy(part, path, i);
        part[i] = 0;
        if (mkdir(part, 0700) != 0 && errno != EEXIST)
            return SF_FAIL(err, SF_E_STORE, path, "cannot make the folder %s: %s", part, strerror(errno));
    }
    return SF_OK;
}

sf_Status sf_store_default_place(char **place, sf_Error *err)
{
    const char *data = getenv("XDG_DATA_HOME"), *home = getenv("HOME");
    char folder[PATH_BYTES - 32], path[PATH_BYTES];
    if (data && *data == '/')
        snprintf(folder, sizeof folder, "%s/standfast", data);
    else if (home && *home == '/')
        snprintf(folder, sizeof folder, "%s/.local/share/standfast", home);
    else
        return SF_FAIL(err, SF_E_INPUT, "--store", "there is no home folder: name the store's file with --store");
    SF_TRY(make_folder(folder, err));
    snprintf(path, sizeof path, "%s/standfast.sqlite", folder);
    *place = sf_copy_text(path, strlen(path));
    return *place ? SF_OK : SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
}

static int remove_one(const char *path, const struct stat *info, int kind, struct FTW *where)
{
    (void)info;
    (void)kind;
    (void)where;
    return remove(path);
}

/// Removes what this opening made: the file, and what lies in a folder that was empty or not there before.
static void remove_made(sf_Store *store)
{
    static const char *const ends[] = { "", "-wal", "-shm" };
    char path[PATH_BYTES];
    for (size_t i = 0; store->made_file && i < sizeof ends / sizeof *ends; i++) {
        if (snprintf(path, sizeof path, "%s%s", store->place, ends[i]) < PATH_BYTES)
            unlink(path);
    }
    if (store->owns_folder)
        nftw(store->files, remove_one, 16, FTW_DEPTH | FTW_PHYS);
    if (store->owns_folder && !store->made_folder && mkdir(store->files, 0700) != 0)
        return; // it was there, empty; without it the next try makes it again
}

static bool is_empty_folder(const char *path)
{
    DIR *dir = opendir(path);
    bool empty = dir != NULL;
    for (struct dirent *entry; empty && (entry = readdir(dir));)
        empty = strcmp(entry->d_name, ".") == 0 || strcmp(entry->d_name, "..") == 0;
    if (dir)
        closedir(dir);
    return empty;
}

/// Makes the folder of the files and notes whether anybody has something in it.
static sf_Status make_files_folder(sf_Store *store, sf_Error *err)
{
    bool there = access(store->files, F_OK) == 0;
    store->owns_folder = !there || is_empty_folder(store->files);
    SF_TRY(make_folder(store->files, err));
    store->made_folder = !there;
    return SF_OK;
}

// ---- opening -------------------------------------------------------------------------------------------------------

static sf_Status open_database(const sf_Store *store, bool make, sf_Database **db, sf_Error *err)
{
    return store->postgres ? sf_database_open_postgres(db, store->place, err)
                           : sf_database_open_sqlite(db, store->place, make, err);
}

static sf_Status set_names(sf_Store *store, const char *place, const char *files, sf_Error *err)
{
    store->postgres = strncmp(place, "postgres://", 11) == 0 || strncmp(place, "postgresql://", 13) == 0;
    if (!store->postgres && strstr(place, "://"))
        return SF_FAIL(err, SF_E_INPUT, "--store", "a store is a file, or postgres://...; %s is neither", place);
    if (store->postgres && !files)
        return SF_FAIL(err, SF_E_INPUT, "--files",
                       "with PostgreSQL also name the folder of the picture files: --files");
    sf_Text folder = sf_text_make(PATH_BYTES);
    sf_text_format(&folder, files ? "%s" : "%s.files", files ? files : place);
    store->place = sf_copy_text(place, strlen(place));
    store->files = folder.broken ? NULL : sf_copy_text(folder.data, folder.length);
    sf_text_free(&folder);
    return store->place && store->files ? SF_OK : SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
}

/// SQLite makes its file readable for everybody: be there first.
static sf_Status make_file(sf_Store *store, sf_Error *err)
{
    const char *path = store->place;
    int fd = open(path, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
    if (fd < 0 && errno == EEXIST)
        return SF_OK;
    store->made_file = fd >= 0;
    if (fd < 0)
        return SF_FAIL(err, SF_E_STORE, path, "cannot make the store %s: %s", path, strerror(errno));
    close(fd);
    return SF_OK;
}

/// The signing key: made with the store, never again. A key that lies there from a start that failed is used.
static sf_Status get_key(sf_Store *store, bool make, sf_Error *err)
{
    char path[PATH_BYTES];
    snprintf(path, sizeof path, "%s/signing.key", store->files);
    sf_Status status = sf_signing_key_read(&store->key, path, err);
    if (status == SF_E_MISSING && make) {
        sf_signing_key_make(&store->key);
        status = sf_signing_key_write(&store->key, path, err);
    } else if (status == SF_E_MISSING) {
        status = SF_FAIL(err, SF_E_STORE, path, "the store's signing key %s is not there: bring it back from a backup",
                         path);
    }
    if (status == SF_OK)
        sf_signing_key_derive(&store->key, "working rows", store->working_key);
    return status;
}

static sf_Status add_store_row(sf_Transaction *t, sf_Error *err)
{
    sf_token_salt(t->store->id);
    const sf_Value row[] = { sf_words(t->store->id), sf_words(t->store->key.public_key),
                             sf_words(t->time),      sf_words(NULL),
                             sf_words(NULL),         sf_words(NULL),
                             sf_words(NULL) };
    return sf_sealed_add(t, SF_SEALED_STORE, "make-store", 0, row, sizeof row / sizeof *row, err);
}

static sf_Status read_store_row(sf_Transaction *t, sf_Error *err)
{
    sf_Rows rows;
    SF_TRY(sf_transaction_query(t, "SELECT id, public_key FROM store", SF_BIND_NONE, &rows, err));
    if (rows.count != 1)
        return SF_FAIL(err, SF_E_STORE, NULL, "the store does not say which store it is: bring the last backup back");
    snprintf(t->store->id, sizeof t->store->id, "%s", sf_cell_text(&rows, 0, 0));
    if (strcmp(sf_cell_text(&rows, 0, 1), t->store->key.public_key) != 0)
        return SF_FAIL(err, SF_E_STORE, t->store->files,
                       "the signing key in %s belongs to another store: bring this store's own key back",
                       t->store->files);
    return SF_OK;
}

/// Makes or updates the schema and learns which store this is.
static sf_Status settle(sf_Store *store, bool make, sf_Error *err)
{
    sf_Transaction *t = NULL;
    int64_t found = 0, newest = sf_migration_newest();
    sf_Status status = sf_transaction_read(&t, store, err);
    if (status == SF_OK)
        status = sf_migration_found(t, &found, err);
    if (status == SF_OK && found == newest) {
        status = get_key(store, false, err);
        if (status == SF_OK)
            status = read_store_row(t, err);
    }
    sf_transaction_end(&t);
    if (status != SF_OK || found == newest)
        return status;
    if (found > newest)
        return SF_FAIL(err, SF_E_STORE, store->place,
                       "the store was written by a newer program (schema %d, this one knows %d): use that program",
                       (int)found, (int)newest);
    if (found == 0 && !make)
        return SF_FAIL(err, SF_E_MISSING, store->place, "there is no store in %s", sf_store_place(store));
    SF_TRY_DONE(sf_transaction_write(&t, store, 0, err));
    SF_TRY_DONE(sf_migration_found(t, &found, err)); // another program may have been quicker
    SF_TRY_DONE(get_key(store, found == 0, err));
    bool fresh = found == 0;
    SF_TRY_DONE(sf_migration_run(t, found, newest, err));
    SF_TRY_DONE(fresh ? add_store_row(t, err) : read_store_row(t, err));
    SF_TRY_DONE(sf_transaction_commit(t, err));
    store->fresh = fresh;
done:
    sf_transaction_end(&t);
    return status;
}

/// A store that knows its places and has nothing open yet.
static sf_Status prepare(sf_Store **out, const char *place, const char *files, sf_Error *err)
{
    sf_token_begin();
    sf_Store *store = sf_alloc(1, sizeof *store);
    *out = store;
    if (!store)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    pthread_mutex_init(&store->writer_lock, NULL);
    pthread_mutex_init(&store->pool_lock, NULL);
    pthread_condattr_t steady;
    pthread_condattr_init(&steady);
    pthread_condattr_setclock(&steady, CLOCK_MONOTONIC);
    pthread_cond_init(&store->pool_free, &steady);
    pthread_condattr_destroy(&steady);
    sf_store_set_clock(store, NULL, NULL);
    return set_names(store, place, files, err);
}

sf_Status sf_store_open(sf_Store **out, const char *place, const char *files, sf_StoreOpening opening, sf_Error *err)
{
    sf_Store *store = NULL;
    sf_Status status;
    bool make = opening == SF_STORE_MAKE;
    SF_TRY_DONE(prepare(&store, place, files, err));
    if (!store->postgres && !make && access(place, F_OK) != 0) {
        status = SF_FAIL(err, SF_E_MISSING, place, "there is no store %s", place);
        goto done;
    }
    if (make) {
        if (!store->postgres)
            SF_TRY_DONE(make_file(store, err));
        SF_TRY_DONE(make_files_folder(store, err));
    }
    SF_TRY_DONE(open_database(store, make, &store->writer, err));
    SF_TRY_DONE(settle(store, make, err));
done:
    if (status != SF_OK && store)
        remove_made(store);
    if (status != SF_OK)
        sf_store_close(&store);
    *out = store;
    return status;
}

// ---- a store out of rows that exist (record/store_inside.h) ----

static sf_Status refuse_existing(const sf_Store *store, sf_Error *err)
{
    char key[PATH_BYTES];
    snprintf(key, sizeof key, "%s/signing.key", store->files);
    if (access(key, F_OK) == 0)
        return SF_FAIL(err, SF_E_INPUT, "--store", "there is a store with its files in %s already: name another place",
                       store->files);
    if (!store->postgres && access(store->place, F_OK) == 0)
        return SF_FAIL(err, SF_E_INPUT, "--store", "%s is there already: name another place", store->place);
    if (access(store->files, F_OK) == 0 && !is_empty_folder(store->files))
        return SF_FAIL(err, SF_E_INPUT, "--files", "there is something in the folder %s already: name another one",
                       store->files);
    return SF_OK;
}

static sf_Status copy_key(const sf_Store *store, const char *from, sf_Error *err)
{
    char path[PATH_BYTES];
    sf_SigningKey key;
    snprintf(path, sizeof path, "%s/signing.key", store->files);
    SF_TRY(sf_signing_key_read(&key, from, err));
    sf_Status status = sf_signing_key_write(&key, path, err);
    sf_signing_key_forget(&key);
    return status;
}

static sf_Status fill_store(sf_Store *store, int64_t schema, sf_StoreFill fill, void *context, sf_Error *err)
{
    sf_Transaction *t = NULL;
    int64_t found = 0;
    sf_Status status;
    SF_TRY_DONE(sf_transaction_write(&t, store, 0, err));
    SF_TRY_DONE(sf_migration_found(t, &found, err));
    if (found != 0) {
        status = SF_FAIL(err, SF_E_INPUT, "--store", "there is a store in this database already: name another one");
        goto done;
    }
    SF_TRY_DONE(sf_migration_schema(t, schema, err));
    SF_TRY_DONE(fill(t, context, err));
    SF_TRY_DONE(sf_migration_refill(t, schema, err));
    SF_TRY_DONE(sf_migration_run(t, schema, sf_migration_newest(), err));
    SF_TRY_DONE(read_store_row(t, err));
    SF_TRY_DONE(sf_transaction_commit(t, err));
done:
    sf_transaction_end(&t);
    return status;
}

sf_Status sf_store_found(sf_Store **out, const char *place, const char *files, const char *key_path, int64_t schema,
                         sf_StoreFill fill, void *context, sf_Error *err)
{
    sf_Store *store = NULL;
    sf_Status status;
    if (schema > sf_migration_newest())
        return SF_FAIL(err, SF_E_STORE, "--store",
                       "the rows were written by a newer program (schema %d): use that program", (int)schema);
    SF_TRY_DONE(prepare(&store, place, files, err));
    SF_TRY_DONE(refuse_existing(store, err));
    SF_TRY_DONE(make_files_folder(store, err));
    SF_TRY_DONE(copy_key(store, key_path, err));
    SF_TRY_DONE(get_key(store, false, err));
    if (!store->postgres)
        SF_TRY_DONE(make_file(store, err));
    SF_TRY_DONE(open_database(store, true, &store->writer, err));
    SF_TRY_DONE(fill_store(store, schema, fill, context, err));
    store->fresh = true;
done:
    if (status != SF_OK && store)
        remove_made(store);
    if (status != SF_OK)
        sf_store_close(&store);
    *out = store;
    return status;
}

void sf_store_unmake(sf_Store **store)
{
    static const char drop[] =
        "DROP TABLE IF EXISTS limb_word, repeat_key, session, sign_in, attachment, fact, limb_version,"
        " limb, wearer, person, migration, store, audit";
    if (!store || !*store)
        return;
    sf_Error ignored;
    if (!(*store)->fresh) {
        sf_store_close(store);
        return;
    }
    if ((*store)->postgres && sf_database_script((*store)->writer, drop, &ignored) != SF_OK)
        (void)ignored; // it stays; the files below do not, so that it is no store any more
    remove_made(*store);
    sf_store_close(store);
}

void sf_store_close(sf_Store **store)
{
    if (!store || !*store)
        return;
    sf_Store *s = *store;
    for (int i = 0; i < SF_STORE_READERS; i++)
        sf_database_close(&s->readers[i]);
    sf_database_close(&s->writer); // last, so that SQLite folds its log back into the file
    sf_signing_key_forget(&s->key);
    pthread_cond_destroy(&s->pool_free);
    pthread_mutex_destroy(&s->pool_lock);
    pthread_mutex_destroy(&s->writer_lock);
    sf_free(s->place);
    sf_free(s->files);
    sf_free(s);
    *store = NULL;
}

const char *sf_store_place(const sf_Store *store)
{
    return store->postgres ? "the PostgreSQL server" : store->place;
}

const char *sf_store_kind(const sf_Store *store)
{
    return store->writer->kind->name;
}

const char *sf_store_id(const sf_Store *store)
{
    return store->id;
}

const char *sf_store_public_key(const sf_Store *store)
{
    return store->key.public_key;
}

const char *sf_store_files(const sf_Store *store)
{
    return store->files;
}
