// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/stage_table.h"

#include "base/alloc.h"

#include <math.h>
#include <string.h>

// Generated from data/stages.json.
extern const unsigned char sf_stages_data[];
extern const size_t sf_stages_data_size;

enum { TABLE_ARENA = 4 * 1024 * 1024, MOST_TEXT = 600 };

#define COUNT(array) (sizeof(array) / sizeof *(array))

static const char *const SIGNERS[] = { "nobody", "maker", "prosthetist", "licensed" };
static const char *const GATES[SF_GATE_COUNT] = { "none",        "in-use",         "ring",         "squeeze-proof",
                                                  "parts-mass",  "parts-activity", "other-side",   "fit",
                                                  "before-walk", "toe-out-kept",   "out-of-order", "nothing-left-out",
                                                  "inspected" };
static const char *const FIELD_KINDS[] = { "number", "whole", "flag", "text",   "word",
                                           "date",   "hash",  "any",  "object", "list" };

static const char *text_of(sf_DocNode object, const char *key, bool needed)
{
    const char *text = NULL;
    sf_DocNode node = sf_doc_member(object, key);
    if (!needed || sf_doc_need(node, "the table of stages"))
        sf_doc_text(node, MOST_TEXT, &text);
    return text ? text : needed ? "" : NULL;
}

static bool flag_of(sf_DocNode object, const char *key)
{
    bool flag = false;
    sf_doc_flag(sf_doc_member(object, key), &flag);
    return flag;
}

static size_t word_of(sf_DocNode object, const char *key, const char *const *words, size_t count, size_t otherwise)
{
    size_t index = otherwise;
    sf_doc_word(sf_doc_member(object, key), words, count, &index);
    return index;
}

static size_t texts_of(sf_DocNode list, const char **texts, size_t most)
{
    if (!sf_doc_expect_array(list, most))
        return 0;
    size_t count = sf_doc_length(list);
    for (size_t i = 0; i < count; i++)
        if (!sf_doc_text(sf_doc_item(list, i), MOST_TEXT, &texts[i]))
            texts[i] = "";
    return count;
}

size_t sf_stage_find(const sf_StageTable *table, const char *name)
{
    for (size_t i = 0; name && i < table->stage_count; i++)
        if (strcmp(table->stages[i].name, name) == 0)
            return i;
    return SF_STAGE_NONE;
}

size_t sf_stage_kind_find(const sf_StageTable *table, const char *kind)
{
    for (size_t i = 0; kind && i < table->kind_count; i++)
        if (strcmp(table->kinds[i].kind, kind) == 0)
            return i;
    return SIZE_MAX;
}

const char *sf_stage_signer_words(sf_StageSigner signer)
{
    static const char *const words[] = { "nobody", "a prosthetist or technician", "a prosthetist",
                                         "a licensed prosthetist" };
    return words[signer];
}

// ---- facts ------------------------------------------------------------------------------------------------------

static sf_Status read_fields(sf_StageTable *table, sf_DocNode list, sf_StageField **fields, size_t *count,
                             sf_Error *err);

static sf_Status read_field(sf_StageTable *table, sf_DocNode node, sf_StageField *field, sf_Error *err)
{
    int64_t whole = 0;
    field->name = text_of(node, "field", true);
    field->label = text_of(node, "label", true);
    field->unit = text_of(node, "unit", false);
    field->into = text_of(node, "into", false);
    field->adding = sf_doc_member(node, "adding");
    field->required = flag_of(node, "required");
    if (sf_doc_need(sf_doc_member(node, "type"), "a field"))
        field->kind = (sf_StageFieldKind)word_of(node, "type", FIELD_KINDS, COUNT(FIELD_KINDS), SF_STAGE_ANY);
    field->low = -INFINITY;
    field->high = INFINITY;
    field->most = field->kind == SF_STAGE_LIST ? 20 : 2000;
    sf_doc_number(sf_doc_member(node, "min"), -1e16, 1e16, &field->low);
    sf_doc_number(sf_doc_member(node, "max"), -1e16, 1e16, &field->high);
    if (sf_doc_whole(sf_doc_member(node, "most"), 1, 100000, &whole))
        field->most = (size_t)whole;
    if (sf_doc_whole(sf_doc_member(node, "least"), 1, 1000, &whole))
        field->least = (size_t)whole;
    field->word_count = texts_of(sf_doc_member(node, "words"), field->words, COUNT(field->words));
    if (field->kind == SF_STAGE_WORD && field->word_count == 0)
        sf_doc_problem(node, "must list its words");
    return read_fields(table, sf_doc_member(node, "fields"), &field->fields, &field->field_count, err);
}

static sf_Status read_fields(sf_StageTable *table, sf_DocNode list, sf_StageField **fields, size_t *count,
                             sf_Error *err)
{
    *count = 0;
    if (!sf_doc_there(list) || !sf_doc_expect_array(list, SF_STAGE_MOST_FIELDS))
        return SF_OK;
    *count = sf_doc_length(list);
    *fields = sf_arena_alloc(table->arena, *count + 1, sizeof **fields);
    if (!*fields)
        return SF_FAIL(err, SF_E_MEMORY, "", "out of memory while reading the stages");
    for (size_t i = 0; i < *count; i++)
        SF_TRY(read_field(table, sf_doc_item(list, i), &(*fields)[i], err));
    return SF_OK;
}

static sf_StageSigner recorder(sf_DocNode node)
{
    const char *roles[4];
    size_t count = texts_of(sf_doc_member(node, "record"), roles, COUNT(roles));
    sf_StageSigner least = SF_SIGNER_PROSTHETIST;
    for (size_t i = 0; i < count; i++) {
        if (strcmp(roles[i], "reader") == 0)
            return SF_SIGNER_NOBODY; // whoever sees it writes it down
        if (strcmp(roles[i], "technician") == 0)
            least = SF_SIGNER_MAKER;
    }
    return least;
}

static bool read_stage_set(const sf_StageTable *table, sf_DocNode list, bool set[SF_STAGE_MOST])
{
    const char *names[SF_STAGE_MOST];
    size_t count = texts_of(list, names, SF_STAGE_MOST);
    for (size_t i = 0; i < count; i++) {
        size_t stage = sf_stage_find(table, names[i]);
        if (stage == SF_STAGE_NONE)
            sf_doc_problem(sf_doc_item(list, i), "is no stage");
        else
            set[stage] = true;
    }
    return sf_doc_there(list);
}

static sf_Status read_kind(sf_StageTable *table, sf_DocNode node, sf_StageKind *kind, sf_Error *err)
{
    const char *ended[SF_STAGE_MOST_KINDS];
    kind->title = text_of(node, "title", true);
    kind->stage = sf_stage_find(table, text_of(node, "stage", true));
    kind->record = recorder(node);
    kind->sign = (sf_StageSigner)word_of(node, "sign", SIGNERS, COUNT(SIGNERS), SF_SIGNER_NOBODY);
    read_stage_set(table, sf_doc_member(node, "resets"), kind->resets);
    kind->in_order_differs = read_stage_set(table, sf_doc_member(node, "resets_in_order"), kind->resets_in_order);
    kind->lasting = flag_of(node, "lasting");
    kind->kept = flag_of(node, "kept");
    sf_DocNode ends = sf_doc_member(node, "ends");
    size_t count = texts_of(ends, ended, COUNT(ended));
    for (size_t i = 0; i < count; i++) {
        size_t other = sf_stage_kind_find(table, ended[i]);
        if (other == SIZE_MAX)
            sf_doc_problem(sf_doc_item(ends, i), "is no kind of fact");
        else
            kind->ends[other] = true;
    }
    return read_fields(table, sf_doc_member(node, "fields"), &kind->fields, &kind->field_count, err);
}

// ---- stages -----------------------------------------------------------------------------------------------------

static void read_where(sf_DocNode node, sf_StageWhere *where)
{
    bool flag = false;
    where->field = text_of(node, "field", true);
    if (sf_doc_there(sf_doc_member(node, "is"))) {
        sf_doc_flag(sf_doc_member(node, "is"), &flag);
        where->test = flag ? SF_TEST_TRUE : SF_TEST_FALSE;
    } else if (sf_doc_there(sf_doc_member(node, "in"))) {
        where->test = SF_TEST_WORD;
        where->word_count = texts_of(sf_doc_member(node, "in"), where->words, COUNT(where->words));
    } else if (sf_doc_number(sf_doc_member(node, "most"), -1e9, 1e9, &where->limit)) {
        where->test = SF_TEST_MOST;
    } else if (sf_doc_number(sf_doc_member(node, "least"), -1e9, 1e9, &where->limit)) {
        where->test = SF_TEST_LEAST;
    } else {
        sf_doc_problem(node, "must say is, in, most or least");
    }
}

static sf_StageWhen read_when(sf_DocNode node)
{
    return (sf_StageWhen){ .document = text_of(node, "document", false),
                           .is = text_of(node, "is", false),
                           .two_sided = flag_of(node, "two_sided"),
                           .fixed = flag_of(node, "fixed") };
}

static void read_need(const sf_StageTable *table, size_t own, sf_DocNode node, sf_StageNeed *need)
{
    static const char *const moments[] = { "open", "done" };
    need->text = text_of(node, "text", true);
    if (sf_doc_need(sf_doc_member(node, "for"), "a need"))
        need->opens = word_of(node, "for", moments, COUNT(moments), 0) == 0;
    need->hard = flag_of(node, "hard");
    need->soft = flag_of(node, "soft");
    need->document_count = texts_of(sf_doc_member(node, "documents"), need->documents, COUNT(need->documents));
    need->gate = (sf_StageGate)word_of(node, "gate", GATES, COUNT(GATES), SF_GATE_NONE);
    need->kind = SIZE_MAX;
    need->stage = SF_STAGE_NONE;
    const char *kind = text_of(node, "fact", false), *stage = text_of(node, "stage", false);
    if (kind && (need->kind = sf_stage_kind_find(table, kind)) == SIZE_MAX)
        sf_doc_problem(node, "names no kind of fact");
    if (stage && (need->stage = sf_stage_find(table, stage)) == SF_STAGE_NONE)
        sf_doc_problem(node, "names no stage");
    if (need->stage != SF_STAGE_NONE && need->stage >= own)
        sf_doc_problem(node, "names a stage that does not come before its own");
    if (!kind && !stage && need->gate == SF_GATE_NONE && need->document_count == 0)
        sf_doc_problem(node, "needs nothing: name documents, a fact, a stage or a gate");
    sf_DocNode where = sf_doc_member(node, "where");
    if (sf_doc_expect_array(where, COUNT(need->where)))
        need->where_count = sf_doc_length(where);
    for (size_t i = 0; i < need->where_count; i++)
        read_where(sf_doc_item(where, i), &need->where[i]);
    need->when = read_when(sf_doc_member(node, "when"));
    need->unless = read_when(sf_doc_member(node, "unless"));
}

static void add_needs(const sf_StageTable *table, sf_DocNode list, sf_Stage *stage)
{
    if (!sf_doc_expect_array(list, SF_STAGE_MOST_NEEDS))
        return;
    for (size_t i = 0; i < sf_doc_length(list); i++) {
        if (stage->need_count == SF_STAGE_MOST_NEEDS) {
            sf_doc_problem(list, "make more than %d needs of a stage", SF_STAGE_MOST_NEEDS);
            return;
        }
        read_need(table, (size_t)(stage - table->stages), sf_doc_item(list, i), &stage->needs[stage->need_count++]);
    }
}

static void read_stage(sf_StageTable *table, sf_DocNode node, sf_Stage *stage)
{
    stage->row = text_of(node, "row", true);
    stage->title = text_of(node, "title", true);
    stage->asks = text_of(node, "asks", true);
    stage->undoing = text_of(node, "undoing", true);
    stage->loads = flag_of(node, "loads");
    stage->strict = flag_of(node, "strict");
    const char *scope = text_of(node, "scope", false);
    stage->shop = scope && strcmp(scope, "shop") == 0;
    stage->sign = (sf_StageSigner)word_of(node, "sign", SIGNERS, COUNT(SIGNERS), SF_SIGNER_MAKER);
    stage->small_print_count =
        texts_of(sf_doc_member(node, "small_print"), stage->small_print, COUNT(stage->small_print));
    stage->closed_by = sf_stage_kind_find(table, text_of(node, "closed_by", true));
    if (stage->closed_by == SIZE_MAX) {
        sf_doc_problem(sf_doc_member(node, "closed_by"), "is no kind of fact");
        stage->closed_by = 0;
    }
    if (stage->loads)
        add_needs(table, sf_doc_member(sf_doc_root(table->doc), "loading_needs"), stage);
    add_needs(table, sf_doc_member(node, "needs"), stage);
}

// ---- the whole --------------------------------------------------------------------------------------------------

static int whole_of(sf_DocNode object, const char *key, int most)
{
    int64_t value = 1;
    sf_DocNode node = sf_doc_member(object, key);
    if (sf_doc_need(node, "the table of stages"))
        sf_doc_whole(node, 1, most, &value);
    return (int)value;
}

static double number_of(sf_DocNode object, const char *key, double high)
{
    double value = 0;
    sf_DocNode node = sf_doc_member(object, key);
    if (sf_doc_need(node, "the table of stages"))
        sf_doc_number(node, 0, high, &value);
    return value;
}

static void read_judgements(sf_StageTable *table, sf_DocNode node)
{
    sf_DocNode follow = sf_doc_member(node, "follow_up");
    table->judgements = (sf_StageJudgements){ .toe_out_kept_deg = number_of(node, "toe_out_kept_deg", 20),
                                              .pain_stops = number_of(node, "pain_stops", 10),
                                              .holding_torque_share = number_of(node, "holding_torque_share", 1),
                                              .withdraw_within_h = number_of(node, "withdraw_within_h", 1000),
                                              .heavy_kg = number_of(node, "heavy_kg", 300),
                                              .first_days = whole_of(follow, "first_days", 60),
                                              .second_months = whole_of(follow, "second_months", 24),
                                              .then_months = whole_of(follow, "then_months", 24),
                                              .child_months = whole_of(follow, "child_months", 24),
                                              .child_below_years = whole_of(follow, "child_below_years", 25),
                                              .early_share = number_of(follow, "early_share", 0.5) };
}

static sf_Status read_table(sf_StageTable *table, sf_Error *err)
{
    static const char *const formats[] = { "standfast-stages/1" };
    sf_DocNode root = sf_doc_root(table->doc);
    sf_DocNode stages = sf_doc_member(root, "stages"), facts = sf_doc_member(root, "facts");
    if (sf_doc_need(sf_doc_member(root, "format"), "the table of stages"))
        word_of(root, "format", formats, 1, 0);
    if (!sf_doc_expect_array(stages, SF_STAGE_MOST) || !sf_doc_expect_array(facts, SF_STAGE_MOST_KINDS) ||
        sf_doc_length(stages) == 0 || sf_doc_length(facts) == 0) {
        sf_doc_problem(root, "must hold stages and facts");
        return SF_OK;
    }
    table->stage_count = sf_doc_length(stages);
    table->kind_count = sf_doc_length(facts);
    for (size_t i = 0; i < table->stage_count; i++)
        table->stages[i].name = text_of(sf_doc_item(stages, i), "stage", true);
    for (size_t i = 0; i < table->kind_count; i++)
        table->kinds[i].kind = text_of(sf_doc_item(facts, i), "kind", true);
    for (size_t i = 0; i < table->kind_count; i++)
        SF_TRY(read_kind(table, sf_doc_item(facts, i), &table->kinds[i], err));
    for (size_t i = 0; i < table->stage_count; i++)
        read_stage(table, sf_doc_item(stages, i), &table->stages[i]);
    const char *kinds[SF_STAGE_MOST_KINDS];
    sf_DocNode licensed = sf_doc_member(sf_doc_member(root, "withdraw"), "by_licensed");
    size_t count = texts_of(licensed, kinds, COUNT(kinds));
    for (size_t i = 0; i < count; i++) {
        size_t kind = sf_stage_kind_find(table, kinds[i]);
        if (kind == SIZE_MAX)
            sf_doc_problem(sf_doc_item(licensed, i), "is no kind of fact");
        else
            table->kinds[kind].licensed_withdrawal = true;
    }
    read_judgements(table, sf_doc_member(root, "judgements"));
    return SF_OK;
}

sf_Status sf_stage_table_parse(sf_StageTable **out, const char *name, const char *text, size_t size, sf_Error *err)
{
    *out = NULL;
    sf_StageTable *table = sf_alloc(1, sizeof *table);
    if (!table)
        return SF_FAIL(err, SF_E_MEMORY, "", "out of memory while reading the stages");
    sf_Status status;
    table->arena = sf_arena_create(TABLE_ARENA);
    if (!table->arena) {
        status = SF_FAIL(err, SF_E_MEMORY, "", "out of memory while reading the stages");
        goto done;
    }
    SF_TRY_DONE(sf_doc_parse(&table->doc, name, text, size, err));
    SF_TRY_DONE(read_table(table, err));
    SF_TRY_DONE(sf_doc_verdict(table->doc, err));
    *out = table;
    table = NULL;
done:
    sf_stage_table_destroy(&table);
    return status;
}

sf_Status sf_stage_table_load(sf_StageTable **table, sf_Error *err)
{
    return sf_stage_table_parse(table, "stages.json", (const char *)sf_stages_data, sf_stages_data_size, err);
}

void sf_stage_table_destroy(sf_StageTable **table)
{
    if (!table || !*table)
        return;
    sf_doc_destroy(&(*table)->doc);
    sf_arena_destroy(&(*table)->arena);
    sf_free(*table);
    *table = NULL;
}

sf_Json *sf_stage_table_json(const sf_StageTable *table)
{
    return sf_json_from_node(sf_doc_root(table->doc));
}
