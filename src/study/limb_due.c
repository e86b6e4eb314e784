// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/limb_due.h"

#include "base/alloc.h"
#include "base/date.h"
#include "base/units.h"
#include "limb/limb.h"
#include "seal/hash.h"
#include "study/growth_study.h"
#include "study/stage_history.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { MOST_LISTED = 400, KEY = 17, GROWS_BELOW_YEARS = 20, DIGITS = 15 };

static sf_Status no_memory(sf_Error *err)
{
    return SF_FAIL(err, SF_E_MEMORY, "", "out of memory while looking at what is due");
}

// ---- growth -----------------------------------------------------------------------------------------------------

static sf_Date day_of(const char *time)
{
    char day[SF_DATE_TEXT] = "";
    sf_Date date = { 0 };
    memcpy(day, time, SF_DATE_TEXT - 1);
    return sf_date_parse(&date, day, NULL, NULL) == SF_OK ? date : (sf_Date){ 0 };
}

// Whether this person may grow, and then what stands for all that the forecast rests on; "" else.
static sf_Status key_of(const sf_LimbCase *c, char key[KEY], sf_Error *err)
{
    sf_DocNode person = sf_doc_member(sf_doc_root(c->document), "person");
    const char *birth = sf_document_word(person, "birth_date");
    sf_Date born;
    char *text = NULL, hex[SF_HASH_HEX];
    const void *bytes;
    size_t size;
    key[0] = '\0';
    if (!c->text || !birth || !sf_document_word(person, "sex") || sf_date_parse(&born, birth, NULL, NULL) != SF_OK ||
        sf_date_years_between(born, day_of(sf_transaction_time(c->transaction))) >= GROWS_BELOW_YEARS)
        return SF_OK;
    sf_Json *json = sf_json_from_node(person);
    sf_Status status = sf_json_text(json, DIGITS, &text, err);
    sf_json_destroy(&json);
    SF_TRY(status);
    bytes = text;
    size = strlen(text);
    status = sf_result_fingerprint(hex, &bytes, &size, 1, err);
    sf_free(text);
    if (status == SF_OK)
        snprintf(key, KEY, "%.*s", KEY - 1, hex);
    return status;
}

static void later(sf_Date *day, const char *date, sf_Date today)
{
    sf_Date read;
    if (date && sf_date_parse(&read, date, NULL, NULL) == SF_OK && sf_date_days(read) > sf_date_days(*day) &&
        sf_date_days(read) <= sf_date_days(today))
        *day = read;
}

// The day from which the forecast looks ahead: that of the newest reading, so that the same readings give the same days
// whenever they are written down. Without a dated one: today.
static sf_Date newest_reading(const sf_LimbPerson *person, sf_Date today)
{
    static const sf_Date none = { 1, 1, 1 };
    sf_Date day = none;
    later(&day, person->prosthesis_set_date, today);
    for (size_t i = 0; i < person->block_count; i++)
        later(&day, person->blocks[i].date, today);
    for (size_t i = 0; i < person->stature_count; i++)
        later(&day, person->statures[i].date, today);
    for (size_t i = 0; i < person->knee_count; i++)
        later(&day, person->knees[i].date, today);
    return sf_date_days(day) == sf_date_days(none) ? today : day;
}

static sf_Status forecast(sf_LimbCase *c, sf_Error *err)
{
    sf_Limb *limb = NULL;
    sf_GrowthDue due[SF_GROWTH_STEPS];
    sf_Error why;
    sf_Status status = sf_limb_parse(&limb, "document", c->text, strlen(c->text), &why);
    if (status == SF_OK) {
        sf_Date from = newest_reading(&limb->data.person, day_of(sf_transaction_time(c->transaction)));
        status = sf_growth_due(due, limb, from, &why);
    }
    sf_limb_destroy(&limb);
    if (status == SF_E_MEMORY)
        return no_memory(err);
    for (size_t i = 0; status == SF_OK && i < SF_GROWTH_STEPS; i++) {
        sf_StageGrowth *g = &c->around.growth[c->around.growth_count];
        if (!due[i].found)
            continue;
        *g = (sf_StageGrowth){ .step = due[i].step, .short_by = due[i].short_by };
        sf_date_format(due[i].date, g->date);
        c->around.growth_count++;
    }
    return SF_OK; // readings that do not suffice, or contradict each other, forecast nothing
}

static const char *step_word(const char *word)
{
    for (size_t i = 0; word && i < SF_GROWTH_STEPS; i++)
        if (strcmp(word, sf_growth_step_names[i]) == 0)
            return sf_growth_step_names[i];
    return NULL;
}

// Takes over what the line holds; false: it was made from other readings.
static bool held(sf_LimbCase *c, const char *key)
{
    sf_Doc *doc = NULL;
    const char *of = NULL;
    if (!c->row.head.dues || sf_doc_parse(&doc, "dues", c->row.head.dues, strlen(c->row.head.dues), NULL) != SF_OK)
        return false;
    sf_doc_text(sf_doc_member(sf_doc_root(doc), "of"), KEY, &of);
    bool same = of && strcmp(of, key) == 0;
    sf_DocNode list = sf_doc_member(sf_doc_root(doc), "growth");
    for (size_t i = 0; same && i < sf_doc_length(list) && i < SF_STAGE_GROWTH_DUES; i++) {
        sf_DocNode one = sf_doc_item(list, i);
        const char *step = step_word(sf_document_word(one, "step")), *date = sf_document_word(one, "date");
        sf_StageGrowth *g = &c->around.growth[c->around.growth_count];
        if (!step || !date || strlen(date) != sizeof g->date - 1)
            continue;
        *g = (sf_StageGrowth){ .step = step, .short_by = sf_document_number(one, "short_mm") * SF_MM };
        memcpy(g->date, date, sizeof g->date);
        c->around.growth_count++;
    }
    sf_doc_destroy(&doc);
    return same;
}

sf_Status sf_limb_due_look(sf_LimbCase *c, sf_Error *err)
{
    char key[KEY];
    c->around.growth_count = 0;
    SF_TRY(key_of(c, key, err));
    if (!*key || held(c, key))
        return SF_OK;
    c->around.growth_count = 0;
    return forecast(c, err);
}

// ---- the line for lists -----------------------------------------------------------------------------------------

static sf_Json *growth_json(const sf_StageAround *around)
{
    sf_Json *list = sf_json_array();
    for (size_t i = 0; i < around->growth_count; i++) {
        sf_Json *one = sf_json_object();
        sf_json_set_text(one, "step", around->growth[i].step);
        sf_json_set_text(one, "date", around->growth[i].date);
        sf_json_set_number(one, "short_mm", around->growth[i].short_by / SF_MM);
        sf_json_add(list, one);
    }
    return list;
}

static sf_Json *dues_json(const sf_LimbState *state)
{
    sf_Json *list = sf_json_array();
    for (size_t i = 0; i < state->due_count; i++) {
        const sf_StageDue *due = &state->dues[i];
        sf_Json *one = sf_json_object();
        sf_json_set_text(one, "what", due->what);
        sf_json_set_text(one, "date", due->date);
        sf_json_set_text(one, "rule", due->rule);
        if (isfinite(due->short_by))
            sf_json_set_number(one, "short_mm", due->short_by / SF_MM);
        sf_json_add(list, one);
    }
    return list;
}

sf_Status sf_limb_due_text(const sf_LimbCase *c, const char **text, sf_Error *err)
{
    char key[KEY], *made = NULL;
    *text = NULL;
    SF_TRY(key_of(c, key, err));
    if (!*key && c->state->due_count == 0)
        return SF_OK;
    sf_Json *json = sf_json_object();
    sf_json_set_text(json, "of", *key ? key : NULL);
    sf_json_set(json, "growth", growth_json(&c->around));
    sf_json_set(json, "due", dues_json(c->state));
    sf_Status status = sf_json_text(json, DIGITS, &made, err);
    sf_json_destroy(&json);
    SF_TRY(status);
    *text = sf_arena_text(c->arena, made);
    sf_free(made);
    return *text ? SF_OK : no_memory(err);
}

// ---- the shop's list --------------------------------------------------------------------------------------------

typedef struct DueLine {
    const sf_LimbRow *row;
    const char *what, *date, *rule;
    double short_mm; ///< NaN: none
} DueLine;

typedef struct DueLines {
    DueLine *list;
    size_t count, room;
    sf_Arena *arena;
    const char *today;
} DueLines;

static void add_line(DueLines *lines, const DueLine *line)
{
    if (line->what && line->date && strcmp(line->date, lines->today) <= 0 && lines->count < lines->room)
        lines->list[lines->count++] = *line;
}

// A line that was written before dues were held in it knows one date only.
static void add_bare(DueLines *lines, const sf_LimbRow *row)
{
    const char *stage = row->head.stage ? row->head.stage : "";
    add_line(lines, &(DueLine){ .row = row,
                                .what = strcmp(stage, "out-of-use") == 0  ? "take the limb back"
                                        : strcmp(stage, "follow-up") == 0 ? "inspection"
                                                                          : "standing and check-out",
                                .date = row->head.next_due,
                                .short_mm = NAN });
}

static void add_held(DueLines *lines, const sf_LimbRow *row, sf_DocNode list)
{
    DueLine growth = { .row = row };
    for (size_t i = 0; i < sf_doc_length(list); i++) {
        sf_DocNode one = sf_doc_item(list, i);
        const char *what = sf_document_word(one, "what"), *rule = sf_document_word(one, "rule");
        const char *date = sf_document_word(one, "date");
        DueLine line = { .row = row,
                         .what = what ? sf_arena_text(lines->arena, what) : NULL,
                         .date = date ? sf_arena_text(lines->arena, date) : NULL,
                         .rule = rule ? sf_arena_text(lines->arena, rule) : NULL,
                         .short_mm = sf_document_number(one, "short_mm") };
        if (isnan(line.short_mm))
            add_line(lines, &line);
        else if (line.date && strcmp(line.date, lines->today) <= 0)
            growth = line;
    }
    add_line(lines, &growth);
}

static int by_date(const void *left, const void *right)
{
    const DueLine *a = left, *b = right;
    int order = strcmp(a->date, b->date);
    return order ? order : (a->row->id > b->row->id) - (a->row->id < b->row->id);
}

static sf_Json *line_json(const DueLine *line, const char *today)
{
    sf_Json *json = sf_json_object();
    sf_json_set_whole(json, "limb", line->row->id);
    sf_json_set_text(json, "label", line->row->head.label);
    sf_json_set_text(json, "side", line->row->head.side);
    sf_json_set_text(json, "what", line->what);
    sf_json_set_text(json, "date", line->date);
    sf_json_set_flag(json, "overdue", strcmp(line->date, today) < 0);
    sf_json_set_text(json, "rule", line->rule);
    sf_json_set_number(json, "short_mm", line->short_mm);
    return json;
}

sf_Status sf_limb_due_list(sf_Transaction *t, const char *today, sf_Json *list, sf_Error *err)
{
    sf_LimbAsk ask = { .due_until = today, .order = SF_LIMB_NEXT_DUE, .count = MOST_LISTED };
    sf_Arena *arena = sf_transaction_arena(t);
    sf_LimbRow *rows;
    size_t count;
    const char *next;
    SF_TRY(sf_limb_record_list(t, &ask, &rows, &count, &next, err));
    size_t room = count * SF_STAGE_MOST_DUES + 1;
    DueLines lines = { .room = room, .arena = arena, .today = today };
    lines.list = sf_arena_alloc(arena, room, sizeof *lines.list);
    if (!lines.list)
        return no_memory(err);
    for (size_t i = 0; i < count; i++) {
        const char *dues = rows[i].head.dues;
        sf_Doc *doc = NULL;
        if (dues && sf_doc_parse(&doc, "dues", dues, strlen(dues), NULL) == SF_OK)
            add_held(&lines, &rows[i], sf_doc_member(sf_doc_root(doc), "due"));
        else
            add_bare(&lines, &rows[i]);
        sf_doc_destroy(&doc);
    }
    qsort(lines.list, lines.count, sizeof *lines.list, by_date);
    for (size_t i = 0; i < lines.count; i++)
        sf_json_add(list, line_json(&lines.list[i], today));
    return SF_OK;
}
