// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/report_words.h"

#include <stddef.h>

enum { WORDS_ARENA = 1024 * 1024, LINE = 200, PARAGRAPH = 2000, STATEMENT = 4000, MOST_CHECKS = 40, HASH = 64 };

#define TEXT(file, member, least, most)                                                                                \
    {                                                                                                                  \
        .key = file, .kind = SF_FIELD_TEXT, .offset = offsetof(T, member), .low = least, .high = most                  \
    }
#define DATE(file, member)                                                                                             \
    {                                                                                                                  \
        .key = file, .kind = SF_FIELD_DATE, .offset = offsetof(T, member)                                              \
    }
#define OBJECT(file, member, its_shape)                                                                                \
    {                                                                                                                  \
        .key = file, .kind = SF_FIELD_OBJECT, .offset = offsetof(T, member), .shape = &(its_shape)                     \
    }
#define SHAPE(table)                                                                                                   \
    {                                                                                                                  \
        sizeof(T), table, sizeof(table) / sizeof *(table), NULL                                                        \
    }

static const char *const format_word[] = { "standfast-report/1" };
static const char *const states[] = { "done", "open", "again", "not-needed" };

#define T sf_ReportCheck
static const sf_Field check_fields[] = {
    { .key = "title", .kind = SF_FIELD_TEXT, .required = true, .offset = offsetof(T, title), .low = 1, .high = LINE },
    { .key = "state",
      .kind = SF_FIELD_WORD,
      .offset = offsetof(T, state),
      .words = states,
      .word_count = sizeof states / sizeof *states },
    TEXT("by", by, 0, LINE),
    DATE("date", date),
    TEXT("text", text, 0, PARAGRAPH),
};
static const sf_Shape check_shape = SHAPE(check_fields);
#undef T

#define T sf_ReportShop
static const sf_Field shop_fields[] = {
    TEXT("name", name, 1, LINE),
    TEXT("address", address, 0, LINE),
    TEXT("telephone", telephone, 0, LINE),
    TEXT("statement", statement, 0, STATEMENT),
};
static const sf_Shape shop_shape = SHAPE(shop_fields);
#undef T

#define T sf_ReportSigner
static const sf_Field signer_fields[] = {
    TEXT("name", name, 0, LINE),
    TEXT("licence", licence, 0, LINE),
};
static const sf_Shape signer_shape = SHAPE(signer_fields);
#undef T

#define T sf_ReportDecision
static const sf_Field decision_fields[] = {
    TEXT("text", text, 0, PARAGRAPH),
    TEXT("reason", reason, 0, PARAGRAPH),
    DATE("date", date),
    { .key = "against_advice", .kind = SF_FIELD_FLAG, .offset = offsetof(T, against_advice) },
};
static const sf_Shape decision_shape = SHAPE(decision_fields);
#undef T

#define T sf_ReportWords
static const sf_Field words_fields[] = {
    { .key = "format", .kind = SF_FIELD_CONST, .required = true, .words = format_word, .word_count = 1 },
    OBJECT("shop", shop, shop_shape),
    OBJECT("prosthetist", prosthetist, signer_shape),
    OBJECT("decision", decision, decision_shape),
    TEXT("record", record, 0, LINE),
    TEXT("record_sha256", record_sha256, HASH, HASH),
    DATE("date", date),
    { .key = "wear_in_first_day_h",
      .kind = SF_FIELD_NUMBER,
      .offset = offsetof(T, wear_in_first_day_h),
      .low = 0,
      .high = 24,
      .factor = 1 },
    { .key = "weighed_g",
      .kind = SF_FIELD_NUMBER,
      .offset = offsetof(T, weighed),
      .low = 1,
      .high = 20000,
      .factor = 1e-3 },
    { .key = "checks",
      .kind = SF_FIELD_LIST,
      .offset = offsetof(T, checks),
      .count_offset = offsetof(T, check_count),
      .most = MOST_CHECKS,
      .shape = &check_shape },
};
static const sf_Shape words_shape = SHAPE(words_fields);
#undef T

sf_ReportWords sf_report_words_none(void)
{
    sf_ReportWords words;
    sf_shape_clear(&words_shape, &words);
    words.arena = NULL;
    return words;
}

void sf_report_words_free(sf_ReportWords *words)
{
    sf_arena_destroy(&words->arena);
    *words = sf_report_words_none();
}

sf_Status sf_report_words_parse(sf_ReportWords *words, const char *name, const char *text, size_t size, sf_Error *err)
{
    sf_Arena *arena;
    *words = sf_report_words_none();
    sf_Status status = sf_shape_parse(&words_shape, name, text, size, words, &arena, WORDS_ARENA, err);
    if (status != SF_OK)
        *words = sf_report_words_none();
    words->arena = arena;
    return status;
}
