// SPDX-License-Identifier: GPL-3.0-or-later
// JSON documents: a reader that knows the path of every value and collects every problem, and a writer.
// Sole owner of jansson.
#pragma once

#include "base/status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

// ---- reading ---------------------------------------------------------------------------------------------------

enum { SF_DOC_MAX_BYTES = 16 * 1024 * 1024, SF_DOC_MAX_PROBLEMS = 200 };

typedef struct sf_Doc sf_Doc; ///< one parsed document with its list of problems

/// A value inside a document, or the place where one is missing. Small, passed by value, borrowed from its document.
typedef struct sf_DocNode {
    sf_Doc *doc;
    const void *json; ///< NULL: not there
    const char *path; ///< such as "pylon.rings[0].dpi"; "" at the root
} sf_DocNode;

/// Parses UTF-8 JSON text; duplicate keys are refused. SF_E_PARSE with line and column.
sf_Status sf_doc_parse(sf_Doc **doc, const char *name, const char *text, size_t size, sf_Error *err) SF_MUST_USE;

/// Reads and parses a file of at most SF_DOC_MAX_BYTES.
sf_Status sf_doc_read_file(sf_Doc **doc, const char *path, sf_Error *err) SF_MUST_USE;

/// Frees and nulls; NULL and pointer to NULL are allowed.
void sf_doc_destroy(sf_Doc **doc);

sf_DocNode sf_doc_root(sf_Doc *doc);
sf_DocNode sf_doc_member(sf_DocNode object, const char *key); ///< missing when not there or not an object
sf_DocNode sf_doc_item(sf_DocNode array, size_t index);
size_t sf_doc_length(sf_DocNode array); ///< 0 for anything that is no array
bool sf_doc_there(sf_DocNode node);     ///< present and not null
bool sf_doc_is_object(sf_DocNode node);
bool sf_doc_is_array(sf_DocNode node);

/// Each reader returns true and sets *value when the value is there and good. When it is absent or null it returns
/// false quietly; when it is of the wrong kind or out of range it returns false and notes a problem with the path.
bool sf_doc_number(sf_DocNode node, double low, double high, double *value);
bool sf_doc_whole(sf_DocNode node, int64_t low, int64_t high, int64_t *value);
bool sf_doc_flag(sf_DocNode node, bool *value);
bool sf_doc_text(sf_DocNode node, size_t max_bytes, const char **value); ///< borrowed from the document

/// A text that must be one of `words` (`count` of them); sets *index.
bool sf_doc_word(sf_DocNode node, const char *const *words, size_t count, size_t *index);

/// Notes a problem when the value is absent or null; `why` says what needs it (may be NULL).
bool sf_doc_need(sf_DocNode node, const char *why);

/// Notes a problem when the node is there but is no object / no array.
bool sf_doc_expect_object(sf_DocNode node);
bool sf_doc_expect_array(sf_DocNode node, size_t most);

/// Notes a problem for every key of the object that is not in `known` (`count` of them).
void sf_doc_only(sf_DocNode object, const char *const *known, size_t count);

/// The key number `index` of an object, or NULL past the end (in the document's order).
const char *sf_doc_key(sf_DocNode object, size_t index);

/// Notes a problem of the caller's own at this node.
void sf_doc_problem(sf_DocNode node, const char *format, ...) SF_PRINTF(2, 3);

size_t sf_doc_problem_count(const sf_Doc *doc);
const char *sf_doc_problem_path(const sf_Doc *doc, size_t index);
const char *sf_doc_problem_text(const sf_Doc *doc, size_t index);

/// SF_OK when no problem was noted; else SF_E_INPUT (SF_E_MEMORY when memory ran out) with all of them in one sentence.
sf_Status sf_doc_verdict(const sf_Doc *doc, sf_Error *err) SF_MUST_USE;

// ---- writing ---------------------------------------------------------------------------------------------------

/// A value being built. Every setter takes ownership of what it is given; a failed allocation is remembered and
/// reported once by sf_json_text(), so that building code stays straight.
typedef struct sf_Json sf_Json;

sf_Json *sf_json_object(void);
sf_Json *sf_json_array(void);
sf_Json *sf_json_pair(double first, double second); ///< array of two numbers
void sf_json_destroy(sf_Json **json);

void sf_json_set(sf_Json *object, const char *key, sf_Json *value);      ///< takes value
void sf_json_set_number(sf_Json *object, const char *key, double value); ///< null when not finite
void sf_json_set_whole(sf_Json *object, const char *key, int64_t value);
void sf_json_set_text(sf_Json *object, const char *key, const char *value); ///< null when NULL
void sf_json_set_flag(sf_Json *object, const char *key, bool value);
void sf_json_set_null(sf_Json *object, const char *key);
void sf_json_add(sf_Json *array, sf_Json *value); ///< takes value
void sf_json_add_number(sf_Json *array, double value);
void sf_json_add_text(sf_Json *array, const char *value);
void sf_json_add_text_once(sf_Json *array, const char *value); ///< unless it is there

/// A copy of what was read, to be set into a result.
sf_Json *sf_json_from_node(sf_DocNode node);

/// The finished text, indented, with a newline at its end (free with sf_free). Numbers keep `digits` significant
/// digits (1-17; 10 suits results, 15 keeps documents as typed). SF_E_MEMORY when any step ran out.
sf_Status sf_json_text(const sf_Json *json, int digits, char **text, sf_Error *err) SF_MUST_USE;
