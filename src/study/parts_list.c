// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/parts_list.h"

#include <stddef.h>

enum { PARTS_ARENA = 4 * 1024 * 1024, MOST_NAME = 60, MOST_ORIGIN = 400, MOST_PARTS = 60 };

extern const unsigned char sf_parts_data[];
extern const size_t sf_parts_data_size;

static const char *const format_word[] = { "standfast-parts/1" };

static const sf_Field foot_fields[] = {
    { .key = "name",
      .kind = SF_FIELD_TEXT,
      .required = true,
      .offset = offsetof(sf_PartFoot, name),
      .low = 1,
      .high = MOST_NAME },
    { .key = "foot",
      .kind = SF_FIELD_OBJECT,
      .required = true,
      .offset = offsetof(sf_PartFoot, foot),
      .shape = &sf_limb_foot_shape },
};
static const sf_Shape foot_shape = { sizeof(sf_PartFoot), foot_fields, 2, NULL };

static const sf_Field adapter_fields[] = {
    { .key = "name",
      .kind = SF_FIELD_TEXT,
      .required = true,
      .offset = offsetof(sf_PartAdapter, name),
      .low = 1,
      .high = MOST_NAME },
    { .key = "adapter",
      .kind = SF_FIELD_OBJECT,
      .required = true,
      .offset = offsetof(sf_PartAdapter, adapter),
      .shape = &sf_limb_adapter_shape },
};
static const sf_Shape adapter_shape = { sizeof(sf_PartAdapter), adapter_fields, 2, NULL };

static const sf_Field list_fields[] = {
    { .key = "format", .kind = SF_FIELD_CONST, .required = true, .words = format_word, .word_count = 1 },
    { .key = "origin", .kind = SF_FIELD_TEXT, .offset = offsetof(sf_PartsList, origin), .low = 1, .high = MOST_ORIGIN },
    { .key = "feet",
      .kind = SF_FIELD_LIST,
      .required = true,
      .offset = offsetof(sf_PartsList, feet),
      .count_offset = offsetof(sf_PartsList, foot_count),
      .most = MOST_PARTS,
      .shape = &foot_shape },
    { .key = "adapters",
      .kind = SF_FIELD_LIST,
      .required = true,
      .offset = offsetof(sf_PartsList, adapters),
      .count_offset = offsetof(sf_PartsList, adapter_count),
      .most = MOST_PARTS,
      .shape = &adapter_shape },
};
static const sf_Shape list_shape = { sizeof(sf_PartsList), list_fields, 4, NULL };

void sf_parts_list_free(sf_PartsList *list)
{
    sf_arena_destroy(&list->arena);
    *list = (sf_PartsList){ 0 };
}

const char *sf_parts_list_starter(size_t *size)
{
    *size = sf_parts_data_size;
    return (const char *)sf_parts_data;
}

sf_Status sf_parts_list_parse(sf_PartsList *list, const char *name, const char *text, size_t size, sf_Error *err)
{
    sf_Arena *arena;
    *list = (sf_PartsList){ 0 };
    sf_Status status = sf_shape_parse(&list_shape, name, text, size, list, &arena, PARTS_ARENA, err);
    list->arena = arena;
    return status;
}
