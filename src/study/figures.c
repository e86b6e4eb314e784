// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/figures.h"

#include "base/alloc.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { KEY = 64, DIGITS = 12 };

sf_Status sf_figures_take(sf_Figures *figures, sf_Result *result, sf_Status status, const sf_Error *why, sf_Error *err)
{
    *figures = (sf_Figures){ 0 };
    if (status != SF_OK) {
        sf_result_drop(result);
        figures->why_not_code = status;
        snprintf(figures->why_not, sizeof figures->why_not, "%.*s", (int)sizeof figures->why_not - 1, why->text);
        return status == SF_E_MEMORY ? SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory") : SF_OK;
    }
    char *text = NULL;
    sf_Json *json = sf_result_finish(result, NULL);
    status = sf_json_text(json, DIGITS, &text, err);
    sf_json_destroy(&json);
    if (status == SF_OK)
        status = sf_doc_parse(&figures->doc, "the result", text, strlen(text), err);
    sf_free(text);
    return status;
}

void sf_figures_free(sf_Figures *figures)
{
    sf_doc_destroy(&figures->doc);
}

sf_DocNode sf_figures_at(const sf_Figures *figures, const char *path)
{
    sf_DocNode node = { 0 };
    if (!figures->doc)
        return node;
    node = sf_doc_root(figures->doc);
    while (*path) {
        if (*path == '[') {
            char *end;
            node = sf_doc_item(node, strtoul(path + 1, &end, 10));
            path = end + 1;
        } else {
            char key[KEY];
            size_t n = strcspn(path, ".[");
            snprintf(key, sizeof key, "%.*s", (int)n, path);
            node = sf_doc_member(node, key);
            path += n;
        }
        path += *path == '.';
    }
    return node;
}

double sf_figures_number(const sf_Figures *figures, const char *path)
{
    double value = NAN;
    sf_DocNode node = sf_figures_at(figures, path);
    if (!node.json || !sf_doc_there(node))
        return NAN;
    sf_doc_number(node, -INFINITY, INFINITY, &value);
    return value;
}

const char *sf_figures_text(const sf_Figures *figures, const char *path)
{
    const char *text = NULL;
    sf_DocNode node = sf_figures_at(figures, path);
    if (!node.json || !sf_doc_there(node))
        return NULL;
    sf_doc_text(node, SF_DOC_MAX_BYTES, &text);
    return text;
}

bool sf_figures_flag(const sf_Figures *figures, const char *path)
{
    bool flag = false;
    sf_DocNode node = sf_figures_at(figures, path);
    if (node.json && sf_doc_there(node))
        sf_doc_flag(node, &flag);
    return flag;
}

size_t sf_figures_length(const sf_Figures *figures, const char *path)
{
    sf_DocNode node = sf_figures_at(figures, path);
    return node.json ? sf_doc_length(node) : 0;
}
