// SPDX-License-Identifier: GPL-3.0-or-later
#include "record/wearer.h"

#include "record/sealed.h"
#include "seal/token.h"

#include <inttypes.h>

static sf_Wearer wearer_of(const sf_Rows *rows, size_t i)
{
    const sf_Value *cell = &rows->cells[i * rows->columns];
    return (sf_Wearer){ cell[0].whole, cell[1].text, cell[2].text, cell[3].text, cell[4].text };
}

sf_Status sf_wearer_add(sf_Transaction *t, const char *label, int64_t *id, sf_Error *err)
{
    SF_TRY(sf_record_check_text(label, "label", 1, SF_WEARER_LABEL_MOST, err));
    SF_TRY(sf_next_id(t, "wearer", id, err));
    char pseudonym[SF_PSEUDONYM_TEXT];
    sf_token_pseudonym(pseudonym);
    const sf_Value row[] = { sf_whole(*id), sf_words(label), sf_words(pseudonym), sf_words(t->time), sf_words(NULL) };
    return sf_sealed_add(t, SF_SEALED_WEARER, "add", 0, row, sizeof row / sizeof *row, err);
}

sf_Status sf_wearer_rename(sf_Transaction *t, int64_t id, const char *label, sf_Error *err)
{
    SF_TRY(sf_record_check_text(label, "label", 1, SF_WEARER_LABEL_MOST, err));
    sf_Wearer wearer;
    SF_TRY(sf_wearer_get(t, id, &wearer, err));
    if (wearer.removed_at)
        return SF_FAIL(err, SF_E_INPUT, "wearer", "the data of this wearer was removed: add a new wearer");
    const sf_Value row[] = { sf_whole(id), sf_words(label), sf_words(wearer.pseudonym), sf_words(wearer.made_at),
                             sf_words(NULL) };
    return sf_sealed_change(t, SF_SEALED_WEARER, "change", 0, row, sizeof row / sizeof *row, err);
}

sf_Status sf_wearer_get(sf_Transaction *t, int64_t id, sf_Wearer *wearer, sf_Error *err)
{
    sf_Rows rows;
    SF_TRY(sf_transaction_query(t, "SELECT id, label, pseudonym, made_at, removed_at FROM wearer WHERE id = $1",
                                SF_BIND(sf_whole(id)), &rows, err));
    if (rows.count == 0)
        return SF_FAIL(err, SF_E_MISSING, "wearer", "there is no wearer %" PRId64, id);
    *wearer = wearer_of(&rows, 0);
    return SF_OK;
}

sf_Status sf_wearer_list(sf_Transaction *t, int64_t after, size_t most, sf_Wearer **wearers, size_t *count,
                         sf_Error *err)
{
    sf_Rows rows;
    SF_TRY(sf_transaction_query(t,
                                "SELECT id, label, pseudonym, made_at, removed_at FROM wearer WHERE id > $1"
                                " ORDER BY id LIMIT $2",
                                SF_BIND(sf_whole(after), sf_whole((int64_t)most)), &rows, err));
    sf_Wearer *list = sf_arena_alloc(t->arena, rows.count, sizeof *list);
    if (!list)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    for (size_t i = 0; i < rows.count; i++)
        list[i] = wearer_of(&rows, i);
    *wearers = list;
    *count = rows.count;
    return SF_OK;
}
