// SPDX-License-Identifier: GPL-3.0-or-later
// The reader's word on many documents, for judge_limb_schema.py: one JSON document per line on stdin, one answer per
// line on stdout: 'good', 'shape' (not of the schema's shape) or 'sizes' (of good shape, but sizes contradict one
// another).
// --fields prints every field that the reader knows instead.
#define _POSIX_C_SOURCE 200809L // getline
#include "limb/limb.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/types.h>

static const char *const kind_words[] = { "number", "whole", "flag",   "text", "word",
                                          "date",   "pair",  "object", "list", "const" };

static void print_fields(const sf_Shape *shape, const char *path)
{
    for (size_t i = 0; i < shape->count; i++) {
        const sf_Field *field = &shape->fields[i];
        char here[300];
        snprintf(here, sizeof here, "%s%s%s", path, *path ? "." : "", field->key);
        printf("%s\t%s\t%d\t%.17g\t%.17g\t%zu\t", here, kind_words[field->kind], field->required ? 1 : 0, field->low,
               field->high, field->most);
        for (size_t k = 0; k < field->word_count; k++)
            printf("%s%s", k ? "|" : "", field->words[k]);
        putchar('\n');
        if (field->shape) {
            if (field->kind == SF_FIELD_LIST)
                strncat(here, "[]", sizeof here - strlen(here) - 1);
            print_fields(field->shape, here);
        }
    }
}

static const char *judge(const char *text, size_t size)
{
    sf_Doc *doc = NULL;
    const char *word = "shape";
    if (sf_doc_parse(&doc, "line", text, size, NULL) != SF_OK)
        return "parse";
    sf_LimbData data;
    sf_Arena *arena = sf_arena_create(1 << 22);
    if (arena && sf_doc_is_object(sf_doc_root(doc)) &&
        sf_shape_read(&sf_limb_shape, sf_doc_root(doc), &data, arena, NULL) == SF_OK &&
        sf_doc_problem_count(doc) == 0) {
        sf_limb_check(sf_doc_root(doc), &data);
        word = sf_doc_problem_count(doc) ? "sizes" : "good";
    }
    // The public door must give the same verdict as the two steps above.
    sf_Limb *limb = NULL;
    bool open = sf_limb_parse(&limb, "line", text, size, NULL) == SF_OK;
    if (open != (strcmp(word, "good") == 0))
        word = "reader-disagrees-with-itself";
    sf_limb_destroy(&limb);
    sf_arena_destroy(&arena);
    sf_doc_destroy(&doc);
    return word;
}

int main(int argc, char **argv)
{
    if (argc > 1 && strcmp(argv[1], "--fields") == 0) {
        print_fields(&sf_limb_shape, "");
        return 0;
    }
    char *line = NULL;
    size_t room = 0;
    ssize_t size;
    while ((size = getline(&line, &room, stdin)) > 0)
        puts(judge(line, (size_t)size));
    free(line);
    return 0;
}
