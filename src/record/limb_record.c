// SPDX-License-Identifier: GPL-3.0-or-later
#include "record/limb_record.h"

#include "base/date.h"
#include "record/sealed.h"
#include "record/wearer.h"

#include <inttypes.h>
#include <string.h>

enum { COLUMNS = 12, DOCUMENT_MOST = 16 * 1024 * 1024 };

static void values_of(const sf_LimbRow *row, sf_Value values[COLUMNS])
{
    const sf_LimbHead *head = &row->head;
    const sf_Value list[COLUMNS] = {
        sf_whole(row->id),         sf_whole(row->wearer),       sf_whole(row->version),   sf_words(row->made_at),
        sf_words(row->changed_at), sf_words(head->label),       sf_words(head->side),     sf_words(head->sheet_lot),
        sf_words(head->stage),     sf_words(head->next_action), sf_words(head->next_due), sf_words(head->flags),
    };
    memcpy(values, list, sizeof list);
}

static sf_LimbRow row_of(const sf_Rows *rows, size_t i)
{
    const sf_Value *cell = &rows->cells[i * rows->columns];
    return (sf_LimbRow){
        cell[0].whole,
        cell[1].whole,
        cell[2].whole,
        cell[3].text,
        cell[4].text,
        { cell[5].text, cell[6].text, cell[7].text, cell[8].text, cell[9].text, cell[10].text, cell[11].text }
    };
}

static sf_Status check_head(const sf_LimbHead *head, sf_Error *err)
{
    SF_TRY(sf_record_check_text(head->label, "label", 0, SF_LIMB_HEAD_TEXT, err));
    SF_TRY(sf_record_check_text(head->side, "side", 0, SF_LIMB_HEAD_TEXT, err));
    SF_TRY(sf_record_check_text(head->sheet_lot, "sheet_lot", 0, SF_LIMB_HEAD_TEXT, err));
    SF_TRY(sf_record_check_text(head->stage, "stage", 0, SF_LIMB_HEAD_TEXT, err));
    SF_TRY(sf_record_check_text(head->next_action, "next_action", 0, SF_LIMB_HEAD_TEXT, err));
    SF_TRY(sf_record_check_text(head->flags, "flags", 0, SF_LIMB_HEAD_TEXT, err));
    sf_Date date;
    return head->next_due ? sf_date_parse(&date, head->next_due, "next_due", err) : SF_OK;
}

static sf_Status add_version(sf_Transaction *t, const char *action, int64_t limb, int64_t version, const char *document,
                             sf_Error *err)
{
    const sf_Value row[] = { sf_whole(limb), sf_whole(version), sf_words(document), sf_words(t->time),
                             sf_whole(t->who) };
    return sf_sealed_add(t, SF_SEALED_LIMB_VERSION, action, limb, row, err);
}

sf_Status sf_limb_record_add(sf_Transaction *t, int64_t wearer, const sf_LimbHead *head, const char *document,
                             int64_t *id, sf_Error *err)
{
    SF_TRY(check_head(head, err));
    SF_TRY(sf_record_check_text(document, "document", 2, DOCUMENT_MOST, err));
    sf_Wearer known;
    SF_TRY(sf_wearer_get(t, wearer, &known, err));
    sf_LimbRow row = { .wearer = wearer, .version = 1, .made_at = t->time, .changed_at = t->time, .head = *head };
    SF_TRY(sf_next_id(t, "limb", &row.id, err));
    sf_Value values[COLUMNS];
    values_of(&row, values);
    SF_TRY(sf_sealed_add(t, SF_SEALED_LIMB, "add", row.id, values, err));
    *id = row.id;
    return add_version(t, "add", row.id, 1, document, err);
}

sf_Status sf_limb_record_save(sf_Transaction *t, int64_t id, int64_t expected, const sf_LimbHead *head,
                              const char *document, int64_t *version, sf_Error *err)
{
    SF_TRY(check_head(head, err));
    SF_TRY(sf_record_check_text(document, "document", 2, DOCUMENT_MOST, err));
    sf_LimbRow row;
    SF_TRY(sf_limb_record_get(t, id, &row, err));
    *version = row.version;
    if (row.version != expected)
        return SF_FAIL(err, SF_E_CONFLICT, "version",
                       "somebody else has saved this limb meanwhile: it is at version %" PRId64
                       ", yours began at %" PRId64 ". Look at what changed and save again",
                       row.version, expected);
    row.version++;
    row.changed_at = t->time;
    row.head = *head;
    sf_Value values[COLUMNS];
    values_of(&row, values);
    SF_TRY(sf_sealed_change(t, SF_SEALED_LIMB, "save", id, values, err));
    SF_TRY(add_version(t, "save", id, row.version, document, err));
    *version = row.version;
    return SF_OK;
}

static bool same_text(const char *a, const char *b)
{
    return a == b || (a && b && strcmp(a, b) == 0);
}

sf_Status sf_limb_record_set_head(sf_Transaction *t, int64_t id, const sf_LimbHead *head, sf_Error *err)
{
    SF_TRY(check_head(head, err));
    sf_LimbRow row;
    SF_TRY(sf_limb_record_get(t, id, &row, err));
    const sf_LimbHead *old = &row.head;
    if (same_text(old->label, head->label) && same_text(old->side, head->side) &&
        same_text(old->sheet_lot, head->sheet_lot) && same_text(old->stage, head->stage) &&
        same_text(old->next_action, head->next_action) && same_text(old->next_due, head->next_due) &&
        same_text(old->flags, head->flags))
        return SF_OK;
    row.head = *head;
    row.changed_at = t->time;
    sf_Value values[COLUMNS];
    values_of(&row, values);
    return sf_sealed_change(t, SF_SEALED_LIMB, "set-head", id, values, err);
}

#define HEAD_COLUMNS                                                                                                   \
    "l.id, l.wearer, l.version, l.made_at, l.changed_at, l.label, l.side, l.sheet_lot, l.stage, l.next_action,"        \
    " l.next_due, l.flags"

sf_Status sf_limb_record_get(sf_Transaction *t, int64_t id, sf_LimbRow *row, sf_Error *err)
{
    sf_Rows rows;
    SF_TRY(sf_transaction_query(t, "SELECT " HEAD_COLUMNS " FROM limb l WHERE l.id = $1", SF_BIND(sf_whole(id)), &rows,
                                err));
    if (rows.count == 0)
        return SF_FAIL(err, SF_E_MISSING, "limb", "there is no limb %" PRId64, id);
    *row = row_of(&rows, 0);
    return SF_OK;
}

sf_Status sf_limb_record_document(sf_Transaction *t, int64_t id, int64_t version, const char **document, sf_Error *err)
{
    sf_Rows rows;
    SF_TRY(sf_transaction_query(t,
                                "SELECT v.document FROM limb l JOIN limb_version v ON v.limb = l.id AND v.version ="
                                " CASE WHEN $2 = 0 THEN l.version ELSE $2 END WHERE l.id = $1",
                                SF_BIND(sf_whole(id), sf_whole(version)), &rows, err));
    if (rows.count == 0)
        return SF_FAIL(err, SF_E_MISSING, "limb", "there is no limb %" PRId64 " with this version", id);
    *document = sf_cell_text(&rows, 0, 0);
    if (!*document)
        return SF_FAIL(err, SF_E_MISSING, "limb", "this version was removed with the wearer's data");
    return SF_OK;
}

sf_Status sf_limb_record_versions(sf_Transaction *t, int64_t id, bool documents, sf_LimbVersion **versions,
                                  size_t *count, sf_Error *err)
{
    sf_Rows rows;
    SF_TRY(sf_transaction_query(t,
                                documents
                                    ? "SELECT version, who, at, document FROM limb_version WHERE limb = $1"
                                      " ORDER BY version"
                                    : "SELECT version, who, at FROM limb_version WHERE limb = $1 ORDER BY version",
                                SF_BIND(sf_whole(id)), &rows, err));
    sf_LimbVersion *list = sf_arena_alloc(t->arena, rows.count, sizeof *list);
    if (!list)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    for (size_t i = 0; i < rows.count; i++)
        list[i] = (sf_LimbVersion){ sf_cell_whole(&rows, i, 0), sf_cell_whole(&rows, i, 1), sf_cell_text(&rows, i, 2),
                                    documents ? sf_cell_text(&rows, i, 3) : NULL };
    *versions = list;
    *count = rows.count;
    return SF_OK;
}

sf_Status sf_limb_record_count(sf_Transaction *t, int64_t *count, sf_Error *err)
{
    sf_Rows rows;
    SF_TRY(sf_transaction_query(t, "SELECT count(*) FROM limb", SF_BIND_NONE, &rows, err));
    *count = sf_cell_whole(&rows, 0, 0);
    return SF_OK;
}

// ---- list ----------------------------------------------------------------------------------------------------------

enum { PAGE_MOST = 1000, ASK_BYTES = 4096 };

typedef struct Asked {
    sf_Text sql;
    sf_Value values[SF_DATABASE_PARAMETERS_MOST];
    size_t count;
} Asked;

/// Adds a condition whose one "$" stands for the value.
static void condition(Asked *asked, const char *sql, sf_Value value)
{
    const char *dollar = strchr(sql, '$');
    asked->values[asked->count++] = value;
    sf_text_add(&asked->sql, " AND ");
    sf_text_add_bytes(&asked->sql, sql, (size_t)(dollar - sql));
    sf_text_format(&asked->sql, "$%zu%s", asked->count, dollar + 1);
}

/// "2026-12-09/17" or "17": the place of the last row of the page before.
static sf_Status read_cursor(sf_Transaction *t, const char *cursor, bool dated, const char **date, int64_t *id,
                             sf_Error *err)
{
    const char *slash = strrchr(cursor, '/');
    const char *number = slash ? slash + 1 : cursor;
    size_t digits = strspn(number, "0123456789");
    if (dated != (slash != NULL) || digits == 0 || digits > 18 || number[digits] || strlen(cursor) > 64)
        return SF_FAIL(err, SF_E_INPUT, "after", "this is no place in the list: start from its beginning");
    *id = 0;
    for (size_t i = 0; i < digits; i++)
        *id = *id * 10 + (number[i] - '0');
    if (dated) {
        char *copy = sf_arena_text(t->arena, cursor);
        if (!copy)
            return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
        copy[slash - cursor] = 0;
        *date = copy;
    }
    return SF_OK;
}

static sf_Status add_place(sf_Transaction *t, Asked *asked, const sf_LimbAsk *ask, sf_Error *err)
{
    const char *date = NULL;
    int64_t id = 0;
    if (!ask->after)
        return SF_OK;
    SF_TRY(read_cursor(t, ask->after, ask->order != SF_LIMB_NEWEST, &date, &id, err));
    if (ask->order == SF_LIMB_NEWEST) {
        condition(asked, "l.id < $", sf_whole(id));
        return SF_OK;
    }
    asked->values[asked->count++] = sf_words(date);
    asked->values[asked->count++] = sf_whole(id);
    sf_text_format(&asked->sql, " AND (l.%s, l.id) %s ($%zu, $%zu)",
                   ask->order == SF_LIMB_NEXT_DUE ? "next_due" : "changed_at",
                   ask->order == SF_LIMB_NEXT_DUE ? ">" : "<", asked->count - 1, asked->count);
    return SF_OK;
}

/// What was typed, as a pattern for LIKE.
static const char *pattern(sf_Arena *arena, const char *typed)
{
    sf_Text text = sf_text_make(ASK_BYTES);
    sf_text_add(&text, "%");
    for (; *typed; typed++) {
        char sign[3] = { '\\', *typed, 0 };
        if (*typed >= 'A' && *typed <= 'Z')
            sign[1] = (char)(*typed - 'A' + 'a');
        sf_text_add(&text, strchr("%_\\", *typed) ? sign : sign + 1);
    }
    sf_text_add(&text, "%");
    const char *copy = text.broken ? NULL : sf_arena_text(arena, text.data);
    sf_text_free(&text);
    return copy;
}

static sf_Status build(sf_Transaction *t, Asked *asked, const sf_LimbAsk *ask, size_t count, sf_Error *err)
{
    static const char *const orders[] = { "l.id DESC", "l.next_due, l.id", "l.changed_at DESC, l.id DESC" };
    sf_text_add(&asked->sql, "SELECT " HEAD_COLUMNS " FROM limb l WHERE 1 = 1");
    if (ask->search && *ask->search) {
        const char *like = pattern(t->arena, ask->search);
        if (!like)
            return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
        condition(asked, "lower(l.label) LIKE $ ESCAPE '\\'", sf_words(like));
    }
    if (ask->sheet_lot)
        condition(asked, "l.sheet_lot = $", sf_words(ask->sheet_lot));
    if (ask->stage)
        condition(asked, "l.stage = $", sf_words(ask->stage));
    if (ask->flag) {
        const char *flag = sf_arena_format(t->arena, " %s ", ask->flag);
        const char *like = flag ? pattern(t->arena, flag) : NULL;
        if (!like)
            return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
        condition(asked, "' ' || l.flags || ' ' LIKE $ ESCAPE '\\'", sf_words(like));
    }
    if (ask->wearer)
        condition(asked, "l.wearer = $", sf_whole(ask->wearer));
    if (ask->due_until)
        condition(asked, "l.next_due <= $", sf_words(ask->due_until));
    if (ask->order == SF_LIMB_NEXT_DUE)
        sf_text_add(&asked->sql, " AND l.next_due IS NOT NULL");
    SF_TRY(add_place(t, asked, ask, err));
    asked->values[asked->count++] = sf_whole((int64_t)count + 1); // one more tells whether there is a next page
    sf_text_format(&asked->sql, " ORDER BY %s LIMIT $%zu", orders[ask->order], asked->count);
    return asked->sql.broken ? SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory") : SF_OK;
}

static const char *cursor_of(sf_Arena *arena, sf_LimbOrder order, const sf_LimbRow *row)
{
    if (order == SF_LIMB_NEWEST)
        return sf_arena_format(arena, "%" PRId64, row->id);
    return sf_arena_format(arena, "%s/%" PRId64, order == SF_LIMB_NEXT_DUE ? row->head.next_due : row->changed_at,
                           row->id);
}

sf_Status sf_limb_record_list(sf_Transaction *t, const sf_LimbAsk *ask, sf_LimbRow **list, size_t *count,
                              const char **next, sf_Error *err)
{
    *list = NULL;
    *count = 0;
    *next = NULL;
    size_t page = ask->count < 1 ? 1 : ask->count > PAGE_MOST ? PAGE_MOST : ask->count;
    SF_TRY(sf_record_check_text(ask->search, "search", 0, 200, err));
    Asked asked = { .sql = sf_text_make(ASK_BYTES) };
    sf_Rows rows = { 0 };
    sf_Status status = build(t, &asked, ask, page, err);
    if (status == SF_OK)
        status = sf_transaction_query(t, asked.sql.data, asked.values, asked.count, &rows, err);
    sf_text_free(&asked.sql);
    if (status != SF_OK)
        return status;
    sf_LimbRow *found = sf_arena_alloc(t->arena, rows.count, sizeof *found);
    if (!found)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    *count = rows.count > page ? page : rows.count;
    for (size_t i = 0; i < *count; i++)
        found[i] = row_of(&rows, i);
    *list = found;
    if (rows.count > page) {
        *next = cursor_of(t->arena, ask->order, &found[page - 1]);
        if (!*next)
            return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    }
    return SF_OK;
}
