// SPDX-License-Identifier: GPL-3.0-or-later
// Any bytes as a document: refused with a sentence, or read, walked and written so that reading the writing again gives
// the same text.
#include "base/alloc.h"
#include "base/doc.h"
#include "fuzz/fuzz_target.h"

#include <math.h>
#include <string.h>

// Asks every question at every node; what the answers must have in common is checked.
static void walk(sf_DocNode node, int depth)
{
    static const char *const words[] = { "left", "right" };
    double number;
    int64_t whole;
    bool flag;
    const char *text;
    size_t index;
    if (sf_doc_number(node, -1e6, 1e6, &number))
        FUZZ_TRUE(isfinite(number) && fabs(number) <= 1e6);
    if (sf_doc_whole(node, 0, 100, &whole))
        FUZZ_TRUE(whole >= 0 && whole <= 100);
    if (sf_doc_text(node, 20, &text))
        FUZZ_TRUE(strlen(text) <= 20);
    if (sf_doc_word(node, words, 2, &index))
        FUZZ_TRUE(index < 2);
    sf_doc_flag(node, &flag);
    sf_doc_need(node, NULL);
    if (depth > 40)
        return;
    if (sf_doc_is_object(node)) {
        const char *key;
        for (size_t i = 0; i < 50 && (key = sf_doc_key(node, i)) != NULL; i++)
            walk(sf_doc_member(node, key), depth + 1);
        FUZZ_TRUE(!sf_doc_there(sf_doc_item(node, 0)));
    }
    for (size_t i = 0; i < sf_doc_length(node) && i < 50; i++)
        walk(sf_doc_item(node, i), depth + 1);
}

static char *written(sf_Doc *doc)
{
    sf_Json *json = sf_json_from_node(sf_doc_root(doc));
    char *text = NULL;
    sf_Error err = { 0 };
    sf_Status status = sf_json_text(json, 17, &text, &err);
    FUZZ_TRUE(status == SF_OK);
    sf_json_destroy(&json);
    return text;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    size_t live = sf_alloc_live();
    sf_Doc *doc = NULL, *again = NULL;
    sf_Error err = { 0 };
    sf_Status status = sf_doc_parse(&doc, "fuzz.json", (const char *)data, size, &err);
    if (status != SF_OK) {
        FUZZ_TRUE(doc == NULL && err.status == status && err.text[0] != '\0');
    } else {
        walk(sf_doc_root(doc), 0);
        status = sf_doc_verdict(doc, &err);
        FUZZ_TRUE((status == SF_OK) == (sf_doc_problem_count(doc) == 0));
        for (size_t i = 0; i < sf_doc_problem_count(doc); i++)
            FUZZ_TRUE(sf_doc_problem_path(doc, i) && sf_doc_problem_text(doc, i)[0] != '\0');
        char *first = written(doc);
        status = sf_doc_parse(&again, "again.json", first, strlen(first), &err);
        FUZZ_TRUE(status == SF_OK);
        char *second = written(again);
        FUZZ_TRUE(strcmp(first, second) == 0);
        sf_free(first);
        sf_free(second);
    }
    sf_doc_destroy(&doc);
    sf_doc_destroy(&again);
    FUZZ_TRUE(sf_alloc_live() == live);
    return 0;
}
