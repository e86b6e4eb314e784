// SPDX-License-Identifier: GPL-3.0-or-later
// Needs of the stages: whether they hold for this limb, whether they are met, and what follows for the stage.
#include "study/stage_gate.h"

#include <math.h>
#include <string.h>

static bool holds(const sf_View *view, const sf_StageWhen *when)
{
    if (when->document) {
        const char *word = sf_document_word(view->history->limb, when->document);
        return word && when->is && strcmp(word, when->is) == 0;
    }
    if (when->two_sided)
        return sf_view_two_sided(view);
    return when->fixed && sf_view_fixed(view);
}

static bool is_said(const sf_StageWhen *when)
{
    return when->document || when->two_sided || when->fixed;
}

bool sf_stage_need_applies(const sf_View *view, const sf_StageNeed *need)
{
    if (is_said(&need->when) && !holds(view, &need->when))
        return false;
    return !is_said(&need->unless) || !holds(view, &need->unless);
}

static bool where_met(const sf_StageFact *fact, const sf_StageWhere *where)
{
    const char *word;
    switch (where->test) {
    case SF_TEST_TRUE: return sf_fact_flag(fact, where->field);
    case SF_TEST_FALSE: return sf_fact_has(fact, where->field) && !sf_fact_flag(fact, where->field);
    case SF_TEST_MOST: return sf_fact_number(fact, where->field) <= where->limit;
    case SF_TEST_LEAST: return sf_fact_number(fact, where->field) >= where->limit;
    case SF_TEST_WORD:
        word = sf_fact_word(fact, where->field);
        for (size_t i = 0; word && i < where->word_count; i++)
            if (strcmp(word, where->words[i]) == 0)
                return true;
        return false;
    }
    return false;
}

static sf_StageAnswer fact_met(const sf_View *view, const sf_StageNeed *need)
{
    size_t place = sf_view_newest(view, need->kind, view->end);
    const sf_History *h = view->history;
    const sf_StageKind *kind = &h->table->kinds[need->kind];
    if (place == SIZE_MAX)
        return (sf_StageAnswer){ false, sf_stage_say(h, "'%s' is not written down", kind->title) };
    for (size_t i = 0; i < need->where_count; i++)
        if (!where_met(h->items[place].fact, &need->where[i]))
            return (sf_StageAnswer){ false,
                                     sf_stage_say(h, "'%s' says otherwise: %s", kind->title, need->where[i].field) };
    return (sf_StageAnswer){ true, NULL };
}

static sf_StageAnswer documents_met(const sf_View *view, const sf_StageNeed *need)
{
    for (size_t i = 0; i < need->document_count; i++)
        if (!sf_doc_there(sf_document_at(view->history->limb, need->documents[i])))
            return (sf_StageAnswer){ false, sf_stage_say(view->history, "%s is not given", need->documents[i]) };
    return (sf_StageAnswer){ true, NULL };
}

sf_StageAnswer sf_stage_need_met(const sf_View *view, const sf_StageNeed *need, const sf_StageFact *pending)
{
    sf_StageAnswer answer = { true, NULL };
    size_t closing;
    if (need->document_count && !view->past)
        answer = documents_met(view, need);
    if (answer.met && need->kind != SIZE_MAX)
        answer = fact_met(view, need);
    if (answer.met && need->gate != SF_GATE_NONE)
        answer = sf_stage_gate(view, need->gate, pending);
    if (answer.met && need->stage != SF_STAGE_NONE && !sf_stage_is_done(view, need->stage, &closing))
        answer = (sf_StageAnswer){ false, sf_stage_say(view->history, "the stage '%s' is not done",
                                                       view->history->table->stages[need->stage].title) };
    return answer;
}

bool sf_stage_is_open(const sf_View *view, size_t index, const sf_StageFact *pending)
{
    const sf_Stage *stage = &view->history->table->stages[index];
    bool waived = pending && strcmp(pending->kind, "release") == 0 && sf_release_against_advice(pending);
    for (size_t i = 0; i < stage->need_count; i++) {
        const sf_StageNeed *need = &stage->needs[i];
        if (need->opens && !(need->soft && waived) && sf_stage_need_applies(view, need) &&
            !sf_stage_need_met(view, need, pending).met)
            return false;
    }
    return true;
}

// Everything but what opened the stage: what completes it, and what nobody may leave out.
static bool complete(const sf_View *view, const sf_Stage *stage, const sf_StageFact *closing)
{
    bool release = strcmp(stage->name, "release") == 0;
    bool waived = release && sf_release_against_advice(closing);
    for (size_t i = 0; i < stage->need_count; i++) {
        const sf_StageNeed *need = &stage->needs[i];
        bool asked = (!need->opens && (!need->soft || release)) || need->hard;
        if (!asked || (need->soft && waived) || !sf_stage_need_applies(view, need))
            continue;
        if (!sf_stage_need_met(view, need, closing).met)
            return false;
    }
    return true;
}

bool sf_stage_is_done(const sf_View *view, size_t index, size_t *closing)
{
    const sf_Stage *stage = &view->history->table->stages[index];
    *closing = sf_view_newest(view, stage->closed_by, view->end);
    if (*closing == SIZE_MAX)
        return false;
    const sf_Happening *item = &view->history->items[*closing];
    if (!sf_view_signed(view, *closing, stage->sign) || !complete(view, stage, item->fact))
        return false;
    return item->in_order || (!stage->strict && sf_stage_is_open(view, index, item->fact));
}
