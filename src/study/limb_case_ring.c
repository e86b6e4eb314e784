// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/limb_case_ring.h"

#include "base/alloc.h"
#include "base/units.h"
#include "limb/limb.h"
#include "record/attachment.h"
#include "study/follow_up.h"
#include "study/limb_case_inside.h"
#include "study/limb_case_outline.h"
#include "study/limb_case_squeeze.h"
#include "study/ring_repeat.h"
#include "study/ring_study.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

extern const unsigned char sf_ring_limits_text[];
extern const size_t sf_ring_limits_text_size;

enum { MOST_NUMBER = 60, MOST_TIME = 32, MOST_HASH = 80 };
static const double SAME_HEIGHT_MM = 0.5; // two rings of a document lie farther apart than this

struct sf_CaseRing {
    int64_t limb;
    char *body;            ///< fields of the fact, JSON
    char *result;          ///< the whole result, JSON
    char *proof, *squeeze; ///< fields of the fact 'squeeze-proof' and its whole result, JSON; NULL: none was told
    char *section;         ///< entry of pylon.rings, JSON; NULL: not enough is known to lay it into the pylon
    double height_mm;
    char happened_at[MOST_TIME];
};

// What is gathered from the limb before the measuring begins.
typedef struct Setting {
    sf_RingAsk ask;
    char number[MOST_NUMBER + 1], face[12], media_type[100];
    double height_mm;
    sf_Limb *limb;
    char *pressed; ///< how the ring was pressed; NULL: it was not
} Setting;

static bool is_word(const char *word, const char *other)
{
    return word && strcmp(word, other) == 0;
}

// ---- what the limb tells ----------------------------------------------------------------------------------------

static sf_Proof proof_of(const sf_LimbCase *c, const char *number)
{
    sf_Proof proof = SF_PROOF_NONE;
    for (size_t i = 0; i < c->count; i++) {
        const sf_StageFact *fact = &c->facts[i];
        if (!is_word(fact->kind, "squeeze-proof") || c->rows[i].withdrawn_by ||
            !is_word(sf_fact_word(fact, "ring_number"), number))
            continue;
        if (!sf_fact_flag(fact, "passed"))
            return SF_PROOF_FAILED;
        proof = SF_PROOF_PASSED;
    }
    return proof;
}

static bool is_measured(const sf_LimbCase *c, const char *number)
{
    for (size_t i = 0; i < c->count; i++)
        if (is_word(c->facts[i].kind, "ring") && is_word(sf_fact_word(&c->facts[i], "ring_number"), number))
            return true;
    return false;
}

// The number that was said; else that of a ring that was marked and not measured yet; else the next of R1, R2, ...
static void choose_number(const sf_LimbCase *c, const sf_CaseRingAsk *ask, char number[MOST_NUMBER + 1])
{
    number[0] = '\0';
    if (ask->ring_number)
        snprintf(number, MOST_NUMBER + 1, "%.*s", MOST_NUMBER, ask->ring_number);
    for (size_t i = c->count; !*number && i-- > 0;) {
        const char *marked = sf_fact_word(&c->facts[i], "ring_number");
        if (is_word(c->facts[i].kind, "ring-marked") && marked && !is_measured(c, marked))
            snprintf(number, MOST_NUMBER + 1, "%.*s", MOST_NUMBER, marked);
    }
    for (int n = 1; !*number && n < 1000; n++) {
        snprintf(number, MOST_NUMBER + 1, "R%d", n);
        if (is_measured(c, number))
            number[0] = '\0';
    }
}

static sf_User user_of(const sf_LimbCase *c, const sf_CaseRingAsk *ask)
{
    if (ask->user)
        return is_word(ask->user, "child") ? SF_USER_CHILD : SF_USER_ADULT;
    if (!sf_document_word(sf_doc_root(c->document), "person.birth_date"))
        return SF_USER_UNKNOWN;
    return sf_limb_case_child(c) ? SF_USER_CHILD : SF_USER_ADULT;
}

static sf_Model dryness_of(const char *word)
{
    return is_word(word, "dry")    ? SF_MODEL_DRY
           : is_word(word, "damp") ? SF_MODEL_DAMP
           : is_word(word, "wet")  ? SF_MODEL_WET
                                   : SF_MODEL_UNKNOWN;
}

static double or_else(double value, double otherwise)
{
    return isnan(value) ? otherwise : value;
}

static void settle(const sf_LimbCase *c, const sf_CaseRingAsk *ask, Setting *s)
{
    sf_DocNode root = sf_doc_root(c->document);
    const char *side = sf_document_word(root, "person.side");
    choose_number(c, ask, s->number);
    s->ask = SF_RING_ASK_EMPTY;
    s->ask.scan.dpi = isnan(ask->dpi) ? 0 : ask->dpi;
    s->ask.seam_angle = ask->seam_deg * SF_DEG;
    s->ask.posterior_angle = ask->posterior_deg * SF_DEG;
    s->ask.face = is_word(ask->face, "foot-side") ? SF_FACE_FOOT_SIDE : SF_FACE_LIMB_SIDE;
    s->ask.side = is_word(side, "left") ? SF_SIDE_LEFT : is_word(side, "right") ? SF_SIDE_RIGHT : SF_SIDE_UNKNOWN;
    sf_RingContext *context = &s->ask.context;
    context->user = user_of(c, ask);
    context->nominal_wall = or_else(ask->nominal_wall_mm, sf_document_number(root, "pylon.expected_wall_mm")) * SF_MM;
    context->body_mass = sf_document_number(root, "person.body_mass_kg");
    context->shank = sf_document_number(root, "adapter.shank_mm") * SF_MM;
    context->rim = sf_document_number(root, "adapter.rim_mm") * SF_MM;
    context->model = dryness_of(sf_document_word(root, "pylon.forming.model"));
    context->oven_c = sf_document_number(root, "pylon.forming.oven_c");
    context->vacuum_s = sf_document_number(root, "pylon.forming.vacuum_s");
    context->proof = proof_of(c, s->number);
    context->proof_required = !c->around.proof_held;
    s->height_mm = or_else(ask->height_mm, sf_document_number(root, "pylon.cut_height_mm"));
    snprintf(s->face, sizeof s->face, "%s", s->ask.face == SF_FACE_FOOT_SIDE ? "foot-side" : "limb-side");
}

// The limb whose strength is judged with the ring; a document that makes none leaves strength out.
static sf_Status read_limb(const sf_LimbCase *c, Setting *s, sf_Error *err)
{
    sf_Error why;
    if (!c->text)
        return SF_OK;
    sf_Status status = sf_limb_parse(&s->limb, "document", c->text, strlen(c->text), &why);
    if (status == SF_E_MEMORY)
        return SF_FAIL(err, status, "", "out of memory while measuring the ring");
    s->ask.limb = s->limb;
    s->ask.limb_may_lack = true;
    return SF_OK;
}

static sf_Status read_pressed(const sf_LimbCase *c, const sf_CaseRingAsk *ask, Setting *s, sf_Error *err)
{
    SF_TRY(ask->squeeze ? sf_limb_case_told(c, ask->squeeze, ask->seam_deg, &s->pressed, err)
                        : sf_limb_case_pressed(c, s->number, &s->pressed, err));
    s->ask.pressed = s->pressed;
    return SF_OK;
}

static sf_Status read_setting(sf_Store *store, const sf_StageTable *table, const sf_CaseRingAsk *ask, Setting *s,
                              char happened_at[MOST_TIME], sf_Error *err)
{
    sf_Transaction *t = NULL;
    sf_LimbCase *c = NULL;
    sf_Attachment row;
    sf_Status status;
    *s = (Setting){ 0 };
    SF_TRY(sf_transaction_read(&t, store, err));
    SF_TRY_DONE(sf_limb_case_open(&c, t, table, ask->limb, err));
    SF_TRY_DONE(sf_limb_case_look_for_proof(c, err));
    if (ask->picture) {
        SF_TRY_DONE(sf_attachment_by_hash(t, ask->picture, &row, err));
        snprintf(s->media_type, sizeof s->media_type, "%.99s", row.media_type ? row.media_type : "");
    }
    settle(c, ask, s);
    SF_TRY_DONE(read_limb(c, s, err));
    SF_TRY_DONE(read_pressed(c, ask, s, err));
    snprintf(happened_at, MOST_TIME, "%.31s", ask->happened_at ? ask->happened_at : sf_transaction_time(t));
done:
    sf_limb_case_close(&c);
    sf_transaction_end(&t);
    return status;
}

// ---- what is written down ---------------------------------------------------------------------------------------

// Whether nothing but the squeeze proof of the seam is missing.
static bool squeeze_settles(const sf_RingFinding *finding, const sf_RingAsk *ask, const sf_RingLimits *limits)
{
    sf_RingContext context = ask->context;
    sf_RingDecision decision;
    context.proof = SF_PROOF_PASSED;
    sf_ring_decide(&decision, &finding->measure, &context, limits);
    return finding->decision.verdict == SF_VERDICT_AGAIN && decision.verdict <= SF_VERDICT_LIMIT;
}

static void set_number(sf_Json *json, const char *key, double value)
{
    if (!isnan(value))
        sf_json_set_number(json, key, value);
}

// What the measuring went by beside the limb, so that the finding can be drawn again as it was.
static sf_Json *asked_json(const sf_CaseRingAsk *ask, const Setting *s)
{
    sf_Json *json = sf_json_object();
    if (s->ask.context.user != SF_USER_UNKNOWN)
        sf_json_set_text(json, "user", s->ask.context.user == SF_USER_CHILD ? "child" : "adult");
    set_number(json, "dpi", ask->dpi);
    set_number(json, "seam_deg", ask->seam_deg);
    set_number(json, "nominal_wall_mm", s->ask.context.nominal_wall / SF_MM);
    return json;
}

static sf_Status make_body(sf_CaseRing *ring, const sf_CaseRingAsk *ask, const Setting *s,
                           const sf_RingFinding *finding, const sf_RingLimits *limits, sf_DocNode result, sf_Error *err)
{
    char *outline = NULL;
    SF_TRY(sf_limb_case_outline(&finding->scan.outline, SF_CASE_BOARD_TOLERANCE, &outline, err));
    sf_Json *json = sf_json_object();
    sf_json_set_text(json, "ring_number", s->number);
    sf_json_set_text(json, "decision", sf_verdict_word(finding->decision.verdict));
    if (finding->decision.evidence)
        sf_json_set_text(json, "evidence", finding->decision.evidence);
    sf_json_set_flag(json, "proof_required", !finding->measure.wall.line_searched);
    sf_json_set_flag(json, "squeeze_settles", squeeze_settles(finding, &s->ask, limits));
    set_number(json, "height_mm", s->height_mm);
    sf_json_set_text(json, "face", s->face);
    set_number(json, "posterior_deg", ask->posterior_deg);
    if (ask->picture)
        sf_json_set_text(json, "picture", ask->picture);
    if (finding->decision.verdict == SF_VERDICT_LIMIT)
        sf_json_set_text(json, "limit", finding->decision.limit_words);
    sf_Json *whole = sf_json_from_node(result);
    sf_json_set(whole, "asked", asked_json(ask, s));
    sf_json_set_text(whole, "outline_csv", outline); // for the ring board
    sf_free(outline);
    sf_json_set(json, "result", whole);
    sf_Status status = sf_json_text(json, 10, &ring->body, err);
    sf_json_destroy(&json);
    return status;
}

// The ring as the limb document lays it into the pylon: its measured outline with the posterior line's place in the
// picture, and where the seam runs. Without a height or a posterior line it is left out.
static sf_Status make_section(sf_CaseRing *ring, const Setting *s, const sf_RingFinding *finding, sf_Error *err)
{
    double seam = sf_limb_angle(finding->measure.wall.seam_angle, &s->ask);
    char *outline = NULL;
    if (isnan(s->height_mm) || isnan(s->ask.posterior_angle))
        return SF_OK;
    SF_TRY(sf_limb_case_outline(&finding->scan.outline, SF_CASE_OUTLINE_TOLERANCE, &outline, err));
    sf_Json *json = sf_json_object();
    sf_json_set_number(json, "height_mm", s->height_mm);
    sf_json_set_text(json, "outline_csv", outline);
    sf_json_set_text(json, "face", s->face);
    double posterior = s->ask.posterior_angle / SF_DEG;
    sf_json_set_number(json, "posterior_deg", fabs(posterior) <= 360 ? posterior : remainder(posterior, 360));
    if (!isnan(seam))
        sf_json_set_number(json, "seam_deg", seam / SF_DEG);
    sf_Status status = sf_json_text(json, 10, &ring->section, err);
    sf_json_destroy(&json);
    sf_free(outline);
    return status;
}

// ---- measuring --------------------------------------------------------------------------------------------------

static sf_Status read_limits(sf_RingLimits *limits, sf_Error *err)
{
    sf_Doc *doc = NULL;
    SF_TRY(sf_doc_parse(&doc, "ring_limits.json", (const char *)sf_ring_limits_text, sf_ring_limits_text_size, err));
    sf_Status status = sf_ring_limits_read(limits, sf_doc_root(doc), true, err);
    sf_doc_destroy(&doc);
    return status;
}

static sf_Status tell(sf_CaseRing *ring, const sf_CaseRingAsk *ask, const Setting *s, sf_RingFinding *finding,
                      const sf_RingLimits *limits, sf_Result *result, sf_Error *err)
{
    sf_Doc *doc = NULL;
    sf_Status status;
    sf_ring_result_figures(result, finding);
    sf_ring_result_ring(result, finding, finding, &s->ask);
    sf_ring_repeat_result(result, finding, 1);
    sf_Json *json = sf_result_finish(result, NULL);
    status = sf_json_text(json, 10, &ring->result, err);
    sf_json_destroy(&json);
    if (status != SF_OK)
        goto done;
    SF_TRY_DONE(sf_doc_parse(&doc, "result", ring->result, strlen(ring->result), err));
    SF_TRY_DONE(make_body(ring, ask, s, finding, limits, sf_doc_root(doc), err));
    SF_TRY_DONE(make_section(ring, s, finding, err));
    if (ask->squeeze)
        status = sf_limb_case_proof(finding->squeeze, s->number, s->pressed, &ring->proof, &ring->squeeze, err);
done:
    sf_doc_destroy(&doc);
    return status;
}

static sf_Status measure(sf_CaseRing *ring, sf_Store *store, const sf_CaseRingAsk *ask, Setting *s, sf_Error *err)
{
    sf_Result result = { 0 };
    unsigned char *owned = NULL;
    const unsigned char *bytes = (const unsigned char *)ask->caliper_csv;
    size_t size = bytes ? strlen(ask->caliper_csv) : 0;
    sf_RingLimits limits;
    sf_Status status;
    sf_RingFinding *finding = sf_alloc(1, sizeof *finding);
    if (!finding)
        return SF_FAIL(err, SF_E_MEMORY, "", "out of memory while measuring the ring");
    SF_TRY_DONE(read_limits(&limits, err));
    if (ask->picture) {
        SF_TRY_DONE(sf_shelf_get(store, ask->picture, &owned, &size, err));
        bytes = owned;
    }
    SF_TRY_DONE(sf_result_begin(&result, err));
    sf_result_input(&result, bytes, size);
    if (s->pressed)
        sf_result_input(&result, s->pressed, strlen(s->pressed));
    s->ask.result = &result;
    SF_TRY_DONE(sf_ring_study(finding, ask->picture ? SF_RING_PICTURE : SF_RING_CALIPER,
                              ask->picture ? "the picture" : "the readings", bytes, size, &s->ask, &limits, err));
    status = tell(ring, ask, s, finding, &limits, &result, err);
done:
    sf_result_drop(&result);
    sf_ring_finding_free(finding);
    sf_free(finding);
    sf_free(owned);
    return status;
}

sf_Status sf_limb_case_ring_measure(sf_CaseRing **out, sf_Store *store, const sf_StageTable *table,
                                    const sf_CaseRingAsk *ask, sf_Error *err)
{
    Setting setting = { 0 };
    sf_Status status;
    *out = NULL;
    if ((ask->picture == NULL) == (ask->caliper_csv == NULL))
        return SF_FAIL(err, SF_E_MISSING, "picture", "a ring needs a picture, or caliper readings in its place");
    sf_CaseRing *ring = sf_alloc(1, sizeof *ring);
    if (!ring)
        return SF_FAIL(err, SF_E_MEMORY, "", "out of memory while measuring the ring");
    ring->limb = ask->limb;
    SF_TRY_DONE(read_setting(store, table, ask, &setting, ring->happened_at, err));
    ring->height_mm = setting.height_mm;
    SF_TRY_DONE(measure(ring, store, ask, &setting, err));
    *out = ring;
    ring = NULL;
done:
    sf_limb_destroy(&setting.limb);
    sf_free(setting.pressed);
    sf_limb_case_ring_free(&ring);
    return status;
}

void sf_limb_case_ring_free(sf_CaseRing **ring)
{
    if (!ring || !*ring)
        return;
    sf_free((*ring)->body);
    sf_free((*ring)->result);
    sf_free((*ring)->section);
    sf_free((*ring)->proof);
    sf_free((*ring)->squeeze);
    sf_free(*ring);
    *ring = NULL;
}

static sf_Json *json_of(const char *text)
{
    sf_Doc *doc = NULL;
    sf_Json *json = NULL;
    if (text && sf_doc_parse(&doc, "result", text, strlen(text), NULL) == SF_OK)
        json = sf_json_from_node(sf_doc_root(doc));
    sf_doc_destroy(&doc);
    return json;
}

sf_Json *sf_limb_case_ring_json(const sf_CaseRing *ring)
{
    return json_of(ring->result);
}

sf_Json *sf_limb_case_ring_squeeze_json(const sf_CaseRing *ring)
{
    return json_of(ring->squeeze);
}

// ---- writing down -----------------------------------------------------------------------------------------------

static bool at_height(double one, double other)
{
    return fabs(one - other) <= SAME_HEIGHT_MM;
}

static const sf_StageFact *fact_of(const sf_LimbCase *c, int64_t id)
{
    for (size_t i = 0; i < c->count; i++)
        if (c->facts[i].id == id)
            return &c->facts[i];
    return NULL;
}

// Whether what the document holds at this height is an earlier measuring of the ring of fact `now`, whose height was
// told wrong.
static bool was_there(const sf_LimbCase *c, int64_t now, double height)
{
    const sf_StageFact *last = NULL, *self = fact_of(c, now);
    for (size_t i = 0; i < c->count; i++)
        if (is_word(c->facts[i].kind, "ring") && c->facts[i].id != now &&
            at_height(sf_fact_number(&c->facts[i], "height_mm"), height))
            last = &c->facts[i];
    const char *number = last ? sf_fact_word(last, "ring_number") : NULL;
    return self && number && is_word(sf_fact_word(self, "ring_number"), number);
}

// The document's rings with this one at its height, in place of one that was assumed or measured there before, and of
// this very ring where it was said to lie elsewhere.
static sf_Json *rings_with(const sf_LimbCase *c, const sf_CaseRing *ring, int64_t fact, sf_DocNode section)
{
    sf_DocNode rings = sf_document_at(sf_doc_root(c->document), "pylon.rings");
    sf_Json *list = sf_json_array();
    for (size_t i = 0; i < sf_doc_length(rings); i++) {
        sf_DocNode entry = sf_doc_item(rings, i);
        double height = sf_document_number(entry, "height_mm");
        bool moved = sf_doc_there(sf_doc_member(entry, "outline_csv")) && was_there(c, fact, height);
        if (!at_height(height, ring->height_mm) && !moved)
            sf_json_add(list, sf_json_from_node(entry));
    }
    sf_json_add(list, sf_json_from_node(section));
    return list;
}

static sf_Status record_fact(sf_Transaction *t, const sf_StageTable *table, const sf_CaseRing *ring, const char *kind,
                             const char *text, bool signs, sf_CaseRecorded *recorded, sf_Error *err)
{
    sf_Doc *body = NULL;
    SF_TRY(sf_doc_parse(&body, "body", text, strlen(text), err));
    sf_CaseFact fact = {
        .limb = ring->limb, .kind = kind, .happened_at = ring->happened_at, .body = sf_doc_root(body), .signs = signs
    };
    sf_Status status = sf_limb_case_record(t, table, &fact, recorded, err);
    sf_doc_destroy(&body);
    return status;
}

sf_Status sf_limb_case_ring_record(sf_Transaction *t, const sf_StageTable *table, const sf_CaseRing *ring, bool signs,
                                   sf_CaseRecorded *recorded, sf_Error *err)
{
    sf_Doc *section = NULL;
    sf_Status status;
    if (ring->proof)
        SF_TRY_DONE(record_fact(t, table, ring, "squeeze-proof", ring->proof, signs, recorded, err));
    SF_TRY_DONE(record_fact(t, table, ring, "ring", ring->body, signs, recorded, err));
    if (ring->section) {
        SF_TRY_DONE(sf_doc_parse(&section, "ring", ring->section, strlen(ring->section), err));
        sf_LimbCase *c = NULL;
        SF_TRY_DONE(sf_limb_case_open(&c, t, table, ring->limb, err));
        sf_Json *list = rings_with(c, ring, recorded->fact, sf_doc_root(section));
        status = sf_limb_case_put(c, "pylon.rings", &list, recorded, err);
        sf_limb_case_close(&c);
    } else {
        snprintf(recorded->why_not, sizeof recorded->why_not,
                 "the document takes the ring over once its height and the posterior line in its picture are known");
    }
done:
    sf_doc_destroy(&section);
    return status;
}

sf_Status sf_limb_case_ring_withdrawn(sf_LimbCase *c, int64_t fact, sf_CaseRecorded *recorded, sf_Error *err)
{
    const sf_StageFact *withdrawn = fact_of(c, fact);
    if (!c->text || !withdrawn || !is_word(withdrawn->kind, "ring"))
        return SF_OK;
    sf_DocNode rings = sf_document_at(sf_doc_root(c->document), "pylon.rings");
    double height = sf_fact_number(withdrawn, "height_mm");
    for (size_t i = 0; i < c->count; i++) // the newest of this height is what the document holds
        if (is_word(c->facts[i].kind, "ring") && c->facts[i].id > fact && !c->rows[i].withdrawn_by &&
            at_height(sf_fact_number(&c->facts[i], "height_mm"), height))
            return SF_OK;
    sf_Json *list = sf_json_array();
    size_t kept = 0;
    for (size_t i = 0; i < sf_doc_length(rings); i++) {
        sf_DocNode entry = sf_doc_item(rings, i);
        bool its = sf_doc_there(sf_doc_member(entry, "outline_csv")) &&
                   at_height(sf_document_number(entry, "height_mm"), height);
        if (!its)
            sf_json_add(list, sf_json_from_node(entry));
        kept += !its;
    }
    if (kept < sf_doc_length(rings))
        return sf_limb_case_put(c, "pylon.rings", &list, recorded, err);
    sf_json_destroy(&list);
    return SF_OK;
}
