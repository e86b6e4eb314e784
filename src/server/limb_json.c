// SPDX-License-Identifier: GPL-3.0-or-later
#include "server/limb_json.h"

#include <string.h>

enum { FLAG_MOST = 64 };

static sf_Json *flags_json(const char *flags)
{
    sf_Json *list = sf_json_array();
    char one[FLAG_MOST];
    while (flags && *flags) {
        size_t length = strcspn(flags, " ");
        if (length > 0 && length < sizeof one) {
            memcpy(one, flags, length);
            one[length] = '\0';
            sf_json_add_text(list, one);
        }
        flags += length + (flags[length] == ' ');
    }
    return list;
}

sf_Json *sf_limb_row_json(const sf_LimbRow *row)
{
    sf_Json *json = sf_json_object();
    sf_json_set_whole(json, "id", row->id);
    sf_json_set_whole(json, "wearer", row->wearer);
    sf_json_set_whole(json, "version", row->version);
    sf_json_set_text(json, "label", row->head.label);
    sf_json_set_text(json, "side", row->head.side);
    sf_json_set_text(json, "made_at", row->made_at);
    sf_json_set_text(json, "changed_at", row->changed_at);
    sf_json_set_text(json, "sheet_lot", row->head.sheet_lot);
    sf_json_set_text(json, "stage", row->head.stage);
    sf_json_set_text(json, "next_action", row->head.next_action);
    sf_json_set_text(json, "next_due", row->head.next_due);
    sf_json_set(json, "flags", flags_json(row->head.flags));
    return json;
}

sf_Json *sf_limb_rows_json(const sf_LimbRow *rows, size_t count)
{
    sf_Json *list = sf_json_array();
    for (size_t i = 0; i < count; i++)
        sf_json_add(list, sf_limb_row_json(&rows[i]));
    return list;
}

sf_Status sf_limb_order_read(const char *word, sf_LimbOrder *order, sf_Error *err)
{
    static const char *const words[] = { "newest", "due", "changed" };
    static const sf_LimbOrder orders[] = { SF_LIMB_NEWEST, SF_LIMB_NEXT_DUE, SF_LIMB_CHANGED };
    *order = SF_LIMB_NEWEST;
    if (!word || !*word)
        return SF_OK;
    for (size_t i = 0; i < 3; i++)
        if (strcmp(words[i], word) == 0) {
            *order = orders[i];
            return SF_OK;
        }
    return SF_FAIL(err, SF_E_INPUT, "order", "order must be newest, due or changed, not '%.20s'", word);
}
