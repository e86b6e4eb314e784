// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/stage_gate.h"

#include "study/follow_up.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

static const sf_StageAnswer MET = { true, NULL };

static sf_StageAnswer unmet(const char *why)
{
    return (sf_StageAnswer){ false, why };
}

const char *sf_stage_say(const sf_History *h, const char *format, ...)
{
    char text[500];
    va_list list;
    va_start(list, format);
    vsnprintf(text, sizeof text, format, list);
    va_end(list);
    const char *kept = sf_arena_text(h->arena, text);
    return kept ? kept : "";
}

static bool is_word(const char *word, const char *other)
{
    return word && strcmp(word, other) == 0;
}

static size_t kind_of(const sf_View *view, const char *kind)
{
    return sf_stage_kind_find(view->history->table, kind);
}

static const sf_StageFact *fact_at(const sf_View *view, size_t place)
{
    return view->history->items[place].fact;
}

bool sf_view_fixed(const sf_View *view)
{
    return sf_view_find(view, "permanent-fixing") != SIZE_MAX;
}

bool sf_view_two_sided(const sf_View *view)
{
    return is_word(sf_document_word(view->history->limb, "person.other_side"), "prosthetic");
}

bool sf_release_against_advice(const sf_StageFact *fact)
{
    enum { LEAST_REASON = 10 };
    const char *reason = sf_fact_word(fact, "reason");
    return sf_fact_flag(fact, "against_advice") && reason && strlen(reason) >= LEAST_REASON;
}

// ---- ring -------------------------------------------------------------------------------------------------------

enum { ACCEPT, LIMIT, AGAIN, REJECT };

static int severity(const char *word)
{
    static const char *const words[] = { "accept", "accept-with-limit", "measure-again", "reject" };
    for (int i = 0; i < 4; i++)
        if (is_word(word, words[i]))
            return i;
    return word ? AGAIN : ACCEPT; // an unknown word never opens anything
}

// The figures' word, or the person's where that is stricter.
static int ring_word(const sf_StageFact *ring)
{
    int figures = severity(sf_fact_word(ring, "decision")), person = severity(sf_fact_word(ring, "decided"));
    if (!sf_fact_has(ring, "decision"))
        figures = AGAIN;
    return person > figures ? person : figures;
}

static bool same_ring(const sf_StageFact *a, const sf_StageFact *b)
{
    const char *left = sf_fact_word(a, "ring_number"), *right = sf_fact_word(b, "ring_number");
    return left && right && strcmp(left, right) == 0;
}

// The newest squeeze proof of this ring: 1 held, -1 failed, 0 none. A failure is not mended by pressing again.
static int proof_of(const sf_View *view, const sf_StageFact *ring)
{
    size_t kind = kind_of(view, "squeeze-proof");
    int found = 0;
    for (size_t i = 0; i < view->end; i++) {
        const sf_StageFact *proof = fact_at(view, i);
        if (view->history->items[i].kind != kind || !sf_view_counts(view, i) || !same_ring(proof, ring))
            continue;
        if (!sf_fact_flag(proof, "passed"))
            return -1;
        found = 1;
    }
    return found;
}

static void weigh_ring(const sf_View *view, sf_RingStanding *standing, size_t place, int *worst)
{
    const sf_StageFact *ring = fact_at(view, place);
    int word = ring_word(ring), proof = proof_of(view, ring);
    if (word == AGAIN && proof > 0 && sf_fact_flag(ring, "squeeze_settles") &&
        severity(sf_fact_word(ring, "decided")) < AGAIN)
        word = LIMIT;
    if (proof < 0) {
        word = REJECT;
        standing->proof_failed = true;
    }
    standing->rejected = standing->rejected || word == REJECT;
    standing->again = standing->again || word == AGAIN;
    standing->limited = standing->limited || word == LIMIT;
    if (word <= LIMIT && !sf_view_signed(view, place, SF_SIGNER_PROSTHETIST))
        standing->unsigned_accept = true;
    if (word >= *worst) {
        *worst = word;
        standing->fact = ring->id;
        standing->number = sf_fact_word(ring, "ring_number");
    }
}

// A rejected ring stays rejected: measuring it once more does not make it sound. Of a ring that asked for another
// measurement the newest one speaks.
static bool overtaken(const sf_View *view, size_t place)
{
    const sf_StageFact *ring = fact_at(view, place);
    if (ring_word(ring) == REJECT)
        return false;
    for (size_t i = place + 1; i < view->end; i++)
        if (view->history->items[i].kind == view->history->items[place].kind && sf_view_counts(view, i) &&
            same_ring(fact_at(view, i), ring))
            return true;
    return false;
}

sf_RingStanding sf_stage_rings(const sf_View *view)
{
    sf_RingStanding standing = { .proof_required = !view->history->around.proof_held };
    size_t ring = kind_of(view, "ring"), proof = kind_of(view, "squeeze-proof");
    int worst = ACCEPT;
    for (size_t i = 0; i < view->end; i++) {
        if (!sf_view_counts(view, i))
            continue;
        const sf_StageFact *fact = fact_at(view, i);
        if (view->history->items[i].kind == proof) {
            standing.proof_passed = standing.proof_passed || sf_fact_flag(fact, "passed");
            standing.proof_failed = standing.proof_failed || !sf_fact_flag(fact, "passed");
        }
        if (view->history->items[i].kind != ring)
            continue;
        standing.there = true;
        standing.proof_required = standing.proof_required || sf_fact_flag(fact, "proof_required");
        if (!overtaken(view, i))
            weigh_ring(view, &standing, i, &worst);
    }
    return standing;
}

static sf_StageAnswer gate_ring(const sf_View *view)
{
    sf_RingStanding s = sf_stage_rings(view);
    const sf_History *h = view->history;
    const char *number = s.number ? s.number : "?";
    if (!s.there)
        return unmet("no ring of this forming is measured yet: no body weight, not even between bars");
    if (s.rejected)
        return unmet(sf_stage_say(h,
                                  "ring %s is rejected: no body weight, not even between bars; form again, or a "
                                  "licensed prosthetist withdraws the measurement with a reason",
                                  number));
    if (s.again)
        return unmet(sf_stage_say(h, "ring %s must be measured again: no body weight, not even between bars", number));
    if (s.unsigned_accept)
        return unmet(sf_stage_say(h, "the decision on ring %s waits for a prosthetist's signature", number));
    return MET;
}

static sf_StageAnswer gate_proof(const sf_View *view)
{
    sf_RingStanding s = sf_stage_rings(view);
    if (s.proof_failed)
        return unmet("the seam did not hold in the squeeze proof: no body weight; form again");
    if (s.proof_required && !s.proof_passed)
        return unmet("a squeeze proof of the seam is required: lot, oven setting or forming person is new");
    return MET;
}

// ---- parts and use ----------------------------------------------------------------------------------------------

static sf_StageAnswer gate_mass(const sf_View *view)
{
    static const struct {
        const char *path, *part;
        bool needed;
    } parts[] = { { "foot.max_user_mass_kg", "foot", true },
                  { "adapter.max_user_mass_kg", "adapter", true },
                  { "socket.suspension_max_user_mass_kg", "lock or suspension", false } };
    sf_DocNode limb = view->history->limb;
    double carried = sf_document_number(limb, "person.habitual_load_kg");
    double mass = sf_document_number(limb, "person.body_mass_kg") + (isnan(carried) ? 0 : carried);
    if (isnan(mass))
        return unmet("the body mass is not given");
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++) {
        double most = sf_document_number(limb, parts[i].path);
        if (isnan(most) && parts[i].needed)
            return unmet(sf_stage_say(view->history, "the greatest body mass of the %s is not given", parts[i].part));
        if (mass > most)
            return unmet(sf_stage_say(view->history,
                                      "%s: made for at most %g kg, the person with what is carried has "
                                      "%g kg",
                                      parts[i].part, most, mass));
    }
    return MET;
}

static int activity_rank(const char *word)
{
    return is_word(word, "low") ? 1 : is_word(word, "moderate") ? 2 : is_word(word, "high") ? 3 : 0;
}

static sf_StageAnswer gate_activity(const sf_View *view)
{
    static const char *const parts[] = { "foot", "adapter" };
    sf_DocNode limb = view->history->limb;
    int person = activity_rank(sf_document_word(limb, "person.activity"));
    if (!person)
        return unmet("the person's activity is not given");
    for (size_t i = 0; i < 2; i++) {
        char path[40];
        snprintf(path, sizeof path, "%s.activity", parts[i]);
        const char *word = sf_document_word(limb, path);
        if (!activity_rank(word))
            return unmet(sf_stage_say(view->history, "the activity class of the %s is not given", parts[i]));
        if (person > activity_rank(word))
            return unmet(sf_stage_say(view->history, "%s: made for %s activity, the person's is %s", parts[i], word,
                                      sf_document_word(limb, "person.activity")));
    }
    return MET;
}

// A crack stands until a licensed prosthetist has looked and found none; what is judged cracked stays so.
static const char *crack_standing(const sf_View *view)
{
    size_t crack = kind_of(view, "crack"), inspection = kind_of(view, "inspection");
    size_t judged = kind_of(view, "crack-judged");
    const char *standing = NULL;
    for (size_t i = 0; i < view->end; i++) {
        const sf_Happening *item = &view->history->items[i];
        if (!sf_view_alive(view, i))
            continue;
        if (item->kind == crack || (item->kind == inspection && sf_fact_flag(item->fact, "crack")))
            standing = "a crack is recorded: the limb comes off today";
        if (item->kind != judged)
            continue;
        if (is_word(sf_fact_word(item->fact, "finding"), "cracked"))
            return "judged cracked: this limb is not worn again";
        if (sf_view_signed(view, i, SF_SIGNER_LICENSED))
            standing = NULL;
    }
    return standing;
}

static sf_StageAnswer gate_in_use(const sf_View *view)
{
    const char *crack = crack_standing(view);
    if (crack)
        return unmet(crack);
    if (sf_view_find(view, "retired") != SIZE_MAX)
        return unmet("the limb is retired");
    size_t quarantine = sf_view_find(view, "quarantine"), lifted = kind_of(view, "quarantine-lifted");
    size_t incident = sf_view_find(view, "incident"), last = quarantine;
    if (incident != SIZE_MAX && (last == SIZE_MAX || incident > last))
        last = incident;
    if (last == SIZE_MAX)
        return MET;
    for (size_t i = last + 1; i < view->end; i++)
        if (view->history->items[i].kind == lifted && sf_view_alive(view, i) &&
            sf_view_signed(view, i, SF_SIGNER_LICENSED))
            return MET;
    return unmet(last == incident
                     ? "an incident is recorded: out of use until a licensed prosthetist lifts it, with a reason"
                     : "the limb is taken out of use until a licensed prosthetist lifts it, with a reason");
}

static sf_StageAnswer gate_other_side(const sf_View *view)
{
    if (!sf_view_two_sided(view) || view->history->around.other_may_be_loaded > 0)
        return MET;
    if (view->history->around.other_may_be_loaded < 0)
        return unmet("the other side's limb must not be loaded: look at its own record first");
    size_t look = sf_view_find(view, "other-side-look");
    if (look == SIZE_MAX)
        return unmet("both sides are prosthetic: a prosthetist looks at the other side's limb first");
    if (!sf_fact_flag(fact_at(view, look), "fit_to_load") || !sf_view_signed(view, look, SF_SIGNER_PROSTHETIST))
        return unmet("the other side's limb was not found fit to be loaded, or the look is not signed");
    return MET;
}

// ---- walking ----------------------------------------------------------------------------------------------------

// Pain that is new, has risen by 2, or is at the limit; skin that stays marked or is broken: as in the advice.
bool sf_walk_stops(const sf_View *view, size_t walk, const char **why)
{
    enum { RISE = 2 };
    const sf_StageFact *fact = fact_at(view, walk);
    const char *skin = sf_fact_word(fact, "skin");
    double pain = sf_fact_number(fact, "pain"), before = NAN;
    *why = NULL;
    if (is_word(skin, "stays") || is_word(skin, "broken"))
        *why = "the skin stayed marked or was broken: stop, fit first";
    for (size_t i = sf_view_newest(view, kind_of(view, "walk"), walk); i != SIZE_MAX && isnan(before);
         i = sf_view_newest(view, kind_of(view, "walk"), i))
        before = sf_fact_number(fact_at(view, i), "pain");
    if (pain >= view->history->table->judgements.pain_stops || pain >= before + RISE || (before == 0 && pain > 0))
        *why = "pain is new, has risen by 2, or is at 4 of 10: stop, fit first";
    return *why != NULL;
}

static sf_StageAnswer gate_fit(const sf_View *view)
{
    const char *why;
    size_t walk = sf_view_find(view, "walk");
    if (walk == SIZE_MAX || !sf_walk_stops(view, walk, &why))
        return MET;
    size_t mended = sf_view_find(view, "fit-corrected");
    return mended != SIZE_MAX && mended > walk ? MET : unmet(why);
}

static sf_StageAnswer look_answer(const sf_View *view, const char *witness, double torque)
{
    sf_DocNode limb = view->history->limb;
    double asked = sf_document_number(limb, "adapter.holding_screw.torque_nm");
    bool screw = is_word(sf_document_word(limb, "adapter.rotation_hold"), "holding-screw");
    if (!is_word(witness, "unbroken"))
        return unmet("the witness mark is broken or was not looked at: tighten the holding screw and draw a new mark");
    if (screw && isnan(torque))
        return unmet("the torque of the holding screw was not looked at");
    if (screw && torque < asked * view->history->table->judgements.holding_torque_share)
        return unmet(sf_stage_say(view->history,
                                  "the holding screw had %g N.m, asked are %g N.m: tighten it and draw a "
                                  "new mark",
                                  torque, asked));
    return MET;
}

static sf_StageAnswer gate_before_walk(const sf_View *view, const sf_StageFact *pending)
{
    if (sf_view_fixed(view))
        return MET;
    if (pending && is_word(pending->kind, "walk") && sf_fact_has(pending, "witness"))
        return look_answer(view, sf_fact_word(pending, "witness"), sf_fact_number(pending, "holding_torque_nm"));
    size_t walk = sf_view_find(view, "walk"), set = sf_view_find(view, "holding-screw");
    size_t look = sf_view_find(view, "holding-screw-look");
    size_t after = walk == SIZE_MAX ? 0 : walk + 1;
    bool looked = look != SIZE_MAX && look >= after, tightened = set != SIZE_MAX && set >= after;
    if (tightened && (!looked || set > look))
        return sf_fact_flag(fact_at(view, set), "mark_drawn") ? MET : unmet("the witness mark is not drawn");
    if (!looked)
        return unmet("look at the holding screw's torque and its witness mark before the next walk");
    return look_answer(view, sf_fact_word(fact_at(view, look), "witness"),
                       sf_fact_number(fact_at(view, look), "torque_nm"));
}

static sf_StageAnswer gate_toe_out(const sf_View *view)
{
    size_t out = sf_view_find(view, "check-out"), settled = sf_view_find(view, "settled");
    if (out == SIZE_MAX)
        return unmet("toe-out is not read again yet");
    double was = settled == SIZE_MAX ? NAN : sf_fact_number(fact_at(view, settled), "toe_out_deg");
    double now = sf_fact_number(fact_at(view, out), "toe_out_deg");
    if (isnan(was) || isnan(now))
        return unmet("toe-out as settled, or as read again, is not written down");
    if (fabs(now - was) > view->history->table->judgements.toe_out_kept_deg)
        return unmet(
            sf_stage_say(view->history, "toe-out reads %g degrees, settled were %g: see what moved", now, was));
    return MET;
}

// ---- order ------------------------------------------------------------------------------------------------------

size_t sf_fact_decision(const sf_View *view, size_t place)
{
    size_t kind = kind_of(view, "out-of-order-decision");
    for (size_t i = view->end; i-- > 0;)
        if (view->history->items[i].kind == kind && sf_view_counts(view, i) &&
            fact_at(view, i)->about == fact_at(view, place)->id && sf_view_signed(view, i, SF_SIGNER_LICENSED))
            return i;
    return SIZE_MAX;
}

bool sf_fact_awaits_decision(const sf_View *view, size_t place)
{
    const sf_Happening *item = &view->history->items[place];
    if (item->kind == SIZE_MAX || item->in_order || !view->history->table->kinds[item->kind].lasting ||
        !sf_view_alive(view, place))
        return false;
    // Holes stay in the wall whatever became of the screw: only a new forming takes them away.
    const sf_StageKind *kind = &view->history->table->kinds[item->kind];
    if (kind->stage != SF_STAGE_NONE && place < view->reset[kind->stage])
        return false;
    size_t decision = sf_fact_decision(view, place);
    return decision == SIZE_MAX || !is_word(sf_fact_word(fact_at(view, decision), "decision"), "leave");
}

static sf_StageAnswer gate_out_of_order(const sf_View *view)
{
    for (size_t i = 0; i < view->end; i++)
        if (sf_fact_awaits_decision(view, i))
            return unmet(sf_stage_say(view->history,
                                      "'%s' was done out of order: a licensed prosthetist decides, with a "
                                      "reason",
                                      view->history->table->kinds[view->history->items[i].kind].title));
    return MET;
}

static sf_StageAnswer gate_left_out(const sf_View *view)
{
    const sf_StageTable *table = view->history->table;
    size_t release = sf_stage_find(table, "release");
    for (size_t s = 0; s < release && s < table->stage_count; s++)
        for (size_t n = 0; n < table->stages[s].need_count; n++) {
            const sf_StageNeed *need = &table->stages[s].needs[n];
            if (need->soft && sf_stage_need_applies(view, need) && !sf_stage_need_met(view, need, NULL).met)
                return unmet(sf_stage_say(view->history, "left out: %s", need->text));
        }
    return MET;
}

static sf_StageAnswer gate_inspected(const sf_View *view)
{
    char day[SF_DATE_TEXT];
    sf_FollowUp follow = sf_follow_up_next(view);
    if (!follow.there || !follow.overdue || !gate_in_use(view).met) // what is out of use lies in the shop
        return MET;
    sf_date_format(follow.date, day);
    return unmet(sf_stage_say(view->history, "an inspection was due on %s (%s)", day, follow.rule));
}

sf_StageAnswer sf_stage_gate(const sf_View *view, sf_StageGate gate, const sf_StageFact *pending)
{
    // What the document says today says nothing about what was right on an earlier day.
    if (view->past && (gate == SF_GATE_PARTS_MASS || gate == SF_GATE_PARTS_ACTIVITY || gate == SF_GATE_OTHER_SIDE))
        return MET;
    switch (gate) {
    case SF_GATE_IN_USE: return gate_in_use(view);
    case SF_GATE_RING: return gate_ring(view);
    case SF_GATE_SQUEEZE_PROOF: return gate_proof(view);
    case SF_GATE_PARTS_MASS: return gate_mass(view);
    case SF_GATE_PARTS_ACTIVITY: return gate_activity(view);
    case SF_GATE_OTHER_SIDE: return gate_other_side(view);
    case SF_GATE_FIT: return gate_fit(view);
    case SF_GATE_BEFORE_WALK: return gate_before_walk(view, pending);
    case SF_GATE_TOE_OUT_KEPT: return gate_toe_out(view);
    case SF_GATE_OUT_OF_ORDER: return gate_out_of_order(view);
    case SF_GATE_NOTHING_LEFT_OUT: return gate_left_out(view);
    case SF_GATE_INSPECTED: return gate_inspected(view);
    case SF_GATE_NONE:
    case SF_GATE_COUNT: break;
    }
    return MET;
}
