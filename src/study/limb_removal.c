// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/limb_removal.h"

#include "base/alloc.h"
#include "record/removal.h"
#include "study/stage_rules.h"

#include <stdint.h>
#include <string.h>

enum { MOST_LIMBS = 50, MOST_PICTURES = 400, DIGITS = 15 };

// Members of a document that tell of the limb and not of the person.
static const char *const kept_members[] = { "format", "pylon",     "adapter", "spacers", "stock", "foot",
                                            "shoe",   "alignment", "glue",    "socket",  "cover" };
static const char *const kept_of_person[] = { "side", "other_side", "body_mass_kg", "habitual_load_kg", "activity" };

// Kinds of which every field stays: they say how the limb was made, changed, judged. Their free words go, but for kinds
// whose reason stays visible for ever.
static const char *const kept_kinds[] = { "forming",
                                          "alignment-as-formed",
                                          "break-out",
                                          "lock",
                                          "trim-lines",
                                          "ring-marked",
                                          "ring",
                                          "squeeze-proof",
                                          "lamp-look",
                                          "cut",
                                          "foot-set",
                                          "holding-screw",
                                          "settled",
                                          "permanent-fixing",
                                          "fixing-removed",
                                          "vent",
                                          "holding-screw-end",
                                          "check-out",
                                          "finish",
                                          "inspection",
                                          "crack",
                                          "crack-judged",
                                          "quarantine",
                                          "quarantine-lifted",
                                          "retired",
                                          "spacer-change",
                                          "foot-change",
                                          "bolt-change",
                                          "adapter-change",
                                          "suspension-change",
                                          "hole",
                                          "glue",
                                          "heat",
                                          "signature" };

typedef struct Keeping {
    const sf_StageTable *table;
    const char *pictures[MOST_PICTURES]; ///< hashes of ring pictures; texts of the transaction
    size_t picture_count;
} Keeping;

static bool is_among(const char *word, const char *const *words, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (strcmp(word, words[i]) == 0)
            return true;
    return false;
}

#define AMONG(word, list) is_among(word, list, sizeof list / sizeof *list)

static sf_Status into_arena(sf_Json **json, sf_Arena *arena, const char **kept, sf_Error *err)
{
    char *text = NULL;
    sf_Status status = sf_json_text(*json, DIGITS, &text, err);
    sf_json_destroy(json);
    if (status != SF_OK)
        return status;
    *kept = sf_arena_text(arena, text);
    sf_free(text);
    return *kept ? SF_OK : SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
}

static sf_Status keep_document(void *context, sf_Arena *arena, int64_t limb, const sf_LimbVersion *version,
                               const char **kept, sf_Error *err)
{
    sf_Doc *doc = NULL;
    const char *key;
    (void)context, (void)limb;
    SF_TRY(sf_doc_parse(&doc, "document", version->document, strlen(version->document), err));
    sf_DocNode root = sf_doc_root(doc), person = sf_doc_member(root, "person");
    sf_Json *json = sf_json_object(), *who = sf_json_object();
    for (size_t i = 0; (key = sf_doc_key(root, i)); i++)
        if (AMONG(key, kept_members))
            sf_json_set(json, key, sf_json_from_node(sf_doc_member(root, key)));
    for (size_t i = 0; (key = sf_doc_key(person, i)); i++)
        if (AMONG(key, kept_of_person))
            sf_json_set(who, key, sf_json_from_node(sf_doc_member(person, key)));
    sf_json_set(json, "person", who);
    sf_doc_destroy(&doc);
    return into_arena(&json, arena, kept, err);
}

// Free words may tell anything of anybody; those of a decision are what the maker must be able to show.
static sf_Json *keep_fields(const sf_StageKind *kind, sf_DocNode fields)
{
    sf_Json *json = sf_json_object();
    bool all = kind && (kind->kept || AMONG(kind->kind, kept_kinds));
    for (size_t i = 0; all && i < kind->field_count; i++) {
        const sf_StageField *field = &kind->fields[i];
        sf_DocNode node = sf_doc_member(fields, field->name);
        bool words = field->kind == SF_STAGE_TEXT && !kind->kept && strcmp(field->name, "ring_number") != 0;
        if (sf_doc_there(node) && !words)
            sf_json_set(json, field->name, sf_json_from_node(node));
    }
    return json;
}

static sf_Status keep_body(void *context, sf_Arena *arena, const sf_Fact *fact, const char **kept, sf_Error *err)
{
    const Keeping *keeping = context;
    size_t index = sf_stage_kind_find(keeping->table, fact->kind);
    sf_Doc *doc = NULL;
    SF_TRY(sf_doc_parse(&doc, "fact", fact->body, strlen(fact->body), err));
    sf_Json *json = sf_json_object();
    sf_json_set(json, "by", sf_json_from_node(sf_doc_member(sf_doc_root(doc), "by")));
    sf_json_set(json, "fields",
                keep_fields(index == SIZE_MAX ? NULL : &keeping->table->kinds[index],
                            sf_doc_member(sf_doc_root(doc), "fields")));
    sf_doc_destroy(&doc);
    return into_arena(&json, arena, kept, err);
}

static bool keep_picture(void *context, const sf_Attachment *attachment)
{
    const Keeping *keeping = context;
    for (size_t i = 0; i < keeping->picture_count; i++)
        if (strcmp(keeping->pictures[i], attachment->file_hash) == 0)
            return true;
    return strcmp(attachment->media_type, "text/csv") == 0; // readings of a ring
}

static sf_Status note_pictures(sf_Transaction *t, int64_t limb, Keeping *keeping, sf_Error *err)
{
    sf_Fact *facts;
    size_t count;
    SF_TRY(sf_fact_list(t, limb, &facts, &count, err));
    for (size_t i = 0; i < count && keeping->picture_count < MOST_PICTURES; i++) {
        sf_Doc *doc = NULL;
        const char *hash = NULL;
        if (strcmp(facts[i].kind, "ring") != 0 || !facts[i].body)
            continue;
        SF_TRY(sf_doc_parse(&doc, "fact", facts[i].body, strlen(facts[i].body), err));
        sf_doc_text(sf_doc_member(sf_doc_member(sf_doc_root(doc), "fields"), "picture"), 64, &hash);
        hash = hash ? sf_arena_text(sf_transaction_arena(t), hash) : NULL;
        sf_doc_destroy(&doc);
        if (hash)
            keeping->pictures[keeping->picture_count++] = hash;
    }
    return SF_OK;
}

sf_Status sf_limb_removal(sf_Transaction *t, const sf_StageTable *table, int64_t wearer, sf_Error *err)
{
    Keeping keeping = { .table = table };
    const sf_Removal removal = {
        .document = keep_document, .body = keep_body, .picture = keep_picture, .context = &keeping
    };
    const sf_LimbAsk ask = { .wearer = wearer, .count = MOST_LIMBS };
    sf_LimbRow *rows;
    size_t count;
    const char *next;
    SF_TRY(sf_limb_record_list(t, &ask, &rows, &count, &next, err));
    for (size_t i = 0; i < count; i++)
        SF_TRY(note_pictures(t, rows[i].id, &keeping, err));
    return sf_wearer_remove(t, wearer, &removal, err);
}
