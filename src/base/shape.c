// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/shape.h"

#include <assert.h>
#include <math.h>
#include <string.h>

enum { MAX_FIELDS = 48, TEXT_BYTES_PER_CHARACTER = 4 };

static void *at(void *object, size_t offset)
{
    return (char *)object + offset;
}

static const void *seen_at(const void *object, size_t offset)
{
    return (const char *)object + offset;
}

void sf_shape_clear(const sf_Shape *shape, void *object)
{
    memset(object, 0, shape->size);
    for (size_t i = 0; i < shape->count; i++) {
        const sf_Field *field = &shape->fields[i];
        void *place = at(object, field->offset);
        switch (field->kind) {
        case SF_FIELD_NUMBER: *(double *)place = NAN; break;
        case SF_FIELD_PAIR: ((double *)place)[0] = ((double *)place)[1] = NAN; break;
        case SF_FIELD_WHOLE: *(int *)place = -1; break;
        case SF_FIELD_OBJECT: sf_shape_clear(field->shape, place); break;
        default: break;
        }
    }
}

// Characters of well-formed UTF-8: the bytes that do not continue one.
static size_t characters(const char *text)
{
    size_t n = 0;
    for (; *text; text++)
        n += ((unsigned char)*text & 0xC0U) != 0x80U;
    return n;
}

static sf_Status read_text(const sf_Field *field, sf_DocNode node, void *place, sf_Arena *arena, sf_Error *err)
{
    const char *text;
    if (!sf_doc_text(node, (size_t)field->high * TEXT_BYTES_PER_CHARACTER, &text))
        return SF_OK;
    size_t length = characters(text);
    if (length > (size_t)field->high)
        sf_doc_problem(node, "is longer than %.0f characters", field->high);
    else if (length < (size_t)field->low)
        sf_doc_problem(node, "is empty: give it or leave it out");
    const char *kept = sf_arena_text(arena, text);
    if (!kept)
        return SF_FAIL(err, SF_E_MEMORY, node.path, "out of memory while reading %s", node.path);
    memcpy(place, &kept, sizeof kept);
    return SF_OK;
}

static bool date_exists(const char *text)
{
    static const int days[] = { 31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31 };
    if (strlen(text) != 10 || text[4] != '-' || text[7] != '-')
        return false;
    for (size_t i = 0; i < 10; i++)
        if (i != 4 && i != 7 && (text[i] < '0' || text[i] > '9'))
            return false;
    int year = (text[0] - '0') * 1000 + (text[1] - '0') * 100 + (text[2] - '0') * 10 + text[3] - '0';
    int month = (text[5] - '0') * 10 + text[6] - '0', day = (text[8] - '0') * 10 + text[9] - '0';
    bool leap = (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
    return year >= 1900 && year < 2200 && month >= 1 && month <= 12 && day >= 1 &&
           day <= days[month - 1] + (month == 2 && leap ? 1 : 0);
}

static sf_Status read_date(sf_DocNode node, void *place, sf_Arena *arena, sf_Error *err)
{
    const char *text;
    if (!sf_doc_text(node, 64, &text))
        return SF_OK;
    if (!date_exists(text)) {
        sf_doc_problem(node, "is '%.20s'; a date is written 2026-01-31, from 1900 to 2199", text);
        return SF_OK;
    }
    const char *kept = sf_arena_text(arena, text);
    if (!kept)
        return SF_FAIL(err, SF_E_MEMORY, node.path, "out of memory while reading %s", node.path);
    memcpy(place, &kept, sizeof kept);
    return SF_OK;
}

static void read_pair(const sf_Field *field, sf_DocNode node, double *pair)
{
    if (!sf_doc_expect_array(node, 2))
        return;
    if (sf_doc_length(node) != 2) {
        sf_doc_problem(node, "must hold two numbers");
        return;
    }
    double value[2];
    bool good = true;
    for (size_t i = 0; i < 2; i++) {
        sf_DocNode item = sf_doc_item(node, i);
        good = sf_doc_need(item, NULL) && sf_doc_number(item, field->low, field->high, &value[i]) && good;
    }
    for (size_t i = 0; i < 2 && good; i++)
        pair[i] = value[i] * field->factor;
}

static sf_Status read_list(const sf_Field *field, sf_DocNode node, void *object, sf_Arena *arena, sf_Error *err)
{
    if (!sf_doc_expect_array(node, field->most))
        return SF_OK;
    size_t count = sf_doc_length(node);
    if (count == 0)
        return SF_OK;
    char *items = sf_arena_alloc(arena, count, field->shape->size);
    if (!items)
        return SF_FAIL(err, SF_E_MEMORY, node.path, "out of memory while reading %s", node.path);
    for (size_t i = 0; i < count; i++) {
        sf_DocNode item = sf_doc_item(node, i);
        sf_doc_need(item, NULL);
        SF_TRY(sf_shape_read(field->shape, item, items + i * field->shape->size, arena, err));
    }
    memcpy(at(object, field->offset), &items, sizeof items);
    memcpy(at(object, field->count_offset), &count, sizeof count);
    return SF_OK;
}

static void read_whole(const sf_Field *field, sf_DocNode node, int *place)
{
    int64_t value;
    if (sf_doc_whole(node, (int64_t)field->low, (int64_t)field->high, &value))
        *place = (int)value;
}

static void read_word(const sf_Field *field, sf_DocNode node, void *place)
{
    size_t index;
    if (sf_doc_word(node, field->words, field->word_count, &index)) {
        unsigned value = (unsigned)index + (field->kind == SF_FIELD_WORD ? 1U : 0U);
        if (field->kind == SF_FIELD_WORD)
            memcpy(place, &value, sizeof value);
    }
}

static sf_Status read_field(const sf_Field *field, sf_DocNode node, void *object, sf_Arena *arena, sf_Error *err)
{
    void *place = at(object, field->offset);
    double number;
    bool flag;
    switch (field->kind) {
    case SF_FIELD_NUMBER:
        if (sf_doc_number(node, field->low, field->high, &number))
            *(double *)place = number * field->factor;
        return SF_OK;
    case SF_FIELD_WHOLE: read_whole(field, node, place); return SF_OK;
    case SF_FIELD_FLAG:
        if (sf_doc_flag(node, &flag))
            *(sf_Answer *)place = flag ? SF_ANSWER_YES : SF_ANSWER_NO;
        return SF_OK;
    case SF_FIELD_TEXT: return read_text(field, node, place, arena, err);
    case SF_FIELD_DATE: return read_date(node, place, arena, err);
    case SF_FIELD_PAIR: read_pair(field, node, place); return SF_OK;
    case SF_FIELD_OBJECT: return sf_shape_read(field->shape, node, place, arena, err);
    case SF_FIELD_LIST: return read_list(field, node, object, arena, err);
    case SF_FIELD_WORD:
    case SF_FIELD_CONST: read_word(field, node, place); return SF_OK;
    }
    return SF_OK;
}

sf_Status sf_shape_read(const sf_Shape *shape, sf_DocNode node, void *object, sf_Arena *arena, sf_Error *err)
{
    const char *keys[MAX_FIELDS];
    assert(shape->count <= MAX_FIELDS);
    sf_shape_clear(shape, object);
    if (!sf_doc_expect_object(node))
        return SF_OK;
    *(bool *)object = true;
    for (size_t i = 0; i < shape->count; i++)
        keys[i] = shape->fields[i].key;
    sf_doc_only(node, keys, shape->count);
    for (size_t i = 0; i < shape->count; i++) {
        sf_DocNode member = sf_doc_member(node, keys[i]);
        if (shape->fields[i].required)
            sf_doc_need(member, NULL);
        SF_TRY(read_field(&shape->fields[i], member, object, arena, err));
    }
    if (shape->check)
        shape->check(node, object);
    return SF_OK;
}

sf_Status sf_shape_parse(const sf_Shape *shape, const char *name, const char *text, size_t size, void *object,
                         sf_Arena **arena, size_t arena_bytes, sf_Error *err)
{
    sf_Doc *doc = NULL;
    sf_Status status;
    *arena = NULL;
    SF_TRY_DONE(sf_doc_parse(&doc, name, text, size, err));
    *arena = sf_arena_create(arena_bytes);
    if (!*arena) {
        status = SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory while reading %s", name);
        goto done;
    }
    sf_doc_need(sf_doc_root(doc), NULL);
    SF_TRY_DONE(sf_shape_read(shape, sf_doc_root(doc), object, *arena, err));
    SF_TRY_DONE(sf_doc_verdict(doc, err));
done:
    if (status != SF_OK) {
        sf_shape_clear(shape, object);
        sf_arena_destroy(arena);
    }
    sf_doc_destroy(&doc);
    return status;
}

static bool given(const sf_Field *field, const void *object)
{
    const void *place = seen_at(object, field->offset);
    const char *text;
    unsigned word;
    size_t count;
    switch (field->kind) {
    case SF_FIELD_NUMBER:
    case SF_FIELD_PAIR: return !isnan(*(const double *)place);
    case SF_FIELD_WHOLE: return *(const int *)place >= 0;
    case SF_FIELD_TEXT:
    case SF_FIELD_DATE: memcpy(&text, place, sizeof text); return text != NULL;
    case SF_FIELD_FLAG:
    case SF_FIELD_WORD: memcpy(&word, place, sizeof word); return word != 0;
    case SF_FIELD_OBJECT: return *(const bool *)place;
    case SF_FIELD_LIST: memcpy(&count, seen_at(object, field->count_offset), sizeof count); return count > 0;
    case SF_FIELD_CONST: return true;
    }
    return false;
}

static sf_Json *write_list(const sf_Field *field, const void *object)
{
    sf_Json *list = sf_json_array();
    const char *items;
    size_t count;
    memcpy(&items, seen_at(object, field->offset), sizeof items);
    memcpy(&count, seen_at(object, field->count_offset), sizeof count);
    for (size_t i = 0; i < count; i++)
        sf_json_add(list, sf_shape_write(field->shape, items + i * field->shape->size));
    return list;
}

static void write_field(const sf_Field *field, const void *object, sf_Json *json)
{
    const void *place = seen_at(object, field->offset);
    const char *text;
    unsigned word;
    sf_Json *pair;
    switch (field->kind) {
    case SF_FIELD_NUMBER: sf_json_set_number(json, field->key, *(const double *)place / field->factor); break;
    case SF_FIELD_WHOLE: sf_json_set_whole(json, field->key, *(const int *)place); break;
    case SF_FIELD_FLAG: sf_json_set_flag(json, field->key, *(const sf_Answer *)place == SF_ANSWER_YES); break;
    case SF_FIELD_TEXT:
    case SF_FIELD_DATE:
        memcpy(&text, place, sizeof text);
        sf_json_set_text(json, field->key, text);
        break;
    case SF_FIELD_WORD:
        memcpy(&word, place, sizeof word);
        sf_json_set_text(json, field->key, field->words[word - 1]);
        break;
    case SF_FIELD_CONST: sf_json_set_text(json, field->key, field->words[0]); break;
    case SF_FIELD_PAIR:
        pair = sf_json_array();
        sf_json_add_number(pair, ((const double *)place)[0] / field->factor);
        sf_json_add_number(pair, ((const double *)place)[1] / field->factor);
        sf_json_set(json, field->key, pair);
        break;
    case SF_FIELD_OBJECT: sf_json_set(json, field->key, sf_shape_write(field->shape, place)); break;
    case SF_FIELD_LIST: sf_json_set(json, field->key, write_list(field, object)); break;
    }
}

sf_Json *sf_shape_write(const sf_Shape *shape, const void *object)
{
    sf_Json *json = sf_json_object();
    for (size_t i = 0; i < shape->count; i++)
        if (given(&shape->fields[i], object))
            write_field(&shape->fields[i], object, json);
    return json;
}

bool sf_shape_has(const sf_Shape *shape, const void *object, const char *path)
{
    const char *dot = strchr(path, '.');
    size_t length = dot ? (size_t)(dot - path) : strlen(path);
    for (size_t i = 0; i < shape->count; i++) {
        const sf_Field *field = &shape->fields[i];
        if (strlen(field->key) != length || strncmp(field->key, path, length) != 0)
            continue;
        if (!dot || !given(field, object))
            return given(field, object);
        assert(field->kind == SF_FIELD_OBJECT);
        return sf_shape_has(field->shape, seen_at(object, field->offset), dot + 1);
    }
    assert(!"the path is a field of the shape");
    return false;
}
