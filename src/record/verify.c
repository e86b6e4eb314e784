// SPDX-License-Identifier: GPL-3.0-or-later
#include "record/verify.h"

#include "base/alloc.h"
#include "record/attachment.h"
#include "record/sealed.h"
#include "record/search_word.h"
#include "record/table_walk.h"

#include <dirent.h>
#include <inttypes.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

enum { SMALL_PAGE = 500, PAGE_BYTES = 512 * 1024 * 1024, SQL_BYTES = 4096 };

typedef struct Walk {
    sf_Transaction *t;
    sf_VerifyReport *report;
    sf_Arena *page; // of the rows being looked at
} Walk;

static void problem(Walk *walk, int64_t seq, const char *format, ...) SF_PRINTF(3, 4);

/// Notes a problem; those with the lowest entries are kept, those of no entry last.
static void problem(Walk *walk, int64_t seq, const char *format, ...)
{
    sf_VerifyReport *report = walk->report;
    report->problem_count++;
    size_t at = report->kept;
    while (at > 0 && seq != 0 && (report->problems[at - 1].seq == 0 || report->problems[at - 1].seq > seq))
        at--;
    if (at == SF_VERIFY_PROBLEMS)
        return;
    if (report->kept < SF_VERIFY_PROBLEMS)
        report->kept++;
    memmove(&report->problems[at + 1], &report->problems[at], (report->kept - at - 1) * sizeof report->problems[0]);
    report->problems[at].seq = seq;
    va_list args;
    va_start(args, format);
    vsnprintf(report->problems[at].text, sizeof report->problems[at].text, format, args);
    va_end(args);
}

/// One page of rows; the page before is freed.
static sf_Status next_page(Walk *walk, const char *sql, const sf_Value *values, size_t count, sf_Rows *rows,
                           sf_Error *err)
{
    sf_arena_destroy(&walk->page);
    walk->page = sf_arena_create(PAGE_BYTES);
    if (!walk->page)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    return sf_database_query(walk->t->db, walk->page, sql, values, count, rows, err);
}

static bool same(const char *a, const char *b)
{
    return a && b && strcmp(a, b) == 0;
}

// ---- the chain -----------------------------------------------------------------------------------------------------

typedef struct Expected {
    int64_t seq;
    const char *hash;
    bool met;
} Expected;

typedef struct Chain {
    Walk *walk;
    Expected *expected;
    int64_t seq;
    char last[SF_DIGEST_HEX];
} Chain;

static sf_Status look_at_entry(void *context, sf_Arena *arena, const sf_Value *cell, sf_Error *err)
{
    Chain *chain = context;
    Walk *walk = chain->walk;
    char hash[SF_DIGEST_HEX];
    (void)arena;
    (void)err;
    if (cell[0].whole != chain->seq + 1)
        problem(walk, chain->seq + 1, "entry %" PRId64 " is missing from the chain", chain->seq + 1);
    int64_t seq = chain->seq = cell[0].whole;
    sf_chain_hash(cell, hash);
    const char *stored = cell[8].text ? cell[8].text : "";
    if (!same(cell[7].text, chain->last))
        problem(walk, seq, "entry %" PRId64 " does not follow from the one before it", seq);
    else if (strcmp(hash, stored) != 0)
        problem(walk, seq, "entry %" PRId64 " was changed", seq);
    else if (!sf_signature_holds(walk->t->store->key.public_key, hash, strlen(hash), cell[9].text))
        problem(walk, seq, "entry %" PRId64 " is not signed by this store", seq);
    snprintf(chain->last, SF_DIGEST_HEX, "%s", stored);
    if (chain->expected->hash && seq == chain->expected->seq)
        chain->expected->met = strcmp(chain->expected->hash, chain->last) == 0;
    walk->report->entries++;
    return SF_OK;
}

static sf_Status walk_chain(Walk *walk, Expected *expected, sf_Error *err)
{
    Chain chain = { .walk = walk, .expected = expected };
    memset(chain.last, '0', SF_DIGEST_HEX - 1);
    SF_TRY(sf_table_walk(walk->t, &sf_chain_table, NULL, NULL, look_at_entry, &chain, err));
    walk->report->head_seq = chain.seq;
    memcpy(walk->report->head_hash, chain.last, sizeof chain.last);
    if (chain.seq == 0)
        problem(walk, 1, "the chain is empty");
    return SF_OK;
}

// ---- rows ----------------------------------------------------------------------------------------------------------

static sf_Status content_of(sf_Text *content, const sf_SealedTable *table, const sf_Value *cell, sf_Error *err)
{
    *content = sf_text_make(PAGE_BYTES);
    sf_sealed_content(content, table, cell);
    if (!content->broken)
        return SF_OK;
    sf_text_free(content);
    return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
}

typedef struct Table {
    Walk *walk;
    const sf_SealedTable *table;
} Table;

static sf_Status look_at_sealed(void *context, sf_Arena *arena, const sf_Value *cell, sf_Error *err)
{
    Walk *walk = ((Table *)context)->walk;
    const sf_SealedTable *table = ((Table *)context)->table;
    const sf_Value *after = cell + table->count;
    int64_t seq = after[0].whole, newest = after[4].whole;
    const char *subject = sf_sealed_subject(arena, table, cell);
    char hash[SF_DIGEST_HEX] = "";
    sf_Text content;
    SF_TRY(content_of(&content, table, cell, err));
    bool salted = sf_digest_salted(content.data, content.length, after[1].text, hash);
    sf_text_free(&content);
    if (!subject)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    if (!after[2].text || !after[3].text)
        problem(walk, seq, "%s names entry %" PRId64 ", which vouches for no row", subject, seq);
    else if (strcmp(after[2].text, subject) != 0)
        problem(walk, seq, "%s names entry %" PRId64 ", which is about %.100s", subject, seq, after[2].text);
    else if (newest != seq)
        problem(walk, newest, "%s is older than entry %" PRId64 " says", subject, newest);
    else if (!salted || strcmp(hash, after[3].text) != 0)
        problem(walk, seq, "%s was changed since entry %" PRId64, subject, seq);
    walk->report->rows++;
    return SF_OK;
}

static sf_Status look_at_working(void *context, sf_Arena *arena, const sf_Value *cell, sf_Error *err)
{
    Walk *walk = ((Table *)context)->walk;
    const sf_SealedTable *table = ((Table *)context)->table;
    char seal[SF_DIGEST_HEX];
    (void)arena;
    SF_TRY(sf_working_seal(walk->t->store, table, cell, seal, err));
    if (!same(seal, cell[table->count].text))
        problem(walk, 0, "a row of %s was changed", table->name);
    walk->report->working_rows++;
    return SF_OK;
}

static sf_Status walk_table(Walk *walk, sf_SealedName name, sf_Error *err)
{
    Table table = { walk, &sf_sealed_tables[name] };
    if (name >= SF_SEALED_COUNT)
        return sf_table_walk(walk->t, table.table, "r.seal", NULL, look_at_working, &table, err);
    return sf_table_walk(walk->t, table.table,
                         "r.seq, r.salt, a.subject, a.payload_hash, (SELECT max(b.seq) FROM audit b WHERE b.subject ="
                         " a.subject AND b.payload_hash IS NOT NULL)",
                         "LEFT JOIN audit a ON a.seq = r.seq", look_at_sealed, &table, err);
}

/// Entries whose row is gone, and rows rewritten that are only ever added.
static sf_Status walk_entries(Walk *walk, sf_Error *err)
{
    sf_Text sql = sf_text_make(SQL_BYTES);
    sf_text_add(&sql,
                "SELECT a.seq, a.subject FROM audit a WHERE a.payload_hash IS NOT NULL AND NOT EXISTS (SELECT 1 FROM"
                " audit b WHERE b.subject = a.subject AND b.seq > a.seq AND b.payload_hash IS NOT NULL)");
    for (size_t i = 0; i < SF_SEALED_COUNT; i++)
        sf_text_format(&sql, " AND NOT EXISTS (SELECT 1 FROM %s r WHERE r.seq = a.seq)", sf_sealed_tables[i].name);
    sf_text_add(&sql, " ORDER BY a.seq LIMIT 50");
    sf_Rows rows = { 0 };
    sf_Status status =
        sql.broken ? SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory") : next_page(walk, sql.data, NULL, 0, &rows, err);
    sf_text_free(&sql);
    if (status != SF_OK)
        return status;
    for (size_t i = 0; i < rows.count; i++)
        problem(walk, sf_cell_whole(&rows, i, 0), "%.100s of entry %" PRId64 " is gone", sf_cell_text(&rows, i, 1),
                sf_cell_whole(&rows, i, 0));
    SF_TRY(
        next_page(walk,
                  "SELECT b.seq, b.subject FROM audit b WHERE b.payload_hash IS NOT NULL AND b.action <> 'remove-data'"
                  " AND (b.subject LIKE 'fact/%' OR b.subject LIKE 'limb_version/%' OR b.subject LIKE 'attachment/%')"
                  " AND EXISTS (SELECT 1 FROM audit a WHERE a.subject = b.subject AND a.seq < b.seq) LIMIT 50",
                  NULL, 0, &rows, err));
    for (size_t i = 0; i < rows.count; i++)
        problem(walk, sf_cell_whole(&rows, i, 0), "%.100s was written a second time by entry %" PRId64,
                sf_cell_text(&rows, i, 1), sf_cell_whole(&rows, i, 0));
    return SF_OK;
}

// ---- search words --------------------------------------------------------------------------------------------------

static sf_Status words_of_limb(Walk *walk, const sf_Value *cell, sf_Error *err)
{
    const sf_LimbHead head = { .label = cell[2].text,
                               .side = cell[3].text,
                               .sheet_lot = cell[4].text,
                               .stage = cell[5].text,
                               .flags = cell[6].text };
    sf_SearchWords words;
    sf_search_words_of(&words, &head, cell[7].text);
    sf_Rows found;
    SF_TRY(sf_database_query(walk->t->db, walk->page, "SELECT word FROM limb_word WHERE limb = $1 ORDER BY word",
                             SF_BIND(cell[0]), &found, err));
    bool good = found.count == words.count;
    for (size_t i = 0; good && i < words.count; i++)
        good = same(sf_cell_text(&found, i, 0), words.word[i]);
    if (!good)
        problem(walk, cell[1].whole, "the search words of limb/%" PRId64 " do not go with it", cell[0].whole);
    walk->report->words += (int64_t)found.count;
    return SF_OK;
}

static sf_Status walk_words(Walk *walk, sf_Error *err)
{
    sf_Rows rows = { .count = SMALL_PAGE };
    int64_t last = INT64_MIN;
    while (rows.count == SMALL_PAGE) {
        SF_TRY(next_page(walk,
                         "SELECT l.id, l.seq, l.label, l.side, l.sheet_lot, l.stage, l.flags, w.pseudonym FROM limb l"
                         " LEFT JOIN wearer w ON w.id = l.wearer WHERE l.id > $1 ORDER BY l.id LIMIT $2",
                         SF_BIND(sf_whole(last), sf_whole(SMALL_PAGE)), &rows, err));
        for (size_t i = 0; i < rows.count; i++) {
            last = sf_cell_whole(&rows, i, 0);
            SF_TRY(words_of_limb(walk, &rows.cells[i * rows.columns], err));
        }
    }
    SF_TRY(next_page(walk, "SELECT count(*) FROM limb_word", NULL, 0, &rows, err));
    if (sf_cell_whole(&rows, 0, 0) != walk->report->words)
        problem(walk, 0, "there are search words of limbs that are not there");
    return SF_OK;
}

// ---- picture files -------------------------------------------------------------------------------------------------

static void look_at_file(Walk *walk, const sf_Value *cell)
{
    unsigned char *bytes = NULL;
    size_t size = 0;
    sf_Error err;
    sf_Status status = sf_shelf_get(walk->t->store, cell[0].text, &bytes, &size, &err);
    if (status != SF_OK)
        problem(walk, cell[1].whole, "attachment/%" PRId64 " of entry %" PRId64 ": %.250s", cell[2].whole,
                cell[1].whole, status == SF_E_MISSING ? "its file is gone" : err.text);
    else if ((int64_t)size != cell[3].whole)
        problem(walk, cell[1].whole, "attachment/%" PRId64 " of entry %" PRId64 " says another size than its file has",
                cell[2].whole, cell[1].whole);
    sf_free(bytes);
    walk->report->files++;
    walk->report->file_bytes += (int64_t)size;
}

static sf_Status count_unnamed(Walk *walk, const char *folder, sf_Error *err)
{
    DIR *dir = opendir(folder);
    if (!dir)
        return SF_OK; // a file of two letters, not ours
    sf_Status status = SF_OK;
    for (struct dirent *entry; status == SF_OK && (entry = readdir(dir));) {
        if (entry->d_name[0] == '.')
            continue;
        sf_Rows rows;
        status = next_page(walk, "SELECT count(*) FROM attachment WHERE file_hash = $1 AND removed_at IS NULL",
                           SF_BIND(sf_words(entry->d_name)), &rows, err);
        if (status == SF_OK && sf_cell_whole(&rows, 0, 0) == 0)
            walk->report->unnamed_files++;
    }
    closedir(dir);
    return status;
}

static sf_Status walk_files(Walk *walk, sf_Error *err)
{
    char *last = sf_copy_text("", 0);
    sf_Status status = SF_OK;
    sf_Rows rows = { .count = SMALL_PAGE };
    while (last && status == SF_OK && rows.count == SMALL_PAGE) {
        status =
            next_page(walk,
                      "SELECT file_hash, min(seq), min(id), max(bytes) FROM attachment WHERE removed_at IS NULL AND"
                      " file_hash > $1 GROUP BY file_hash ORDER BY file_hash LIMIT $2",
                      SF_BIND(sf_words(last), sf_whole(SMALL_PAGE)), &rows, err);
        for (size_t i = 0; i < rows.count; i++)
            look_at_file(walk, &rows.cells[i * rows.columns]);
        if (rows.count) {
            const char *hash = sf_cell_text(&rows, rows.count - 1, 0);
            sf_free(last);
            last = sf_copy_text(hash, strlen(hash));
        }
    }
    if (!last)
        status = SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    sf_free(last);
    return status;
}

static sf_Status walk_unnamed(Walk *walk, sf_Error *err)
{
    DIR *dir = opendir(walk->t->store->files);
    if (!dir)
        return SF_FAIL(err, SF_E_STORE, walk->t->store->files, "the folder of the picture files %s cannot be read",
                       walk->t->store->files);
    sf_Status status = SF_OK;
    for (struct dirent *entry; status == SF_OK && (entry = readdir(dir));) {
        if (strlen(entry->d_name) != 2 || entry->d_name[0] == '.')
            continue;
        sf_Text folder = sf_text_make(SQL_BYTES);
        sf_text_format(&folder, "%s/%s", walk->t->store->files, entry->d_name);
        status =
            folder.broken ? SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory") : count_unnamed(walk, folder.data, err);
        sf_text_free(&folder);
    }
    closedir(dir);
    return status;
}

// ---- all of it -----------------------------------------------------------------------------------------------------

static sf_Status walk_structure(Walk *walk, sf_Error *err)
{
    sf_Rows rows;
    if (!walk->t->db->kind->inspect)
        return SF_OK;
    SF_TRY(next_page(walk, walk->t->db->kind->inspect, NULL, 0, &rows, err));
    for (size_t i = 0; i < rows.count; i++) {
        const char *words = sf_cell_text(&rows, i, 0);
        if (!same(words, "ok"))
            problem(walk, 0, "the file of the store is damaged: %.250s", words ? words : "");
    }
    return SF_OK;
}

static sf_Status read_expected(Expected *expected, const char *text, sf_Error *err)
{
    *expected = (Expected){ 0, NULL, false };
    if (!text)
        return SF_OK;
    size_t digits = strspn(text, "0123456789");
    if (digits == 0 || digits > 18 || text[digits] != ':' || strlen(text + digits + 1) != SF_DIGEST_HEX - 1)
        return SF_FAIL(err, SF_E_INPUT, "expect",
                       "give the newest entry as an earlier proof printed it: NUMBER:HASH");
    for (size_t i = 0; i < digits; i++)
        expected->seq = expected->seq * 10 + (text[i] - '0');
    expected->hash = text + digits + 1;
    return SF_OK;
}

sf_Status sf_store_verify(sf_Store *store, const sf_VerifyAsk *ask, sf_VerifyReport *report, sf_Error *err)
{
    memset(report, 0, sizeof *report);
    Walk walk = { .report = report };
    Expected expected;
    sf_Status status;
    SF_TRY(read_expected(&expected, ask->expect, err));
    SF_TRY(sf_transaction_read(&walk.t, store, err));
    SF_TRY_DONE(walk_structure(&walk, err));
    SF_TRY_DONE(walk_chain(&walk, &expected, err));
    for (int name = 0; name < SF_TABLE_COUNT; name++)
        SF_TRY_DONE(walk_table(&walk, (sf_SealedName)name, err));
    SF_TRY_DONE(walk_entries(&walk, err));
    SF_TRY_DONE(walk_words(&walk, err));
    if (!ask->skip_files)
        SF_TRY_DONE(walk_files(&walk, err));
    SF_TRY_DONE(walk_unnamed(&walk, err));
    if (expected.hash && !expected.met)
        problem(&walk, expected.seq, "entry %" PRId64 " is not the one that was noted down", expected.seq);
done:
    sf_arena_destroy(&walk.page);
    sf_transaction_end(&walk.t);
    return status;
}
