// SPDX-License-Identifier: GPL-3.0-or-later
#include "record/limb_record.h"

#include "base/date.h"
#include "record/limb_row.h"
#include "record/sealed.h"
#include "record/search_word.h"
#include "record/wearer.h"

#include <inttypes.h>
#include <string.h>

enum { COLUMNS = 14, DOCUMENT_MOST = 16 * 1024 * 1024 };

static void values_of(const sf_LimbRow *row, sf_Value values[COLUMNS])
{
    const sf_LimbHead *head = &row->head;
    const sf_Value list[COLUMNS] = {
        sf_whole(row->id),         sf_whole(row->wearer),       sf_whole(row->version),   sf_words(row->made_at),
        sf_words(row->changed_at), sf_words(head->label),       sf_words(head->side),     sf_words(head->sheet_lot),
        sf_words(head->stage),     sf_words(head->next_action), sf_words(head->next_due), sf_words(head->flags),
        sf_words(row->origin),     sf_words(head->dues),
    };
    memcpy(values, list, sizeof list);
}

sf_LimbRow sf_limb_row_of(const sf_Rows *rows, size_t i)
{
    const sf_Value *cell = &rows->cells[i * rows->columns];
    return (sf_LimbRow){
        cell[0].whole,
        cell[1].whole,
        cell[2].whole,
        cell[3].text,
        cell[4].text,
        { cell[5].text, cell[6].text, cell[7].text, cell[8].text, cell[9].text, cell[10].text, cell[11].text,
          cell[13].text },
        cell[12].text,
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
    SF_TRY(sf_record_check_text(head->dues, "dues", 0, SF_LIMB_DUES_TEXT, err));
    sf_Date date;
    return head->next_due ? sf_date_parse(&date, head->next_due, "next_due", err) : SF_OK;
}

static sf_Status add_version(sf_Transaction *t, const char *action, int64_t limb, int64_t version, const char *document,
                             sf_Error *err)
{
    const sf_Value row[] = { sf_whole(limb), sf_whole(version), sf_words(document), sf_words(t->time),
                             sf_whole(t->who) };
    return sf_sealed_add(t, SF_SEALED_LIMB_VERSION, action, limb, row, sizeof row / sizeof *row, err);
}

/// Writes the limb's words when they are others than before; `old` NULL: there were none.
static sf_Status store_words(sf_Transaction *t, const sf_LimbRow *row, const sf_LimbHead *old, sf_Error *err)
{
    sf_Wearer wearer;
    SF_TRY(sf_wearer_get(t, row->wearer, &wearer, err));
    sf_SearchWords before = { .count = 0 }, now = { .count = 0 };
    sf_search_words_of(&now, &row->head, wearer.pseudonym);
    if (old) {
        sf_search_words_of(&before, old, wearer.pseudonym);
        bool same = before.count == now.count;
        for (size_t i = 0; same && i < now.count; i++)
            same = strcmp(before.word[i], now.word[i]) == 0;
        if (same)
            return SF_OK;
    }
    return sf_search_words_store(t, row->id, &now, !old, err);
}

sf_Status sf_limb_row_change(sf_Transaction *t, const char *action, const sf_LimbRow *row, const sf_LimbHead *old,
                             sf_Error *err)
{
    sf_Value values[COLUMNS];
    values_of(row, values);
    SF_TRY(check_head(&row->head, err));
    SF_TRY(sf_sealed_change(t, SF_SEALED_LIMB, action, row->id, values, COLUMNS, err));
    return store_words(t, row, old, err);
}

sf_Status sf_limb_record_add(sf_Transaction *t, int64_t wearer, const sf_LimbHead *head, const char *document,
                             int64_t *id, sf_Error *err)
{
    return sf_limb_record_import(t, wearer, head, NULL, document, id, err);
}

sf_Status sf_limb_record_import(sf_Transaction *t, int64_t wearer, const sf_LimbHead *head, const char *origin,
                                const char *document, int64_t *id, sf_Error *err)
{
    SF_TRY(sf_record_check_text(origin, "origin", 0, SF_LIMB_HEAD_TEXT, err));
    SF_TRY(check_head(head, err));
    SF_TRY(sf_record_check_text(document, "document", 2, DOCUMENT_MOST, err));
    sf_Wearer known;
    SF_TRY(sf_wearer_get(t, wearer, &known, err));
    sf_LimbRow row = {
        .wearer = wearer, .version = 1, .made_at = t->time, .changed_at = t->time, .head = *head, .origin = origin
    };
    SF_TRY(sf_next_id(t, "limb", &row.id, err));
    sf_Value values[COLUMNS];
    values_of(&row, values);
    SF_TRY(sf_sealed_add(t, SF_SEALED_LIMB, origin ? "import" : "add", row.id, values, sizeof values / sizeof *values,
                         err));
    SF_TRY(store_words(t, &row, NULL, err));
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
    const sf_LimbHead old = row.head;
    row.version++;
    row.changed_at = t->time;
    row.head = *head;
    SF_TRY(sf_limb_row_change(t, "save", &row, &old, err));
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
    const sf_LimbHead old = row.head;
    if (same_text(old.label, head->label) && same_text(old.side, head->side) &&
        same_text(old.sheet_lot, head->sheet_lot) && same_text(old.stage, head->stage) &&
        same_text(old.next_action, head->next_action) && same_text(old.next_due, head->next_due) &&
        same_text(old.flags, head->flags) && same_text(old.dues, head->dues))
        return SF_OK;
    row.head = *head;
    row.changed_at = t->time;
    return sf_limb_row_change(t, "set-head", &row, &old, err);
}

sf_Status sf_limb_record_get(sf_Transaction *t, int64_t id, sf_LimbRow *row, sf_Error *err)
{
    sf_Rows rows;
    SF_TRY(sf_transaction_query(t, SF_LIMB_SELECT " FROM limb l WHERE l.id = $1", SF_BIND(sf_whole(id)), &rows, err));
    if (rows.count == 0)
        return SF_FAIL(err, SF_E_MISSING, "limb", "there is no limb %" PRId64, id);
    *row = sf_limb_row_of(&rows, 0);
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

sf_Status sf_limb_record_count_at(sf_Transaction *t, const char *stage, int64_t *count, sf_Error *err)
{
    sf_Rows rows;
    SF_TRY(sf_transaction_query(t, "SELECT count(*) FROM limb WHERE stage = $1", SF_BIND(sf_words(stage)), &rows, err));
    *count = sf_cell_whole(&rows, 0, 0);
    return SF_OK;
}
