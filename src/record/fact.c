// SPDX-License-Identifier: GPL-3.0-or-later
#include "record/fact.h"

#include "base/date.h"
#include "record/limb_record.h"
#include "record/sealed.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>

enum { ORIGIN_MOST = 4096 };

#define FACTS                                                                                                          \
    "SELECT f.id, f.limb, f.who, f.kind, f.happened_at, f.recorded_at, f.body, f.origin, f.withdraws, w.id"            \
    " FROM fact f LEFT JOIN fact w ON w.withdraws = f.id"

static sf_Fact fact_of(const sf_Rows *rows, size_t i)
{
    const sf_Value *cell = &rows->cells[i * rows->columns];
    return (sf_Fact){ cell[0].whole, cell[1].whole, cell[2].whole, cell[3].text,  cell[4].text,
                      cell[5].text,  cell[6].text,  cell[7].text,  cell[8].whole, cell[9].whole };
}

static sf_Status many(sf_Transaction *t, const sf_Rows *rows, sf_Fact **facts, size_t *count, sf_Error *err)
{
    sf_Fact *list = sf_arena_alloc(t->arena, rows->count, sizeof *list);
    if (!list)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    for (size_t i = 0; i < rows->count; i++)
        list[i] = fact_of(rows, i);
    *facts = list;
    *count = rows->count;
    return SF_OK;
}

static bool is_kind(const char *kind)
{
    size_t n = kind ? strlen(kind) : 0;
    return n > 0 && n <= SF_FACT_KIND_MOST && strspn(kind, "abcdefghijklmnopqrstuvwxyz0123456789-_") == n;
}

static bool is_day_or_time(const char *text)
{
    sf_Date date;
    return text && (sf_time_is_good(text) || sf_date_parse(&date, text, NULL, NULL) == SF_OK);
}

static sf_Status check(sf_Transaction *t, const sf_Fact *fact, sf_Error *err)
{
    if (!is_kind(fact->kind))
        return SF_FAIL(err, SF_E_INPUT, "kind", "a kind of fact is 1 to %d small letters, digits and dashes",
                       SF_FACT_KIND_MOST);
    if (!is_day_or_time(fact->happened_at))
        return SF_FAIL(err, SF_E_INPUT, "happened_at", "say when it happened: 2026-11-25, or 2026-11-25T14:03:22.123Z");
    SF_TRY(sf_record_check_text(fact->body, "body", 2, SF_FACT_BODY_MOST, err));
    SF_TRY(sf_record_check_text(fact->origin, "origin", 0, ORIGIN_MOST, err));
    sf_LimbRow limb;
    SF_TRY(sf_limb_record_get(t, fact->limb, &limb, err));
    if (!fact->withdraws)
        return SF_OK;
    sf_Fact old;
    SF_TRY(sf_fact_get(t, fact->withdraws, &old, err));
    if (old.limb != fact->limb)
        return SF_FAIL(err, SF_E_INPUT, "withdraws", "fact %" PRId64 " belongs to another limb", fact->withdraws);
    if (old.withdrawn_by)
        return SF_FAIL(err, SF_E_CONFLICT, "withdraws", "fact %" PRId64 " was withdrawn already, by fact %" PRId64,
                       fact->withdraws, old.withdrawn_by);
    return SF_OK;
}

sf_Status sf_fact_add(sf_Transaction *t, const sf_Fact *fact, int64_t *id, sf_Error *err)
{
    SF_TRY(check(t, fact, err));
    SF_TRY(sf_next_id(t, "fact", id, err));
    const sf_Value row[] = { sf_whole(*id),         sf_whole(fact->limb),
                             sf_words(fact->kind),  sf_words(fact->happened_at),
                             sf_words(t->time),     sf_whole(t->who),
                             sf_words(fact->body),  sf_reference(fact->withdraws),
                             sf_words(fact->origin) };
    return sf_sealed_add(t, SF_SEALED_FACT, fact->withdraws ? "withdraw" : "add", fact->limb, row,
                         sizeof row / sizeof *row, err);
}

sf_Status sf_fact_get(sf_Transaction *t, int64_t id, sf_Fact *fact, sf_Error *err)
{
    sf_Rows rows;
    SF_TRY(sf_transaction_query(t, FACTS " WHERE f.id = $1", SF_BIND(sf_whole(id)), &rows, err));
    if (rows.count == 0)
        return SF_FAIL(err, SF_E_MISSING, "fact", "there is no fact %" PRId64, id);
    *fact = fact_of(&rows, 0);
    return SF_OK;
}

sf_Status sf_fact_list(sf_Transaction *t, int64_t limb, sf_Fact **facts, size_t *count, sf_Error *err)
{
    sf_Rows rows;
    SF_TRY(sf_transaction_query(t, FACTS " WHERE f.limb = $1 ORDER BY f.id", SF_BIND(sf_whole(limb)), &rows, err));
    return many(t, &rows, facts, count, err);
}

sf_Status sf_fact_of_kind(sf_Transaction *t, const char *kind, int64_t after, size_t most, sf_Fact **facts,
                          size_t *count, sf_Error *err)
{
    sf_Rows rows;
    SF_TRY(sf_transaction_query(t, FACTS " WHERE f.kind = $1 AND f.id > $2 ORDER BY f.id LIMIT $3",
                                SF_BIND(sf_words(kind), sf_whole(after), sf_whole((int64_t)most)), &rows, err));
    return many(t, &rows, facts, count, err);
}
