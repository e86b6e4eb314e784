// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/result.h"

#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>

enum { SENTENCE = 1024 };

const char *sf_version(void)
{
    return SF_VERSION;
}

const char *sf_safety_sentence(void)
{
    return "An aid to the judgement of a licensed prosthetist, not a certificate: a limb that breaks can injure or "
           "kill, and "
           "this replaces neither the physical tests of ISO 10328 and ISO 22675 nor the component makers' limits; "
           "local law "
           "and licensed practice come first.";
}

sf_Status sf_result_begin(sf_Result *result, sf_Error *err)
{
    *result = (sf_Result){ 0 };
    sf_Status status = sf_hash_create(&result->hash, err);
    if (status != SF_OK)
        return status;
    result->json = sf_json_object();
    result->assumptions = sf_json_array();
    result->notes = sf_json_array();
    if (result->json && result->assumptions && result->notes)
        return SF_OK;
    sf_result_drop(result);
    return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
}

static void add_input(sf_Hash *hash, const void *bytes, size_t size)
{
    uint64_t length = size;
    unsigned char head[8];
    for (int i = 0; i < 8; i++)
        head[i] = (unsigned char)(length >> (8 * i));
    sf_hash_add(hash, head, sizeof head);
    sf_hash_add(hash, bytes, size);
}

void sf_result_input(sf_Result *result, const void *bytes, size_t size)
{
    add_input(result->hash, bytes, size);
}

sf_Status sf_result_fingerprint(char hex[SF_HASH_HEX], const void *const *bytes, const size_t *sizes, size_t count,
                                sf_Error *err)
{
    sf_Hash *hash = NULL;
    SF_TRY(sf_hash_create(&hash, err));
    for (size_t i = 0; i < count; i++)
        add_input(hash, bytes[i], sizes[i]);
    sf_hash_finish(&hash, hex);
    return SF_OK;
}

void sf_result_assume(sf_Result *result, const char *format, ...)
{
    char text[SENTENCE];
    va_list args;
    va_start(args, format);
    vsnprintf(text, sizeof text, format, args);
    va_end(args);
    sf_json_add_text_once(result->assumptions, text);
}

void sf_result_note(sf_Result *result, const char *format, ...)
{
    char text[SENTENCE];
    va_list args;
    va_start(args, format);
    vsnprintf(text, sizeof text, format, args);
    va_end(args);
    sf_json_add_text_once(result->notes, text);
}

void sf_result_null(sf_Result *result, const char *key, const char *reason)
{
    sf_json_set_null(result->json, key);
    sf_result_note(result, "%s: %s", key, reason);
}

sf_Json *sf_result_finish(sf_Result *result, const char *safety)
{
    char hex[SF_HASH_HEX];
    sf_hash_finish(&result->hash, hex);
    sf_json_set(result->json, "assumptions", result->assumptions);
    sf_json_set(result->json, "notes", result->notes);
    sf_json_set_text(result->json, "safety", safety ? safety : sf_safety_sentence());
    sf_json_set_text(result->json, "inputs_sha256", hex);
    sf_json_set_text(result->json, "tool_version", sf_version());
    sf_Json *json = result->json;
    *result = (sf_Result){ 0 };
    return json;
}

void sf_result_drop(sf_Result *result)
{
    sf_json_destroy(&result->json);
    sf_json_destroy(&result->assumptions);
    sf_json_destroy(&result->notes);
    sf_hash_destroy(&result->hash);
}
