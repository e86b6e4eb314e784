// SPDX-License-Identifier: GPL-3.0-or-later
// `standfast store ...`: proof, backup and restore, export and import, tables, tidying.
#include "base/alloc.h"
#include "base/file.h"
#include "cli/arguments.h"
#include "cli/command.h"
#include "record/attachment.h"
#include "record/audit.h"
#include "record/backup.h"
#include "record/bundle.h"
#include "record/limb_record.h"
#include "record/table_csv.h"
#include "study/limb_case.h"
#include "study/result.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>

enum { HOUR_S = 3600 };

typedef struct Ask {
    const char *store, *files, *expect, *to;
    bool skip_files;
    double wearer, older_h;
    sf_Arguments arguments;
} Ask;

/// One of the things that the command does: its name, the names that follow it, and what it does.
typedef struct Doing {
    const char *name, *names, *help;
    size_t least, most;
    sf_Status (*run)(const Ask *ask, sf_Error *err);
} Doing;

static sf_Status open_store(const Ask *ask, sf_StoreOpening opening, sf_Store **store, sf_Error *err)
{
    char *place = NULL;
    if (!ask->store)
        SF_TRY(sf_store_default_place(&place, err));
    sf_Status status = sf_store_open(store, ask->store ? ask->store : place, ask->files, opening, err);
    sf_free(place);
    return status;
}

// ---- verify --------------------------------------------------------------------------------------------------------

static sf_Json *problem_json(const sf_VerifyProblem *problem)
{
    sf_Json *json = sf_json_object();
    if (problem->seq)
        sf_json_set_whole(json, "entry", problem->seq);
    else
        sf_json_set_null(json, "entry");
    sf_json_set_text(json, "text", problem->text);
    return json;
}

static sf_Status print_report_json(const sf_Store *store, const sf_VerifyReport *report, sf_Error *err)
{
    sf_Result result = { 0 };
    SF_TRY(sf_result_begin(&result, err));
    sf_Json *json = result.json, *head = sf_json_object(), *problems = sf_json_array();
    sf_result_input(&result, report->head_hash, strlen(report->head_hash));
    sf_json_set_text(json, "store", sf_store_id(store));
    sf_json_set_text(json, "database", sf_store_kind(store));
    sf_json_set_flag(json, "clean", report->problem_count == 0);
    sf_json_set_whole(json, "entries", report->entries);
    sf_json_set_whole(json, "rows", report->rows);
    sf_json_set_whole(json, "working_rows", report->working_rows);
    sf_json_set_whole(json, "files", report->files);
    sf_json_set_whole(json, "file_bytes", report->file_bytes);
    sf_json_set_whole(json, "unnamed_files", report->unnamed_files);
    sf_json_set_whole(head, "entry", report->head_seq);
    sf_json_set_text(head, "hash", report->head_hash);
    sf_json_set(json, "head", head);
    sf_json_set_whole(json, "problem_count", (int64_t)report->problem_count);
    if (report->kept)
        sf_json_set(json, "first_broken", problem_json(&report->problems[0]));
    else
        sf_result_null(&result, "first_broken", "nothing is broken");
    for (size_t i = 0; i < report->kept; i++)
        sf_json_add(problems, problem_json(&report->problems[i]));
    sf_json_set(json, "problems", problems);
    sf_result_note(&result,
                   "A chain that was cut off at its end is whole: only an entry noted down before and given with "
                   "--expect shows that.");
    sf_Json *whole = sf_result_finish(&result, NULL);
    return sf_command_print_json(&whole, err);
}

static void print_report(const sf_Store *store, const sf_VerifyReport *report)
{
    printf("%" PRId64 " entries in the chain, %" PRId64 " rows and %" PRId64 " working rows (%s)\n", report->entries,
           report->rows, report->working_rows, sf_store_kind(store));
    printf("%" PRId64 " picture files, %" PRId64 " bytes; %" PRId64 " files that no row names\n", report->files,
           report->file_bytes, report->unnamed_files);
    printf("newest entry, to note down: %" PRId64 ":%s\n", report->head_seq, report->head_hash);
    printf("nothing was changed behind the store's back\n");
}

static sf_Status verify(const Ask *ask, sf_Error *err)
{
    sf_Store *store = NULL;
    sf_VerifyReport *report = sf_alloc(1, sizeof *report);
    sf_Status status = report ? SF_OK : SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    if (status == SF_OK)
        status = open_store(ask, SF_STORE_EXISTING, &store, err);
    if (status == SF_OK)
        status = sf_store_verify(store, &(sf_VerifyAsk){ ask->expect, ask->skip_files }, report, err);
    if (status == SF_OK) {
        if (ask->arguments.json)
            status = print_report_json(store, report, err);
        else if (report->problem_count == 0)
            print_report(store, report);
    }
    if (status == SF_OK && report->problem_count)
        status = SF_FAIL(err, SF_E_STORE, NULL,
                         "the first thing broken, of %zu: %s. Bring the last good backup back; --json names more",
                         report->problem_count, report->problems[0].text);
    sf_store_close(&store);
    sf_free(report);
    return status;
}

// ---- backup and restore
// ----------------------------------------------------------------------------------------------

static sf_Status backup(const Ask *ask, sf_Error *err)
{
    sf_Store *store = NULL;
    SF_TRY(open_store(ask, SF_STORE_EXISTING, &store, err));
    sf_Status status = sf_backup_make(store, ask->arguments.names[1], err);
    sf_store_close(&store);
    if (status == SF_OK)
        printf("backup written to %s; it holds the store's key: keep it as carefully as the store\n",
               ask->arguments.names[1]);
    return status;
}

static sf_Status restore(const Ask *ask, sf_Error *err)
{
    char *place = NULL;
    sf_VerifyReport *report = sf_alloc(1, sizeof *report);
    sf_Status status = report ? SF_OK : SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    if (status == SF_OK && !ask->store)
        status = sf_store_default_place(&place, err);
    if (status == SF_OK)
        status = sf_backup_restore(ask->arguments.names[1], ask->store ? ask->store : place, ask->files, report, err);
    if (status == SF_OK)
        printf("restored and proved: %" PRId64 " entries, %" PRId64 " rows, %" PRId64 " picture files\n",
               report->entries, report->rows, report->files);
    sf_free(place);
    sf_free(report);
    return status;
}

// ---- export and import
// -----------------------------------------------------------------------------------------------

static sf_Status read_number(const char *text, const char *what, int64_t *number, sf_Error *err)
{
    size_t digits = strspn(text, "0123456789");
    *number = 0;
    if (digits == 0 || digits > 18 || text[digits])
        return SF_FAIL(err, SF_E_USAGE, NULL, "a %s is a number, not '%s'", what, text);
    for (size_t i = 0; i < digits; i++)
        *number = *number * 10 + (text[i] - '0');
    return SF_OK;
}

static bool ends_with(const char *text, const char *end)
{
    size_t n = strlen(text), room = strlen(end);
    return n >= room && strcmp(text + n - room, end) == 0;
}

static sf_Status write_out(const char *to, const void *bytes, size_t size, sf_Error *err)
{
    if (to)
        return sf_file_write(to, bytes, size, err);
    if (fwrite(bytes, 1, size, stdout) != size)
        return SF_FAIL(err, SF_E_STORE, NULL, "the export could not be written out");
    return SF_OK;
}

/// The document alone for a file called .json or for the screen, else everything as one archive.
static sf_Status export_from(sf_Transaction *t, const Ask *ask, int64_t limb, sf_Error *err)
{
    bool alone = !ask->to || ends_with(ask->to, ".json");
    const char *document = NULL;
    unsigned char *bytes = NULL;
    size_t size = 0;
    sf_LimbRow row = { .wearer = (int64_t)ask->wearer };
    if (limb)
        SF_TRY(sf_limb_record_get(t, limb, &row, err));
    if (alone && !limb)
        return SF_FAIL(err, SF_E_USAGE, "--to", "all limbs of a wearer go into an archive: --to FILE.tar");
    if (alone) {
        SF_TRY(sf_limb_record_document(t, limb, 0, &document, err));
        return write_out(ask->to, document, strlen(document), err);
    }
    SF_TRY(sf_bundle_export(t, row.wearer, limb, &bytes, &size, err));
    sf_Status status = write_out(ask->to, bytes, size, err);
    sf_free(bytes);
    return status;
}

static sf_Status export_limb(const Ask *ask, sf_Error *err)
{
    sf_Store *store = NULL;
    sf_Transaction *t = NULL;
    int64_t limb = 0;
    bool one = ask->arguments.name_count == 2;
    if (one == (ask->wearer > 0))
        return SF_FAIL(err, SF_E_USAGE, NULL, "name one limb, or a wearer: store export LIMB, store export --wearer N");
    if (one)
        SF_TRY(read_number(ask->arguments.names[1], "limb", &limb, err));
    sf_Status status;
    SF_TRY_DONE(open_store(ask, SF_STORE_EXISTING, &store, err));
    SF_TRY_DONE(sf_transaction_write(&t, store, 0, err));
    SF_TRY_DONE(export_from(t, ask, limb, err));
    char subject[48];
    snprintf(subject, sizeof subject, "%s/%" PRId64, limb ? "limb" : "wearer", limb ? limb : (int64_t)ask->wearer);
    SF_TRY_DONE(sf_audit_note(t, "export", subject, limb, err));
    SF_TRY_DONE(sf_transaction_commit(t, err));
done:
    sf_transaction_end(&t);
    sf_store_close(&store);
    return status;
}

static sf_Status import_archive(sf_Transaction *t, const sf_StageTable *table, const unsigned char *bytes, size_t size,
                                int64_t wearer, sf_Error *err)
{
    sf_BundleReport report;
    SF_TRY(sf_bundle_import(t, bytes, size, wearer, &report, err));
    for (size_t i = 0; i < report.limb_count; i++)
        SF_TRY(sf_limb_case_refresh(t, table, report.limb_ids[i], err));
    printf("%" PRId64 " limbs, %" PRId64 " facts and %" PRId64 " pictures for wearer %" PRId64 "\n", report.limbs,
           report.facts, report.attachments, report.wearer);
    return SF_OK;
}

static sf_Status import_document(sf_Transaction *t, const sf_StageTable *table, const unsigned char *bytes, size_t size,
                                 int64_t wearer, sf_Error *err)
{
    int64_t limb = 0;
    SF_TRY(sf_limb_case_add(t, table, wearer, (const char *)bytes, size, &limb, err));
    printf("limb %" PRId64 "\n", limb);
    return SF_OK;
}

static sf_Status import_file(const Ask *ask, sf_Error *err)
{
    unsigned char *bytes = NULL;
    size_t size = 0;
    sf_Store *store = NULL;
    sf_Transaction *t = NULL;
    sf_StageTable *table = NULL;
    sf_Status status;
    SF_TRY_DONE(sf_file_read(ask->arguments.names[1], SF_BUNDLE_BYTES_MOST, &bytes, &size, err));
    SF_TRY_DONE(sf_stage_table_load(&table, err));
    SF_TRY_DONE(open_store(ask, SF_STORE_MAKE, &store, err));
    SF_TRY_DONE(sf_transaction_write(&t, store, 0, err));
    bool document = size > 0 && strchr("{ \t\r\n\xEF", bytes[0]) != NULL;
    SF_TRY_DONE((document ? import_document : import_archive)(t, table, bytes, size, (int64_t)ask->wearer, err));
    SF_TRY_DONE(sf_transaction_commit(t, err));
done:
    sf_transaction_end(&t);
    if (status == SF_OK)
        sf_store_close(&store);
    else
        sf_store_unmake(&store);
    sf_stage_table_destroy(&table);
    sf_free(bytes);
    return status;
}

// ---- tables, tidying
// ---------------------------------------------------------------------------------------------------

static sf_Status csv(const Ask *ask, sf_Error *err)
{
    static const char *const names[] = { "limbs", "facts", "attachments", "wearers", "audit" };
    size_t which = 0;
    while (which < 5 && strcmp(names[which], ask->arguments.names[1]) != 0)
        which++;
    if (which == 5)
        return SF_FAIL(err, SF_E_USAGE, NULL, "there is no table %s: take one of %s", ask->arguments.names[1],
                       sf_csv_table_words);
    sf_Store *store = NULL;
    sf_Transaction *t = NULL;
    sf_Status status;
    SF_TRY_DONE(open_store(ask, SF_STORE_EXISTING, &store, err));
    SF_TRY_DONE(sf_transaction_read(&t, store, err));
    SF_TRY_DONE(sf_table_csv(t, (sf_CsvTable)which, stdout, err));
done:
    sf_transaction_end(&t);
    sf_store_close(&store);
    return status;
}

static sf_Status sweep(const Ask *ask, sf_Error *err)
{
    sf_Store *store = NULL;
    size_t removed = 0;
    SF_TRY(open_store(ask, SF_STORE_EXISTING, &store, err));
    sf_Status status = sf_shelf_sweep(store, ask->older_h * HOUR_S, &removed, err);
    sf_store_close(&store);
    if (status == SF_OK)
        printf("%zu files removed that no row names\n", removed);
    return status;
}

static const Doing doings[] = {
    { "verify", "", "prove that nothing was changed behind the store's back", 0, 0, verify },
    { "backup", "FOLDER", "write all of it to a new folder, while it is in use", 1, 1, backup },
    { "restore", "FOLDER", "make a store out of a backup (SQLite or PostgreSQL, whichever it came from)", 1, 1,
      restore },
    { "export", "LIMB", "a limb's document, or with --to FILE.tar everything with pictures", 0, 1, export_limb },
    { "import", "FILE", "a limb file, or an archive that export wrote", 1, 1, import_file },
    { "csv", "TABLE", "limbs, facts, attachments, wearers or audit as a table", 1, 1, csv },
    { "sweep", "", "remove files of uploads that were never finished", 0, 0, sweep },
};
enum { DOINGS = sizeof doings / sizeof *doings };

static sf_Status help(const sf_Option *options, size_t count)
{
    printf("standfast store WHAT\n\n");
    for (size_t i = 0; i < DOINGS; i++)
        printf("  %-8s %-7s %s\n", doings[i].name, doings[i].names, doings[i].help);
    printf("\n");
    sf_arguments_print_help(options, count);
    return SF_OK;
}

sf_Status sf_store_command(int argc, char **argv, int first, sf_Error *err)
{
    Ask ask = { .older_h = 24 };
    const sf_Option options[] = {
        { "--store", SF_OPTION_TEXT, &ask.store, 0, 0, NULL,
          "SQLite file, or postgres://... (standfast.sqlite at home)" },
        { "--files", SF_OPTION_TEXT, &ask.files, 0, 0, NULL, "folder of picture files and key (with postgres)" },
        { "--expect", SF_OPTION_TEXT, &ask.expect, 0, 0, NULL, "verify: NUMBER:HASH that was noted down before" },
        { "--skip-files", SF_OPTION_FLAG, &ask.skip_files, 0, 0, NULL, "verify: do not read the picture files" },
        { "--to", SF_OPTION_TEXT, &ask.to, 0, 0, NULL, "export: FILE.json or FILE.tar (the document, on the screen)" },
        { "--wearer", SF_OPTION_NUMBER, &ask.wearer, 1, 1e15, NULL,
          "export: of all limbs; import: for this one (new)" },
        { "--older-h", SF_OPTION_NUMBER, &ask.older_h, 0, 1e6, NULL, "sweep: older than this many hours (24)" },
    };
    const size_t count = sizeof options / sizeof *options;
    SF_TRY(sf_arguments_read(&ask.arguments, argc, argv, first, options, count, err));
    if (ask.arguments.help)
        return help(options, count);
    if (ask.wearer != (double)(int64_t)ask.wearer)
        return SF_FAIL(err, SF_E_USAGE, "--wearer", "--wearer takes a whole number");
    const char *what = ask.arguments.name_count ? ask.arguments.names[0] : "";
    for (size_t i = 0; i < DOINGS; i++) {
        if (strcmp(what, doings[i].name) != 0)
            continue;
        size_t names = ask.arguments.name_count - 1;
        if (names < doings[i].least || names > doings[i].most)
            return SF_FAIL(err, SF_E_USAGE, NULL, "it is: standfast store %s %s", doings[i].name, doings[i].names);
        return doings[i].run(&ask, err);
    }
    return SF_FAIL(err, SF_E_USAGE, NULL,
                   "say what: standfast store verify, backup, restore, export, import, csv or sweep");
}
