// SPDX-License-Identifier: GPL-3.0-or-later
// Reading half of base/doc.h.
#include "base/doc.h"

#include "base/alloc.h"
#include "base/arena.h"
#include "base/file.h"
#include "base/json_heap.h"
#include "base/text.h"

#include <jansson.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

enum { DOC_ARENA_BYTES = 64 * 1024 * 1024, MAX_TEXT_SHOWN = 40 };

typedef struct Problem {
    const char *path, *text;
} Problem;

struct sf_Doc {
    json_t *root;
    sf_Arena *arena;
    const char *name;
    Problem problems[SF_DOC_MAX_PROBLEMS];
    size_t problem_count;
    bool out_of_memory;
};

sf_Status sf_doc_parse(sf_Doc **out, const char *name, const char *text, size_t size, sf_Error *err)
{
    *out = NULL;
    sf_json_heap_install();
    if (size > SF_DOC_MAX_BYTES)
        return SF_FAIL(err, SF_E_INPUT, name, "%s is larger than %d bytes, the most that is read", name,
                       SF_DOC_MAX_BYTES);
    sf_Doc *doc = sf_alloc(1, sizeof *doc);
    if (!doc)
        return SF_FAIL(err, SF_E_MEMORY, name, "out of memory while reading %s", name);
    sf_Status status = SF_OK;
    json_error_t problem;
    doc->arena = sf_arena_create(DOC_ARENA_BYTES);
    if (!doc->arena || !(doc->name = sf_arena_text(doc->arena, name))) {
        status = SF_FAIL(err, SF_E_MEMORY, name, "out of memory while reading %s", name);
        goto done;
    }
    sf_json_heap_failed();
    doc->root = json_loadb(text, size, JSON_REJECT_DUPLICATES, &problem);
    bool memory = sf_json_heap_failed(); // the parser may drop a character and go on: then the tree is not the text
    if (!doc->root || memory) {
        status = memory ? SF_FAIL(err, SF_E_MEMORY, name, "out of memory while reading %s", name)
                        : SF_FAIL(err, SF_E_PARSE, name, "%s is not good JSON: line %d, column %d: %s", name,
                                  problem.line, problem.column, problem.text);
        goto done;
    }
    *out = doc;
    doc = NULL;
done:
    sf_doc_destroy(&doc);
    return status;
}

sf_Status sf_doc_read_file(sf_Doc **doc, const char *path, sf_Error *err)
{
    unsigned char *data = NULL;
    size_t size = 0;
    *doc = NULL;
    SF_TRY(sf_file_read(path, SF_DOC_MAX_BYTES, &data, &size, err));
    sf_Status status = sf_doc_parse(doc, path, (const char *)data, size, err);
    sf_free(data);
    return status;
}

void sf_doc_destroy(sf_Doc **doc)
{
    if (!doc || !*doc)
        return;
    json_decref((*doc)->root);
    sf_arena_destroy(&(*doc)->arena);
    sf_free(*doc);
    *doc = NULL;
}

sf_DocNode sf_doc_root(sf_Doc *doc)
{
    return (sf_DocNode){ doc, doc->root, "" };
}

// A node at a path that was built in the arena; an exhausted arena is remembered and the parent's path serves.
static sf_DocNode node_at(sf_DocNode parent, const void *json, const char *path)
{
    if (!path) {
        parent.doc->out_of_memory = true;
        path = parent.path;
    }
    return (sf_DocNode){ parent.doc, json, path };
}

sf_DocNode sf_doc_member(sf_DocNode object, const char *key)
{
    const char *dot = *object.path ? "." : "";
    return node_at(object, json_object_get(object.json, key),
                   sf_arena_format(object.doc->arena, "%s%s%s", object.path, dot, key));
}

sf_DocNode sf_doc_item(sf_DocNode array, size_t index)
{
    return node_at(array, json_array_get(array.json, index),
                   sf_arena_format(array.doc->arena, "%s[%zu]", array.path, index));
}

size_t sf_doc_length(sf_DocNode array)
{
    return json_array_size(array.json);
}

bool sf_doc_there(sf_DocNode node)
{
    return node.json && !json_is_null((const json_t *)node.json);
}

bool sf_doc_is_object(sf_DocNode node)
{
    return json_is_object((const json_t *)node.json);
}

bool sf_doc_is_array(sf_DocNode node)
{
    return json_is_array((const json_t *)node.json);
}

void sf_doc_problem(sf_DocNode node, const char *format, ...)
{
    sf_Doc *doc = node.doc;
    if (doc->problem_count == SF_DOC_MAX_PROBLEMS)
        return;
    char text[SF_ERROR_TEXT];
    va_list args;
    va_start(args, format);
    vsnprintf(text, sizeof text, format, args);
    va_end(args);
    const char *kept = sf_arena_text(doc->arena, text);
    if (!kept) {
        doc->out_of_memory = true;
        return;
    }
    doc->problems[doc->problem_count++] = (Problem){ node.path, kept };
}

bool sf_doc_number(sf_DocNode node, double low, double high, double *value)
{
    const json_t *json = node.json;
    if (!sf_doc_there(node))
        return false;
    if (!json_is_number(json)) {
        sf_doc_problem(node, "must be a number");
        return false;
    }
    double number = json_number_value(json);
    if (!isfinite(number) || number < low || number > high) {
        sf_doc_problem(node, "is %g; it must lie between %g and %g", number, low, high);
        return false;
    }
    *value = number;
    return true;
}

bool sf_doc_whole(sf_DocNode node, int64_t low, int64_t high, int64_t *value)
{
    double number;
    if (!sf_doc_number(node, (double)low, (double)high, &number))
        return false;
    if (number != floor(number)) {
        sf_doc_problem(node, "is %g; it must be a whole number", number);
        return false;
    }
    *value = (int64_t)number;
    return true;
}

bool sf_doc_flag(sf_DocNode node, bool *value)
{
    if (!sf_doc_there(node))
        return false;
    if (!json_is_boolean((const json_t *)node.json)) {
        sf_doc_problem(node, "must be true or false");
        return false;
    }
    *value = json_is_true((const json_t *)node.json);
    return true;
}

bool sf_doc_text(sf_DocNode node, size_t max_bytes, const char **value)
{
    if (!sf_doc_there(node))
        return false;
    if (!json_is_string((const json_t *)node.json)) {
        sf_doc_problem(node, "must be a text");
        return false;
    }
    if (json_string_length(node.json) > max_bytes) {
        sf_doc_problem(node, "is longer than %zu bytes", max_bytes);
        return false;
    }
    *value = json_string_value(node.json);
    if (strlen(*value) != json_string_length(node.json)) {
        sf_doc_problem(node, "must not hold a zero character");
        return false;
    }
    return true;
}

bool sf_doc_word(sf_DocNode node, const char *const *words, size_t count, size_t *index)
{
    const char *text;
    if (!sf_doc_text(node, 4096, &text))
        return false;
    for (size_t i = 0; i < count; i++)
        if (strcmp(words[i], text) == 0) {
            *index = i;
            return true;
        }
    sf_Text list = sf_text_make(SF_ERROR_TEXT);
    for (size_t i = 0; i < count; i++)
        sf_text_format(&list, "%s'%s'", i ? ", " : "", words[i]);
    node.doc->out_of_memory = node.doc->out_of_memory || list.broken;
    sf_doc_problem(node, "is '%.*s'; it must be one of %s", MAX_TEXT_SHOWN, text, sf_text_string(&list));
    sf_text_free(&list);
    return false;
}

bool sf_doc_need(sf_DocNode node, const char *why)
{
    if (sf_doc_there(node))
        return true;
    sf_doc_problem(node, why ? "is missing: %s needs it" : "is missing", why);
    return false;
}

bool sf_doc_expect_object(sf_DocNode node)
{
    if (!sf_doc_there(node) || sf_doc_is_object(node))
        return sf_doc_is_object(node);
    sf_doc_problem(node, "must be an object { ... }");
    return false;
}

bool sf_doc_expect_array(sf_DocNode node, size_t most)
{
    if (!sf_doc_there(node))
        return false;
    if (!sf_doc_is_array(node)) {
        sf_doc_problem(node, "must be a list [ ... ]");
        return false;
    }
    if (sf_doc_length(node) > most) {
        sf_doc_problem(node, "has %zu entries; at most %zu are read", sf_doc_length(node), most);
        return false;
    }
    return true;
}

void sf_doc_only(sf_DocNode object, const char *const *known, size_t count)
{
    const char *key;
    for (size_t i = 0; (key = sf_doc_key(object, i)); i++) {
        bool found = false;
        for (size_t k = 0; k < count && !found; k++)
            found = strcmp(known[k], key) == 0;
        if (!found)
            sf_doc_problem(sf_doc_member(object, key), "is not a known field: check its spelling or take it out");
    }
}

const char *sf_doc_key(sf_DocNode object, size_t index)
{
    if (!sf_doc_is_object(object))
        return NULL;
    void *place = json_object_iter((json_t *)(uintptr_t)object.json);
    while (place && index-- > 0)
        place = json_object_iter_next((json_t *)(uintptr_t)object.json, place);
    return place ? json_object_iter_key(place) : NULL;
}

size_t sf_doc_problem_count(const sf_Doc *doc)
{
    return doc->problem_count;
}

const char *sf_doc_problem_path(const sf_Doc *doc, size_t index)
{
    return doc->problems[index].path;
}

const char *sf_doc_problem_text(const sf_Doc *doc, size_t index)
{
    return doc->problems[index].text;
}

sf_Status sf_doc_verdict(const sf_Doc *doc, sf_Error *err)
{
    if (doc->out_of_memory)
        return SF_FAIL(err, SF_E_MEMORY, doc->name, "out of memory while reading %s", doc->name);
    if (doc->problem_count == 0)
        return SF_OK;
    sf_Text all = sf_text_make(64 * 1024);
    for (size_t i = 0; i < doc->problem_count; i++)
        sf_text_format(&all, "%s%s %s", i ? "; " : "", *doc->problems[i].path ? doc->problems[i].path : "the document",
                       doc->problems[i].text);
    sf_Status status = SF_FAIL(err, SF_E_INPUT, doc->problems[0].path, "%s: %s", doc->name, sf_text_string(&all));
    sf_text_free(&all);
    return status;
}
