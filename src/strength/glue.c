// SPDX-License-Identifier: GPL-3.0-or-later
#include "strength/glue.h"

#include "base/alloc.h"
#include "base/units.h"

#include <math.h>
#include <string.h>

extern const unsigned char sf_glue_text[];
extern const size_t sf_glue_text_size;

enum { GLUE_ARENA_BYTES = 128 * 1024 };

static const char *const format_word[] = { "standfast-glue/1" };
static const char *const confidence_words[] = { "confirmed-by-two", "one-source", "from-memory", "judgement" };

#define TEXT_AT(T, file, member)                                                                                       \
    {                                                                                                                  \
        .key = file, .kind = SF_FIELD_TEXT, .required = true, .offset = offsetof(T, member), .low = 1, .high = 300     \
    }
#define NUMBER_AT(T, file, member, most, unit)                                                                         \
    {                                                                                                                  \
        .key = file, .kind = SF_FIELD_NUMBER, .required = true, .offset = offsetof(T, member), .low = 0, .high = most, \
        .factor = unit                                                                                                 \
    }

static const sf_Field pair_fields[] = {
    TEXT_AT(sf_GluePair, "first", first),
    TEXT_AT(sf_GluePair, "second", second),
    TEXT_AT(sf_GluePair, "adhesive", adhesive),
    { .key = "primer", .kind = SF_FIELD_FLAG, .required = true, .offset = offsetof(sf_GluePair, primer) },
    NUMBER_AT(sf_GluePair, "shear_mpa", shear, 100, SF_MPA),
    { .key = "confidence",
      .kind = SF_FIELD_WORD,
      .required = true,
      .offset = offsetof(sf_GluePair, confidence),
      .words = confidence_words,
      .word_count = 4 },
    TEXT_AT(sf_GluePair, "source", source),
};
static const sf_Shape pair_shape = { sizeof(sf_GluePair), pair_fields, sizeof pair_fields / sizeof *pair_fields, NULL };

static const sf_Field table_fields[] = {
    { .key = "format", .kind = SF_FIELD_CONST, .required = true, .words = format_word, .word_count = 1 },
    NUMBER_AT(sf_GlueTable, "shop_share", shop_share, 1, 1),
    TEXT_AT(sf_GlueTable, "shop_share_source", shop_share_source),
    NUMBER_AT(sf_GlueTable, "wet_share", wet_share, 1, 1),
    TEXT_AT(sf_GlueTable, "wet_share_source", wet_share_source),
    { .key = "pairs",
      .kind = SF_FIELD_LIST,
      .required = true,
      .offset = offsetof(sf_GlueTable, pairs),
      .count_offset = offsetof(sf_GlueTable, pair_count),
      .most = 200,
      .shape = &pair_shape },
};
static const sf_Shape table_shape = { sizeof(sf_GlueTable), table_fields, sizeof table_fields / sizeof *table_fields,
                                      NULL };

void sf_glue_table_destroy(sf_GlueTable **table)
{
    if (!table || !*table)
        return;
    sf_arena_destroy(&(*table)->arena);
    sf_free(*table);
    *table = NULL;
}

sf_Status sf_glue_table_create(sf_GlueTable **out, sf_Error *err)
{
    *out = NULL;
    sf_GlueTable *table = sf_alloc(1, sizeof *table);
    if (!table)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory while reading the glue table");
    sf_Arena *arena;
    sf_Status status = sf_shape_parse(&table_shape, "glue table", (const char *)sf_glue_text, sf_glue_text_size, table,
                                      &arena, GLUE_ARENA_BYTES, err);
    if (status != SF_OK) {
        sf_free(table);
        return status;
    }
    table->arena = arena;
    *out = table;
    return SF_OK;
}

static const sf_GluePair *find(const sf_GlueTable *table, const char *a, const char *b, const char *adhesive,
                               bool primer)
{
    for (size_t i = 0; i < table->pair_count; i++) {
        const sf_GluePair *pair = &table->pairs[i];
        bool same = (strcmp(pair->first, a) == 0 && strcmp(pair->second, b) == 0) ||
                    (strcmp(pair->first, b) == 0 && strcmp(pair->second, a) == 0);
        if (same && strcmp(pair->adhesive, adhesive) == 0 && (pair->primer == SF_ANSWER_YES) == primer)
            return pair;
    }
    return NULL;
}

static bool polyolefin(const char *material)
{
    return strcmp(material, "polypropylene") == 0 || strcmp(material, "polyethylene") == 0;
}

sf_GlueJointFigure sf_glue_joint(const sf_GlueTable *table, const char *first, const char *second, const char *adhesive,
                                 bool primer, bool wet)
{
    const sf_GluePair *row = find(table, first, second, adhesive, primer);
    if ((polyolefin(first) || polyolefin(second)) && !primer && strcmp(adhesive, "acrylic") != 0)
        return (sf_GlueJointFigure){ 0, "unprimed polypropylene or polyethylene: the joint counts as nothing", row };
    if (!row) {
        const sf_GluePair *one = find(table, first, first, adhesive, primer);
        const sf_GluePair *two = find(table, second, second, adhesive, primer);
        if (!one || !two)
            return (sf_GlueJointFigure){ NAN,
                                         "no figure was found for these two materials with this adhesive: count on "
                                         "nothing until a test piece was pulled",
                                         NULL };
        row = one->shear < two->shear ? one : two;
    }
    return (sf_GlueJointFigure){
        row->shear * table->shop_share * (wet ? table->wet_share : 1),
        "shear only: hardly anything in peel, less in wet warmth; it positions, the bolt carries", row
    };
}
