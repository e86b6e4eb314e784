// SPDX-License-Identifier: GPL-3.0-or-later
// Cases as JSON: one limb, the shop's day, a recall, the incidents.
#include "study/limb_case.h"

#include "base/date.h"
#include "study/limb_due.h"
#include "study/stage_history.h"

#include <string.h>

enum { MOST_PEOPLE = 200, PAGE = 200, MOST_LISTED = 400, MOST_INCIDENTS = 1000, DAY = 10 };

// ---- one limb ---------------------------------------------------------------------------------------------------

typedef struct People {
    int64_t id[MOST_PEOPLE];
    const char *initials[MOST_PEOPLE], *name[MOST_PEOPLE];
    size_t count;
} People;

static sf_Json *who_json(const sf_LimbCase *c, People *people, int64_t id)
{
    size_t i = 0;
    sf_Json *json = sf_json_object();
    while (i < people->count && people->id[i] != id)
        i++;
    if (i == people->count && i < MOST_PEOPLE) {
        sf_Person person;
        bool known = sf_person_get(c->transaction, id, &person, NULL) == SF_OK;
        people->id[i] = id;
        people->initials[i] = known ? person.initials : NULL;
        people->name[i] = known ? person.name : NULL;
        people->count++;
    }
    sf_json_set_whole(json, "id", id);
    sf_json_set_text(json, "initials", i < MOST_PEOPLE ? people->initials[i] : NULL);
    sf_json_set_text(json, "name", i < MOST_PEOPLE ? people->name[i] : NULL);
    return json;
}

static bool is_out_of_order(const sf_LimbCase *c, int64_t fact)
{
    for (size_t i = 0; i < c->state->out_of_order_count; i++)
        if (c->state->out_of_order[i] == fact)
            return true;
    return false;
}

static sf_Json *fact_json(const sf_LimbCase *c, People *people, size_t i)
{
    const sf_StageFact *fact = &c->facts[i];
    sf_Json *json = sf_json_object();
    sf_json_set_whole(json, "id", fact->id);
    sf_json_set_text(json, "kind", fact->kind);
    sf_json_set_text(json, "happened_at", fact->happened_at);
    sf_json_set_text(json, "recorded_at", fact->recorded_at);
    sf_json_set(json, "who", who_json(c, people, fact->who));
    sf_json_set_text(json, "role", fact->role);
    sf_json_set_flag(json, "signs", fact->signs);
    sf_json_set(json, "body", sf_doc_is_object(fact->body) ? sf_json_from_node(fact->body) : sf_json_object());
    sf_json_set_flag(json, "out_of_order", is_out_of_order(c, fact->id));
    if (c->rows[i].withdrawn_by)
        sf_json_set_whole(json, "withdrawn_by", c->rows[i].withdrawn_by);
    else
        sf_json_set_null(json, "withdrawn_by");
    return json;
}

sf_Json *sf_limb_case_fact_json(const sf_LimbCase *c, int64_t fact)
{
    People people = { .count = 0 };
    for (size_t i = 0; i < c->count; i++)
        if (c->facts[i].id == fact)
            return fact_json(c, &people, i);
    return NULL;
}

static void copy_member(sf_Json *json, const sf_StageFact *fact, const char *key)
{
    sf_DocNode node = sf_doc_member(fact->body, key);
    if (sf_doc_there(node))
        sf_json_set(json, key, sf_json_from_node(node));
    else
        sf_json_set_null(json, key);
}

static sf_Json *rings_json(const sf_LimbCase *c)
{
    static const char *const keys[] = { "ring_number", "picture", "media_type",    "height_mm",
                                        "decision",    "decided", "posterior_deg", "face" };
    sf_Json *list = sf_json_array();
    int64_t n = 0;
    for (size_t i = 0; i < c->count; i++) {
        if (strcmp(c->facts[i].kind, "ring") != 0)
            continue;
        sf_Json *json = sf_json_object();
        sf_json_set_whole(json, "n", n++);
        sf_json_set_whole(json, "fact", c->facts[i].id);
        for (size_t k = 0; k < sizeof keys / sizeof *keys; k++)
            copy_member(json, &c->facts[i], keys[k]);
        sf_json_set_flag(json, "withdrawn", c->rows[i].withdrawn_by != 0);
        sf_json_add(list, json);
    }
    return list;
}

sf_Json *sf_limb_case_json(const sf_LimbCase *c)
{
    People people = { .count = 0 };
    sf_Json *json = sf_json_object(), *facts = sf_json_array();
    sf_json_set_whole(json, "id", c->row.id);
    sf_json_set_whole(json, "wearer", c->row.wearer);
    sf_json_set_whole(json, "version", c->row.version);
    sf_json_set_text(json, "made_at", c->row.made_at);
    sf_json_set_text(json, "changed_at", c->row.changed_at);
    if (c->text)
        sf_json_set(json, "document", sf_json_from_node(sf_doc_root(c->document)));
    else
        sf_json_set_null(json, "document");
    for (size_t i = 0; i < c->count; i++)
        sf_json_add(facts, fact_json(c, &people, i));
    sf_json_set(json, "facts", facts);
    sf_json_set(json, "rings", rings_json(c));
    sf_json_set(json, "state", sf_limb_state_json(c->state));
    return json;
}

// ---- lists ------------------------------------------------------------------------------------------------------

static bool has_flag(const sf_LimbRow *row, const char *code)
{
    size_t length = strlen(code);
    for (const char *at = row->head.flags; at && (at = strstr(at, code)); at += length)
        if ((at == row->head.flags || at[-1] == ' ') && (at[length] == ' ' || at[length] == '\0'))
            return true;
    return false;
}

static bool is_at(const sf_LimbRow *row, const char *stage)
{
    return row->head.stage && strcmp(row->head.stage, stage) == 0;
}

static sf_Json *flags_json(const sf_LimbRow *row)
{
    sf_Json *list = sf_json_array();
    char code[64];
    for (const char *at = row->head.flags; at && *at;) {
        size_t length = strcspn(at, " ");
        if (length && length < sizeof code) {
            memcpy(code, at, length);
            code[length] = '\0';
            sf_json_add_text(list, code);
        }
        at += length + (at[length] == ' ');
    }
    return list;
}

static sf_Json *row_json(const sf_LimbRow *row)
{
    sf_Json *json = sf_json_object();
    sf_json_set_whole(json, "limb", row->id);
    sf_json_set_text(json, "label", row->head.label);
    sf_json_set_text(json, "side", row->head.side);
    sf_json_set_text(json, "stage", row->head.stage);
    sf_json_set_text(json, "action", row->head.next_action);
    sf_json_set(json, "flags", flags_json(row));
    return json;
}

// What lies in the shop for good waits for nobody.
static bool is_ended(const sf_LimbRow *row)
{
    return has_flag(row, "retired") || has_flag(row, "judged-cracked");
}

static bool is_called_back(const sf_LimbRow *row)
{
    static const char BACK[] = "Take the limb back";
    return is_at(row, "out-of-use") ||
           (row->head.next_action && strncmp(row->head.next_action, BACK, sizeof BACK - 1) == 0);
}

static bool is_grave(const sf_LimbRow *row)
{
    return has_flag(row, "out-of-use") || has_flag(row, "ring-rejected") || has_flag(row, "ring-again") ||
           has_flag(row, "proof-failed") || has_flag(row, "stop-fit-first") || has_flag(row, "early-permanent-fixing");
}

// What is on the bench, last touched first; what speaks against body weight before everything else.
static sf_Status bench_list(sf_Transaction *t, sf_Json *next_list, sf_Json *look, sf_Error *err)
{
    sf_LimbAsk ask = { .order = SF_LIMB_CHANGED, .count = MOST_LISTED };
    sf_LimbRow *rows;
    size_t count;
    const char *next;
    SF_TRY(sf_limb_record_list(t, &ask, &rows, &count, &next, err));
    for (int grave = 1; grave >= 0; grave--)
        for (size_t i = 0; i < count; i++) {
            bool home =
                is_at(&rows[i], "follow-up") && !has_flag(&rows[i], "follow-up-overdue") && !is_called_back(&rows[i]);
            if (!is_ended(&rows[i]) && is_grave(&rows[i]) == (grave != 0) && (!home || grave))
                sf_json_add(next_list, row_json(&rows[i]));
        }
    for (size_t i = 0; i < count; i++) {
        if (!has_flag(&rows[i], "ring-rejected") && !has_flag(&rows[i], "ring-again") &&
            !has_flag(&rows[i], "proof-missing") && !has_flag(&rows[i], "ring-unsigned"))
            continue;
        sf_Json *json = row_json(&rows[i]);
        sf_json_set_text(json, "decision",
                         has_flag(&rows[i], "ring-rejected")   ? "reject"
                         : has_flag(&rows[i], "ring-again")    ? "measure-again"
                         : has_flag(&rows[i], "ring-unsigned") ? "signature waits"
                                                               : "proof missing");
        sf_json_add(look, json);
    }
    return SF_OK;
}

sf_Status sf_limb_case_shop(sf_Transaction *t, const char *as_of, sf_Json **json, sf_Error *err)
{
    char today[DAY + 1] = "";
    int64_t limbs, at_home;
    sf_Status status;
    sf_Date day;
    if (as_of && *as_of && !sf_time_is_good(as_of))
        SF_TRY(sf_date_parse(&day, as_of, "as_of", err));
    memcpy(today, as_of && *as_of ? as_of : sf_transaction_time(t), DAY);
    sf_Json *due = sf_json_array(), *next = sf_json_array(), *look = sf_json_array(), *counts = sf_json_object();
    *json = sf_json_object();
    SF_TRY_DONE(sf_limb_due_list(t, today, due, err));
    SF_TRY_DONE(bench_list(t, next, look, err));
    SF_TRY_DONE(sf_limb_record_count(t, &limbs, err));
    SF_TRY_DONE(sf_limb_record_count_at(t, "follow-up", &at_home, err));
    sf_json_set_text(*json, "as_of", today);
    sf_json_set(*json, "due", due);
    sf_json_set(*json, "next", next);
    sf_json_set(*json, "look", look);
    sf_json_set_whole(counts, "limbs", limbs);
    sf_json_set_whole(counts, "at_home", at_home);
    sf_json_set(*json, "counts", counts);
    return SF_OK;
done:
    sf_json_destroy(&due);
    sf_json_destroy(&next);
    sf_json_destroy(&look);
    sf_json_destroy(&counts);
    sf_json_destroy(json);
    return status;
}

sf_Status sf_limb_case_recall(sf_Transaction *t, const char *lot, sf_Json **json, sf_Error *err)
{
    sf_LimbAsk ask = { .sheet_lot = lot, .count = PAGE };
    sf_Status status;
    if (!lot || !*lot)
        return SF_FAIL(err, SF_E_MISSING, "lot", "name the sheet lot to recall");
    sf_Json *list = sf_json_array();
    do {
        sf_LimbRow *rows;
        size_t count;
        SF_TRY_DONE(sf_limb_record_list(t, &ask, &rows, &count, &ask.after, err));
        for (size_t i = 0; i < count; i++) {
            sf_Json *row = row_json(&rows[i]);
            sf_json_set_flag(row, "at_home", is_at(&rows[i], "follow-up"));
            sf_json_add(list, row);
        }
    } while (ask.after);
    *json = sf_json_object();
    sf_json_set_text(*json, "lot", lot);
    sf_json_set(*json, "limbs", list);
    return SF_OK;
done:
    sf_json_destroy(&list);
    return status;
}

static sf_Status add_incident(sf_Transaction *t, const sf_Fact *fact, sf_Json *list, sf_Error *err)
{
    sf_LimbRow row;
    sf_Doc *doc = NULL;
    SF_TRY(sf_limb_record_get(t, fact->limb, &row, err));
    sf_Json *json = row_json(&row);
    sf_json_set_whole(json, "fact", fact->id);
    sf_json_set_text(json, "happened_at", fact->happened_at);
    sf_json_set_flag(json, "withdrawn", fact->withdrawn_by != 0);
    if (fact->body && sf_doc_parse(&doc, "fact", fact->body, strlen(fact->body), NULL) == SF_OK)
        sf_json_set(json, "body", sf_json_from_node(sf_doc_member(sf_doc_root(doc), "fields")));
    else
        sf_json_set_null(json, "body");
    sf_doc_destroy(&doc);
    sf_json_add(list, json);
    return SF_OK;
}

sf_Status sf_limb_case_incidents(sf_Transaction *t, sf_Json **json, sf_Error *err)
{
    sf_Fact *facts;
    size_t count;
    sf_Status status = SF_OK;
    SF_TRY(sf_fact_of_kind(t, "incident", 0, MOST_INCIDENTS, &facts, &count, err));
    sf_Json *list = sf_json_array();
    for (size_t i = count; i-- > 0;)
        SF_TRY_DONE(add_incident(t, &facts[i], list, err));
    *json = sf_json_object();
    sf_json_set(*json, "incidents", list);
    return SF_OK;
done:
    sf_json_destroy(&list);
    return status;
}
