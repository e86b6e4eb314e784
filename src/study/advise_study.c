// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/advise_study.h"

#include "base/units.h"
#include "study/advise_words.h"
#include "study/result.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { SENTENCE = 8192 }; // two dozen signs, spelt out, and what is said about them

// A sentence that memory did not suffice for spoils the result, so that the loss is reported.
static void set_sentence(sf_Json *object, const char *key, sf_Text *text)
{
    if (text->broken)
        sf_json_set(object, key, NULL);
    else
        sf_json_set_text(object, key, sf_text_string(text));
    sf_text_free(text);
}

static sf_Json *proposal_json(const sf_Proposal *p)
{
    sf_Json *json = sf_json_object();
    sf_json_set_text(json, "setting", sf_setting_key(p->setting));
    sf_json_set_number(json, "change", p->change);
    sf_json_set_number(json, "from", p->from);
    sf_json_set_number(json, "to", p->to);
    sf_json_set_text(json, "unit", sf_setting_unit(p->setting));
    sf_json_set_text(json, "words", sf_setting_move_words(p->setting, p->change));
    sf_json_set_number(json, "chance_before", p->chance_before);
    sf_json_set_number(json, "chance_after", p->chance_after);
    return json;
}

// Both ways for somebody who has long walked on a misaligned limb: whole, or in three parts.
static sf_Json *ways_json(const sf_Proposal *p)
{
    sf_Json *ways = sf_json_array(), *once = sf_json_object(), *staged = sf_json_object(), *steps = sf_json_array();
    sf_json_set_text(once, "way", "at-once");
    sf_json_set_number(once, "to", p->to);
    sf_json_set_text(once, "text", "the whole change now, under supervision");
    double done = p->from, part = p->change / 3;
    bool whole = sf_setting_factor(p->setting) == SF_MM || fabs(p->change) >= 3;
    for (int i = 1; i <= 3; i++) {
        double to = i == 3 ? p->to : p->from + (whole ? round(part * i) : part * i);
        if (fabs(to - done) > 1e-9)
            sf_json_add_number(steps, to);
        done = to;
    }
    sf_json_set_text(staged, "way", "staged");
    sf_json_set(staged, "to", steps);
    sf_json_set_text(staged, "text", "in parts over days to weeks, each worn before the next");
    sf_json_add(ways, once);
    sf_json_add(ways, staged);
    return ways;
}

static void set_next(sf_Result *r, const sf_Trials *t, const sf_Suggestion *said)
{
    const sf_Trial *last = &t->trials[t->set.count - 1];
    sf_Json *next = sf_json_array(), *others = sf_json_array();
    if (said->kind == SF_ADVICE_CHANGE) {
        sf_Json *step = proposal_json(&said->first);
        sf_Text why = sf_text_make(SENTENCE), expects = sf_text_make(SENTENCE);
        sf_advise_words_why(&why, &t->table, last, said);
        sf_advise_words_expects(&expects, &t->table, last, said);
        set_sentence(step, "why", &why);
        set_sentence(step, "expects", &expects);
        if (t->long_worn)
            sf_json_set(step, "ways", ways_json(&said->first));
        sf_json_add(next, step);
        for (size_t i = 0; i < said->other_count; i++) {
            const sf_Proposal *p = &said->others[i];
            sf_Json *other = proposal_json(p);
            sf_Plane plane = sf_advice_plane(p->setting);
            if (plane == said->plane)
                sf_json_set_text(other, "why_not",
                                 "answers the same sign; one setting at a time, and a shift before a tilt "
                                 "that would do about as well");
            else if (p->gain < 0.01)
                sf_json_set_text(other, "why_not", "the walks so far do not speak for it");
            else if (plane < said->plane)
                sf_json_set_text(other, "why_not",
                                 "speaks less for itself on what was seen than the change that is named");
            else
                sf_json_set_text(other, "why_not",
                                 "later: sagittal first, then rotation, coronal last; one setting at a time");
            sf_json_add(others, other);
        }
    }
    sf_json_set(r->json, "next", next);
    sf_json_set(r->json, "not_now", others);
}

static void add_check(sf_Json *list, const sf_SignCheck *check, const char *sign)
{
    sf_Json *item = sf_json_object();
    sf_json_set_text(item, "check", check->check);
    sf_json_set_text(item, "family", check->family);
    sf_json_set_text(item, "sign", sign);
    sf_json_set_text(item, "text", check->words);
    sf_json_add(list, item);
}

// Named by the checks of the last walk's signs: fit, suspension, length, shoe first, the rest after them.
static void set_exclude(sf_Result *r, const sf_Trials *t, const sf_Suggestion *said)
{
    const sf_Trial *last = &t->trials[t->set.count - 1];
    const sf_SignTable *table = &t->table;
    bool listed[SF_SIGN_MOST_CHECKS] = { false };
    sf_Json *list = sf_json_array();
    for (int round = 0; round < 2; round++)
        for (size_t i = 0; i < last->sign_count; i++) {
            const sf_Sign *sign = &table->signs[last->signs[i].sign];
            for (size_t k = 0; k < sign->check_count; k++) {
                size_t c = sign->checks[k];
                if (listed[c] || t->set.excluded[c] || table->checks[c].before_alignment != (round == 0))
                    continue;
                listed[c] = true;
                add_check(list, &table->checks[c], sign->sign);
            }
        }
    static const char *const by_conflict[] = { "heel-height", "heel-firm", "heel-soft", "keel-soft", "keel-firm" };
    static const char *const by_years[] = { "hip-rotation", "donned-turned" };
    for (size_t c = 0; c < table->check_count; c++) {
        bool wanted = false;
        for (size_t k = 0; k < 5; k++)
            wanted |= said->heel_toe_conflict && strcmp(by_conflict[k], table->checks[c].check) == 0;
        for (size_t k = 0; k < 2; k++)
            wanted |= t->long_worn && strcmp(by_years[k], table->checks[c].check) == 0;
        if (wanted && !listed[c] && !t->set.excluded[c])
            add_check(list, &table->checks[c], NULL);
    }
    sf_json_set(r->json, "exclude_first", list);
}

static void set_brackets(sf_Result *r, const sf_Trials *t, const sf_Advice *advice)
{
    sf_Json *brackets = sf_json_object();
    for (int i = 0; i < SF_SETTING_COUNT; i++) {
        const sf_Bracket *b = &advice->brackets[i];
        sf_Json *item = sf_json_object();
        sf_json_set_number(item, "low", b->low);
        sf_json_set_number(item, "high", b->high);
        sf_json_set_number(item, "now", b->now);
        sf_json_set_number(item, "resolution", advice->resolution[i]);
        sf_json_set_text(item, "unit", sf_setting_unit((sf_Setting)i));
        sf_json_set_flag(item, "adapter_moves_it", !t->set.travel.known || t->set.travel.moves[i]);
        sf_json_set_flag(item, "contradiction", b->contradiction);
        sf_json_set(brackets, sf_setting_key((sf_Setting)i), item);
    }
    sf_json_set(r->json, "brackets", brackets);
    static const char *const asks[] = { "sagittal place", "toe-out", "coronal place" };
    for (int p = 0; p < SF_PLANE_COUNT; p++)
        if (advice->said[advice->count - 1].contradiction[p])
            sf_result_note(r,
                           "findings about the %s contradict one another: its bracket was widened, not narrowed; look "
                           "again with a second pair of eyes",
                           asks[p]);
}

static void set_lacking(sf_Result *r, const sf_Suggestion *said)
{
    static const sf_Setting SHIFT[] = { SF_SETTING_FOOT_FORWARD, SF_SETTING_TOE_OUT, SF_SETTING_FOOT_OUTSET };
    static const sf_Setting TILT[] = { SF_SETTING_DORSIFLEXION, SF_SETTING_TOE_OUT, SF_SETTING_EVERSION };
    static const char *const ways[] = { "wedge", "new-forming", "heat-correction" };
    sf_Json *list = sf_json_array();
    for (int p = 0; p < SF_PLANE_COUNT; p++) {
        if (!said->lacking[p])
            continue;
        sf_Json *item = sf_json_object(), *settings = sf_json_array(), *how = sf_json_array();
        sf_json_set_text(item, "plane", sf_advise_words_plane((sf_Plane)p));
        sf_json_add_text(settings, sf_setting_key(SHIFT[p]));
        // With the border of the sole against the thrust, a tilt at the clamp would not do.
        if (!(p == SF_PLANE_CORONAL && said->edge_conflict))
            sf_json_add_text(settings, sf_setting_key(TILT[p]));
        sf_json_set(item, "settings", settings);
        sf_json_set_number(item, "shift_mm", round(said->lacking_change[p]));
        for (size_t i = 0; i < 3; i++)
            sf_json_add_text(how, ways[i]);
        sf_json_set(item, "ways", how);
        sf_Text text = sf_text_make(SENTENCE);
        sf_text_format(
            &text,
            "the foot stands %s for the knee, by about %.0f mm, and this adapter cannot move it: a wedge, a new "
            "forming, or a heat correction by a licensed person",
            sf_advise_words_off((sf_Plane)p, said->lacking_change[p] > 0 ? -1 : 1), fabs(said->lacking_change[p]));
        set_sentence(item, "text", &text);
        sf_json_add(list, item);
    }
    sf_json_set(r->json, "lacking", list);
}

static void add_flag(sf_Json *list, const char *code, size_t trial, const char *words)
{
    sf_Json *item = sf_json_object();
    sf_json_set_text(item, "code", code);
    sf_json_set_whole(item, "trial", (int64_t)trial + 1);
    sf_json_set_text(item, "text", words);
    sf_json_add(list, item);
}

static void set_flags(sf_Result *r, const sf_Trials *t, const sf_Suggestion *said)
{
    sf_Json *list = sf_json_array();
    double wanted = t->adapter.holding_screw.torque;
    for (size_t i = 0; i < t->set.count; i++) {
        const sf_Trial *trial = &t->trials[i];
        if (!t->fixing_done && !trial->assistant && trial->support != SF_SUPPORT_BARS)
            add_flag(
                list, "unassisted-without-permanent-fixing", i,
                "walked without bars and without an assistant while only the holding screw keeps the foot: not again");
        if (sf_trial_slipped(trial))
            add_flag(list, "slipped", i,
                     "the settings moved during the walk or the witness mark broke: fasten again; what was seen counts "
                     "less");
        if (isfinite(trial->holding_torque) && isfinite(wanted) && trial->holding_torque < 0.9 * wanted)
            add_flag(list, "holding-torque-low", i,
                     "the holding screw was found below its torque: fasten before the next walk");
        if (trial->insensate)
            add_flag(list, "insensate", i,
                     "no feeling in the limb: pain does not warn, so look at the skin after every walk");
    }
    const sf_Trial *last = &t->trials[t->set.count - 1];
    bool skin_marked = last->skin == SF_SKIN_FADES;
    if (skin_marked)
        add_flag(list, "skin-fades", t->set.count - 1,
                 "skin marks faded within 10 minutes: look again after the next walk");
    if (said->heel_toe_conflict)
        add_flag(
            list, "heel-toe-conflict", t->set.count - 1,
            "heel and toe signs ask opposite moves: no shift can mend both; suspect heel stiffness, keel or shoe heel");
    if (said->edge_conflict)
        add_flag(list, "edge-thrust-conflict", t->set.count - 1,
                 "the loaded border of the sole and the thrust ask opposite clamp angles: shift the foot sideways or "
                 "form anew");
    sf_json_set(r->json, "flags", list);
}

// What must be said before this alignment is settled.
static void set_settling(sf_Result *r, const sf_Trials *t)
{
    sf_Json *list = sf_json_array();
    double first = NAN;
    bool changed = false;
    for (size_t i = 0; i < t->set.count; i++) {
        double ply = t->trials[i].sock_ply;
        if (!isfinite(ply))
            continue;
        changed |= isfinite(first) && ply != first;
        first = isfinite(first) ? first : ply;
    }
    if (changed)
        sf_json_add_text(list,
                         "sock ply changed between the walks: the limb sat differently, so walk again before settling");
    if (t->person.volume == SF_LIMB_VOLUME_CHANGING)
        sf_json_add_text(list, "the residual limb's volume is still changing: what is settled today may not hold");
    sf_json_set(r->json, "settling_warnings", list);
}

static int summed(const int level[SF_EFFECT_COUNT], sf_Plane plane)
{
    if (plane == SF_PLANE_SAGITTAL)
        return abs(level[SF_EFFECT_SAGITTAL_EARLY]) + abs(level[SF_EFFECT_SAGITTAL_LATE]);
    if (plane == SF_PLANE_CORONAL)
        return abs(level[SF_EFFECT_CORONAL_EARLY]) + abs(level[SF_EFFECT_CORONAL_LATE]);
    return abs(level[SF_EFFECT_TOE_OUT]);
}

static int sole_strength(const sf_SignTable *table, const sf_Trial *trial)
{
    int most = 0;
    for (size_t i = 0; i < trial->sign_count; i++)
        if (table->signs[trial->signs[i].sign].sole && trial->signs[i].strength > most)
            most = trial->signs[i].strength;
    return most;
}

// Whether the plane's signs became less from one walk to the next; a tie with nothing to lose counts as come true.
static bool came_true(const sf_Trials *t, const sf_Suggestion *said, size_t before)
{
    int was[SF_EFFECT_COUNT], is[SF_EFFECT_COUNT];
    sf_advice_levels(&t->table, &t->trials[before], was);
    sf_advice_levels(&t->table, &t->trials[before + 1], is);
    int a = said->for_sole ? sole_strength(&t->table, &t->trials[before]) : summed(was, said->plane);
    int b = said->for_sole ? sole_strength(&t->table, &t->trials[before + 1]) : summed(is, said->plane);
    if (a == 0 && said->plane == SF_PLANE_ROTATION) {
        a = summed(was, SF_PLANE_CORONAL);
        b = summed(is, SF_PLANE_CORONAL);
    }
    return a == 0 ? b == 0 : b < a;
}

static void set_said_and_seen(sf_Result *r, const sf_Trials *t, const sf_Advice *advice)
{
    sf_Json *list = sf_json_array();
    for (size_t i = 0; i + 1 < t->set.count; i++) {
        const sf_Suggestion *said = &advice->said[i];
        const sf_Trial *before = &t->trials[i], *after = &t->trials[i + 1];
        sf_Json *item = sf_json_object(), *done = sf_json_array();
        sf_json_set_whole(item, "after_trial", (int64_t)i + 1);
        bool change = said->kind == SF_ADVICE_CHANGE, followed = change;
        if (change)
            sf_json_set(item, "said", proposal_json(&said->first));
        else
            sf_json_set_null(item, "said");
        for (int k = 0; k < SF_SETTING_COUNT; k++) {
            double factor = sf_setting_factor((sf_Setting)k);
            double step = (after->settings.value[k] - before->after.value[k]) / factor;
            double asked = change && said->first.setting == (sf_Setting)k ? said->first.change : 0;
            followed = followed && fabs(step - asked) < 0.05;
            if (fabs(step) < 1e-6)
                continue;
            sf_Json *move = sf_json_object();
            sf_json_set_text(move, "setting", sf_setting_key((sf_Setting)k));
            sf_json_set_number(move, "change", step);
            sf_json_set_text(move, "unit", sf_setting_unit((sf_Setting)k));
            sf_json_add(done, move);
        }
        sf_json_set(item, "done", done);
        sf_json_set_flag(item, "followed", followed);
        sf_Text expects = sf_text_make(SENTENCE), seen = sf_text_make(SENTENCE);
        if (change)
            sf_advise_words_expects(&expects, &t->table, before, said);
        if (change)
            set_sentence(item, "expected", &expects);
        else
            sf_json_set_null(item, "expected");
        if (sf_advise_words_signs(&seen, &t->table, after, SF_PLANE_COUNT) == 0)
            sf_text_add(&seen, "nothing");
        set_sentence(item, "seen", &seen);
        if (followed)
            sf_json_set_flag(item, "came_true", came_true(t, said, i));
        else
            sf_json_set_null(item, "came_true");
        sf_json_add(list, item);
    }
    sf_json_set(r->json, "said_and_seen", list);
}

static void set_assumptions(sf_Result *r, const sf_Trials *t)
{
    if (!t->start_given)
        sf_result_assume(r,
                         "the first walk's settings were not given: all taken as 0 (trials[0].settings replaces it)");
    if (!t->set.travel.known)
        sf_result_assume(
            r, "the adapter's motions were not given: every motion is taken as possible (adapter.motions replaces it)");
    if (!t->socket_over_clamp_given)
        sf_result_assume(
            r,
            "socket base %.0f mm above the clamp (socket_base_above_clamp_mm replaces it); it sets what a degree "
            "of tilt is worth",
            t->set.socket_over_clamp / SF_MM);
    if (!t->foot_length_given)
        sf_result_assume(
            r, "foot of %.0f mm (foot_length_mm replaces it); it sets what a degree of toe-out is worth in late stance",
            t->set.foot_length / SF_MM);
    sf_result_assume(
        r,
        "brackets hold the wanted value in %.0f %% of cases if observers err as docs/theory/advice.md says; sizes "
        "of steps are judgement",
        100 * SF_ADVICE_COVERAGE);
}

static const char *const KINDS[] = {
    [SF_ADVICE_CHANGE] = "change",       [SF_ADVICE_WALK_AGAIN] = "walk-again", [SF_ADVICE_CHECK_FIRST] = "check-first",
    [SF_ADVICE_FIT_FIRST] = "fit-first", [SF_ADVICE_SETTLED] = "settled",       [SF_ADVICE_NO_GAIN] = "no-gain",
    [SF_ADVICE_LACKING] = "lacking"
};

static void fill(sf_Result *r, const sf_Trials *t, const sf_Advice *advice)
{
    const sf_Suggestion *now = &advice->said[advice->count - 1];
    bool stop = now->kind == SF_ADVICE_FIT_FIRST || now->kind == SF_ADVICE_SETTLED || now->kind == SF_ADVICE_NO_GAIN ||
                now->kind == SF_ADVICE_LACKING;
    sf_Text words = sf_text_make(SENTENCE);
    sf_advise_words_stop(&words, t, now);
    sf_json_set_text(r->json, "advice", KINDS[now->kind]);
    set_next(r, t, now);
    set_exclude(r, t, now);
    sf_json_set_flag(r->json, "stop", stop);
    if (!stop) {
        sf_json_set_null(r->json, "stop_reason");
        if (now->kind != SF_ADVICE_CHANGE && !words.broken)
            sf_result_note(r, "%s", sf_text_string(&words));
    }
    if (stop || words.broken)
        set_sentence(r->json, "stop_reason", &words);
    sf_text_free(&words);
    set_brackets(r, t, advice);
    set_lacking(r, now);
    set_flags(r, t, now);
    set_settling(r, t);
    set_said_and_seen(r, t, advice);
    set_assumptions(r, t);
    if (t->long_worn)
        sf_result_note(
            r,
            "years on a misaligned limb: the body has grown used to it; check hip rotation, the turn of the shin bone "
            "and donning first, then change at once under supervision or in stages");
    if (t->sound_signs > 0)
        sf_result_note(r, "signs of the sound side move no setting of this limb: %zu left out", t->sound_signs);
    sf_result_note(r, "a suggestion, not a command: the prosthetist's own choice is recorded beside it");
    sf_result_note(
        r,
        "settings only move with the limb off the ground; after any change look at the holding screw's torque and its "
        "witness mark");
}

sf_Status sf_advise_study(sf_Json **json, const char *name, const char *text, size_t size, sf_Error *err)
{
    *json = NULL;
    sf_Trials trials = { 0 };
    sf_Advice advice = { 0 };
    sf_Result result = { 0 };
    sf_Status status;
    SF_TRY_DONE(sf_trials_read(&trials, name, text, size, err));
    SF_TRY_DONE(sf_advice_make(&advice, &trials.set, &trials.table, err));
    SF_TRY_DONE(sf_result_begin(&result, err));
    sf_result_input(&result, text, size);
    fill(&result, &trials, &advice);
    *json = sf_result_finish(&result, NULL);
done:
    sf_result_drop(&result);
    sf_advice_free(&advice);
    sf_trials_free(&trials);
    return status;
}

static sf_Json *speaks_of(const sf_SignTable *table, size_t index)
{
    const sf_Sign *sign = &table->signs[index];
    int off = sign->sagittal ? sign->sagittal : sign->coronal ? sign->coronal : sign->toe_out;
    sf_Json *json = sf_json_object();
    if (sign->sole) {
        sf_json_set_text(json, "plane", "sole");
        sf_json_set_text(json, "says", sign->sole < 0 ? "clamp inverted too far" : "clamp everted too far");
        return json;
    }
    if (!off) {
        sf_json_set_null(json, "plane");
        sf_json_set_text(json, "says", sign->first ? "no setting answers it" : "no setting by itself");
        return json;
    }
    sf_Plane plane = sign->sagittal ? SF_PLANE_SAGITTAL : sign->coronal ? SF_PLANE_CORONAL : SF_PLANE_ROTATION;
    sf_Text says = sf_text_make(SENTENCE);
    sf_text_format(&says, "foot %s", sf_advise_words_off(plane, off));
    sf_json_set_text(json, "plane", sf_advise_words_plane(plane));
    set_sentence(json, "says", &says);
    return json;
}

sf_Status sf_advise_signs(sf_Json **json, sf_Error *err)
{
    *json = NULL;
    sf_SignTable table = { 0 };
    sf_Result result = { 0 };
    sf_Status status;
    SF_TRY_DONE(sf_sign_table_load(&table, err));
    SF_TRY_DONE(sf_result_begin(&result, err));
    sf_Json *list = sf_json_array();
    for (size_t i = 0; i < table.sign_count; i++) {
        const sf_Sign *sign = &table.signs[i];
        sf_Json *item = sf_json_object(), *phases = sf_json_array(), *checks = sf_json_array();
        sf_json_set_text(item, "sign", sign->sign);
        sf_json_set_text(item, "name", sign->name);
        sf_json_set_text(item, "words", sign->words);
        for (size_t k = 0; k < sign->phase_count; k++)
            sf_json_add_text(phases, table.phases[sign->phases[k]]);
        sf_json_set(item, "phases", phases);
        sf_json_set(item, "speaks_of", speaks_of(&table, i));
        for (size_t k = 0; k < sign->check_count; k++)
            add_check(checks, &table.checks[sign->checks[k]], sign->sign);
        sf_json_set(item, "exclude_first", checks);
        sf_json_add(list, item);
    }
    sf_json_set(result.json, "signs", list);
    sf_result_note(&result, "directions come from teaching material of the trade, not from trials");
    *json = sf_result_finish(&result, NULL);
done:
    sf_result_drop(&result);
    sf_sign_table_free(&table);
    return status;
}
