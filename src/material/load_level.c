// SPDX-License-Identifier: GPL-3.0-or-later
#include "material/load_level.h"

#include "base/alloc.h"
#include "base/units.h"

#include <string.h>

extern const unsigned char sf_load_levels_text[];
extern const size_t sf_load_levels_text_size;

enum { LEVELS_ARENA_BYTES = 256 * 1024 };

static const char *const format_word[] = { "standfast-load-levels/1" };

#define TEXT_AT(T, file, member)                                                                                       \
    {                                                                                                                  \
        .key = file, .kind = SF_FIELD_TEXT, .required = true, .offset = offsetof(T, member), .low = 1, .high = 500     \
    }
#define NUMBER_AT(T, file, member, lowest, highest, unit)                                                              \
    {                                                                                                                  \
        .key = file, .kind = SF_FIELD_NUMBER, .required = true, .offset = offsetof(T, member), .low = lowest,          \
        .high = highest, .factor = unit                                                                                \
    }
#define OBJECT_AT(T, file, member, its)                                                                                \
    {                                                                                                                  \
        .key = file, .kind = SF_FIELD_OBJECT, .required = true, .offset = offsetof(T, member), .shape = &(its)         \
    }
#define LIST_AT(T, file, member, counter, at_most, its)                                                                \
    {                                                                                                                  \
        .key = file, .kind = SF_FIELD_LIST, .required = true, .offset = offsetof(T, member),                           \
        .count_offset = offsetof(T, counter), .most = at_most, .shape = &(its)                                         \
    }
#define SHAPE_OF(T, table) sizeof(T), table, sizeof(table) / sizeof *(table)

static const sf_Field force_fields[] = {
    NUMBER_AT(sf_LevelForces, "proof", proof, 1, 1e5, 1),
    NUMBER_AT(sf_LevelForces, "ultimate_lower", ultimate_lower, 1, 1e5, 1),
    NUMBER_AT(sf_LevelForces, "ultimate_upper", ultimate_upper, 1, 1e5, 1),
    NUMBER_AT(sf_LevelForces, "cyclic", cyclic, 1, 1e5, 1),
    NUMBER_AT(sf_LevelForces, "cyclic_least", cyclic_least, 0, 1e5, 1),
};
static const sf_Shape force_shape = { SHAPE_OF(sf_LevelForces, force_fields), NULL };

static const sf_Field offset_fields[] = {
    NUMBER_AT(sf_LineOffsets, "top", top, -500, 500, SF_MM),
    NUMBER_AT(sf_LineOffsets, "knee", knee, -500, 500, SF_MM),
    NUMBER_AT(sf_LineOffsets, "ankle", ankle, -500, 500, SF_MM),
    NUMBER_AT(sf_LineOffsets, "bottom", bottom, -500, 500, SF_MM),
};
static const sf_Shape offset_shape = { SHAPE_OF(sf_LineOffsets, offset_fields), NULL };

static const sf_Field condition_fields[] = {
    TEXT_AT(sf_LoadCondition, "condition", condition),
    OBJECT_AT(sf_LoadCondition, "force_n", force, force_shape),
    OBJECT_AT(sf_LoadCondition, "forward_mm", forward, offset_shape),
    OBJECT_AT(sf_LoadCondition, "outward_mm", outward, offset_shape),
};
static const sf_Shape condition_shape = { SHAPE_OF(sf_LoadCondition, condition_fields), NULL };

static void check_level(sf_DocNode node, const void *object)
{
    if (((const sf_LoadLevel *)object)->condition_count != SF_CONDITION_COUNT)
        sf_doc_problem(sf_doc_member(node, "conditions"), "must hold conditions I and II");
}

static const sf_Field level_fields[] = {
    TEXT_AT(sf_LoadLevel, "level", level),
    TEXT_AT(sf_LoadLevel, "name_1996", name_1996),
    NUMBER_AT(sf_LoadLevel, "mass_limit_kg", mass_limit, 1, 500, 1),
    LIST_AT(sf_LoadLevel, "conditions", conditions, condition_count, SF_CONDITION_COUNT, condition_shape),
};
static const sf_Shape level_shape = { SHAPE_OF(sf_LoadLevel, level_fields), check_level };

static const sf_Field height_fields[] = {
    NUMBER_AT(sf_LevelHeights, "top", top, 0, 2000, SF_MM),
    NUMBER_AT(sf_LevelHeights, "knee", knee, 0, 2000, SF_MM),
    NUMBER_AT(sf_LevelHeights, "ankle", ankle, 0, 2000, SF_MM),
    NUMBER_AT(sf_LevelHeights, "bottom", bottom, 0, 2000, SF_MM),
};
static const sf_Shape height_shape = { SHAPE_OF(sf_LevelHeights, height_fields), NULL };

static void check_levels(sf_DocNode node, const void *object)
{
    if (((const sf_LoadLevels *)object)->level_count != SF_LEVEL_COUNT)
        sf_doc_problem(sf_doc_member(node, "levels"), "must hold %d levels", SF_LEVEL_COUNT);
}

static const sf_Field levels_fields[] = {
    { .key = "format", .kind = SF_FIELD_CONST, .required = true, .words = format_word, .word_count = 1 },
    TEXT_AT(sf_LoadLevels, "edition", edition),
    TEXT_AT(sf_LoadLevels, "force_source", force_source),
    TEXT_AT(sf_LoadLevels, "offset_source", offset_source),
    OBJECT_AT(sf_LoadLevels, "heights_mm", height, height_shape),
    NUMBER_AT(sf_LoadLevels, "cyclic_cycles", cyclic_cycles, 1, 1e9, 1),
    TEXT_AT(sf_LoadLevels, "not_held", not_held),
    LIST_AT(sf_LoadLevels, "levels", levels, level_count, SF_LEVEL_COUNT, level_shape),
};
static const sf_Shape levels_shape = { SHAPE_OF(sf_LoadLevels, levels_fields), check_levels };

void sf_load_levels_destroy(sf_LoadLevels **levels)
{
    if (!levels || !*levels)
        return;
    sf_arena_destroy(&(*levels)->arena);
    sf_free(*levels);
    *levels = NULL;
}

sf_Status sf_load_levels_create(sf_LoadLevels **out, sf_Error *err)
{
    *out = NULL;
    sf_LoadLevels *levels = sf_alloc(1, sizeof *levels);
    if (!levels)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory while reading the load levels");
    sf_Arena *arena;
    sf_Status status = sf_shape_parse(&levels_shape, "load levels", (const char *)sf_load_levels_text,
                                      sf_load_levels_text_size, levels, &arena, LEVELS_ARENA_BYTES, err);
    if (status != SF_OK) {
        sf_free(levels);
        return status;
    }
    levels->arena = arena;
    *out = levels;
    return SF_OK;
}

const sf_LoadLevel *sf_load_level_find(const sf_LoadLevels *levels, const char *name)
{
    for (size_t i = 0; i < levels->level_count; i++)
        if (strcmp(levels->levels[i].level, name) == 0)
            return &levels->levels[i];
    return NULL;
}

const sf_LoadLevel *sf_load_level_for_mass(const sf_LoadLevels *levels, double mass)
{
    for (size_t i = 0; i < levels->level_count; i++)
        if (mass <= levels->levels[i].mass_limit)
            return &levels->levels[i];
    return NULL;
}

double sf_load_force(const sf_LoadCondition *condition, sf_ForceKind kind)
{
    switch (kind) {
    case SF_FORCE_PROOF: return condition->force.proof;
    case SF_FORCE_ULTIMATE_LOWER: return condition->force.ultimate_lower;
    case SF_FORCE_ULTIMATE_UPPER: return condition->force.ultimate_upper;
    case SF_FORCE_CYCLIC: return condition->force.cyclic;
    }
    return 0;
}

const char *sf_force_kind_word(sf_ForceKind kind)
{
    static const char *const words[] = { "proof", "ultimate-lower", "ultimate-upper", "cyclic" };
    return words[kind];
}
