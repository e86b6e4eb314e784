// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/result_print.h"

#include "base/alloc.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { LABEL = 96, DEEPEST = 6, INDENT = 2, LONGEST = 4096, DIGITS = 10 };

typedef struct Unit {
    const char *ending, *unit;
} Unit;

static const Unit units[] = { { "_mm", "mm" },         { "_deg", "deg" },      { "_percent", "%" },
                              { "_years", "years" },   { "_nm", "N.m" },       { "_kg", "kg" },
                              { "_kgm2", "kg.m2" },    { "_g", "g" },          { "_mpa", "MPa" },
                              { "_pa", "Pa" },         { "_mps", "m/s" },      { "_n", "N" },
                              { "_lbf_in", "lbf.in" }, { "_lbf_ft", "lbf.ft" } };

/// Key in words without its unit; returns the unit or "".
static const char *label_of(const char *key, char label[LABEL])
{
    size_t length = strlen(key);
    const char *unit = "";
    for (size_t i = 0; i < sizeof units / sizeof *units; i++) {
        size_t n = strlen(units[i].ending);
        if (length > n && strcmp(key + length - n, units[i].ending) == 0) {
            unit = units[i].unit;
            length -= n;
            break;
        }
    }
    snprintf(label, LABEL, "%.*s", (int)(length < LABEL ? length : LABEL - 1), key);
    for (char *c = label; *c; c++)
        if (*c == '_')
            *c = ' ';
    return unit;
}

static bool print_scalar(sf_DocNode node)
{
    double number;
    bool flag;
    const char *text;
    if (!node.json || (!sf_doc_there(node) && !sf_doc_is_object(node)))
        printf("-");
    else if (sf_doc_is_object(node) || sf_doc_is_array(node))
        return false;
    else if (sf_doc_text(node, SF_DOC_MAX_BYTES, &text))
        printf("%s", text);
    else if (sf_doc_flag(node, &flag))
        printf("%s", flag ? "yes" : "no");
    else if (sf_doc_number(node, -INFINITY, INFINITY, &number))
        printf("%.*f", fabs(number) >= 100 || number == round(number) ? (number == round(number) ? 0 : 1) : 3, number);
    return true;
}

static bool only_scalars(sf_DocNode array)
{
    for (size_t i = 0; i < sf_doc_length(array); i++) {
        sf_DocNode item = sf_doc_item(array, i);
        if (sf_doc_is_object(item) || sf_doc_is_array(item))
            return false;
    }
    return true;
}

static void print_object(sf_DocNode object, int depth);

static void print_member(sf_DocNode node, const char *key, int depth)
{
    char label[LABEL];
    const char *unit = label_of(key, label);
    int pad = depth * INDENT;
    if (sf_doc_is_object(node)) {
        printf("%*s%s:\n", pad, "", label);
        print_object(node, depth + 1);
        return;
    }
    if (sf_doc_is_array(node) && !only_scalars(node)) {
        printf("%*s%s:\n", pad, "", label);
        for (size_t i = 0; i < sf_doc_length(node); i++) {
            if (i > 0)
                printf("\n");
            print_object(sf_doc_item(node, i), depth + 1);
        }
        return;
    }
    printf("%*s%-*s ", pad, "", 34 - pad, label);
    if (sf_doc_is_array(node)) {
        for (size_t i = 0; i < sf_doc_length(node); i++) {
            printf("%s", i ? ", " : "");
            print_scalar(sf_doc_item(node, i));
        }
        if (sf_doc_length(node) == 0)
            printf("none");
    } else {
        print_scalar(node);
    }
    printf("%s%s\n", *unit && sf_doc_there(node) ? " " : "", sf_doc_there(node) ? unit : "");
}

static void print_object(sf_DocNode object, int depth)
{
    if (depth > DEEPEST)
        return;
    const char *key;
    for (size_t i = 0; (key = sf_doc_key(object, i)) != NULL; i++)
        print_member(sf_doc_member(object, key), key, depth);
}

static void print_sentences(sf_DocNode root, const char *key, const char *title)
{
    sf_DocNode list = sf_doc_member(root, key);
    const char *text;
    for (size_t i = 0; i < sf_doc_length(list); i++)
        if (sf_doc_text(sf_doc_item(list, i), SF_DOC_MAX_BYTES, &text))
            printf("%s%s: %s\n", i ? "" : "\n", title, text);
}

sf_Status sf_result_print(sf_Json **json, sf_Error *err)
{
    static const char *const last[] = { "assumptions", "notes", "safety", "inputs_sha256", "tool_version" };
    char *text = NULL;
    sf_Doc *doc = NULL;
    sf_Status status = sf_json_text(*json, 10, &text, err);
    sf_json_destroy(json);
    if (status == SF_OK)
        status = sf_doc_parse(&doc, "the result", text, strlen(text), err);
    if (status == SF_OK) {
        sf_DocNode root = sf_doc_root(doc);
        const char *key, *safety = "";
        for (size_t i = 0; (key = sf_doc_key(root, i)) != NULL; i++) {
            bool later = false;
            for (size_t k = 0; k < sizeof last / sizeof *last; k++)
                later = later || strcmp(key, last[k]) == 0;
            if (!later)
                print_member(sf_doc_member(root, key), key, 1);
        }
        print_sentences(root, "assumptions", "assumed");
        print_sentences(root, "notes", "note");
        sf_doc_text(sf_doc_member(root, "safety"), SF_DOC_MAX_BYTES, &safety);
        printf("\n%s\n", safety);
    }
    sf_doc_destroy(&doc);
    sf_free(text);
    return status;
}

// ---- results with a layout of their own -------------------------------------------------------------------------

double sf_result_number(sf_DocNode object, const char *key)
{
    double value = 0;
    sf_doc_number(sf_doc_member(object, key), -1e12, 1e12, &value);
    return value;
}

const char *sf_result_text(sf_DocNode object, const char *key)
{
    const char *text = "";
    sf_doc_text(sf_doc_member(object, key), LONGEST, &text);
    return text;
}

void sf_result_print_list(sf_DocNode root, const char *key, const char *title, const char *field)
{
    sf_DocNode list = sf_doc_member(root, key);
    if (sf_doc_length(list) > 0)
        printf("\n%s\n", title);
    for (size_t i = 0; i < sf_doc_length(list); i++) {
        const char *text = "";
        sf_DocNode item = sf_doc_item(list, i);
        sf_doc_text(field ? sf_doc_member(item, field) : item, LONGEST, &text);
        printf("- %s\n", text);
    }
}

sf_Status sf_result_print_by(const sf_Json *json, void (*body)(sf_DocNode root), sf_Error *err)
{
    char *text = NULL;
    sf_Doc *doc = NULL;
    sf_Status status;
    SF_TRY_DONE(sf_json_text(json, DIGITS, &text, err));
    SF_TRY_DONE(sf_doc_parse(&doc, "result", text, strlen(text), err));
    sf_DocNode root = sf_doc_root(doc);
    body(root);
    sf_result_print_list(root, "assumptions", "Assumed", NULL);
    sf_result_print_list(root, "notes", "To know", NULL);
    printf("\n%s\n", sf_result_text(root, "safety"));
done:
    sf_doc_destroy(&doc);
    sf_free(text);
    return status;
}
