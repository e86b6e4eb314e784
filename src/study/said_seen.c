// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/said_seen.h"

#include "base/alloc.h"
#include "base/units.h"
#include "draw/said_chart.h"
#include "limb/limb.h"
#include "study/figures.h"
#include "study/growth_look.h"
#include "study/limb_case_inside.h"
#include "study/mass_study.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { MOST_ROWS = 1200, WORDS = 120, MOST_READINGS = 6 };

static const double EDGE = 0.05; ///< of the forecast's 90 % interval

typedef enum Kind { SAID_WALL, SAID_SIGN, SAID_TOE_OUT, SAID_MASS, SAID_LENGTH, SAID_KINDS } Kind;

static const char *const kind_words[SAID_KINDS] = { "wall", "sign", "toe-out", "mass", "length" };

typedef struct Row {
    Kind kind;
    int64_t limb;
    const char *label, *unit, *said_at, *seen_at;
    char what[WORDS], said_words[WORDS], seen_words[WORDS];
    double said, seen, low, high; ///< in `unit`; NaN: none
    int came_true;                ///< 1, 0; -1: not seen yet
} Row;

typedef struct Rows {
    Row *list;
    size_t count;
    bool whole; ///< every growth reading, not the newest alone
} Rows;

static Row *add(Rows *rows, const sf_LimbCase *c, Kind kind, const char *unit)
{
    // The last place is written and never counted when the list is full.
    Row *row = rows->count < MOST_ROWS ? &rows->list[rows->count++] : &rows->list[MOST_ROWS];
    *row = (Row){ .kind = kind,
                  .limb = c->row.id,
                  .label = c->row.head.label,
                  .unit = unit,
                  .said = NAN,
                  .seen = NAN,
                  .low = NAN,
                  .high = NAN,
                  .came_true = -1 };
    return row;
}

static void judge(Row *row)
{
    if (!isnan(row->seen) && !isnan(row->low) && !isnan(row->high))
        row->came_true = row->seen >= row->low && row->seen <= row->high;
}

static bool is_live(const sf_LimbCase *c, size_t i, const char *kind)
{
    return strcmp(c->facts[i].kind, kind) == 0 && !c->rows[i].withdrawn_by && sf_doc_is_object(c->facts[i].body);
}

static size_t last_of(const sf_LimbCase *c, const char *kind)
{
    for (size_t i = c->count; i-- > 0;)
        if (is_live(c, i, kind))
            return i;
    return SIZE_MAX;
}

// Kept for the transaction: rows outlive their case.
static const char *kept(const sf_LimbCase *c, const char *text)
{
    return text ? sf_arena_text(sf_transaction_arena(c->transaction), text) : NULL;
}

// ---- wall -------------------------------------------------------------------------------------------------------

static void wall_row(Rows *rows, const sf_LimbCase *c, double said, const sf_StageFact *ring)
{
    Row *row = add(rows, c, SAID_WALL, "mm");
    snprintf(row->what, WORDS, "median wall of ring %.40s", ring ? sf_fact_word(ring, "ring_number") : "");
    if (!ring)
        snprintf(row->what, WORDS, "median wall");
    row->said = said;
    row->low = said * (1 - SF_SAID_WALL_SHARE);
    row->high = said * (1 + SF_SAID_WALL_SHARE);
    if (ring) {
        row->seen = sf_document_number(sf_doc_member(ring->body, "result"), "wall_median_mm");
        row->seen_at = kept(c, ring->happened_at);
    }
    judge(row);
}

// Each ring once, as it was measured last.
static void add_walls(Rows *rows, const sf_LimbCase *c)
{
    double expected = sf_document_number(sf_doc_root(c->document), "pylon.expected_wall_mm");
    bool any = false;
    for (size_t i = 0; i < c->count; i++) {
        const char *number = is_live(c, i, "ring") ? sf_fact_word(&c->facts[i], "ring_number") : NULL;
        bool later = false;
        for (size_t k = i + 1; number && k < c->count; k++) {
            const char *other = is_live(c, k, "ring") ? sf_fact_word(&c->facts[k], "ring_number") : NULL;
            later = later || (other && strcmp(other, number) == 0);
        }
        if (!number || later)
            continue;
        double then = sf_document_number(sf_doc_member(c->facts[i].body, "result"), "asked.nominal_wall_mm");
        double said = isnan(then) ? expected : then;
        any = true;
        if (!isnan(said))
            wall_row(rows, c, said, &c->facts[i]);
    }
    if (!any && !isnan(expected))
        wall_row(rows, c, expected, NULL);
}

// ---- signs ------------------------------------------------------------------------------------------------------

static double strength_of(const sf_StageFact *walk, const char *sign)
{
    sf_DocNode list = sf_doc_member(walk->body, "observations");
    double most = 0;
    for (size_t i = 0; i < sf_doc_length(list); i++) {
        const char *word = sf_document_word(sf_doc_item(list, i), "sign");
        double strength = sf_document_number(sf_doc_item(list, i), "strength");
        if (word && strcmp(word, sign) == 0)
            most = fmax(most, isnan(strength) ? 1 : strength);
    }
    return most;
}

static const char *strongest(const sf_StageFact *walk)
{
    sf_DocNode list = sf_doc_member(walk->body, "observations");
    const char *found = NULL;
    double most = 0;
    for (size_t i = 0; i < sf_doc_length(list); i++) {
        const char *word = sf_document_word(sf_doc_item(list, i), "sign");
        const char *side = sf_document_word(sf_doc_item(list, i), "side");
        if (word && !(side && strcmp(side, "sound") == 0) && strength_of(walk, word) > most) {
            most = strength_of(walk, word);
            found = word;
        }
    }
    return found;
}

static double setting_of(const sf_StageFact *walk, const char *when, const char *key)
{
    return sf_document_number(sf_doc_member(walk->body, when), key);
}

// What was changed between two walks, in words; "" nothing.
static void changes_between(const sf_StageFact *one, const sf_StageFact *next, char words[WORDS])
{
    static const char *const keys[] = { "toe_out_deg", "foot_forward_mm", "foot_outset_mm", "dorsiflexion_deg",
                                        "eversion_deg" };
    static const char *const names[] = { "toe-out", "foot forward", "foot outset", "dorsiflexion", "eversion" };
    static const char *const units[] = { "\u00b0", " mm", " mm", "\u00b0", "\u00b0" };
    words[0] = '\0';
    for (size_t i = 0; i < sizeof keys / sizeof *keys; i++) {
        double change = setting_of(next, "settings", keys[i]) - setting_of(one, "settings", keys[i]);
        size_t used = strlen(words);
        if (!isnan(change) && change != 0)
            snprintf(words + used, WORDS - used, "%s%s %+g%s", used ? ", " : "", names[i], change, units[i]);
    }
}

static void strength_words(char words[WORDS], double strength)
{
    static const char *const names[] = { "gone", "slight", "clear", "strong" };
    int place = strength < 0.5 ? 0 : strength < 1.5 ? 1 : strength < 2.5 ? 2 : 3;
    snprintf(words, WORDS, "%s", names[place]);
}

// A change between two walks is made for the strongest sign that was seen before it: that sign is expected to go.
static void add_signs(Rows *rows, const sf_LimbCase *c)
{
    const sf_StageFact *before = NULL;
    for (size_t i = 0; i < c->count; i++) {
        const sf_StageFact *walk = &c->facts[i];
        char changed[WORDS];
        if (!is_live(c, i, "walk"))
            continue;
        const char *sign = before ? strongest(before) : NULL;
        if (sign)
            changes_between(before, walk, changed);
        if (sign && *changed) {
            Row *row = add(rows, c, SAID_SIGN, NULL);
            double was = strength_of(before, sign), is = strength_of(walk, sign);
            snprintf(row->what, WORDS, "%.50s, by %.60s", sign, changed);
            snprintf(row->said_words, WORDS, "less, or gone");
            strength_words(row->seen_words, is);
            row->came_true = is < was;
            row->said_at = kept(c, before->happened_at);
            row->seen_at = kept(c, walk->happened_at);
        }
        before = walk;
    }
}

// ---- toe-out and mass -------------------------------------------------------------------------------------------

static void add_toe_out(Rows *rows, const sf_LimbCase *c)
{
    size_t settled = last_of(c, "settled"), out = last_of(c, "check-out");
    double said = settled == SIZE_MAX ? NAN : sf_fact_number(&c->facts[settled], "toe_out_deg");
    double within = c->table->judgements.toe_out_kept_deg;
    if (isnan(said))
        return;
    Row *row = add(rows, c, SAID_TOE_OUT, "deg");
    snprintf(row->what, WORDS, "toe-out kept through fastening");
    row->said = said;
    row->low = said - within;
    row->high = said + within;
    row->said_at = kept(c, c->facts[settled].happened_at);
    if (out != SIZE_MAX && out > settled) {
        row->seen = sf_fact_number(&c->facts[out], "toe_out_deg");
        row->seen_at = kept(c, c->facts[out].happened_at);
    }
    judge(row);
}

static sf_Status add_mass(Rows *rows, const sf_LimbCase *c, const sf_Limb *limb, sf_Error *err)
{
    size_t finish = last_of(c, "finish");
    double weighed = finish == SIZE_MAX ? NAN : sf_fact_number(&c->facts[finish], "mass_g");
    sf_MassAsk ask = { .weighed = weighed * 1e-3 };
    sf_Result result = { 0 };
    sf_Figures figures;
    sf_Error why = { 0 };
    if (isnan(weighed))
        return SF_OK;
    SF_TRY(sf_result_begin(&result, err));
    sf_Status status = sf_mass_study(&result, limb, &ask, &why);
    SF_TRY(sf_figures_take(&figures, &result, status, &why, err));
    double difference = sf_figures_number(&figures, "difference_g");
    double limit = sf_figures_number(&figures, "difference_limit_g");
    sf_figures_free(&figures);
    if (isnan(difference) || isnan(limit)) // something of the limb is not known: nothing was said
        return SF_OK;
    Row *row = add(rows, c, SAID_MASS, "g");
    snprintf(row->what, WORDS, "mass of the finished limb");
    row->said = weighed - difference;
    row->low = row->said - limit;
    row->high = row->said + limit;
    row->seen = weighed;
    row->seen_at = kept(c, c->facts[finish].happened_at);
    judge(row);
    return SF_OK;
}

// ---- length of a growing person ---------------------------------------------------------------------------------

// Knee height (m) that was to be expected on `day`, from what was known on the look's own day.
static sf_Status expected_on(const sf_GrowthLook *look, sf_Date day, double *mean, double range[2], sf_Error *err)
{
    const sf_GrowthCourse *c = &look->course;
    size_t i = 0;
    double figures[2][3];
    *mean = NAN;
    while (i + 2 < c->nodes && sf_date_days(c->date[i + 1]) <= sf_date_days(day))
        i++;
    for (size_t k = 0; k < 2; k++) {
        sf_Mixture m = { 0 };
        SF_TRY(sf_knee_paths_at(&c->knees, i + k, SF_KNEE_READING_SD, &m, err));
        figures[k][0] = sf_mixture_mean(&m);
        figures[k][1] = sf_mixture_quantile(&m, EDGE);
        figures[k][2] = sf_mixture_quantile(&m, 1 - EDGE);
        sf_mixture_free(&m);
    }
    double from = (double)sf_date_days(c->date[i]), span = (double)sf_date_days(c->date[i + 1]) - from;
    double share = span > 0 ? ((double)sf_date_days(day) - from) / span : 0;
    double at[3];
    for (int k = 0; k < 3; k++)
        at[k] = figures[0][k] + share * (figures[1][k] - figures[0][k]);
    *mean = at[0];
    range[0] = at[1];
    range[1] = at[2];
    return SF_OK;
}

static sf_Status length_row(Rows *rows, const sf_LimbCase *c, const sf_Limb *limb, const sf_LimbKneeReading *before,
                            const sf_LimbKneeReading *reading, sf_Error *err)
{
    sf_Date from = { 0 }, day = { 0 };
    sf_Result scratch = { 0 };
    sf_Error why = { 0 };
    double mean = NAN, range[2] = { NAN, NAN };
    if (sf_date_parse(&from, before->date, NULL, NULL) != SF_OK ||
        sf_date_parse(&day, reading->date, NULL, NULL) != SF_OK)
        return SF_OK;
    sf_GrowthLook *look = sf_alloc(1, sizeof *look);
    if (!look)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    sf_Status status = sf_result_begin(&scratch, err);
    if (status == SF_OK && sf_growth_look(look, &scratch, limb, from, SF_GROWTH_MONTHS, &why) == SF_OK &&
        look->course.grows && look->course.knees.has_level && look->readings.knee_known)
        status = expected_on(look, day, &mean, range, err);
    sf_result_drop(&scratch);
    sf_growth_look_free(look);
    sf_free(look);
    if (status != SF_OK || isnan(mean))
        return status;
    Row *row = add(rows, c, SAID_LENGTH, "mm");
    snprintf(row->what, WORDS, "knee height of the sound side");
    row->said = mean / SF_MM;
    row->low = range[0] / SF_MM;
    row->high = range[1] / SF_MM;
    row->seen = reading->knee_height / SF_MM;
    row->said_at = kept(c, before->date);
    row->seen_at = kept(c, reading->date);
    judge(row);
    return SF_OK;
}

// Each reading against the forecast from those before it; dates sort as text.
static sf_Status add_lengths(Rows *rows, const sf_LimbCase *c, const sf_Limb *limb, sf_Error *err)
{
    const sf_LimbPerson *person = &limb->data.person;
    const sf_LimbKneeReading *newest[MOST_READINGS + 1] = { NULL };
    size_t count = 0, most = rows->whole ? MOST_READINGS : 1;
    for (size_t i = 0; i < person->knee_count; i++) {
        const sf_LimbKneeReading *reading = &person->knees[i];
        if (reading->landmark == SF_LIMB_LANDMARK_KNEE_TOP_SEATED)
            continue;
        size_t place = count < most + 1 ? count++ : count;
        while (place > 0 && strcmp(newest[place - 1]->date, reading->date) < 0) {
            if (place <= most)
                newest[place] = newest[place - 1];
            place--;
        }
        if (place <= most)
            newest[place] = reading;
    }
    for (size_t i = count; i-- > 1;)
        if (strcmp(newest[i]->date, newest[i - 1]->date) < 0)
            SF_TRY(length_row(rows, c, limb, newest[i], newest[i - 1], err));
    return SF_OK;
}

// ---- a limb, the shop -------------------------------------------------------------------------------------------

static sf_Status add_limb(Rows *rows, const sf_LimbCase *c, sf_Error *err)
{
    sf_Limb *limb = NULL;
    sf_Error why;
    if (!c->text)
        return SF_OK; // removed with the wearer's data
    add_walls(rows, c);
    add_signs(rows, c);
    add_toe_out(rows, c);
    sf_Status status = sf_limb_parse(&limb, "document", c->text, strlen(c->text), &why);
    if (status == SF_E_MEMORY)
        return SF_FAIL(err, status, "", "out of memory while laying out what was said");
    if (status != SF_OK)
        return SF_OK;
    status = add_mass(rows, c, limb, err);
    if (status == SF_OK && limb->data.person.birth_date)
        status = add_lengths(rows, c, limb, err);
    sf_limb_destroy(&limb);
    return status;
}

static sf_Status rows_make(Rows *rows, sf_Transaction *t, sf_Error *err)
{
    *rows = (Rows){ .list = sf_arena_alloc(sf_transaction_arena(t), MOST_ROWS + 1, sizeof *rows->list) };
    return rows->list ? SF_OK : SF_FAIL(err, SF_E_MEMORY, "", "out of memory while laying out what was said");
}

static sf_Status gather_one(Rows *rows, sf_Transaction *t, const sf_StageTable *table, int64_t id, sf_Error *err)
{
    sf_LimbCase *c = NULL;
    SF_TRY(sf_limb_case_load(&c, t, table, id, true, err));
    c->row.head.label = kept(c, c->row.head.label);
    sf_Status status = add_limb(rows, c, err);
    sf_limb_case_close(&c);
    return status;
}

static sf_Status gather_shop(Rows *rows, sf_Transaction *t, const sf_StageTable *table, size_t most, size_t *count,
                             sf_Error *err)
{
    sf_LimbAsk ask = { .order = SF_LIMB_CHANGED, .count = most };
    sf_LimbRow *limbs;
    const char *next;
    SF_TRY(rows_make(rows, t, err));
    SF_TRY(sf_limb_record_list(t, &ask, &limbs, count, &next, err));
    for (size_t i = 0; i < *count; i++)
        SF_TRY(gather_one(rows, t, table, limbs[i].id, err));
    return SF_OK;
}

// ---- as JSON ----------------------------------------------------------------------------------------------------

static sf_Json *row_json(const Row *row)
{
    sf_Json *json = sf_json_object();
    sf_json_set_whole(json, "limb", row->limb);
    sf_json_set_text(json, "label", row->label);
    sf_json_set_text(json, "kind", kind_words[row->kind]);
    sf_json_set_text(json, "what", row->what);
    sf_json_set_text(json, "unit", row->unit);
    sf_json_set_number(json, "said", row->said);
    sf_json_set_number(json, "seen", row->seen);
    sf_json_set_number(json, "low", row->low);
    sf_json_set_number(json, "high", row->high);
    sf_json_set_text(json, "said_words", *row->said_words ? row->said_words : NULL);
    sf_json_set_text(json, "seen_words", *row->seen_words ? row->seen_words : NULL);
    sf_json_set_text(json, "said_at", row->said_at);
    sf_json_set_text(json, "seen_at", row->seen_at);
    if (row->came_true < 0)
        sf_json_set_null(json, "came_true");
    else
        sf_json_set_flag(json, "came_true", row->came_true);
    return json;
}

static sf_Json *counts_json(const Rows *rows)
{
    sf_Json *list = sf_json_array();
    for (int kind = 0; kind < SAID_KINDS; kind++) {
        int64_t answers[3] = { 0 }; // waiting, did not, came true
        for (size_t i = 0; i < rows->count; i++)
            if (rows->list[i].kind == (Kind)kind)
                answers[rows->list[i].came_true + 1]++;
        sf_Json *one = sf_json_object();
        sf_json_set_text(one, "kind", kind_words[kind]);
        sf_json_set_whole(one, "came_true", answers[2]);
        sf_json_set_whole(one, "did_not", answers[1]);
        sf_json_set_whole(one, "waiting", answers[0]);
        sf_json_add(list, one);
    }
    return list;
}

static sf_Json *rows_json(const Rows *rows)
{
    sf_Json *list = sf_json_array();
    for (size_t i = 0; i < rows->count; i++)
        sf_json_add(list, row_json(&rows->list[i]));
    return list;
}

sf_Status sf_said_seen_limb(sf_Transaction *t, const sf_StageTable *table, int64_t id, sf_Json **json, sf_Error *err)
{
    Rows rows;
    SF_TRY(rows_make(&rows, t, err));
    rows.whole = true;
    SF_TRY(gather_one(&rows, t, table, id, err));
    *json = sf_json_object();
    sf_json_set_whole(*json, "limb", id);
    sf_json_set(*json, "rows", rows_json(&rows));
    sf_json_set(*json, "counts", counts_json(&rows));
    return SF_OK;
}

sf_Status sf_said_seen_shop(sf_Transaction *t, const sf_StageTable *table, size_t most, sf_Json **json, sf_Error *err)
{
    Rows rows;
    size_t count = 0;
    SF_TRY(gather_shop(&rows, t, table, most, &count, err));
    *json = sf_json_object();
    sf_json_set_whole(*json, "limbs", (int64_t)count);
    sf_json_set(*json, "rows", rows_json(&rows));
    sf_json_set(*json, "counts", counts_json(&rows));
    return SF_OK;
}

sf_Status sf_said_seen_picture(unsigned char **bytes, size_t *size, sf_Transaction *t, const sf_StageTable *table,
                               size_t most, sf_SheetKind kind, sf_Error *err)
{
    Rows rows;
    size_t limbs, count = 0;
    sf_Sheet *sheet = NULL;
    sf_Status status;
    SF_TRY(gather_shop(&rows, t, table, most, &limbs, err));
    sf_SaidPoint *points = sf_arena_alloc(sf_transaction_arena(t), rows.count + 1, sizeof *points);
    if (!points)
        return SF_FAIL(err, SF_E_MEMORY, "", "out of memory while drawing what was said");
    for (size_t i = 0; i < rows.count; i++)
        if (rows.list[i].kind == SAID_WALL && rows.list[i].came_true >= 0)
            points[count++] = (sf_SaidPoint){ rows.list[i].said, rows.list[i].seen, rows.list[i].came_true == 1 };
    const sf_SaidChart chart = { .points = points,
                                 .count = count,
                                 .share = SF_SAID_WALL_SHARE,
                                 .said = "wall expected, mm",
                                 .seen = "wall measured, mm" };
    SF_TRY_DONE(sf_sheet_create(&sheet, kind, SF_SAID_CHART_WIDTH, SF_SAID_CHART_HEIGHT, err));
    sf_said_chart_paint(sheet, &chart);
    return sf_sheet_finish(&sheet, bytes, size, err);
done:
    sf_sheet_destroy(&sheet);
    return status;
}
