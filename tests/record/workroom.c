// SPDX-License-Identifier: GPL-3.0-or-later
#define _XOPEN_SOURCE 700
#include "workroom.h"

#include "harness/tap.h"
#include "record/sealed.h"

#include <glob.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

const char *const workroom_kind_words[2] = { "SQLite", "PostgreSQL" };

enum { PATHS = 8 }; // paths that stay good

static char folder[64];
static char bin[256]; // of PostgreSQL
static char as[64];   // how to become who may run it
static pid_t owner;   // children of a test must not take the room down
static bool server_runs;

static bool vshell(const char *format, va_list args)
{
    char command[4096];
    vsnprintf(command, sizeof command, format, args);
    int code = system(command);
    return code != -1 && WIFEXITED(code) && WEXITSTATUS(code) == 0;
}

bool workroom_shell(const char *format, ...)
{
    va_list args;
    va_start(args, format);
    bool good = vshell(format, args);
    va_end(args);
    return good;
}

static void leave(void)
{
    if (getpid() != owner)
        return;
    if (server_runs)
        workroom_shell("%s %s/pg_ctl -D %s/cluster -m fast stop >/dev/null 2>&1", as, bin, folder);
    workroom_shell("rm -rf %s", folder);
}

const char *workroom_folder(void)
{
    if (folder[0])
        return folder;
    // Short: the path of a Unix socket has to fit 107 bytes. In memory where there is such a place: the tests flush
    // often.
    strcpy(folder, access("/dev/shm", W_OK) == 0 ? "/dev/shm/standfast-XXXXXX" : "/tmp/standfast-XXXXXX");
    if (!mkdtemp(folder)) {
        folder[0] = 0;
        return NULL;
    }
    chmod(folder, 0711); // the server's user walks through
    owner = getpid();
    atexit(leave);
    return folder;
}

const char *workroom_path(const char *format, ...)
{
    static char paths[PATHS][512];
    static unsigned next;
    char *path = paths[next++ % PATHS];
    int n = snprintf(path, sizeof paths[0], "%s/", workroom_folder());
    va_list args;
    va_start(args, format);
    vsnprintf(path + n, sizeof paths[0] - (size_t)n, format, args);
    va_end(args);
    return path;
}

static bool find_server(void)
{
    glob_t found;
    bool good = glob("/usr/lib/postgresql/*/bin/pg_ctl", 0, NULL, &found) == 0 && found.gl_pathc > 0;
    if (good) {
        snprintf(bin, sizeof bin, "%s", found.gl_pathv[found.gl_pathc - 1]);
        *strrchr(bin, '/') = 0;
        globfree(&found);
    }
    // PostgreSQL refuses to run as root.
    snprintf(as, sizeof as, "%s", geteuid() == 0 ? "runuser -u postgres --" : "");
    return good;
}

static bool start_server(void)
{
    return workroom_shell("%s %s/pg_ctl -D %s/cluster -w -t 60 -l %s/cluster/log -o \"-k %s/cluster -c "
                          "listen_addresses='' -c fsync=off -c shared_buffers=32MB -c dynamic_shared_memory_type=mmap "
                          "-c max_connections=60\" start >/dev/null",
                          as, bin, folder, folder, folder);
}

static bool need_server(void)
{
    if (server_runs)
        return true;
    if (!workroom_folder() || !find_server()) {
        tap_note("there is no PostgreSQL: install the package postgresql-15");
        return false;
    }
    if (!workroom_shell("mkdir %s/cluster && { [ \"$(id -u)\" != 0 ] || chown postgres %s/cluster; }", folder,
                        folder) ||
        !workroom_shell("cd / && %s %s/initdb -D %s/cluster -U standfast -A trust -E UTF8 --locale=C.UTF-8 --no-sync "
                        ">%s/initdb.log 2>&1",
                        as, bin, folder, folder) ||
        !start_server()) {
        tap_note("PostgreSQL could not be started");
        workroom_shell("tail -n 5 %s/initdb.log %s/cluster/log | sed 's/^/# /'", folder, folder);
        return false;
    }
    server_runs = true;
    return true;
}

bool workroom_restart_server(void)
{
    return workroom_shell("%s %s/pg_ctl -D %s/cluster -m immediate -w stop >/dev/null 2>&1", as, bin, folder) &&
           start_server();
}

bool workroom_place(WorkroomPlace *place, WorkroomKind kind)
{
    static int number;
    *place = (WorkroomPlace){ .kind = kind };
    if (!workroom_folder() || (kind == WORKROOM_POSTGRES && !need_server()))
        return false;
    number++;
    if (kind == WORKROOM_SQLITE) {
        snprintf(place->place, sizeof place->place, "%s/store_%d.sqlite", folder, number);
        snprintf(place->files, sizeof place->files, "%s.files", place->place);
        return true;
    }
    // A schema each: much quicker to make than a database each.
    char server[512], schema[64];
    snprintf(server, sizeof server, "postgres://standfast@/postgres?host=%s/cluster", folder);
    snprintf(schema, sizeof schema, "CREATE SCHEMA s%d_%d", (int)owner, number);
    snprintf(place->place, sizeof place->place, "%s&options=-csearch_path%%3Ds%d_%d", server, (int)owner, number);
    snprintf(place->files, sizeof place->files, "%s/files_%d", folder, number);
    WorkroomPlace all = { .kind = kind };
    snprintf(all.place, sizeof all.place, "%s", server);
    return workroom_meddle(&all, schema);
}

sf_Store *workroom_open(const WorkroomPlace *place)
{
    sf_Store *store = NULL;
    sf_Error err = { 0 };
    if (!TAP_OK(sf_store_open(&store, place->place, place->files, SF_STORE_MAKE, &err)))
        tap_note("%s", err.text);
    return store;
}

static sf_Status open_behind(const WorkroomPlace *place, sf_Database **db, sf_Error *err)
{
    return place->kind == WORKROOM_SQLITE ? sf_database_open_sqlite(db, place->place, true, err)
                                          : sf_database_open_postgres(db, place->place, err);
}

int64_t workroom_number(const WorkroomPlace *place, const char *sql)
{
    sf_Database *db = NULL;
    sf_Error err = { 0 };
    sf_Rows rows = { 0 };
    sf_Arena *arena = sf_arena_create(1 << 20);
    int64_t number = -1;
    if (open_behind(place, &db, &err) == SF_OK && sf_database_query(db, arena, sql, NULL, 0, &rows, &err) == SF_OK &&
        rows.count == 1)
        number = sf_cell_whole(&rows, 0, 0);
    else
        tap_note("%s: %s", sql, err.text);
    sf_database_close(&db);
    sf_arena_destroy(&arena);
    return number;
}

void workroom_contents(const WorkroomPlace *place, bool sealed_only, char hex[65])
{
    sf_Database *db = NULL;
    sf_Error err = { 0 };
    sf_Text text = sf_text_make(256 << 20);
    sf_Arena *arena = sf_arena_create(256 << 20);
    hex[0] = 0;
    sf_Status status = open_behind(place, &db, &err);
    for (int name = -1; status == SF_OK && name < (sealed_only ? SF_SEALED_COUNT : SF_TABLE_COUNT); name++) {
        char sql[128];
        sf_Rows rows;
        snprintf(sql, sizeof sql, "SELECT * FROM %s ORDER BY 1, 2", name < 0 ? "audit" : sf_sealed_tables[name].name);
        status = sf_database_query(db, arena, sql, NULL, 0, &rows, &err);
        for (size_t i = 0; status == SF_OK && i < rows.count * rows.columns; i++) {
            const sf_Value *cell = &rows.cells[i];
            if (cell->kind == SF_VALUE_TEXT)
                sf_text_format(&text, "%zu:%s;", strlen(cell->text), cell->text);
            else
                sf_text_format(&text, cell->kind == SF_VALUE_NULL ? "-;" : "%lld;", (long long)cell->whole);
        }
    }
    if (status == SF_OK && !text.broken)
        sf_digest(text.data, text.length, NULL, 0, hex);
    sf_database_close(&db);
    sf_arena_destroy(&arena);
    sf_text_free(&text);
}

bool workroom_meddle(const WorkroomPlace *place, const char *sql)
{
    sf_Database *db = NULL;
    sf_Error err = { 0 };
    sf_Status status = open_behind(place, &db, &err);
    if (status == SF_OK)
        status = sf_database_script(db, sql, &err);
    if (status != SF_OK)
        tap_note("%s", err.text);
    sf_database_close(&db);
    return status == SF_OK;
}
