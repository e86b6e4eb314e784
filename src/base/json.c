// SPDX-License-Identifier: GPL-3.0-or-later
// Writing half of base/doc.h. An sf_Json is a jansson value; a NULL stands for one that could not be allocated and
// poisons whatever it is put into, so that the loss is seen once, at the end.
#include "base/alloc.h"
#include "base/doc.h"
#include "base/json_heap.h"

#include <jansson.h>
#include <math.h>
#include <string.h>

struct sf_Json {
    json_t *value;
    bool broken;
};

static sf_Json *wrap(json_t *value)
{
    sf_Json *json = sf_alloc(1, sizeof *json);
    if (!json) {
        json_decref(value);
        return NULL;
    }
    *json = (sf_Json){ value, value == NULL };
    return json;
}

sf_Json *sf_json_object(void)
{
    sf_json_heap_install();
    return wrap(json_object());
}

sf_Json *sf_json_array(void)
{
    sf_json_heap_install();
    return wrap(json_array());
}

sf_Json *sf_json_pair(double first, double second)
{
    sf_Json *array = sf_json_array();
    sf_json_add_number(array, first);
    sf_json_add_number(array, second);
    return array;
}

void sf_json_destroy(sf_Json **json)
{
    if (!json || !*json)
        return;
    json_decref((*json)->value);
    sf_free(*json);
    *json = NULL;
}

static void set_value(sf_Json *object, const char *key, json_t *value)
{
    if (!object)
        json_decref(value);
    else if (!value || json_object_set_new(object->value, key, value) != 0)
        object->broken = true;
}

static void add_value(sf_Json *array, json_t *value)
{
    if (!array)
        json_decref(value);
    else if (!value || json_array_append_new(array->value, value) != 0)
        array->broken = true;
}

// Takes the jansson value out of a wrapper and frees the wrapper.
static json_t *unwrap(sf_Json *json)
{
    if (!json)
        return NULL;
    json_t *value = json->broken ? NULL : json_incref(json->value);
    sf_json_destroy(&json);
    return value;
}

void sf_json_set(sf_Json *object, const char *key, sf_Json *value)
{
    set_value(object, key, unwrap(value));
}

void sf_json_set_number(sf_Json *object, const char *key, double value)
{
    set_value(object, key, isfinite(value) ? json_real(value == 0 ? 0.0 : value) : json_null());
}

void sf_json_set_whole(sf_Json *object, const char *key, int64_t value)
{
    set_value(object, key, json_integer(value));
}

void sf_json_set_text(sf_Json *object, const char *key, const char *value)
{
    set_value(object, key, value ? json_string(value) : json_null());
}

void sf_json_set_flag(sf_Json *object, const char *key, bool value)
{
    set_value(object, key, json_boolean(value));
}

void sf_json_set_null(sf_Json *object, const char *key)
{
    set_value(object, key, json_null());
}

void sf_json_add(sf_Json *array, sf_Json *value)
{
    add_value(array, unwrap(value));
}

void sf_json_add_number(sf_Json *array, double value)
{
    add_value(array, isfinite(value) ? json_real(value) : json_null());
}

void sf_json_add_text(sf_Json *array, const char *value)
{
    add_value(array, json_string(value));
}

void sf_json_add_text_once(sf_Json *array, const char *value)
{
    size_t i;
    const json_t *item;
    if (!array)
        return;
    json_array_foreach(array->value, i, item)
    {
        if (strcmp(json_string_value(item), value) == 0)
            return;
    }
    sf_json_add_text(array, value);
}

sf_Json *sf_json_from_node(sf_DocNode node)
{
    sf_json_heap_install();
    return wrap(node.json ? json_deep_copy(node.json) : json_null());
}

sf_Status sf_json_text(const sf_Json *json, int digits, char **text, sf_Error *err)
{
    *text = NULL;
    sf_json_heap_failed();
    if (json && !json->broken)
        *text = json_dumps(json->value, JSON_INDENT(2) | JSON_REAL_PRECISION(digits) | JSON_ENCODE_ANY);
    if (sf_json_heap_failed()) { // the writer may drop a piece and go on
        sf_free(*text);
        *text = NULL;
    }
    if (!*text)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory while writing the result");
    return SF_OK;
}
