// SPDX-License-Identifier: GPL-3.0-or-later
#include "limb/limb.h"

#include "base/alloc.h"
#include "base/text.h"

#include <string.h>

enum { LIMB_ARENA_BYTES = 4 * 1024 * 1024, NEED_TEXT_BYTES = 400 };

void sf_limb_destroy(sf_Limb **limb)
{
    if (!limb || !*limb)
        return;
    sf_arena_destroy(&(*limb)->arena);
    sf_free(*limb);
    *limb = NULL;
}

sf_Status sf_limb_from_node(sf_Limb **out, sf_DocNode node, sf_Error *err)
{
    *out = NULL;
    sf_Limb *limb = sf_alloc(1, sizeof *limb);
    if (!limb)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory while reading the limb");
    sf_Status status = SF_OK;
    size_t before = sf_doc_problem_count(node.doc);
    limb->folder = "";
    limb->arena = sf_arena_create(LIMB_ARENA_BYTES);
    if (!limb->arena) {
        status = SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory while reading the limb");
        goto done;
    }
    if (!sf_doc_is_object(node))
        sf_doc_problem(node, "must be an object { ... }, a limb document of format 'standfast-limb/1'");
    else
        SF_TRY_DONE(sf_shape_read(&sf_limb_shape, node, &limb->data, limb->arena, err));
    if (sf_doc_problem_count(node.doc) == before)
        sf_limb_check(node, &limb->data);
    if (sf_doc_problem_count(node.doc) == before) {
        *out = limb;
        limb = NULL;
    }
done:
    sf_limb_destroy(&limb);
    return status;
}

static sf_Status from_doc(sf_Limb **limb, sf_Doc *doc, sf_Error *err)
{
    sf_Status status = sf_limb_from_node(limb, sf_doc_root(doc), err);
    if (status == SF_OK)
        status = sf_doc_verdict(doc, err);
    if (status != SF_OK)
        sf_limb_destroy(limb);
    return status;
}

sf_Status sf_limb_parse(sf_Limb **limb, const char *name, const char *text, size_t size, sf_Error *err)
{
    sf_Doc *doc = NULL;
    *limb = NULL;
    SF_TRY(sf_doc_parse(&doc, name, text, size, err));
    sf_Status status = from_doc(limb, doc, err);
    sf_doc_destroy(&doc);
    return status;
}

static sf_Status set_folder(sf_Limb *limb, const char *path, sf_Error *err)
{
    const char *slash = strrchr(path, '/');
    if (!slash)
        return SF_OK;
    limb->folder = sf_arena_format(limb->arena, "%.*s", (int)(slash - path + 1), path);
    if (!limb->folder)
        return SF_FAIL(err, SF_E_MEMORY, path, "out of memory while reading %s", path);
    return SF_OK;
}

sf_Status sf_limb_read_file(sf_Limb **limb, const char *path, sf_Error *err)
{
    sf_Doc *doc = NULL;
    *limb = NULL;
    SF_TRY(sf_doc_read_file(&doc, path, err));
    sf_Status status = from_doc(limb, doc, err);
    sf_doc_destroy(&doc);
    if (status == SF_OK)
        status = set_folder(*limb, path, err);
    if (status != SF_OK)
        sf_limb_destroy(limb);
    return status;
}

sf_Json *sf_limb_json(const sf_Limb *limb)
{
    return sf_shape_write(&sf_limb_shape, &limb->data);
}

bool sf_limb_has(const sf_Limb *limb, const char *path)
{
    return sf_shape_has(&sf_limb_shape, &limb->data, path);
}

sf_Status sf_limb_need(const sf_Limb *limb, const char *const *paths, size_t count, const char *command, sf_Error *err)
{
    sf_Text missing = sf_text_make(NEED_TEXT_BYTES);
    const char *first = NULL;
    size_t lacking = 0;
    for (size_t i = 0; i < count; i++)
        if (!sf_limb_has(limb, paths[i])) {
            sf_text_format(&missing, "%s%s", lacking++ ? ", " : "", paths[i]);
            first = first ? first : paths[i];
        }
    sf_Status status = SF_OK;
    if (lacking)
        status = SF_FAIL(err, SF_E_MISSING, first, "%s needs %s, which the limb file does not give: add %s", command,
                         sf_text_string(&missing), lacking > 1 ? "them" : "it");
    sf_text_free(&missing);
    return status;
}

const char *sf_limb_path(const sf_Limb *limb, const char *name)
{
    return sf_arena_format(limb->arena, "%s%s", *name == '/' ? "" : limb->folder, name);
}
