// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/computation_call.h"

#include "base/alloc.h"
#include "base/progress.h"
#include "section/outline_table.h"

#include <assert.h>
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

enum { MOST_TEXT = 200, MOST_PATH = 4096, MOST_ID = 20 };

// ---- the table -------------------------------------------------------------------------------------------------

const sf_Computation *sf_computation_at(size_t index)
{
    if (index < sf_limb_computation_count)
        return &sf_limb_computations[index];
    index -= sf_limb_computation_count;
    if (index < sf_ring_computation_count)
        return &sf_ring_computations[index];
    index -= sf_ring_computation_count;
    return index < sf_walk_computation_count ? &sf_walk_computations[index] : NULL;
}

const sf_Computation *sf_computation_find(const char *name)
{
    const sf_Computation *c;
    for (size_t i = 0; (c = sf_computation_at(i)); i++)
        if (strcmp(c->name, name) == 0)
            return c;
    return NULL;
}

static sf_Json *option_json(const sf_ComputeOption *o)
{
    static const char *const kinds[] = { "flag", "number", "text", "word" };
    sf_Json *json = sf_json_object();
    sf_json_set_text(json, "name", o->name);
    sf_json_set_text(json, "takes", kinds[o->takes]);
    sf_json_set_text(json, "help", o->help);
    if (o->takes == SF_TAKES_NUMBER) {
        sf_json_set_number(json, "low", o->low);
        sf_json_set_number(json, "high", o->high);
    }
    if (o->takes == SF_TAKES_WORD) {
        sf_Json *words = sf_json_array();
        for (size_t w = 0; o->words[w]; w++)
            sf_json_add_text(words, o->words[w]);
        sf_json_set(json, "words", words);
    }
    return json;
}

sf_Json *sf_computation_list(void)
{
    sf_Json *list = sf_json_array();
    const sf_Computation *c;
    for (size_t i = 0; (c = sf_computation_at(i)); i++) {
        sf_Json *json = sf_json_object(), *options = sf_json_array();
        sf_json_set_text(json, "name", c->name);
        sf_json_set_text(json, "takes", c->takes);
        sf_json_set_text(json, "help", c->help);
        sf_json_set_flag(json, "drawing", c->draws);
        for (size_t k = 0; k < c->option_count; k++)
            sf_json_add(options, option_json(&c->options[k]));
        sf_json_set(json, "options", options);
        sf_json_add(list, json);
    }
    sf_Json *json = sf_json_object();
    sf_json_set(json, "computations", list);
    return json;
}

// ---- options ---------------------------------------------------------------------------------------------------

static void read_option(const sf_ComputeOption *o, sf_DocNode node, sf_ComputeValue *value)
{
    size_t words = 0;
    switch (o->takes) {
    case SF_TAKES_FLAG: value->given = sf_doc_flag(node, &value->flag); break;
    case SF_TAKES_NUMBER: value->given = sf_doc_number(node, o->low, o->high, &value->number); break;
    case SF_TAKES_TEXT: value->given = sf_doc_text(node, MOST_TEXT, &value->text); break;
    case SF_TAKES_WORD:
        while (o->words[words])
            words++;
        value->given = sf_doc_word(node, o->words, words, &value->word);
        break;
    }
}

static void read_options(sf_ComputeCall *call)
{
    const sf_Computation *c = call->computation;
    const char *known[SF_COMPUTE_MOST_OPTIONS];
    sf_DocNode options = sf_doc_member(call->request, "options");
    assert(c->option_count <= SF_COMPUTE_MOST_OPTIONS);
    sf_doc_expect_object(options);
    for (size_t i = 0; i < c->option_count; i++) {
        known[i] = c->options[i].name;
        read_option(&c->options[i], sf_doc_member(options, known[i]), &call->values[i]);
    }
    if (sf_doc_is_object(options))
        sf_doc_only(options, known, c->option_count);
}

const sf_ComputeValue *sf_call_option(const sf_ComputeCall *call, const char *name)
{
    for (size_t i = 0; i < call->computation->option_count; i++)
        if (strcmp(call->computation->options[i].name, name) == 0)
            return &call->values[i];
    assert(!"an option that the table lacks");
    return &call->values[0];
}

double sf_call_number(const sf_ComputeCall *call, const char *name, double otherwise)
{
    const sf_ComputeValue *value = sf_call_option(call, name);
    return value->given ? value->number : otherwise;
}

bool sf_call_flag(const sf_ComputeCall *call, const char *name)
{
    return sf_call_option(call, name)->flag;
}

const char *sf_call_text(const sf_ComputeCall *call, const char *name)
{
    return sf_call_option(call, name)->text;
}

size_t sf_call_word(const sf_ComputeCall *call, const char *name)
{
    const sf_ComputeValue *value = sf_call_option(call, name);
    return value->given ? value->word : SIZE_MAX;
}

// ---- limbs -----------------------------------------------------------------------------------------------------

bool sf_compute_is_hash(const char *text)
{
    return strlen(text) == 64 && strspn(text, "0123456789abcdef") == 64;
}

sf_Status sf_call_file(const sf_ComputeCall *call, const char *hash, char *path, size_t room, sf_Error *err)
{
    if (!sf_compute_is_hash(hash) || !call->source || !call->source->file)
        return SF_FAIL(err, SF_E_INPUT, NULL,
                       "must name a stored picture by its hash (upload the file first and put its hash here)");
    return call->source->file(call->source->context, hash, path, room, err);
}

// A file named in a document becomes the path of a stored file, or a problem: no request may name the machine's own.
static sf_Status resolve_file(sf_ComputeCall *call, sf_DocNode ring, const char *key, const char **name, sf_Limb *limb,
                              sf_Error *err)
{
    char path[MOST_PATH];
    sf_Error why = { 0 };
    if (!*name)
        return SF_OK;
    sf_Status status = sf_call_file(call, *name, path, sizeof path, &why);
    if (status == SF_E_INPUT || status == SF_E_MISSING) {
        sf_doc_problem(sf_doc_member(ring, key), "%s",
                       status == SF_E_INPUT ? why.text : "names a picture that is not in the store: upload it first");
        return SF_OK;
    }
    if (status != SF_OK)
        return SF_FAIL(err, status, ring.path, "%s", why.text);
    *name = sf_arena_text(limb->arena, path);
    return *name ? SF_OK : SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
}

void sf_call_card(sf_DocNode node)
{
    const char *name = NULL;
    if (sf_doc_text(node, MOST_PATH, &name) && (strchr(name, '/') || strchr(name, '.')))
        sf_doc_problem(node, "must be the name of a card, not a file");
}

// An outline that stands in the document itself is read once before the document is kept or reckoned with.
static sf_Status check_outline(sf_DocNode node, const char *text, sf_Error *err)
{
    sf_Error why = { 0 };
    sf_Outline *outline = text ? sf_alloc(1, sizeof *outline) : NULL;
    if (!text)
        return SF_OK;
    if (!outline)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    sf_Status status = sf_outline_read_csv(outline, "it", text, strlen(text), &why);
    if (status != SF_OK && status != SF_E_MEMORY)
        sf_doc_problem(node, "is no outline: %s", why.text);
    sf_outline_free(outline);
    sf_free(outline);
    return status == SF_E_MEMORY ? SF_FAIL(err, status, NULL, "out of memory") : SF_OK;
}

static sf_Status resolve_files(sf_ComputeCall *call, sf_DocNode node, sf_Limb *limb, sf_Error *err)
{
    sf_DocNode pylon = sf_doc_member(node, "pylon"), rings = sf_doc_member(pylon, "rings");
    for (size_t i = 0; i < limb->data.pylon.ring_count; i++) {
        sf_LimbRing *ring = &limb->data.pylon.rings[i];
        sf_DocNode at = sf_doc_item(rings, i);
        SF_TRY(resolve_file(call, at, "image", &ring->image, limb, err));
        SF_TRY(resolve_file(call, at, "outline", &ring->outline, limb, err));
        SF_TRY(resolve_file(call, at, "caliper", &ring->caliper, limb, err));
        SF_TRY(resolve_file(call, at, "calibration", &ring->calibration, limb, err));
        SF_TRY(check_outline(sf_doc_member(at, "outline_csv"), ring->outline_csv, err));
    }
    sf_call_card(sf_doc_member(pylon, "material"));
    return SF_OK;
}

sf_Status sf_call_node_text(sf_DocNode node, char **text, sf_Error *err)
{
    sf_Json *json = sf_json_from_node(node);
    sf_Status status = sf_json_text(json, 17, text, err);
    sf_json_destroy(&json);
    return status;
}

sf_Status sf_call_limb(sf_ComputeCall *call, sf_DocNode node, sf_Limb **limb, sf_Result *result, sf_Error *err)
{
    char *text = NULL;
    sf_Status status;
    *limb = NULL;
    SF_TRY_DONE(sf_limb_from_node(limb, node, err));
    if (*limb)
        SF_TRY_DONE(resolve_files(call, node, *limb, err));
    SF_TRY_DONE(sf_doc_verdict(node.doc, err));
    if (result) {
        SF_TRY_DONE(sf_call_node_text(node, &text, err));
        sf_result_input(result, text, strlen(text));
    }
done:
    sf_free(text);
    if (status != SF_OK)
        sf_limb_destroy(limb);
    return status;
}

sf_Status sf_computation_limb_read(sf_Limb **limb, sf_DocNode document, const sf_ComputeSource *source, sf_Error *err)
{
    sf_ComputeCall call = { .source = source };
    return sf_call_limb(&call, document, limb, NULL, err);
}

sf_Status sf_computation_limb_check(sf_DocNode document, const sf_ComputeSource *source, sf_Error *err)
{
    sf_Limb *limb = NULL;
    SF_TRY(sf_computation_limb_read(&limb, document, source, err));
    sf_limb_destroy(&limb);
    return SF_OK;
}

static sf_Status stored_limb(sf_ComputeCall *call, const char *id, sf_Limb **limb, sf_Result *result, sf_Error *err)
{
    char *text = NULL;
    sf_Doc *doc = NULL;
    sf_Status status;
    if (!call->source || !call->source->limb)
        return SF_FAIL(err, SF_E_MISSING, "limb", "there is no store here to take a limb from: send the document");
    SF_TRY_DONE(call->source->limb(call->source->context, id, &text, err));
    SF_TRY_DONE(sf_doc_parse(&doc, "the stored limb", text, strlen(text), err));
    SF_TRY_DONE(sf_call_limb(call, sf_doc_root(doc), limb, result, err));
done:
    sf_doc_destroy(&doc);
    sf_free(text);
    return status;
}

// An id may come as a number or as text.
static sf_Status read_id(sf_DocNode node, char id[MOST_ID], sf_Error *err)
{
    char *text = NULL;
    SF_TRY(sf_call_node_text(node, &text, err));
    size_t skip = strspn(text, "\" "), length = strspn(text + skip, "0123456789");
    bool good = length > 0 && length < MOST_ID && text[skip + length + strspn(text + skip + length, "\" \n")] == '\0';
    snprintf(id, MOST_ID, "%.*s", good ? (int)length : 0, text + skip);
    sf_free(text);
    return good ? SF_OK : SF_FAIL(err, SF_E_INPUT, node.path, "limb must be the id of a limb, a whole number");
}

sf_Status sf_call_own_limb(sf_ComputeCall *call, sf_Limb **limb, sf_Result *result, sf_Error *err)
{
    sf_DocNode document = sf_doc_member(call->request, "document"), named = sf_doc_member(call->request, "limb");
    char id[MOST_ID];
    *limb = NULL;
    if (sf_doc_there(document))
        return sf_call_limb(call, document, limb, result, err);
    if (!sf_doc_there(named))
        return SF_FAIL(err, SF_E_MISSING, "document", "%s needs a limb: send \"document\", or \"limb\" with its id",
                       call->computation->name);
    SF_TRY(read_id(named, id, err));
    return stored_limb(call, id, limb, result, err);
}

// ---- running ---------------------------------------------------------------------------------------------------

static bool is_member(const char *path, const char *member)
{
    size_t length = strlen(member);
    return strncmp(path, member, length) == 0 && strchr(".[", path[length]);
}

// The studies name what they miss as the command has it: --as-of, level, person.side. Here it stands in the request.
static void name_in_request(const sf_ComputeCall *call, sf_Error *err)
{
    static const char *const members[] = { "person", "socket", "pylon", "adapter",   "spacers", "stock",
                                           "foot",   "shoe",   "glue",  "alignment", "cover",   "format" };
    const char *takes = call->computation->takes, *whole = NULL;
    char path[SF_ERROR_PATH], option[SF_ERROR_PATH];
    if (!err || !err->path[0])
        return;
    snprintf(option, sizeof option, "%s", strncmp(err->path, "--", 2) == 0 ? err->path + 2 : err->path);
    for (char *c = option; *c; c++)
        *c = *c == '-' ? '_' : *c;
    for (size_t i = 0; i < call->computation->option_count; i++)
        if ((call->values[i].given || err->path[0] == '-') &&
            (strcmp(option, call->computation->options[i].name) == 0 ||
             (strcmp(option, "pylon.material") == 0 && strcmp(call->computation->options[i].name, "material") == 0))) {
            snprintf(err->path, sizeof err->path, "options.%s", call->computation->options[i].name);
            return;
        }
    for (size_t i = 0; i < sizeof members / sizeof *members; i++)
        if (is_member(err->path, members[i]) && sf_doc_there(sf_doc_member(call->request, "document")))
            whole = "document";
    if (!whole && strcmp(takes, "table") == 0 && strcmp(err->path, "csv") != 0)
        whole = "csv";
    if (!whole && (strcmp(takes, "plan") == 0 || strcmp(takes, "squeeze") == 0) && strcmp(err->path, takes) != 0 &&
        !is_member(err->path, takes))
        whole = takes;
    if (whole && snprintf(path, sizeof path, "%s.%.*s", whole, (int)(sizeof path - strlen(whole) - 2), err->path) > 0)
        memcpy(err->path, path, sizeof path);
}

sf_Status sf_computation_run(sf_ComputeAnswer *answer, const sf_Computation *computation, sf_DocNode request, bool draw,
                             const sf_ComputeSource *source, const sf_ComputeWatch *watch, sf_Error *err)
{
    static const char *const known[] = { "document", "documents",   "names",       "limb", "trials",  "csv",  "picture",
                                         "options",  "caliper_csv", "outline_csv", "work", "squeeze", "plan", "fit",
                                         "pictures", "limits",      "calibration", "parts" };
    *answer = (sf_ComputeAnswer){ 0 };
    if (draw && !computation->draws)
        return SF_FAIL(err, SF_E_USAGE, NULL, "%s has no drawing: ask for its figures", computation->name);
    if (!sf_doc_is_object(request))
        return SF_FAIL(err, SF_E_INPUT, NULL, "send a JSON object with what %s takes", computation->name);
    sf_ComputeCall *call = sf_alloc(1, sizeof *call);
    if (!call)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    *call = (sf_ComputeCall){ computation, request, draw, source, { { 0 } }, answer };
    sf_Status status;
    const sf_ProgressWatch *before = sf_progress_watch(watch);
    sf_doc_only(request, known, sizeof known / sizeof *known);
    read_options(call);
    SF_TRY_DONE(sf_doc_verdict(request.doc, err));
    SF_TRY_DONE(sf_progress_tell(0, "begun", err));
    SF_TRY_DONE(computation->run(call, err));
    SF_TRY_DONE(sf_progress_tell(1, "done", err));
done:
    sf_progress_watch(before);
    if (status != SF_OK) {
        sf_compute_answer_free(answer);
        name_in_request(call, err);
    }
    sf_free(call);
    return status;
}

void sf_compute_answer_free(sf_ComputeAnswer *answer)
{
    sf_json_destroy(&answer->json);
    sf_free(answer->drawing);
    *answer = (sf_ComputeAnswer){ 0 };
}
