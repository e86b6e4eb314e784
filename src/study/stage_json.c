// SPDX-License-Identifier: GPL-3.0-or-later
// Where a limb stands, as JSON for the page and the reports.
#include "base/units.h"
#include "study/result.h"
#include "study/stage_rules.h"

#include <math.h>

static sf_Json *need_json(const sf_NeedState *need)
{
    sf_Json *json = sf_json_object();
    sf_json_set_text(json, "text", need->text);
    sf_json_set_flag(json, "met", need->met);
    sf_json_set_text(json, "for", need->opens ? "open" : "done");
    sf_json_set_flag(json, "hard", need->need && need->need->hard);
    sf_json_set_flag(json, "soft", need->need && need->need->soft);
    sf_json_set_text(json, "why", need->why);
    return json;
}

static sf_Json *stage_json(const sf_StageState *state)
{
    const sf_Stage *stage = state->stage;
    sf_Json *json = sf_json_object(), *needs = sf_json_array(), *print = sf_json_array();
    sf_json_set_text(json, "name", stage->name);
    sf_json_set_text(json, "row", stage->row);
    sf_json_set_text(json, "title", stage->title);
    sf_json_set_text(json, "asks", stage->asks);
    sf_json_set_text(json, "state", sf_stage_status_word(state->status));
    sf_json_set_flag(json, "loads", stage->loads);
    sf_json_set_text(json, "signs", sf_stage_signer_words(stage->sign));
    for (size_t i = 0; i < state->need_count; i++)
        sf_json_add(needs, need_json(&state->needs[i]));
    sf_json_set(json, "needs", needs);
    sf_json_set_text(json, "why_shut", state->why_shut);
    sf_json_set_text(json, "opens_by", state->opens_by);
    if (state->closed_by)
        sf_json_set_whole(json, "closed_by", state->closed_by);
    else
        sf_json_set_null(json, "closed_by");
    sf_json_set_text(json, "undoing", stage->undoing);
    for (size_t i = 0; i < stage->small_print_count; i++)
        sf_json_add_text(print, stage->small_print[i]);
    sf_json_set(json, "small_print", print);
    return json;
}

static sf_Json *flag_json(const sf_StageFlag *flag)
{
    sf_Json *json = sf_json_object();
    sf_json_set_text(json, "code", flag->code);
    sf_json_set_text(json, "text", flag->text);
    sf_json_set_text(json, "since", flag->since);
    if (flag->fact)
        sf_json_set_whole(json, "fact", flag->fact);
    else
        sf_json_set_null(json, "fact");
    sf_json_set_flag(json, "kept", flag->kept);
    sf_json_set_flag(json, "grave", flag->grave);
    return json;
}

static sf_Json *due_json(const sf_StageDue *due)
{
    sf_Json *json = sf_json_object();
    sf_json_set_text(json, "what", due->what);
    sf_json_set_text(json, "date", due->date);
    sf_json_set_text(json, "rule", due->rule);
    sf_json_set_flag(json, "overdue", due->overdue);
    if (isfinite(due->short_by))
        sf_json_set_number(json, "short_mm", due->short_by / SF_MM);
    return json;
}

static void set_summary(sf_Json *json, const sf_LimbState *state)
{
    sf_Json *next = sf_json_object();
    sf_json_set_text(next, "stage", state->next < state->stage_count ? state->stages[state->next].stage->name : NULL);
    sf_json_set_text(next, "text", state->next_action);
    sf_json_set(json, "next_action", next);
    sf_json_set_flag(json, "out_of_use", state->out_of_use);
    sf_json_set_flag(json, "fit_to_load", state->fit_to_load);
    sf_json_set_flag(json, "may_be_loaded", state->may_be_loaded);
    sf_json_set_flag(json, "may_walk", state->may_walk);
    sf_json_set_flag(json, "may_go_home", state->may_go_home);
    sf_json_set_text(json, "before_walk", state->before_walk);
}

sf_Json *sf_limb_state_json(const sf_LimbState *state)
{
    sf_Json *json = sf_json_object(), *stages = sf_json_array(), *flags = sf_json_array(), *dues = sf_json_array();
    sf_Json *order = sf_json_array();
    for (size_t i = 0; i < state->stage_count; i++)
        sf_json_add(stages, stage_json(&state->stages[i]));
    sf_json_set(json, "stages", stages);
    set_summary(json, state);
    for (size_t i = 0; i < state->flag_count; i++)
        sf_json_add(flags, flag_json(&state->flags[i]));
    sf_json_set(json, "flags", flags);
    for (size_t i = 0; i < state->due_count; i++)
        sf_json_add(dues, due_json(&state->dues[i]));
    sf_json_set(json, "due", dues);
    for (size_t i = 0; i < state->out_of_order_count; i++)
        sf_json_add_number(order, (double)state->out_of_order[i]);
    sf_json_set(json, "out_of_order", order);
    sf_json_set_text(json, "safety", sf_safety_sentence());
    return json;
}
