// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/limb_case.h"

#include "base/alloc.h"
#include "limb/limb.h"
#include "record/wearer.h"
#include "study/follow_up.h"
#include "study/limb_case_inside.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>

enum { CASE_ARENA = 64 * 1024 * 1024, MOST_DOCUMENT = SF_DOC_MAX_BYTES, AHEAD_MINUTES = 5, MOST_OF_LOT = 200 };

static sf_Status no_memory(sf_Error *err)
{
    return SF_FAIL(err, SF_E_MEMORY, "", "out of memory while opening the limb");
}

// ---- opening ----------------------------------------------------------------------------------------------------

// What is stored is { "by": {role, name, licensed, signs}, "fields": {...} }: who someone was on that day is kept.
static void read_by(sf_StageFact *fact, sf_DocNode stored)
{
    sf_DocNode by = sf_doc_member(stored, "by");
    sf_doc_text(sf_doc_member(by, "role"), SF_DOC_MAX_BYTES, &fact->role);
    sf_doc_text(sf_doc_member(by, "name"), SF_DOC_MAX_BYTES, &fact->name);
    sf_doc_flag(sf_doc_member(by, "licensed"), &fact->licensed);
    sf_doc_flag(sf_doc_member(by, "signs"), &fact->signs);
    fact->body = sf_doc_member(stored, "fields");
}

// Where an imported fact came from.
typedef struct Origin {
    const char *store, *recorded_at;
    int64_t fact;
} Origin;

// An imported fact was written down elsewhere, on another day; what it is about has another number here.
static sf_Status read_origin(sf_LimbCase *c, size_t i, Origin *origin, sf_Error *err)
{
    sf_Doc *doc = NULL;
    const char *store = NULL, *recorded_at = NULL;
    *origin = (Origin){ 0 };
    if (!c->rows[i].origin)
        return SF_OK;
    SF_TRY(sf_doc_parse(&doc, "origin", c->rows[i].origin, strlen(c->rows[i].origin), err));
    sf_doc_text(sf_doc_member(sf_doc_root(doc), "store"), SF_DOC_MAX_BYTES, &store);
    sf_doc_text(sf_doc_member(sf_doc_root(doc), "recorded_at"), SF_DOC_MAX_BYTES, &recorded_at);
    sf_doc_whole(sf_doc_member(sf_doc_root(doc), "fact"), 0, INT64_MAX, &origin->fact);
    origin->store = sf_arena_text(c->arena, store ? store : "");
    origin->recorded_at = recorded_at ? sf_arena_text(c->arena, recorded_at) : NULL;
    sf_doc_destroy(&doc);
    return origin->store && (origin->recorded_at || !recorded_at) ? SF_OK : no_memory(err);
}

static int64_t number_here(const sf_LimbCase *c, const Origin *origins, const Origin *from, int64_t number)
{
    if (!from->store)
        return number;
    for (size_t i = 0; i < c->count; i++)
        if (origins[i].store && origins[i].fact == number && strcmp(origins[i].store, from->store) == 0)
            return c->rows[i].id;
    return 0;
}

static sf_Status read_origins(sf_LimbCase *c, sf_Error *err)
{
    Origin *origins = sf_arena_alloc(c->arena, c->count + 1, sizeof *origins);
    if (!origins)
        return no_memory(err);
    for (size_t i = 0; i < c->count; i++) {
        SF_TRY(read_origin(c, i, &origins[i], err));
        if (origins[i].recorded_at)
            c->facts[i].recorded_at = origins[i].recorded_at;
    }
    for (size_t i = 0; i < c->count; i++) {
        int64_t about = sf_fact_whole(&c->facts[i], "about");
        about = about ? about : sf_fact_whole(&c->facts[i], "fact");
        c->facts[i].about = about ? number_here(c, origins, &origins[i], about) : 0;
    }
    return SF_OK;
}

static sf_Status read_facts(sf_LimbCase *c, sf_Error *err)
{
    SF_TRY(sf_fact_list(c->transaction, c->row.id, &c->rows, &c->count, err));
    c->facts = sf_arena_alloc(c->arena, c->count + 1, sizeof *c->facts);
    c->bodies = sf_arena_alloc(c->arena, c->count + 1, sizeof *c->bodies);
    if (!c->facts || !c->bodies)
        return no_memory(err);
    for (size_t i = 0; i < c->count; i++) {
        const sf_Fact *row = &c->rows[i];
        c->facts[i] = (sf_StageFact){ .id = row->id,
                                      .kind = row->kind,
                                      .happened_at = row->happened_at,
                                      .recorded_at = row->recorded_at,
                                      .who = row->who,
                                      .withdraws = row->withdraws };
        if (!row->body) // removed with the wearer's data: it happened, nothing more is known
            continue;
        SF_TRY(sf_doc_parse(&c->bodies[i], "fact", row->body, strlen(row->body), err));
        read_by(&c->facts[i], sf_doc_root(c->bodies[i]));
    }
    return read_origins(c, err);
}

static sf_Status read_case(sf_LimbCase *c, int64_t id, bool facts, sf_Error *err)
{
    SF_TRY(sf_limb_record_get(c->transaction, id, &c->row, err));
    sf_Status status = sf_limb_record_document(c->transaction, id, 0, &c->text, err);
    if (status == SF_E_MISSING)
        c->text = NULL;
    else if (status != SF_OK)
        return status;
    const char *text = c->text ? c->text : "{}";
    SF_TRY(sf_doc_parse(&c->document, "document", text, strlen(text), err));
    return facts ? read_facts(c, err) : SF_OK;
}

// A limb without its state, and without its facts where the document is enough.
static sf_Status case_load(sf_LimbCase **out, sf_Transaction *t, const sf_StageTable *table, int64_t id, bool facts,
                           sf_Error *err)
{
    sf_Status status;
    sf_LimbCase *c = sf_alloc(1, sizeof *c);
    *out = NULL;
    if (!c)
        return no_memory(err);
    c->transaction = t;
    c->table = table;
    c->arena = sf_arena_create(CASE_ARENA);
    if (!c->arena)
        SF_TRY_DONE(no_memory(err));
    SF_TRY_DONE(read_case(c, id, facts, err));
    *out = c;
    return SF_OK;
done:
    sf_limb_case_close(&c);
    return status;
}

void sf_limb_case_close(sf_LimbCase **limb)
{
    if (!limb || !*limb)
        return;
    sf_LimbCase *c = *limb;
    sf_limb_state_destroy(&c->state);
    for (size_t i = 0; c->bodies && i < c->count; i++)
        sf_doc_destroy(&c->bodies[i]);
    sf_doc_destroy(&c->document);
    sf_arena_destroy(&c->arena);
    sf_free(c);
    *limb = NULL;
}

static sf_Status work_out(sf_LimbCase *c, sf_Error *err)
{
    sf_limb_state_destroy(&c->state);
    return sf_limb_state_make(&c->state, c->table, sf_doc_root(c->document), c->facts, c->count, &c->around,
                              sf_transaction_time(c->transaction), err);
}

bool sf_limb_case_child(const sf_LimbCase *c)
{
    sf_History history = { .table = c->table,
                           .limb = sf_doc_root(c->document),
                           .now = sf_transaction_time(c->transaction) };
    sf_View view = { .history = &history };
    return sf_follow_up_child(&view);
}

// ---- what other limbs say ---------------------------------------------------------------------------------------

static bool same_text(sf_DocNode a, sf_DocNode b, const char *path)
{
    const char *left = sf_document_word(a, path), *right = sf_document_word(b, path);
    return left && right && strcmp(left, right) == 0;
}

// The same lot, oven and forming person: what a squeeze proof speaks for.
static bool same_process(sf_DocNode a, sf_DocNode b)
{
    return same_text(a, b, "pylon.sheet_lot") && same_text(a, b, "pylon.forming.by") &&
           sf_document_number(a, "pylon.forming.oven_c") == sf_document_number(b, "pylon.forming.oven_c");
}

// What the squeeze proofs among these facts say: 1 held, -1 one did not, 0 none.
static sf_Status proof_among(const sf_Fact *rows, size_t count, int *found, sf_Error *err)
{
    *found = 0;
    for (size_t i = 0; i < count; i++) {
        sf_Doc *doc = NULL;
        bool passed = false;
        if (strcmp(rows[i].kind, "squeeze-proof") != 0 || rows[i].withdrawn_by || !rows[i].body)
            continue;
        SF_TRY(sf_doc_parse(&doc, "fact", rows[i].body, strlen(rows[i].body), err));
        sf_doc_flag(sf_document_at(sf_doc_root(doc), "fields.passed"), &passed);
        sf_doc_destroy(&doc);
        if (!passed || *found == 0)
            *found = passed ? 1 : -1;
        if (!passed)
            break;
    }
    return SF_OK;
}

static sf_Status proof_of_other(sf_LimbCase *c, int64_t id, int *found, sf_Error *err)
{
    sf_LimbCase *other = NULL;
    sf_Fact *rows;
    size_t count;
    *found = 0;
    SF_TRY(case_load(&other, c->transaction, c->table, id, false, err));
    bool same = same_process(sf_doc_root(c->document), sf_doc_root(other->document));
    sf_limb_case_close(&other);
    if (!same)
        return SF_OK;
    SF_TRY(sf_fact_list(c->transaction, id, &rows, &count, err));
    return proof_among(rows, count, found, err);
}

// Before a ring is marked or measured no proof is asked for.
static bool is_cut(const sf_LimbCase *c)
{
    for (size_t i = 0; i < c->count; i++)
        if (strcmp(c->facts[i].kind, "ring") == 0 || strcmp(c->facts[i].kind, "ring-marked") == 0)
            return true;
    return false;
}

// A proof held on another limb of this lot, oven and person; a seam that failed on any of them takes it away.
sf_Status sf_limb_case_look_for_proof(sf_LimbCase *c, sf_Error *err)
{
    const char *lot = sf_document_word(sf_doc_root(c->document), "pylon.sheet_lot"), *next;
    int own = 0, found;
    SF_TRY(proof_among(c->rows, c->count, &own, err));
    if (!lot || own != 0)
        return SF_OK;
    sf_LimbAsk ask = { .sheet_lot = lot, .count = MOST_OF_LOT };
    sf_LimbRow *rows;
    size_t count;
    bool held = false, failed = false;
    SF_TRY(sf_limb_record_list(c->transaction, &ask, &rows, &count, &next, err));
    for (size_t i = 0; i < count && !failed; i++) {
        if (rows[i].id == c->row.id)
            continue;
        SF_TRY(proof_of_other(c, rows[i].id, &found, err));
        held = held || found > 0;
        failed = found < 0;
    }
    c->around.proof_held = held && !failed;
    return SF_OK;
}

static bool has_two_sides(const sf_LimbCase *c)
{
    const char *word = sf_document_word(sf_doc_root(c->document), "person.other_side");
    return word && strcmp(word, "prosthetic") == 0;
}

static bool is_other_side(const sf_LimbRow *a, const sf_LimbRow *b)
{
    return a->id != b->id && a->head.side && b->head.side && strcmp(a->head.side, b->head.side) != 0;
}

static sf_Status other_limb(sf_LimbCase *c, int64_t *id, sf_Error *err)
{
    sf_LimbAsk ask = { .wearer = c->row.wearer, .count = 20 };
    sf_LimbRow *rows;
    size_t count;
    const char *next;
    *id = 0;
    SF_TRY(sf_limb_record_list(c->transaction, &ask, &rows, &count, &next, err));
    for (size_t i = 0; i < count && !*id; i++) // newest first
        if (is_other_side(&c->row, &rows[i]))
            *id = rows[i].id;
    return SF_OK;
}

// The newest limb of the wearer's other side: whether anything about itself forbids weight.
static sf_Status look_at_other(sf_LimbCase *c, sf_Error *err)
{
    int64_t id;
    if (!has_two_sides(c))
        return SF_OK;
    SF_TRY(other_limb(c, &id, err));
    if (!id)
        return SF_OK;
    sf_LimbCase *other = NULL;
    SF_TRY(case_load(&other, c->transaction, c->table, id, true, err));
    sf_Status status = is_cut(other) ? sf_limb_case_look_for_proof(other, err) : SF_OK;
    if (status == SF_OK)
        status = work_out(other, err);
    if (status == SF_OK)
        c->around.other_may_be_loaded = other->state->fit_to_load ? 1 : -1;
    sf_limb_case_close(&other);
    return status;
}

sf_Status sf_limb_case_open(sf_LimbCase **out, sf_Transaction *t, const sf_StageTable *table, int64_t id, sf_Error *err)
{
    sf_Status status;
    *out = NULL;
    sf_LimbCase *c = NULL;
    SF_TRY(case_load(&c, t, table, id, true, err));
    if (is_cut(c))
        SF_TRY_DONE(sf_limb_case_look_for_proof(c, err));
    SF_TRY_DONE(look_at_other(c, err));
    SF_TRY_DONE(work_out(c, err));
    *out = c;
    return SF_OK;
done:
    sf_limb_case_close(&c);
    return status;
}

// ---- the line for lists -----------------------------------------------------------------------------------------

static bool has_code(const char *codes, const char *code)
{
    size_t length = strlen(code);
    for (const char *at = codes; (at = strstr(at, code)); at += length)
        if ((at == codes || at[-1] == ' ') && (at[length] == ' ' || at[length] == '\0'))
            return true;
    return false;
}

static const char *codes_of(const sf_LimbCase *c)
{
    char *codes = sf_arena_alloc(c->arena, 1, SF_LIMB_HEAD_TEXT);
    for (size_t i = 0; codes && i < c->state->flag_count; i++) {
        const char *code = c->state->flags[i].code;
        size_t used = strlen(codes);
        if (!has_code(codes, code) && used + strlen(code) + 2 < SF_LIMB_HEAD_TEXT)
            snprintf(codes + used, SF_LIMB_HEAD_TEXT - used, "%s%s", used ? " " : "", code);
    }
    return codes && *codes ? codes : NULL;
}

static const char *stage_word(const sf_LimbState *state)
{
    const sf_StageState *release = sf_limb_state_stage(state, "release");
    if (state->out_of_use)
        return "out-of-use";
    if (state->next < state->stage_count)
        return state->stages[state->next].stage->name;
    return release && release->status == SF_STAGE_DONE ? "follow-up" : "plan";
}

// Lists show the stage in a column of its own: the sentence need not begin with it.
static const char *action_of(const sf_LimbState *state)
{
    static const char OUT[] = "Out of use: ";
    const char *text = state->next_action;
    if (strncmp(text, OUT, sizeof OUT - 1) == 0)
        return text + sizeof OUT - 1;
    if (state->next >= state->stage_count)
        return text;
    size_t length = strlen(state->stages[state->next].stage->title);
    bool named =
        strncmp(text, state->stages[state->next].stage->title, length) == 0 && strncmp(text + length, ": ", 2) == 0;
    return named ? text + length + 2 : text;
}

static sf_LimbHead head_of(const sf_LimbCase *c)
{
    sf_DocNode root = sf_doc_root(c->document);
    const char *due = NULL;
    for (size_t i = 0; i < c->state->due_count; i++)
        if (!due || strcmp(c->state->dues[i].date, due) < 0)
            due = c->state->dues[i].date;
    return (sf_LimbHead){ .label = sf_document_word(root, "person.label"),
                          .side = sf_document_word(root, "person.side"),
                          .sheet_lot = sf_document_word(root, "pylon.sheet_lot"),
                          .stage = stage_word(c->state),
                          .next_action = action_of(c->state),
                          .next_due = due,
                          .flags = codes_of(c) };
}

sf_Status sf_limb_case_refresh(sf_Transaction *t, const sf_StageTable *table, int64_t id, sf_Error *err)
{
    sf_LimbCase *c = NULL;
    SF_TRY(sf_limb_case_open(&c, t, table, id, err));
    sf_Status status = SF_OK;
    if (c->text) {
        sf_LimbHead head = head_of(c);
        status = sf_limb_record_set_head(t, id, &head, err);
    }
    sf_limb_case_close(&c);
    return status;
}

// The line of the other side's limb may speak of this one.
static sf_Status refresh_both(sf_Transaction *t, const sf_StageTable *table, int64_t id, sf_Error *err)
{
    sf_LimbCase *c = NULL;
    int64_t other = 0;
    SF_TRY(sf_limb_case_refresh(t, table, id, err));
    SF_TRY(case_load(&c, t, table, id, false, err));
    sf_Status status = has_two_sides(c) ? other_limb(c, &other, err) : SF_OK;
    sf_limb_case_close(&c);
    if (status == SF_OK && other)
        status = sf_limb_case_refresh(t, table, other, err);
    return status;
}

// ---- documents --------------------------------------------------------------------------------------------------

static sf_Status document_head(sf_LimbHead *head, const sf_Limb *limb, sf_Error *err)
{
    static const char *const sides[] = { NULL, "left", "right" };
    *head = (sf_LimbHead){ .label = limb->data.person.label,
                           .side = sides[limb->data.person.side],
                           .sheet_lot = limb->data.pylon.sheet_lot,
                           .stage = "plan" };
    if (!head->label || !*head->label)
        return SF_FAIL(err, SF_E_MISSING, "document.person.label",
                       "person.label is missing: give the limb a mark to know it by on the bench");
    return SF_OK;
}

sf_Status sf_limb_case_add(sf_Transaction *t, const sf_StageTable *table, int64_t wearer, const char *document,
                           size_t size, int64_t *id, sf_Error *err)
{
    sf_Limb *limb = NULL;
    sf_LimbHead head;
    sf_Status status;
    char *text = NULL;
    SF_TRY(sf_limb_parse(&limb, "document", document, size, err));
    SF_TRY_DONE(document_head(&head, limb, err));
    if (!wearer)
        SF_TRY_DONE(sf_wearer_add(t, head.label, &wearer, err));
    text = sf_copy_text(document, size);
    if (!text)
        SF_TRY_DONE(no_memory(err));
    SF_TRY_DONE(sf_limb_record_add(t, wearer, &head, text, id, err));
    status = refresh_both(t, table, *id, err);
done:
    sf_free(text);
    sf_limb_destroy(&limb);
    return status;
}

sf_Status sf_limb_case_save(sf_Transaction *t, const sf_StageTable *table, int64_t id, int64_t expected,
                            const char *document, size_t size, int64_t *version, sf_Error *err)
{
    sf_Limb *limb = NULL;
    sf_LimbHead head;
    sf_LimbRow row;
    sf_Status status;
    char *text = NULL;
    SF_TRY(sf_limb_parse(&limb, "document", document, size, err));
    SF_TRY_DONE(document_head(&head, limb, err));
    SF_TRY_DONE(sf_limb_record_get(t, id, &row, err));
    if (row.head.side && head.side && strcmp(row.head.side, head.side) != 0)
        SF_TRY_DONE(SF_FAIL(err, SF_E_INPUT, "document.person.side",
                            "this is a %s limb: for the other side add a limb of the same person", row.head.side));
    text = sf_copy_text(document, size);
    if (!text)
        SF_TRY_DONE(no_memory(err));
    row.head.label = head.label;
    row.head.sheet_lot = head.sheet_lot;
    SF_TRY_DONE(sf_limb_record_save(t, id, expected, &row.head, text, version, err));
    status = refresh_both(t, table, id, err);
done:
    sf_free(text);
    sf_limb_destroy(&limb);
    return status;
}

// ---- facts ------------------------------------------------------------------------------------------------------

// Checks what cannot be a fact.
static sf_Status check_fact(const sf_StageTable *table, const sf_CaseFact *fact, size_t kind, const sf_StageFact *said,
                            const char *now, sf_Error *err)
{
    const sf_StageKind *k = &table->kinds[kind];
    double happened = sf_stage_minutes(said->happened_at);
    if (happened != happened)
        return SF_FAIL(err, SF_E_INPUT, "happened_at",
                       "'%.40s' is no time: write 2026-11-25 or 2026-11-25T14:03:22.123Z", said->happened_at);
    if (happened > sf_stage_minutes(now) + AHEAD_MINUTES)
        return SF_FAIL(err, SF_E_INPUT, "happened_at", "%.40s is still to come: a fact has happened",
                       said->happened_at);
    if (!sf_stage_may_sign(said, k->record == SF_SIGNER_PROSTHETIST ? SF_SIGNER_MAKER : k->record) ||
        (k->record == SF_SIGNER_PROSTHETIST && strcmp(said->role, "prosthetist") != 0))
        return SF_FAIL(err, SF_E_INPUT, "kind", "'%s' is written down by %s", k->title,
                       sf_stage_signer_words(k->record));
    if (!sf_doc_is_object(fact->body)) {
        sf_doc_problem(fact->body, "must be an object { ... } with the fields of '%s'", k->kind);
        return SF_OK;
    }
    sf_stage_body_check(k, fact->body);
    return SF_OK;
}

static const sf_StageFact *find_fact(const sf_LimbCase *c, int64_t id)
{
    for (size_t i = 0; i < c->count; i++)
        if (c->facts[i].id == id)
            return &c->facts[i];
    return NULL;
}

// A withdrawal and a signature are acts, not happenings: they are refused where they would not count.
static sf_Status check_act(const sf_LimbCase *c, const sf_StageFact *said, sf_Error *err)
{
    bool withdrawal = strcmp(said->kind, "withdrawal") == 0, signature = strcmp(said->kind, "signature") == 0;
    if (!withdrawal && !signature)
        return SF_OK;
    const sf_StageFact *about = find_fact(c, sf_fact_whole(said, "fact")); // said here: its number is one of here
    if (!about)
        return SF_FAIL(err, SF_E_MISSING, "body.fact", "this limb has no fact %" PRId64, sf_fact_whole(said, "fact"));
    size_t kind = sf_stage_kind_find(c->table, about->kind);
    if (withdrawal && strcmp(about->kind, "withdrawal") == 0)
        return SF_FAIL(err, SF_E_INPUT, "body.fact", "a withdrawal is not withdrawn: write the fact down again");
    if (withdrawal && !sf_stage_may_withdraw(c->table, said, about, kind))
        return SF_FAIL(err, SF_E_INPUT, "body.fact", "'%s' is withdrawn by %s",
                       kind == SIZE_MAX ? about->kind : c->table->kinds[kind].title,
                       kind != SIZE_MAX && c->table->kinds[kind].licensed_withdrawal
                           ? "a licensed prosthetist, when signing is open"
                           : "whoever wrote it down, within a day, or by a prosthetist");
    sf_StageSigner signer = kind == SIZE_MAX ? SF_SIGNER_PROSTHETIST : c->table->kinds[kind].sign;
    if (signature && !sf_stage_may_sign(said, signer < SF_SIGNER_PROSTHETIST ? SF_SIGNER_PROSTHETIST : signer))
        return SF_FAIL(err, SF_E_INPUT, "body.fact", "this is signed by %s, when signing is open",
                       sf_stage_signer_words(signer));
    return SF_OK;
}

static sf_Status stored_body(const sf_StageFact *said, char **text, sf_Error *err)
{
    sf_Json *json = sf_json_object(), *by = sf_json_object();
    sf_json_set_text(by, "role", said->role);
    sf_json_set_text(by, "name", said->name);
    sf_json_set_flag(by, "licensed", said->licensed);
    sf_json_set_flag(by, "signs", said->signs);
    sf_json_set(json, "by", by);
    sf_json_set(json, "fields", sf_json_from_node(said->body));
    sf_Status status = sf_json_text(json, 15, text, err);
    sf_json_destroy(&json);
    return status;
}

// The document after the fact; what would make a document that contradicts itself is left out, and said.
static sf_Status save_text(sf_LimbCase *c, const char *text, sf_CaseRecorded *recorded, sf_Error *err)
{
    sf_Limb *limb = NULL;
    sf_Error problem;
    sf_Status status = sf_limb_parse(&limb, "document", text, strlen(text), &problem);
    if (status == SF_OK) {
        c->row.head.sheet_lot = limb->data.pylon.sheet_lot;
        status =
            sf_limb_record_save(c->transaction, c->row.id, c->row.version, &c->row.head, text, &recorded->version, err);
        recorded->extended = status == SF_OK;
    } else if (status != SF_E_MEMORY) {
        snprintf(recorded->why_not, sizeof recorded->why_not, "the limb's document stays as it was: %.440s",
                 problem.text);
        status = SF_OK;
    } else {
        status = SF_FAIL(err, SF_E_MEMORY, "", "out of memory while writing the fact down");
    }
    sf_limb_destroy(&limb);
    return status;
}

static sf_Status extend(sf_LimbCase *c, const sf_StageKind *kind, const sf_StageFact *said, sf_CaseRecorded *recorded,
                        sf_Error *err)
{
    char *text = NULL;
    if (!c->text)
        return SF_OK;
    SF_TRY(sf_limb_case_extend(kind, sf_doc_root(c->document), said->body, said->happened_at, &text, err));
    sf_Status status = text ? save_text(c, text, recorded, err) : SF_OK;
    sf_free(text);
    return status;
}

sf_Status sf_limb_case_put(sf_LimbCase *c, const char *path, sf_Json **value, sf_CaseRecorded *recorded, sf_Error *err)
{
    char *text = NULL, *whole = NULL;
    sf_Doc *doc = NULL;
    sf_Status status = sf_json_text(*value, 15, &text, err);
    sf_json_destroy(value);
    if (status != SF_OK || !c->text)
        goto done;
    SF_TRY_DONE(sf_doc_parse(&doc, "value", text, strlen(text), err));
    SF_TRY_DONE(sf_limb_case_with(sf_doc_root(c->document), path, sf_doc_root(doc), &whole, err));
    SF_TRY_DONE(save_text(c, whole, recorded, err));
    status = sf_limb_case_refresh(c->transaction, c->table, c->row.id, err);
done:
    sf_free(text);
    sf_free(whole);
    sf_doc_destroy(&doc);
    return status;
}

static sf_Status said_by(sf_Transaction *t, const sf_CaseFact *fact, sf_StageFact *said, sf_Error *err)
{
    sf_Person person;
    SF_TRY(sf_person_get(t, sf_transaction_who(t), &person, err));
    const char *now = sf_transaction_time(t);
    *said = (sf_StageFact){ .kind = fact->kind,
                            .happened_at = fact->happened_at ? fact->happened_at : now,
                            .recorded_at = now,
                            .who = person.id,
                            .role = sf_person_role_words[person.role],
                            .name = person.name,
                            .licensed = person.license && *person.license,
                            .signs = fact->signs,
                            .body = fact->body };
    return SF_OK;
}

static sf_Status write_fact(sf_LimbCase *c, const sf_StageFact *said, int64_t *id, sf_Error *err)
{
    char *body = NULL;
    SF_TRY(stored_body(said, &body, err));
    sf_Fact row = { .limb = c->row.id, .kind = said->kind, .happened_at = said->happened_at, .body = body };
    if (strcmp(said->kind, "withdrawal") == 0)
        row.withdraws = sf_fact_whole(said, "fact");
    sf_Status status = sf_fact_add(c->transaction, &row, id, err);
    sf_free(body);
    return status;
}

// The limb as it is after the fact: whether that was in order, the line for lists, and that of the other side.
static sf_Status settle_after(sf_LimbCase *before, sf_CaseRecorded *recorded, sf_Error *err)
{
    sf_LimbCase *c = NULL;
    sf_Status status = SF_OK;
    int64_t other = 0;
    SF_TRY(sf_limb_case_open(&c, before->transaction, before->table, before->row.id, err));
    for (size_t i = 0; i < c->state->out_of_order_count; i++)
        recorded->out_of_order = recorded->out_of_order || c->state->out_of_order[i] == recorded->fact;
    if (c->text) {
        sf_LimbHead head = head_of(c);
        SF_TRY_DONE(sf_limb_record_set_head(c->transaction, c->row.id, &head, err));
    }
    if (has_two_sides(c))
        SF_TRY_DONE(other_limb(c, &other, err));
    if (other)
        status = sf_limb_case_refresh(c->transaction, c->table, other, err);
done:
    sf_limb_case_close(&c);
    return status;
}

sf_Status sf_limb_case_record(sf_Transaction *t, const sf_StageTable *table, const sf_CaseFact *fact,
                              sf_CaseRecorded *recorded, sf_Error *err)
{
    sf_StageFact said;
    sf_LimbCase *c = NULL;
    sf_Status status;
    size_t kind = sf_stage_kind_find(table, fact->kind);
    *recorded = (sf_CaseRecorded){ 0 };
    if (kind == SIZE_MAX)
        return SF_FAIL(err, SF_E_INPUT, "kind", "'%.40s' is no kind of fact: see the list of kinds",
                       fact->kind ? fact->kind : "");
    SF_TRY(said_by(t, fact, &said, err));
    SF_TRY(check_fact(table, fact, kind, &said, sf_transaction_time(t), err));
    if (fact->body.doc)
        SF_TRY(sf_doc_verdict(fact->body.doc, err));
    bool act = strcmp(fact->kind, "withdrawal") == 0 || strcmp(fact->kind, "signature") == 0;
    SF_TRY(case_load(&c, t, table, fact->limb, act, err));
    recorded->version = c->row.version;
    SF_TRY_DONE(check_act(c, &said, err));
    SF_TRY_DONE(write_fact(c, &said, &recorded->fact, err));
    SF_TRY_DONE(extend(c, &table->kinds[kind], &said, recorded, err));
    status = settle_after(c, recorded, err);
done:
    sf_limb_case_close(&c);
    return status;
}
