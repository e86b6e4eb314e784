// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/limb_case.h"

#include "base/alloc.h"
#include "limb/limb.h"
#include "record/wearer.h"
#include "study/limb_case_inside.h"
#include "study/limb_due.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>

enum { AHEAD_MINUTES = 5 };

static sf_Status no_memory(sf_Error *err)
{
    return SF_FAIL(err, SF_E_MEMORY, "", "out of memory while opening the limb");
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

static sf_Status head_of(const sf_LimbCase *c, sf_LimbHead *head, sf_Error *err)
{
    sf_DocNode root = sf_doc_root(c->document);
    const char *due = NULL;
    for (size_t i = 0; i < c->state->due_count; i++)
        if (!due || strcmp(c->state->dues[i].date, due) < 0)
            due = c->state->dues[i].date;
    *head = (sf_LimbHead){ .label = sf_document_word(root, "person.label"),
                           .side = sf_document_word(root, "person.side"),
                           .sheet_lot = sf_document_word(root, "pylon.sheet_lot"),
                           .stage = stage_word(c->state),
                           .next_action = action_of(c->state),
                           .next_due = due,
                           .flags = codes_of(c) };
    return sf_limb_due_text(c, &head->dues, err);
}

static sf_Status write_head(const sf_LimbCase *c, sf_Error *err)
{
    sf_LimbHead head;
    if (!c->text)
        return SF_OK;
    SF_TRY(head_of(c, &head, err));
    return sf_limb_record_set_head(c->transaction, c->row.id, &head, err);
}

sf_Status sf_limb_case_refresh(sf_Transaction *t, const sf_StageTable *table, int64_t id, sf_Error *err)
{
    sf_LimbCase *c = NULL;
    SF_TRY(sf_limb_case_open(&c, t, table, id, err));
    sf_Status status = write_head(c, err);
    sf_limb_case_close(&c);
    return status;
}

// The line of the other side's limb may speak of this one.
static sf_Status refresh_both(sf_Transaction *t, const sf_StageTable *table, int64_t id, sf_Error *err)
{
    sf_LimbCase *c = NULL;
    int64_t other = 0;
    SF_TRY(sf_limb_case_refresh(t, table, id, err));
    SF_TRY(sf_limb_case_load(&c, t, table, id, false, err));
    sf_Status status = sf_limb_case_two_sides(c) ? sf_limb_case_other(c, &other, err) : SF_OK;
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

// What was taken out is not put in again by a save: a person who comes back is a new wearer.
static sf_Status check_wearer(sf_Transaction *t, int64_t id, const char *field, sf_Error *err)
{
    sf_Wearer wearer;
    SF_TRY(sf_wearer_get(t, id, &wearer, err));
    if (!wearer.removed_at)
        return SF_OK;
    return SF_FAIL(err, SF_E_INPUT, field,
                   "the data of this wearer was removed, and what was kept stays as it is: write down what happens as "
                   "facts, and begin a new limb of a new wearer when the person comes back");
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
    if (wearer)
        SF_TRY_DONE(check_wearer(t, wearer, "wearer", err));
    else
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
    SF_TRY_DONE(check_wearer(t, row.wearer, "document", err));
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
    if (strcmp(said->kind, "out-of-order-decision") == 0 && !find_fact(c, sf_fact_whole(said, "about")))
        return SF_FAIL(err, SF_E_MISSING, "body.about", "this limb has no fact %" PRId64 " to decide on",
                       sf_fact_whole(said, "about"));
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
    SF_TRY_DONE(write_head(c, err));
    if (sf_limb_case_two_sides(c))
        SF_TRY_DONE(sf_limb_case_other(c, &other, err));
    if (other)
        status = sf_limb_case_refresh(c->transaction, c->table, other, err);
done:
    sf_limb_case_close(&c);
    return status;
}

// What never happened did nothing to the limb.
static sf_Status take_back(sf_LimbCase *c, int64_t fact, sf_CaseRecorded *recorded, sf_Error *err)
{
    const sf_StageFact *about = find_fact(c, fact);
    size_t kind = about ? sf_stage_kind_find(c->table, about->kind) : SIZE_MAX;
    SF_TRY(sf_limb_case_ring_withdrawn(c, fact, recorded, err));
    return kind == SIZE_MAX ? SF_OK : sf_limb_case_take_back(c, &c->table->kinds[kind], about->body, recorded, err);
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
    bool act = strcmp(fact->kind, "withdrawal") == 0 || strcmp(fact->kind, "signature") == 0 ||
               strcmp(fact->kind, "out-of-order-decision") == 0;
    SF_TRY(sf_limb_case_load(&c, t, table, fact->limb, act, err));
    recorded->version = c->row.version;
    SF_TRY_DONE(check_act(c, &said, err));
    SF_TRY_DONE(write_fact(c, &said, &recorded->fact, err));
    SF_TRY_DONE(extend(c, &table->kinds[kind], &said, recorded, err));
    if (strcmp(fact->kind, "withdrawal") == 0)
        SF_TRY_DONE(take_back(c, sf_fact_whole(&said, "fact"), recorded, err));
    status = settle_after(c, recorded, err);
done:
    sf_limb_case_close(&c);
    return status;
}
