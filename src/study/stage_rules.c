// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/stage_rules.h"

#include "base/alloc.h"
#include "study/follow_up.h"
#include "study/result.h"
#include "study/stage_flag.h"

#include <math.h>
#include <string.h>

enum { STATE_ARENA = 64 * 1024 * 1024 };

// Marks, from the first fact on, which came in their order: what opened the stage is asked as it was known then.
static void mark_order(sf_History *h)
{
    size_t check_out = sf_stage_find(h->table, "check-out"), closing;
    for (size_t i = 0; i < h->count; i++) {
        sf_Happening *item = &h->items[i];
        if (item->kind == SIZE_MAX)
            continue;
        const sf_StageKind *kind = &h->table->kinds[item->kind];
        bool judged =
            kind->stage != SF_STAGE_NONE && (kind->lasting || h->table->stages[kind->stage].closed_by == item->kind);
        if (!judged && !kind->in_order_differs)
            continue;
        sf_View then = sf_history_view(h, i);
        then.past = true;
        if (judged && !h->table->stages[kind->stage].shop)
            item->in_order = sf_stage_is_open(&then, kind->stage, item->fact);
        if (kind->in_order_differs)
            item->resets_fully =
                !item->in_order || (check_out != SF_STAGE_NONE && sf_stage_is_done(&then, check_out, &closing));
    }
}

static void add_need(sf_StageState *state, sf_NeedState need)
{
    state->needs[state->need_count++] = need;
}

static void fill_needs(const sf_View *view, sf_StageState *state, size_t closing)
{
    const sf_Stage *stage = state->stage;
    for (size_t i = 0; i < stage->need_count; i++) {
        const sf_StageNeed *need = &stage->needs[i];
        if (!sf_stage_need_applies(view, need))
            continue;
        sf_StageAnswer answer = sf_stage_need_met(view, need, NULL);
        add_need(state, (sf_NeedState){ need, need->text, answer.met, need->opens, answer.met ? NULL : answer.why });
        if (need->opens && !answer.met && !state->why_shut) {
            state->why_shut = answer.why ? answer.why : need->text;
            state->opens_by = need->text;
        }
    }
    if (stage->sign > SF_SIGNER_MAKER) {
        bool met = closing != SIZE_MAX && sf_view_signed(view, closing, stage->sign);
        const char *text = sf_stage_say(view->history, "signed by %s", sf_stage_signer_words(stage->sign));
        add_need(state, (sf_NeedState){ NULL, text, met, false, met ? NULL : text });
    }
}

// Whether the stage was closed once and has to be gone through again.
static bool was_closed(const sf_View *view, const sf_Stage *stage)
{
    for (size_t i = 0; i < view->end; i++)
        if (view->history->items[i].kind == stage->closed_by && sf_view_alive(view, i) && !sf_view_counts(view, i))
            return true;
    return false;
}

static bool hard_shut(const sf_StageState *state)
{
    for (size_t i = 0; i < state->need_count; i++)
        if (state->needs[i].need && state->needs[i].need->hard && state->needs[i].opens && !state->needs[i].met)
            return true;
    return false;
}

static void fill_stage(const sf_View *view, size_t index, sf_StageState *state)
{
    size_t closing;
    *state = (sf_StageState){ .stage = &view->history->table->stages[index] };
    bool done = sf_stage_is_done(view, index, &closing);
    fill_needs(view, state, closing);
    if (closing != SIZE_MAX)
        state->closed_by = view->history->items[closing].fact->id;
    if (done) {
        state->status = SF_STAGE_DONE;
        state->why_shut = state->opens_by = NULL;
    } else if (hard_shut(state)) {
        state->status = SF_STAGE_SHUT;
    } else if (was_closed(view, state->stage)) {
        state->status = SF_STAGE_AGAIN;
    } else {
        state->status = state->why_shut ? SF_STAGE_SHUT : SF_STAGE_OPEN;
    }
}

static bool can_work(const sf_StageState *s)
{
    return s->status != SF_STAGE_DONE && !s->why_shut;
}

static const char *missing_of(const sf_StageState *s)
{
    for (size_t i = 0; i < s->need_count; i++)
        if (!s->needs[i].met && !(s->needs[i].need && s->needs[i].need->soft))
            return s->needs[i].need && s->needs[i].need->gate != SF_GATE_NONE && s->needs[i].why ? s->needs[i].why
                                                                                                 : s->needs[i].text;
    return s->stage->asks;
}

// What forbids weight on a released limb.
static const char *hard_why(const sf_LimbState *state)
{
    const sf_StageState *standing = sf_limb_state_stage(state, "standing");
    return standing && standing->why_shut ? standing->why_shut : "it must not be loaded";
}

static void fill_next(const sf_View *view, sf_LimbState *state)
{
    const sf_History *h = view->history;
    sf_FollowUp follow = sf_follow_up_next(view);
    sf_StageAnswer use = sf_stage_gate(view, SF_GATE_IN_USE, NULL);
    size_t last = state->stage_count ? state->stage_count - 1 : 0;
    state->next = SF_STAGE_NONE;
    if (!use.met) {
        state->next_action = sf_stage_say(h, "Out of use: %s", use.why);
        return;
    }
    if (follow.there && !state->fit_to_load) {
        state->next = last;
        state->next_action = sf_stage_say(h, "Take the limb back: %s", hard_why(state));
        return;
    }
    for (size_t i = 0; i < state->stage_count; i++) {
        const sf_StageState *s = &state->stages[i];
        if (!can_work(s) || (i == last && follow.there && !follow.overdue))
            continue;
        state->next = i;
        state->next_action = sf_stage_say(h, "%s: %s", s->stage->title, missing_of(s));
        return;
    }
    for (size_t i = 0; i < state->stage_count; i++) {
        const sf_StageState *s = &state->stages[i];
        if (s->status == SF_STAGE_DONE || !s->why_shut)
            continue;
        state->next = i;
        state->next_action = sf_stage_say(h, "%s is shut: %s", s->stage->title, s->why_shut);
        return;
    }
    state->next_action = "Nothing to do before the next inspection";
}

static void add_due(sf_LimbState *state, const char *what, const char *rule, sf_Date date, bool overdue)
{
    if (state->due_count == SF_STAGE_MOST_DUES)
        return;
    sf_StageDue *due = &state->dues[state->due_count++];
    *due = (sf_StageDue){ .what = what, .rule = rule, .overdue = overdue, .short_by = NAN };
    sf_date_format(date, due->date);
}

// A child grows, whether its limb is at home or still on the bench.
static void fill_growth(const sf_View *view, sf_LimbState *state)
{
    const sf_StageAround *around = &view->history->around;
    if (state->out_of_use || sf_view_find(view, "retired") != SIZE_MAX)
        return;
    for (size_t i = 0; i < around->growth_count && state->due_count < SF_STAGE_MOST_DUES; i++) {
        const sf_StageGrowth *g = &around->growth[i];
        sf_StageDue *due = &state->dues[state->due_count++];
        *due = (sf_StageDue){ .what = sf_stage_say(view->history, "length: %s", g->step),
                              .rule = "by the growth forecast",
                              .overdue = strncmp(g->date, view->history->now, sizeof g->date - 1) < 0,
                              .short_by = g->short_by };
        memcpy(due->date, g->date, sizeof due->date);
    }
}

static void fill_dues(const sf_View *view, sf_LimbState *state)
{
    sf_FollowUp follow = sf_follow_up_next(view);
    const sf_StageState *out = sf_limb_state_stage(state, "check-out");
    sf_Date today;
    char day[SF_DATE_TEXT] = "";
    memcpy(day, view->history->now, SF_DATE_TEXT - 1);
    if (!follow.there || sf_date_parse(&today, day, NULL, NULL) != SF_OK)
        return;
    if (state->out_of_use || !state->fit_to_load)
        add_due(state, "take the limb back", "the day something takes it out of use", today, false);
    else if (out && out->status != SF_STAGE_DONE)
        add_due(state, "standing and check-out", "before it is worn again after a change", today, false);
    if (!state->out_of_use)
        add_due(state, "inspection", follow.rule, follow.date, follow.overdue);
    if (follow.child && !state->out_of_use)
        add_due(state, "knee height of the sound side", "with each inspection of a child", follow.date, follow.overdue);
}

static bool is_done(const sf_LimbState *state, const char *name)
{
    const sf_StageState *stage = sf_limb_state_stage(state, name);
    return stage && stage->status == SF_STAGE_DONE;
}

static void fill_summary(const sf_View *view, sf_LimbState *state)
{
    static const sf_StageGate weight[] = { SF_GATE_IN_USE, SF_GATE_RING, SF_GATE_SQUEEZE_PROOF, SF_GATE_PARTS_MASS,
                                           SF_GATE_PARTS_ACTIVITY };
    state->out_of_use = !sf_stage_gate(view, SF_GATE_IN_USE, NULL).met;
    state->fit_to_load = true;
    for (size_t i = 0; i < sizeof weight / sizeof *weight; i++)
        if (!sf_stage_gate(view, weight[i], NULL).met)
            state->fit_to_load = false;
    state->may_be_loaded = state->fit_to_load && sf_stage_gate(view, SF_GATE_OTHER_SIDE, NULL).met &&
                           is_done(state, "form") && is_done(state, "foot");
    sf_StageAnswer look = sf_stage_gate(view, SF_GATE_BEFORE_WALK, NULL);
    state->before_walk = look.met ? NULL : look.why;
    state->may_walk =
        state->may_be_loaded && look.met && is_done(state, "standing") && sf_stage_gate(view, SF_GATE_FIT, NULL).met;
    state->may_go_home = state->may_be_loaded && sf_view_fixed(view) && is_done(state, "standing") &&
                         is_done(state, "check-out") && is_done(state, "release");
}

static sf_Status fill_state(sf_LimbState *state, sf_History *h, sf_Error *err)
{
    mark_order(h);
    sf_View view = sf_history_view(h, h->count);
    for (size_t i = 0; i < h->table->stage_count; i++)
        if (!h->table->stages[i].shop)
            fill_stage(&view, i, &state->stages[state->stage_count++]);
    fill_summary(&view, state);
    fill_next(&view, state);
    fill_dues(&view, state);
    fill_growth(&view, state);
    return sf_stage_flags(&view, state, err);
}

sf_Status sf_limb_state_make(sf_LimbState **out, const sf_StageTable *table, sf_DocNode limb, const sf_StageFact *facts,
                             size_t count, const sf_StageAround *around, const char *now, sf_Error *err)
{
    sf_Status status;
    sf_History history;
    *out = NULL;
    sf_LimbState *state = sf_alloc(1, sizeof *state);
    if (!state)
        return SF_FAIL(err, SF_E_MEMORY, "", "out of memory while working out the stages");
    state->arena = sf_arena_create(STATE_ARENA);
    if (!state->arena) {
        status = SF_FAIL(err, SF_E_MEMORY, "", "out of memory while working out the stages");
        goto done;
    }
    SF_TRY_DONE(sf_history_make(&history, table, limb, facts, count, around, now, state->arena, err));
    SF_TRY_DONE(fill_state(state, &history, err));
    *out = state;
    state = NULL;
done:
    sf_limb_state_destroy(&state);
    return status;
}

void sf_limb_state_destroy(sf_LimbState **state)
{
    if (!state || !*state)
        return;
    sf_arena_destroy(&(*state)->arena);
    sf_free(*state);
    *state = NULL;
}

const sf_StageState *sf_limb_state_stage(const sf_LimbState *state, const char *name)
{
    for (size_t i = 0; i < state->stage_count; i++)
        if (strcmp(state->stages[i].stage->name, name) == 0)
            return &state->stages[i];
    return NULL;
}

bool sf_limb_state_flagged(const sf_LimbState *state, const char *code)
{
    for (size_t i = 0; i < state->flag_count; i++)
        if (strcmp(state->flags[i].code, code) == 0)
            return true;
    return false;
}

const char *sf_stage_status_word(sf_StageStatus status)
{
    static const char *const words[] = { "shut", "open", "done", "again" };
    return words[status];
}
