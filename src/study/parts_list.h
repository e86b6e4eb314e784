// SPDX-License-Identifier: GPL-3.0-or-later
// A shop's own feet and adapters: standfast-parts/1 (docs/parts-list.schema.json).
#pragma once

#include "limb/limb.h"

typedef struct sf_PartFoot {
    bool there;
    const char *name;
    sf_LimbFoot foot;
} sf_PartFoot;

typedef struct sf_PartAdapter {
    bool there;
    const char *name;
    sf_LimbAdapter adapter;
} sf_PartAdapter;

typedef struct sf_PartsList {
    bool there;
    const char *origin;
    sf_PartFoot *feet;
    size_t foot_count;
    sf_PartAdapter *adapters;
    size_t adapter_count;
    sf_Arena *arena; ///< owns all of it
} sf_PartsList;

/// Reads a list; all problems come in one error. SF_E_PARSE, SF_E_INPUT, SF_E_MEMORY. Free with sf_parts_list_free.
sf_Status sf_parts_list_parse(sf_PartsList *list, const char *name, const char *text, size_t size,
                              sf_Error *err) SF_MUST_USE;

/// The invented starter set that is built in (data/parts.json).
const char *sf_parts_list_starter(size_t *size);

/// Frees and empties; safe to call twice.
void sf_parts_list_free(sf_PartsList *list);
