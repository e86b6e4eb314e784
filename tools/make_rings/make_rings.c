// SPDX-License-Identifier: GPL-3.0-or-later
// make_rings SCENES.json FOLDER            one picture and its truth per scene of the file
// make_rings --set NAME [--count N] [--seed S] FOLDER
// Draws scans of rings that never existed, with what a perfect measurement of them would find. Invented data.
#include "base/alloc.h"
#include "base/file.h"
#include "ring_encode.h"
#include "ring_paint.h"
#include "ring_sets.h"
#include "ring_spoil.h"
#include "ring_truth.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

enum { PATH_ROOM = 1024 };

static const char USAGE[] = "usage: make_rings SCENES.json FOLDER\n"
                            "       make_rings --set NAME [--count N] [--seed S] [--from I] FOLDER\n";

/// What is expected: the truth beside a ring that can be measured, the reason beside one that must be refused.
static sf_Status write_expected(const sf_Scene *s, const char *folder, sf_Error *err)
{
    char path[PATH_ROOM];
    sf_Truth truth;
    char *text = NULL;
    sf_Json *json = NULL;
    if (s->refuse[0]) {
        json = sf_json_object();
        sf_json_set_text(json, "refuse", s->refuse);
        sf_json_set_whole(json, "exit", 3);
    } else {
        SF_TRY(sf_truth_find(s, &truth, err));
        json = sf_truth_json(s, &truth);
    }
    sf_Status status = sf_json_text(json, 10, &text, err);
    snprintf(path, sizeof path, "%s/%s.%s.json", folder, s->name, s->refuse[0] ? "refuse" : "truth");
    if (status == SF_OK)
        status = sf_file_write(path, text, strlen(text), err);
    sf_json_destroy(&json);
    sf_free(text);
    return status;
}

static sf_Status make(const sf_Scene *s, const char *folder, sf_Error *err)
{
    char path[PATH_ROOM];
    sf_Field light = { 0 };
    SF_TRY(write_expected(s, folder, err));
    snprintf(path, sizeof path, "%s/%s.%s", folder, s->name, sf_scene_format_word(s));
    SF_TRY(sf_paint_scene(s, &light, err));
    sf_Status status = sf_encode_scene(s, &light, path, err);
    sf_field_destroy(&light);
    if (status == SF_OK)
        status = sf_spoil_file(s, path, err);
    if (status == SF_OK)
        printf("%s\n", path);
    return status;
}

static sf_Status make_file(const char *file, const char *folder, sf_Error *err)
{
    sf_Doc *doc = NULL;
    sf_Status status = SF_OK;
    SF_TRY(sf_doc_read_file(&doc, file, err));
    const sf_DocNode list = sf_doc_member(sf_doc_root(doc), "scenes");
    sf_doc_need(list, "it lists the pictures to make");
    for (size_t i = 0; i < sf_doc_length(list) && status == SF_OK; i++) {
        sf_Scene scene;
        sf_scene_read(sf_doc_item(list, i), &scene);
        status = sf_doc_verdict(doc, err);
        if (status == SF_OK)
            status = make(&scene, folder, err);
    }
    if (status == SF_OK)
        status = sf_doc_verdict(doc, err);
    sf_doc_destroy(&doc);
    return status;
}

static sf_Status make_set(const char *set, int64_t seed, int64_t from, int64_t count, const char *folder, sf_Error *err)
{
    for (int64_t i = from; i < from + (count > 0 ? count : sf_set_size(set)) || i == from; i++) {
        sf_Scene scene;
        SF_TRY(sf_set_scene(set, seed, i, &scene, err));
        SF_TRY(make(&scene, folder, err));
    }
    return SF_OK;
}

int main(int argc, char **argv)
{
    const char *set = NULL, *plain[2] = { NULL, NULL };
    int64_t count = 0, seed = 1, from = 0;
    int used = 0;
    for (int i = 1; i < argc; i++) {
        const bool more = i + 1 < argc;
        if (strcmp(argv[i], "--set") == 0 && more)
            set = argv[++i];
        else if (strcmp(argv[i], "--count") == 0 && more)
            count = strtoll(argv[++i], NULL, 10);
        else if (strcmp(argv[i], "--seed") == 0 && more)
            seed = strtoll(argv[++i], NULL, 10);
        else if (strcmp(argv[i], "--from") == 0 && more)
            from = strtoll(argv[++i], NULL, 10);
        else if (argv[i][0] != '-' && used < 2)
            plain[used++] = argv[i];
        else
            used = 3;
    }
    if (used != (set ? 1 : 2)) {
        fputs(USAGE, stderr);
        return 2;
    }
    sf_Error err = { 0 };
    const char *folder = plain[used - 1];
    if (mkdir(folder, 0777) != 0 && errno != EEXIST) {
        fprintf(stderr, "make_rings: the folder %s cannot be made: %s\n", folder, strerror(errno));
        return 5;
    }
    const sf_Status status = set ? make_set(set, seed, from, count, folder, &err) : make_file(plain[0], folder, &err);
    if (status != SF_OK)
        fprintf(stderr, "make_rings: %s\n", err.text);
    return sf_status_exit_code(status);
}
