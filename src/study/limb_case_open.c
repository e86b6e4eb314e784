// SPDX-License-Identifier: GPL-3.0-or-later
// Opening a limb: its document and facts out of the store, what other limbs say of it, where it stands.
#include "base/alloc.h"
#include "study/follow_up.h"
#include "study/limb_case_inside.h"
#include "study/limb_due.h"

#include <string.h>

enum { CASE_ARENA = 64 * 1024 * 1024, MOST_OF_LOT = 200 };

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
sf_Status sf_limb_case_load(sf_LimbCase **out, sf_Transaction *t, const sf_StageTable *table, int64_t id, bool facts,
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
    SF_TRY(sf_limb_case_load(&other, c->transaction, c->table, id, false, err));
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

bool sf_limb_case_two_sides(const sf_LimbCase *c)
{
    const char *word = sf_document_word(sf_doc_root(c->document), "person.other_side");
    return word && strcmp(word, "prosthetic") == 0;
}

static bool is_other_side(const sf_LimbRow *a, const sf_LimbRow *b)
{
    return a->id != b->id && a->head.side && b->head.side && strcmp(a->head.side, b->head.side) != 0;
}

sf_Status sf_limb_case_other(sf_LimbCase *c, int64_t *id, sf_Error *err)
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
    if (!sf_limb_case_two_sides(c))
        return SF_OK;
    SF_TRY(sf_limb_case_other(c, &id, err));
    if (!id)
        return SF_OK;
    sf_LimbCase *other = NULL;
    SF_TRY(sf_limb_case_load(&other, c->transaction, c->table, id, true, err));
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
    SF_TRY(sf_limb_case_load(&c, t, table, id, true, err));
    if (is_cut(c))
        SF_TRY_DONE(sf_limb_case_look_for_proof(c, err));
    SF_TRY_DONE(look_at_other(c, err));
    SF_TRY_DONE(sf_limb_due_look(c, err));
    SF_TRY_DONE(work_out(c, err));
    *out = c;
    return SF_OK;
done:
    sf_limb_case_close(&c);
    return status;
}
