// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/stage_flag.h"

#include <math.h>
#include <string.h>

typedef struct Flags {
    const sf_View *view;
    sf_LimbState *state;
} Flags;

enum { PLAIN = 0, GRAVE = 1, KEPT = 2 };

static void add(Flags *f, const char *code, int how, const sf_StageFact *fact, const char *text)
{
    if (f->state->flag_count == SF_STAGE_MOST_FLAGS)
        return;
    f->state->flags[f->state->flag_count++] = (sf_StageFlag){ .code = code,
                                                              .text = text,
                                                              .since = fact ? fact->happened_at : NULL,
                                                              .fact = fact ? fact->id : 0,
                                                              .kept = (how & KEPT) != 0,
                                                              .grave = (how & GRAVE) != 0 };
}

static bool is_word(const char *word, const char *other)
{
    return word && strcmp(word, other) == 0;
}

static const char *reason_of(const sf_StageFact *fact)
{
    const char *reason = sf_fact_word(fact, "reason");
    return reason ? reason : "no reason given";
}

static const char *who_of(const sf_StageFact *fact)
{
    return fact->name ? fact->name : fact->role ? fact->role : "?";
}

static bool is_kind(const sf_StageFact *fact, const char *kind)
{
    return strcmp(fact->kind, kind) == 0;
}

// ---- one fact ---------------------------------------------------------------------------------------------------

static void flag_order(Flags *f, size_t place)
{
    const sf_History *h = f->view->history;
    const sf_StageFact *fact = h->items[place].fact;
    const sf_StageKind *kind = &h->table->kinds[h->items[place].kind];
    f->state->out_of_order[f->state->out_of_order_count++] = fact->id;
    bool awaits = sf_fact_awaits_decision(f->view, place);
    const char *stage = h->table->stages[kind->stage].title;
    bool early = is_kind(fact, "permanent-fixing");
    const char *tail = awaits ? ": release stays shut until a licensed prosthetist decides, with a reason" : "";
    add(f, early ? "early-permanent-fixing" : "out-of-order", awaits ? GRAVE | KEPT : KEPT, fact,
        sf_stage_say(h, "%s before the stage '%s' was open%s", kind->title, stage, tail));
    size_t decision = sf_fact_decision(f->view, place);
    if (decision != SIZE_MAX)
        add(f, "out-of-order-decided", KEPT, h->items[decision].fact,
            sf_stage_say(h, "%s: %s decided '%s': %s", kind->title, who_of(h->items[decision].fact),
                         sf_fact_word(h->items[decision].fact, "decision"), reason_of(h->items[decision].fact)));
}

static void flag_walk(Flags *f, size_t place)
{
    const sf_History *h = f->view->history;
    const sf_StageFact *walk = h->items[place].fact;
    sf_View then = sf_history_view(h, place);
    then.past = true;
    const char *why;
    bool fixed = sf_view_fixed(&then);
    if (!fixed && !is_word(sf_fact_word(walk, "support"), "bars") && !sf_fact_flag(walk, "assistant"))
        add(f, "unassisted-without-fixing", GRAVE | KEPT, walk,
            "walked on a stick or free, without an assistant, before the permanent fixing was in");
    sf_StageAnswer look = sf_stage_gate(&then, SF_GATE_BEFORE_WALK, walk);
    if (!look.met)
        add(f, "walked-without-look", PLAIN, walk, sf_stage_say(h, "walked although: %s", look.why));
    if (!sf_stage_gate(&then, SF_GATE_RING, NULL).met || !sf_stage_gate(&then, SF_GATE_SQUEEZE_PROOF, NULL).met)
        add(f, "walked-without-ring", GRAVE | KEPT, walk, "body weight was on a limb whose ring did not allow it");
    if (sf_view_counts(f->view, place) && place == sf_view_find(f->view, "walk") &&
        sf_walk_stops(f->view, place, &why) && !sf_stage_gate(f->view, SF_GATE_FIT, NULL).met)
        add(f, "stop-fit-first", GRAVE, walk, why);
}

static void flag_release(Flags *f, size_t place)
{
    const sf_History *h = f->view->history;
    const sf_StageFact *fact = h->items[place].fact;
    bool licensed = sf_view_signed(f->view, place, SF_SIGNER_LICENSED);
    if (sf_fact_flag(fact, "against_advice"))
        add(f, "released-against-advice", KEPT, fact,
            sf_stage_say(h, "released against advice by %s: %s", who_of(fact), reason_of(fact)));
    if (sf_fact_flag(fact, "against_advice") && !sf_release_against_advice(fact))
        add(f, "release-without-reason", GRAVE, fact,
            "a release against advice needs its reason: this one does not count");
    if (!licensed)
        add(f, "release-not-licensed", GRAVE, fact,
            "only a licensed prosthetist releases: this release does not count");
    if (!h->items[place].in_order)
        add(f, "released-too-early", GRAVE | KEPT, fact,
            "released before everything that opens it was met: it does not count");
}

static void flag_reasons(Flags *f, size_t place)
{
    const sf_History *h = f->view->history;
    const sf_StageFact *fact = h->items[place].fact;
    if (is_kind(fact, "crack-judged"))
        add(f, "crack-judged", KEPT, fact, sf_stage_say(h, "%s judged: %s", who_of(fact), reason_of(fact)));
    if (is_kind(fact, "quarantine-lifted"))
        add(f, "quarantine-lifted", KEPT, fact, sf_stage_say(h, "lifted by %s: %s", who_of(fact), reason_of(fact)));
    if (is_kind(fact, "incident"))
        add(f, "incident", KEPT, fact, sf_stage_say(h, "incident: %s", sf_fact_word(fact, "what")));
    if (is_kind(fact, "inspection") && sf_fact_flag(fact, "whitening") && place == sf_view_find(f->view, "inspection"))
        add(f, "whitening", PLAIN, fact, "whitening at a hole, the seam or the cone: a prosthetist looks at it");
    if (is_kind(fact, "lamp-look") && !is_word(sf_fact_word(fact, "finding"), "clear") &&
        sf_view_counts(f->view, place))
        add(f, "seam-line", PLAIN, fact, "a line was seen or felt at the seam: the ring proves the cut end only");
    if (is_kind(fact, "permanent-fixing") && is_word(sf_fact_word(fact, "fixing"), "through-screws") &&
        sf_doc_length(sf_doc_member(fact->body, "holes")) == 0 && sf_view_counts(f->view, place))
        add(f, "holes-not-written", PLAIN, fact,
            "through screws without their holes: write them down as 'Another hole', or strength does not know of them");
    if (is_kind(fact, "vent") && sf_view_counts(f->view, place)) {
        const char *suspension = sf_document_word(h->limb, "socket.suspension");
        if (is_word(suspension, "suction") || is_word(suspension, "valve") || is_word(suspension, "vacuum"))
            add(f, "vent-against-suspension", GRAVE, fact, "a vent was drilled in a limb that is held on by suction");
    }
}

static void flag_withdrawn(Flags *f, size_t place)
{
    const sf_History *h = f->view->history;
    const sf_Happening *item = &h->items[place];
    const sf_StageKind *kind = &h->table->kinds[item->kind];
    const sf_StageFact *by = h->items[item->withdrawn_at].fact;
    if (kind->licensed_withdrawal)
        add(f, "withdrawn", KEPT, item->fact,
            sf_stage_say(h, "'%s' was withdrawn by %s: %s", kind->title, who_of(by), reason_of(by)));
    if (is_kind(item->fact, "release") && sf_fact_flag(item->fact, "against_advice"))
        add(f, "released-against-advice", KEPT, item->fact,
            sf_stage_say(h, "released against advice by %s (withdrawn later): %s", who_of(item->fact),
                         reason_of(item->fact)));
}

static void flag_fact(Flags *f, size_t place)
{
    const sf_History *h = f->view->history;
    const sf_Happening *item = &h->items[place];
    if (item->kind == SIZE_MAX) {
        add(f, "unknown-kind", PLAIN, item->fact,
            sf_stage_say(h, "a fact of the unknown kind '%.40s'", item->fact->kind));
        return;
    }
    if (!sf_view_alive(f->view, place)) {
        flag_withdrawn(f, place);
        return;
    }
    if (!item->in_order)
        flag_order(f, place);
    if (is_kind(item->fact, "walk"))
        flag_walk(f, place);
    if (is_kind(item->fact, "release"))
        flag_release(f, place);
    flag_reasons(f, place);
    const sf_StageKind *kind = &h->table->kinds[item->kind];
    if (kind->sign != SF_SIGNER_NOBODY && !is_kind(item->fact, "release") && sf_view_counts(f->view, place) &&
        sf_view_newest(f->view, item->kind, f->view->end) == place && !sf_view_signed(f->view, place, kind->sign))
        add(f, "signature-waits", PLAIN, item->fact,
            sf_stage_say(h, "'%s' waits for the signature of %s", kind->title, sf_stage_signer_words(kind->sign)));
    if (is_kind(item->fact, "withdrawal")) {
        for (size_t i = 0; i < h->count; i++)
            if (h->items[i].withdrawn_at == place)
                return;
        add(f, "withdrawal-not-valid", PLAIN, item->fact,
            "this withdrawal does not count: a licensed prosthetist withdraws such a fact");
    }
}

// ---- the limb as it is now --------------------------------------------------------------------------------------

static void flag_gate(Flags *f, sf_StageGate gate, const char *code, const sf_StageFact *fact)
{
    sf_StageAnswer answer = sf_stage_gate(f->view, gate, NULL);
    if (!answer.met)
        add(f, code, GRAVE, fact, answer.why);
}

static void flag_ring(Flags *f)
{
    sf_RingStanding s = sf_stage_rings(f->view);
    if (!s.there)
        return;
    const sf_StageFact *ring = NULL;
    for (size_t i = 0; i < f->view->end; i++)
        if (f->view->history->items[i].fact->id == s.fact)
            ring = f->view->history->items[i].fact;
    const char *code = s.rejected ? "ring-rejected" : s.again ? "ring-again" : "ring-unsigned";
    flag_gate(f, SF_GATE_RING, code, ring);
    flag_gate(f, SF_GATE_SQUEEZE_PROOF, s.proof_failed ? "proof-failed" : "proof-missing", NULL);
    if (!s.rejected && !s.again && s.limited)
        add(f, "accepted-with-limit", PLAIN, ring, "the ring is accepted with a limit: see its reasons");
}

static void flag_person(Flags *f)
{
    const sf_History *h = f->view->history;
    double carried = sf_document_number(h->limb, "person.habitual_load_kg");
    double mass = sf_document_number(h->limb, "person.body_mass_kg") + (isnan(carried) ? 0 : carried);
    if (mass > h->table->judgements.heavy_kg)
        add(f, "heavy", PLAIN, NULL,
            sf_stage_say(h, "%g kg with what is carried: above %g kg the load levels are a comparison only", mass,
                         h->table->judgements.heavy_kg));
    flag_gate(f, SF_GATE_PARTS_MASS, "parts-mass", NULL);
    flag_gate(f, SF_GATE_PARTS_ACTIVITY, "parts-activity", NULL);
    if (sf_view_two_sided(f->view))
        flag_gate(f, SF_GATE_OTHER_SIDE, "other-side", NULL);
}

static void flag_settled(Flags *f)
{
    size_t settled = sf_view_find(f->view, "settled"), standing = sf_view_find(f->view, "standing");
    if (settled == SIZE_MAX)
        return;
    const sf_StageFact *fact = f->view->history->items[settled].fact;
    if (is_word(sf_document_word(f->view->history->limb, "person.volume"), "changing"))
        add(f, "volume-changing", PLAIN, fact, "settled while the limb's volume still changes: look again soon");
    double was = standing == SIZE_MAX ? NAN : sf_fact_number(f->view->history->items[standing].fact, "sock_ply");
    double now = sf_fact_number(fact, "sock_ply");
    if (was != now && !isnan(was) && !isnan(now))
        add(f, "ply-changed", PLAIN, fact,
            sf_stage_say(f->view->history, "settled at %g ply, stood at %g ply", now, was));
}

static void flag_left_out(Flags *f)
{
    const sf_StageTable *table = f->view->history->table;
    size_t release = sf_stage_find(table, "release"), closing;
    for (size_t s = 0; s < release && s < table->stage_count; s++)
        for (size_t n = 0; n < table->stages[s].need_count; n++) {
            const sf_StageNeed *need = &table->stages[s].needs[n];
            if (need->soft && sf_stage_is_done(f->view, s, &closing) && sf_stage_need_applies(f->view, need) &&
                !sf_stage_need_met(f->view, need, NULL).met)
                add(f, "left-out", PLAIN, f->view->history->items[closing].fact,
                    sf_stage_say(f->view->history, "left out in '%s': %s", table->stages[s].title, need->text));
        }
}

// What lies in the shop for good.
static void flag_ended(Flags *f)
{
    size_t retired = sf_view_find(f->view, "retired"), judged = sf_view_find(f->view, "crack-judged");
    const sf_Happening *items = f->view->history->items;
    if (retired != SIZE_MAX)
        add(f, "retired", PLAIN, items[retired].fact, "the limb is retired");
    if (judged != SIZE_MAX && is_word(sf_fact_word(items[judged].fact, "finding"), "cracked"))
        add(f, "judged-cracked", GRAVE, items[judged].fact, "judged cracked: this limb is not worn again");
}

sf_Status sf_stage_flags(const sf_View *view, sf_LimbState *state, sf_Error *err)
{
    Flags f = { view, state };
    state->flags = sf_arena_alloc(view->history->arena, SF_STAGE_MOST_FLAGS, sizeof *state->flags);
    state->out_of_order = sf_arena_alloc(view->history->arena, view->history->count + 1, sizeof *state->out_of_order);
    if (!state->flags || !state->out_of_order)
        return SF_FAIL(err, SF_E_MEMORY, "", "out of memory while working out the stages");
    flag_gate(&f, SF_GATE_IN_USE, "out-of-use", NULL);
    flag_ended(&f);
    flag_ring(&f);
    flag_person(&f);
    flag_gate(&f, SF_GATE_INSPECTED, "follow-up-overdue", NULL);
    for (size_t i = 0; i < view->history->count; i++)
        flag_fact(&f, i);
    flag_settled(&f);
    flag_left_out(&f);
    return SF_OK;
}
