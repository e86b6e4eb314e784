// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/stage_history.h"

#include "base/date.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { MOST_TEXT = 4000, MINUTES_OF_DAY = 1440 };

// ---- reading ----------------------------------------------------------------------------------------------------

double sf_stage_minutes(const char *time)
{
    char day[SF_DATE_TEXT] = "";
    int hour = 0, minute = 0, second = 0;
    sf_Date date;
    if (!time || strlen(time) < SF_DATE_TEXT - 1)
        return NAN;
    memcpy(day, time, SF_DATE_TEXT - 1);
    if (sf_date_parse(&date, day, NULL, NULL) != SF_OK)
        return NAN;
    const char *rest = time + SF_DATE_TEXT - 1;
    if (*rest && (sscanf(rest, "T%2d:%2d:%2d", &hour, &minute, &second) < 2 || hour > 23 || minute > 59))
        return NAN;
    return (double)sf_date_days(date) * MINUTES_OF_DAY + hour * 60 + minute + second / 60.0;
}

const char *sf_fact_word(const sf_StageFact *fact, const char *field)
{
    const char *text = NULL;
    sf_doc_text(sf_doc_member(fact->body, field), MOST_TEXT, &text);
    return text;
}

double sf_fact_number(const sf_StageFact *fact, const char *field)
{
    double value = NAN;
    sf_doc_number(sf_doc_member(fact->body, field), -INFINITY, INFINITY, &value);
    return value;
}

bool sf_fact_flag(const sf_StageFact *fact, const char *field)
{
    bool value = false;
    sf_doc_flag(sf_doc_member(fact->body, field), &value);
    return value;
}

int64_t sf_fact_whole(const sf_StageFact *fact, const char *field)
{
    int64_t value = 0;
    sf_doc_whole(sf_doc_member(fact->body, field), INT64_MIN, INT64_MAX, &value);
    return value;
}

bool sf_fact_has(const sf_StageFact *fact, const char *field)
{
    return sf_doc_there(sf_doc_member(fact->body, field));
}

sf_DocNode sf_document_at(sf_DocNode root, const char *path)
{
    char key[64];
    while (*path) {
        size_t length = strcspn(path, ".");
        snprintf(key, sizeof key, "%.*s", (int)length, path);
        root = sf_doc_member(root, key);
        path += length + (path[length] == '.');
    }
    return root;
}

double sf_document_number(sf_DocNode root, const char *path)
{
    double value = NAN;
    sf_doc_number(sf_document_at(root, path), -INFINITY, INFINITY, &value);
    return value;
}

const char *sf_document_word(sf_DocNode root, const char *path)
{
    const char *text = NULL;
    sf_doc_text(sf_document_at(root, path), MOST_TEXT, &text);
    return text;
}

// ---- who stands behind it ---------------------------------------------------------------------------------------

bool sf_stage_may_sign(const sf_StageFact *fact, sf_StageSigner signer)
{
    bool prosthetist = fact->role && strcmp(fact->role, "prosthetist") == 0;
    bool technician = fact->role && strcmp(fact->role, "technician") == 0;
    switch (signer) {
    case SF_SIGNER_NOBODY: return true;
    case SF_SIGNER_MAKER: return prosthetist || technician;
    case SF_SIGNER_PROSTHETIST: return prosthetist && fact->signs;
    case SF_SIGNER_LICENSED: return prosthetist && fact->licensed && fact->signs;
    }
    return false;
}

bool sf_view_signed(const sf_View *view, size_t place, sf_StageSigner signer)
{
    const sf_History *h = view->history;
    if (sf_stage_may_sign(h->items[place].fact, signer))
        return true;
    size_t signature = sf_stage_kind_find(h->table, "signature");
    for (size_t i = place + 1; i < view->end; i++)
        if (h->items[i].kind == signature && sf_view_alive(view, i) &&
            h->items[i].fact->about == h->items[place].fact->id && sf_stage_may_sign(h->items[i].fact, signer))
            return true;
    return false;
}

// What takes weight off the limb is withdrawn by a licensed prosthetist
// only; anything else by a prosthetist, or by who wrote it down while the day is young.
bool sf_stage_may_withdraw(const sf_StageTable *table, const sf_StageFact *w, const sf_StageFact *f, size_t kind)
{
    if (kind != SIZE_MAX && table->kinds[kind].licensed_withdrawal)
        return sf_stage_may_sign(w, SF_SIGNER_LICENSED);
    if (sf_stage_may_sign(w, SF_SIGNER_PROSTHETIST))
        return true;
    double apart = sf_stage_minutes(w->recorded_at) - sf_stage_minutes(f->recorded_at);
    bool same = w->who == f->who && (!w->name || !f->name || strcmp(w->name, f->name) == 0);
    return same && sf_stage_may_sign(w, SF_SIGNER_MAKER) && apart >= 0 &&
           apart <= table->judgements.withdraw_within_h * 60;
}

// ---- order ------------------------------------------------------------------------------------------------------

typedef struct Place {
    const sf_StageFact *fact;
    double happened, recorded;
    size_t index;
} Place;

static int by_time(const void *left, const void *right)
{
    const Place *a = left, *b = right;
    if (a->happened != b->happened)
        return a->happened < b->happened ? -1 : 1;
    if (a->recorded != b->recorded)
        return a->recorded < b->recorded ? -1 : 1;
    return a->index < b->index ? -1 : a->index > b->index;
}

// A day alone stands for its end: a fact noted without an hour never comes before one of the same day that has one,
// unless it was written down on that day, when the hour of writing is the better guess.
static double moment_of(const sf_StageFact *fact)
{
    double happened = sf_stage_minutes(fact->happened_at), recorded = sf_stage_minutes(fact->recorded_at);
    if (isnan(happened))
        return isnan(recorded) ? 0 : recorded;
    if (strlen(fact->happened_at) >= SF_DATE_TEXT || isnan(recorded))
        return happened;
    return recorded >= happened && recorded < happened + MINUTES_OF_DAY ? recorded : happened + MINUTES_OF_DAY - 1;
}

static void find_withdrawals(sf_History *h)
{
    const sf_StageTable *table = h->table;
    size_t kind = sf_stage_kind_find(table, "withdrawal");
    for (size_t i = 0; i < h->count; i++) {
        if (h->items[i].kind != kind)
            continue;
        int64_t id = h->items[i].fact->withdraws;
        for (size_t k = 0; k < h->count; k++) {
            sf_Happening *item = &h->items[k];
            if (item->fact->id == id && item->kind != kind && i != k && item->withdrawn_at == SIZE_MAX &&
                sf_stage_may_withdraw(table, h->items[i].fact, item->fact, item->kind))
                item->withdrawn_at = i;
        }
    }
}

sf_Status sf_history_make(sf_History *h, const sf_StageTable *table, sf_DocNode limb, const sf_StageFact *facts,
                          size_t count, const sf_StageAround *around, const char *now, sf_Arena *arena, sf_Error *err)
{
    *h = (sf_History){ .table = table, .limb = limb, .now = now, .arena = arena };
    double end = sf_stage_minutes(now);
    if (isnan(end))
        return SF_FAIL(err, SF_E_INPUT, "now", "'%s' is no time: write it as 2026-11-25T14:03:22Z", now ? now : "");
    if (strlen(now) < SF_DATE_TEXT)
        end += MINUTES_OF_DAY;
    if (around)
        h->around = *around;
    Place *places = sf_arena_alloc(arena, count + 1, sizeof *places);
    h->items = sf_arena_alloc(arena, count + 1, sizeof *h->items);
    if (!places || !h->items)
        return SF_FAIL(err, SF_E_MEMORY, "", "out of memory while working out the stages");
    for (size_t i = 0; i < count; i++) {
        Place place = { &facts[i], moment_of(&facts[i]), sf_stage_minutes(facts[i].recorded_at), i };
        double day = sf_stage_minutes(facts[i].happened_at);
        if (place.happened > end && day <= end && strlen(facts[i].happened_at) < SF_DATE_TEXT)
            place.happened = end; // today, without an hour
        if (place.happened <= end)
            places[h->count++] = place;
    }
    qsort(places, h->count, sizeof *places, by_time);
    for (size_t i = 0; i < h->count; i++)
        h->items[i] = (sf_Happening){ .fact = places[i].fact,
                                      .kind = sf_stage_kind_find(table, places[i].fact->kind),
                                      .withdrawn_at = SIZE_MAX,
                                      .in_order = true,
                                      .resets_fully = true };
    find_withdrawals(h);
    return SF_OK;
}

// ---- what counts ------------------------------------------------------------------------------------------------

bool sf_view_alive(const sf_View *view, size_t place)
{
    // What was withdrawn later was still believed then; a withdrawal dated before its fact takes it back at once.
    return place < view->end && view->history->items[place].withdrawn_at >= view->end;
}

bool sf_view_counts(const sf_View *view, size_t place)
{
    const sf_Happening *item = &view->history->items[place];
    return sf_view_alive(view, place) && item->kind != SIZE_MAX &&
           place >= view->reset[view->history->table->kinds[item->kind].stage] && place >= view->ended[item->kind];
}

sf_View sf_history_view(const sf_History *h, size_t end)
{
    sf_View view = { .history = h, .end = end };
    const sf_StageTable *table = h->table;
    for (size_t i = 0; i < end; i++) {
        if (!sf_view_alive(&view, i) || h->items[i].kind == SIZE_MAX)
            continue;
        const sf_StageKind *kind = &table->kinds[h->items[i].kind];
        const bool *resets = h->items[i].resets_fully ? kind->resets : kind->resets_in_order;
        for (size_t s = 0; s < table->stage_count; s++)
            if (resets[s])
                view.reset[s] = kind->stage == s ? i : i + 1; // a forming is the first fact of its own stage
        for (size_t k = 0; k < table->kind_count; k++)
            if (kind->ends[k])
                view.ended[k] = i + 1;
    }
    return view;
}

size_t sf_view_newest(const sf_View *view, size_t kind, size_t before)
{
    for (size_t i = before < view->end ? before : view->end; i-- > 0;)
        if (view->history->items[i].kind == kind && sf_view_counts(view, i))
            return i;
    return SIZE_MAX;
}

size_t sf_view_find(const sf_View *view, const char *kind)
{
    return sf_view_newest(view, sf_stage_kind_find(view->history->table, kind), view->end);
}
