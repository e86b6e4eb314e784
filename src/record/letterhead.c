// SPDX-License-Identifier: GPL-3.0-or-later
#include "record/letterhead.h"

#include "record/sealed.h"

static sf_Status read_row(sf_Transaction *t, sf_Rows *rows, sf_Error *err)
{
    SF_TRY(sf_transaction_query(
        t, "SELECT id, public_key, made_at, shop_name, shop_address, shop_telephone, shop_statement FROM store",
        SF_BIND_NONE, rows, err));
    if (rows->count != 1)
        return SF_FAIL(err, SF_E_STORE, NULL, "the store does not say which store it is: bring the last backup back");
    return SF_OK;
}

sf_Status sf_letterhead_get(sf_Transaction *t, sf_Letterhead *letterhead, sf_Error *err)
{
    sf_Rows rows;
    SF_TRY(read_row(t, &rows, err));
    *letterhead = (sf_Letterhead){ sf_cell_text(&rows, 0, 3), sf_cell_text(&rows, 0, 4), sf_cell_text(&rows, 0, 5),
                                   sf_cell_text(&rows, 0, 6) };
    return SF_OK;
}

sf_Json *sf_letterhead_json(const sf_Letterhead *letterhead)
{
    sf_Json *json = sf_json_object();
    sf_json_set_text(json, "name", letterhead->name);
    sf_json_set_text(json, "address", letterhead->address);
    sf_json_set_text(json, "telephone", letterhead->telephone);
    sf_json_set_text(json, "statement", letterhead->statement);
    return json;
}

static sf_Value words_or_none(const char *text)
{
    return sf_words(text && *text ? text : NULL);
}

sf_Status sf_letterhead_set(sf_Transaction *t, const sf_Letterhead *letterhead, sf_Error *err)
{
    sf_Rows rows;
    SF_TRY(sf_record_check_text(letterhead->name, "name", 0, SF_LETTERHEAD_LINE_MOST, err));
    SF_TRY(sf_record_check_text(letterhead->address, "address", 0, SF_LETTERHEAD_LINE_MOST, err));
    SF_TRY(sf_record_check_text(letterhead->telephone, "telephone", 0, SF_LETTERHEAD_LINE_MOST, err));
    SF_TRY(sf_record_check_text(letterhead->statement, "statement", 0, SF_LETTERHEAD_STATEMENT_MOST, err));
    SF_TRY(read_row(t, &rows, err));
    const sf_Value row[] = { rows.cells[0],
                             rows.cells[1],
                             rows.cells[2],
                             words_or_none(letterhead->name),
                             words_or_none(letterhead->address),
                             words_or_none(letterhead->telephone),
                             words_or_none(letterhead->statement) };
    return sf_sealed_change(t, SF_SEALED_STORE, "change", 0, row, sizeof row / sizeof *row, err);
}
