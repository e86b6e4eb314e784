// SPDX-License-Identifier: GPL-3.0-or-later
// Papers of a limb as the record has it: release, traveller, care sheet, wrap.
#include "base/alloc.h"
#include "record/letterhead.h"
#include "report/report.h"
#include "seal/hash.h"
#include "server/compute_source.h"
#include "server/route.h"
#include "server/server_inside.h"
#include "study/limb_case.h"

#include <math.h>
#include <string.h>

enum { WORDS_DIGITS = 10, DAY = 10 };

typedef struct Paper {
    sf_ReportAsk ask;
    sf_ReportWords words;
    char *words_text;
    sf_LimbCase *limb_case;
    struct sf_Limb *limb;
    sf_Result result;
    sf_Report report;
} Paper;

static sf_Status read_word(const sf_Request *request, const char *name, const char *const *words, size_t count,
                           size_t *index, sf_Error *err)
{
    const char *word = sf_request_query(request, name);
    *index = 0;
    if (!word || !*word)
        return SF_OK;
    for (size_t i = 0; i < count; i++)
        if (strcmp(word, words[i]) == 0) {
            *index = i;
            return SF_OK;
        }
    return SF_FAIL(err, SF_E_INPUT, name, "%s must be one of those in docs/api.md, not '%.20s'", name, word);
}

static sf_Status read_ask(const sf_Request *request, sf_ReportAsk *ask, sf_Error *err)
{
    static const char *const kinds[] = { "release", "traveller", "care", "wrap" };
    static const char *const papers[] = { "a4", "letter" };
    static const char *const units[] = { "metric", "inch" };
    size_t kind, paper, unit;
    SF_TRY(read_word(request, "kind", kinds, 4, &kind, err));
    SF_TRY(read_word(request, "paper", papers, 2, &paper, err));
    SF_TRY(read_word(request, "units", units, 2, &unit, err));
    *ask = (sf_ReportAsk){ .kind = (sf_ReportKind)kind,
                           .paper = (sf_ReportPaper)paper,
                           .inch = sf_request_query(request, "units") ? unit == 1 : request->visitor.person.inch,
                           .file = SF_SHEET_PDF,
                           .page = 1 };
    return SF_OK;
}

static const sf_StageFact *find_fact(const sf_LimbCase *c, int64_t id, const char *kind)
{
    for (size_t i = c->count; i-- > 0;)
        if (!c->rows[i].withdrawn_by && (id ? c->facts[i].id == id : strcmp(c->facts[i].kind, kind) == 0))
            return &c->facts[i];
    return NULL;
}

static void set_day(sf_Json *json, const char *key, const char *time)
{
    char day[DAY + 1] = "";
    if (time)
        memcpy(day, time, DAY);
    sf_json_set_text(json, key, *day ? day : NULL);
}

static sf_Json *check_json(const sf_LimbCase *c, const sf_StageState *stage)
{
    static const char *const states[] = { "open", "open", "done", "again" }; // shut, open, done, again
    const sf_StageFact *closing = stage->closed_by ? find_fact(c, stage->closed_by, NULL) : NULL;
    sf_Json *json = sf_json_object();
    sf_json_set_text(json, "title", stage->stage->title);
    sf_json_set_text(json, "state", states[stage->status]);
    if (closing) {
        sf_json_set_text(json, "by", closing->name);
        set_day(json, "date", closing->happened_at);
    }
    if (stage->status != SF_STAGE_DONE && stage->why_shut)
        sf_json_set_text(json, "text", stage->why_shut);
    return json;
}

static void set_number_of(sf_Json *json, const char *key, const sf_LimbCase *c, const char *kind, const char *field)
{
    const sf_StageFact *fact = find_fact(c, 0, kind);
    double value = NAN;
    if (fact && sf_doc_number(sf_doc_member(fact->body, field), 0, 1e6, &value))
        sf_json_set_number(json, key, value);
}

// Who released it, and what was decided with which reason; before that nobody.
static void set_decision(sf_Json *json, const sf_LimbCase *c)
{
    const sf_StageFact *release = find_fact(c, 0, "release");
    const char *reason = NULL;
    bool against = false;
    if (!release)
        return;
    sf_Person person = { 0 };
    sf_Json *who = sf_json_object(), *decision = sf_json_object();
    bool known = sf_person_get(c->transaction, release->who, &person, NULL) == SF_OK;
    sf_json_set_text(who, "name", known ? person.name : release->name);
    sf_json_set_text(who, "licence", known ? person.license : NULL);
    sf_json_set(json, "prosthetist", who);
    sf_doc_text(sf_doc_member(release->body, "reason"), SF_DOC_MAX_BYTES, &reason);
    sf_doc_flag(sf_doc_member(release->body, "against_advice"), &against);
    sf_json_set_text(decision, "text", against ? "released against advice" : "released");
    sf_json_set_text(decision, "reason", reason);
    sf_json_set_flag(decision, "against_advice", against);
    set_day(decision, "date", release->happened_at);
    sf_json_set(json, "decision", decision);
}

// Who made the limb, and the shop's own statement.
static sf_Status set_shop(sf_Json *json, const sf_LimbCase *c, sf_Error *err)
{
    sf_Letterhead maker;
    SF_TRY(sf_letterhead_get(c->transaction, &maker, err));
    sf_json_set(json, "shop", sf_letterhead_json(&maker));
    return SF_OK;
}

static sf_Status words_json(sf_Request *request, const sf_LimbCase *c, char **text, sf_Error *err)
{
    char hex[SF_HASH_HEX];
    sf_Hash *hash = NULL;
    SF_TRY(sf_hash_create(&hash, err));
    sf_Status status;
    sf_Json *json = sf_json_object(), *checks = sf_json_array();
    sf_hash_add(hash, c->text, strlen(c->text));
    sf_hash_finish(&hash, hex);
    sf_json_set_text(json, "format", "standfast-report/1");
    sf_json_set_text(
        json, "record",
        sf_arena_format(request->arena, "limb %lld, version %lld", (long long)c->row.id, (long long)c->row.version));
    sf_json_set_text(json, "record_sha256", hex);
    set_day(json, "date", sf_transaction_time(c->transaction));
    for (size_t i = 0; i < c->state->stage_count; i++)
        sf_json_add(checks, check_json(c, &c->state->stages[i]));
    sf_json_set(json, "checks", checks);
    status = set_shop(json, c, err);
    set_decision(json, c);
    set_number_of(json, "weighed_g", c, "finish", "mass_g");
    set_number_of(json, "wear_in_first_day_h", c, "delivery", "wear_in_h");
    if (status == SF_OK)
        status = sf_json_text(json, WORDS_DIGITS, text, err);
    sf_json_destroy(&json);
    return status;
}

static sf_Status make(sf_Request *request, sf_Reply *reply, Paper *p, sf_Error *err)
{
    int64_t id;
    sf_ComputeSource source = sf_compute_source(request->server->store);
    SF_TRY(read_ask(request, &p->ask, err));
    SF_TRY(sf_reply_or_404(reply, sf_request_id(request, 0, &id, err)));
    SF_TRY(sf_reply_or_404(reply,
                           sf_limb_case_open(&p->limb_case, request->transaction, request->server->stages, id, err)));
    if (!p->limb_case->text) {
        reply->status = 404;
        return SF_FAIL(err, SF_E_MISSING, NULL, "this limb's document was removed with its wearer's data");
    }
    SF_TRY(words_json(request, p->limb_case, &p->words_text, err));
    SF_TRY(sf_report_words_parse(&p->words, "the record", p->words_text, strlen(p->words_text), err));
    SF_TRY(sf_computation_limb_read(&p->limb, sf_doc_root(p->limb_case->document), &source, err));
    p->ask.words = &p->words;
    p->ask.document = p->limb_case->text;
    p->ask.document_size = strlen(p->limb_case->text);
    p->ask.words_document = p->words_text;
    p->ask.words_size = strlen(p->words_text);
    SF_TRY(sf_result_begin(&p->result, err));
    SF_TRY(sf_gate_enter(request->server, err));
    sf_Status status = sf_report_make(&p->report, &p->result, p->limb, &p->ask, err);
    sf_gate_leave(request->server);
    return status;
}

static sf_Status send_paper(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    Paper *p = sf_alloc(1, sizeof *p);
    if (!p)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    p->words = sf_report_words_none();
    sf_Status status = make(request, reply, p, err);
    if (status == SF_OK) {
        reply->bytes = (char *)p->report.bytes;
        reply->size = p->report.size;
        reply->type = "application/pdf";
        reply->status = 200;
        p->report.bytes = NULL;
    }
    sf_report_free(&p->report);
    sf_result_drop(&p->result);
    sf_report_words_free(&p->words);
    sf_limb_destroy(&p->limb);
    sf_limb_case_close(&p->limb_case);
    sf_free(p->words_text);
    sf_free(p);
    return status;
}

const sf_Route sf_paper_routes[] = {
    { "GET", "/api/limbs/{id}/report.pdf", SF_MAY_STAFF, SF_STORE_READ, SF_BODY_NONE, NULL, NULL, send_paper,
      "a paper: `?kind=release` (`traveller`, `care`, `wrap`) `paper=a4` (`letter`) `units=metric` (`inch`)" },
    { 0 },
};
