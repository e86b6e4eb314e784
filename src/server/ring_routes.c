// SPDX-License-Identifier: GPL-3.0-or-later
// Pictures and rings.
#include "base/alloc.h"
#include "record/attachment.h"
#include "record/limb_record.h"
#include "server/limb_json.h"
#include "server/ring_ask.h"
#include "server/route.h"
#include "server/server_inside.h"
#include "study/computation.h"
#include "study/picture_view.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { NUMBER_TEXT = 60, DIGITS = 12 };

static const char FOR_EVER[] = "private, max-age=31536000, immutable"; // a file's name is what is in it

// What the first bytes say; NULL: none of the kinds that are measured.
static const char *media_type_of(const unsigned char *bytes, size_t size)
{
    if (size >= 8 && memcmp(bytes, "\x89PNG\r\n\x1a\n", 8) == 0)
        return "image/png";
    if (size >= 3 && memcmp(bytes, "\xff\xd8\xff", 3) == 0)
        return "image/jpeg";
    if (size >= 4 && (memcmp(bytes, "II*\0", 4) == 0 || memcmp(bytes, "MM\0*", 4) == 0))
        return "image/tiff";
    return NULL;
}

// The file lies on the disk before any row may name it.
static sf_Status shelve(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    char *hash = sf_arena_alloc(request->arena, 1, SF_DIGEST_HEX);
    if (!hash)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    if (!media_type_of(request->body, request->body_size)) {
        reply->status = 415;
        return SF_FAIL(err, SF_E_INPUT, NULL, "this is no PNG, JPEG or TIFF: send the scan's own file");
    }
    request->prepared = hash;
    return sf_shelf_put(request->server->store, request->body, request->body_size, hash, err);
}

static sf_Status add_picture(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    const char *name = sf_request_query(request, "name");
    sf_Attachment row = { .file_hash = request->prepared,
                          .media_type = media_type_of(request->body, request->body_size),
                          .name = name && *name && strlen(name) <= SF_ATTACHMENT_NAME_MOST ? name : "picture" };
    sf_LimbRow limb;
    int64_t id;
    SF_TRY(sf_reply_or_404(reply, sf_request_id(request, 0, &row.limb, err)));
    SF_TRY(sf_reply_or_404(reply, sf_limb_record_get(request->transaction, row.limb, &limb, err)));
    SF_TRY(sf_attachment_add(request->transaction, &row, &id, err));
    sf_Json *json = sf_json_object();
    sf_json_set_text(json, "picture", row.file_hash);
    sf_json_set_whole(json, "bytes", (int64_t)request->body_size);
    sf_json_set_text(json, "media_type", row.media_type);
    return sf_reply_json(reply, 201, &json, err);
}

// A file is shown when a row names it; what merely lies on the shelf is nobody's yet.
static sf_Status fetch(sf_Request *request, sf_Reply *reply, unsigned char **bytes, size_t *size, const char **type,
                       sf_Error *err)
{
    sf_Attachment row;
    const char *hash = request->parameters[0];
    *bytes = NULL;
    if (!hash || !sf_compute_is_hash(hash)) {
        reply->status = 404;
        return SF_FAIL(err, SF_E_MISSING, NULL, "pictures are named by their hash, 64 digits");
    }
    SF_TRY(sf_reply_or_404(reply, sf_attachment_by_hash(request->transaction, hash, &row, err)));
    *type = sf_arena_text(request->arena, row.media_type);
    return sf_reply_or_404(reply, sf_shelf_get(request->server->store, hash, bytes, size, err));
}

static sf_Status send_picture(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    unsigned char *bytes;
    SF_TRY(fetch(request, reply, &bytes, &reply->size, &reply->type, err));
    reply->bytes = (char *)bytes;
    reply->status = 200;
    sf_reply_header(reply, "Cache-Control", FOR_EVER);
    return SF_OK;
}

static sf_Status send_view(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    unsigned char *bytes, *png = NULL;
    size_t size, width, height;
    const char *type;
    SF_TRY(fetch(request, reply, &bytes, &size, &type, err));
    sf_Status status = sf_gate_enter(request->server, err);
    if (status == SF_OK) {
        status = sf_picture_view(&png, &reply->size, &width, &height, bytes, size, err);
        sf_gate_leave(request->server);
    }
    sf_free(bytes);
    SF_TRY(status);
    reply->bytes = (char *)png;
    reply->type = "image/png";
    reply->status = 200;
    sf_reply_header(reply, "Cache-Control", FOR_EVER);
    return SF_OK;
}

// ---- rings -----------------------------------------------------------------------------------------------------

// A ring on its way into the record: measured before the store is held.
typedef struct Measured {
    sf_RingAsked asked;
    const char *result;          ///< JSON text
    char number[NUMBER_TEXT];    ///< of the ring, when nobody gave one
    char caliper[SF_DIGEST_HEX]; ///< where the readings lie
    const char *document;        ///< with the ring in it; NULL: its height is not known
    int64_t version;             ///< of the limb it was made from
} Measured;

// The place of a ring of this limb: its fact, by the order in which rings were written down.
static const sf_StageFact *find_ring(const sf_LimbCase *limb, const char *place, size_t *count)
{
    const sf_StageFact *found = NULL;
    long wanted = place ? strtol(place, NULL, 10) : -1, n = 0;
    for (size_t i = 0; i < limb->count; i++)
        if (strcmp(limb->facts[i].kind, "ring") == 0) {
            if (n == wanted)
                found = &limb->facts[i];
            n++;
        }
    *count = (size_t)n;
    return place && (*place < '0' || *place > '9') ? NULL : found;
}

static const char *keep_text(sf_Request *request, const char *text)
{
    return text ? sf_arena_text(request->arena, text) : NULL;
}

// Texts that were read from the limb live only as long as its case.
static void keep_asked(sf_Request *request, sf_RingAsked *asked)
{
    asked->picture = keep_text(request, asked->picture);
    asked->caliper = keep_text(request, asked->caliper);
    asked->caliper_csv = keep_text(request, asked->caliper_csv);
    asked->user = keep_text(request, asked->user);
    asked->face = keep_text(request, asked->face);
    asked->side = keep_text(request, asked->side);
    asked->ring_number = keep_text(request, asked->ring_number);
}

static sf_Status json_into_arena(sf_Request *request, sf_Json **json, const char **kept, sf_Error *err)
{
    char *text = NULL;
    sf_Status status = sf_json_text(*json, DIGITS, &text, err);
    sf_json_destroy(json);
    SF_TRY(status);
    *kept = sf_arena_text(request->arena, text);
    sf_free(text);
    return *kept ? SF_OK : SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
}

// What is asked: the ring that is there (`place`), then the request, then what the document knows.
static sf_Status gather(sf_Request *request, sf_Reply *reply, const char *place, Measured *m, sf_Doc **document,
                        sf_Error *err)
{
    int64_t id;
    size_t count;
    sf_LimbCase *limb = NULL;
    sf_Transaction *t = NULL;
    sf_Status status;
    m->asked = sf_ring_asked_nothing();
    SF_TRY_DONE(sf_reply_or_404(reply, sf_request_id(request, 0, &id, err)));
    SF_TRY_DONE(sf_transaction_read(&t, request->server->store, err));
    SF_TRY_DONE(sf_reply_or_404(reply, sf_limb_case_open(&limb, t, request->server->stages, id, err)));
    const sf_StageFact *before = find_ring(limb, place, &count);
    if (place && !before) {
        reply->status = 404;
        SF_TRY_DONE(SF_FAIL(err, SF_E_MISSING, NULL, "this limb has no ring %.20s", place));
    }
    if (before)
        sf_ring_asked_read(&m->asked, before->body);
    if (request->doc)
        sf_ring_asked_read(&m->asked, sf_request_root(request));
    sf_ring_asked_complete(&m->asked, sf_doc_root(limb->document), sf_transaction_time(t));
    keep_asked(request, &m->asked);
    snprintf(m->number, sizeof m->number, "%zu", count + 1);
    m->version = limb->row.version;
    *document = limb->document; // taken over
    limb->document = NULL;
done:
    sf_limb_case_close(&limb);
    sf_transaction_end(&t);
    return status;
}

static sf_Status shelve_readings(sf_Request *request, Measured *m, sf_Error *err)
{
    const char *csv = m->asked.caliper_csv;
    if (!csv)
        return SF_OK;
    SF_TRY(sf_shelf_put(request->server->store, csv, strlen(csv), m->caliper, err));
    m->asked.caliper = m->caliper;
    m->asked.picture = NULL;
    return SF_OK;
}

static sf_Status measure(sf_Request *request, sf_Reply *reply, const char *place, sf_Error *err)
{
    sf_ComputeAnswer answer = { 0 };
    sf_Doc *document = NULL;
    sf_Status status;
    Measured *m = sf_arena_alloc(request->arena, 1, sizeof *m);
    if (!m)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    request->prepared = m;
    SF_TRY_DONE(gather(request, reply, place, m, &document, err));
    SF_TRY_DONE(sf_ring_asked_run(&answer, request->server, &m->asked, "ring", false, err));
    SF_TRY_DONE(shelve_readings(request, m, err));
    sf_json_set(answer.json, "asked", sf_ring_asked_json(&m->asked));
    SF_TRY_DONE(json_into_arena(request, &answer.json, &m->result, err));
    sf_Json *entry = sf_ring_asked_entry(&m->asked);
    if (entry) {
        sf_Json *whole = sf_ring_asked_document(sf_doc_root(document), m->asked.height_mm, entry);
        SF_TRY_DONE(json_into_arena(request, &whole, &m->document, err));
    }
done:
    sf_compute_answer_free(&answer);
    sf_doc_destroy(&document);
    return status;
}

static sf_Status measure_new(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    return measure(request, reply, NULL, err);
}

static sf_Status measure_again(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    return measure(request, reply, request->parameters[1], err);
}

static void copy(sf_Json *to, sf_DocNode from, const char *key)
{
    sf_DocNode node = sf_doc_member(from, key);
    if (sf_doc_there(node))
        sf_json_set(to, key, sf_json_from_node(node));
}

static bool is_word(sf_DocNode object, const char *key, const char *word)
{
    const char *text = NULL;
    return sf_doc_text(sf_doc_member(object, key), 100, &text) && strcmp(text, word) == 0;
}

// Whether nothing but a squeeze proof of the seam is missing: every reason to measure again is of the kind that it
// settles (section/ring_decision.c, judge_line and judge_unseen_line).
static bool squeeze_settles(sf_DocNode result)
{
    sf_DocNode reasons = sf_doc_member(result, "reasons");
    bool any = false;
    for (size_t i = 0; i < sf_doc_length(reasons); i++) {
        sf_DocNode reason = sf_doc_item(reasons, i);
        if (!is_word(reason, "decision", "measure-again"))
            continue;
        if (!is_word(reason, "code", "unjoined") && !is_word(reason, "code", "line-unseen"))
            return false;
        any = true;
    }
    return any && is_word(result, "decision", "measure-again");
}

// An acceptable ring on which no body weight may stand waits for its squeeze proof.
static bool proof_required(sf_DocNode result)
{
    bool weight = true;
    sf_doc_flag(sf_doc_member(result, "body_weight"), &weight);
    return !weight && (is_word(result, "decision", "accept") || is_word(result, "decision", "accept-with-limit"));
}

static sf_Status ring_body(const Measured *m, sf_DocNode result, char **text, sf_Error *err)
{
    sf_Json *json = sf_json_object();
    sf_json_set_text(json, "ring_number", m->asked.ring_number ? m->asked.ring_number : m->number);
    copy(json, result, "decision");
    copy(json, result, "evidence");
    sf_json_set_flag(json, "proof_required", proof_required(result));
    sf_json_set_flag(json, "squeeze_settles", squeeze_settles(result));
    sf_DocNode asked = sf_doc_member(result, "asked");
    copy(json, asked, "picture");
    copy(json, asked, "height_mm");
    copy(json, asked, "face");
    copy(json, asked, "posterior_deg");
    sf_json_set(json, "result", sf_json_from_node(result));
    sf_Status status = sf_json_text(json, DIGITS, text, err);
    sf_json_destroy(&json);
    return status;
}

// The document takes the ring over where it can; where it cannot, the fact stands all the same and the answer says why.
static sf_Status save_document(sf_Request *request, const Measured *m, int64_t limb, sf_CaseRecorded *recorded,
                               sf_Error *err)
{
    sf_Error why = { 0 };
    sf_LimbRow row;
    if (!m->document) {
        snprintf(recorded->why_not, sizeof recorded->why_not,
                 "the ring's height is not known, so that the document does not hold it yet: give height_mm");
        return SF_OK;
    }
    SF_TRY(sf_limb_record_get(request->transaction, limb, &row, err));
    if (row.version != m->version) {
        snprintf(recorded->why_not, sizeof recorded->why_not,
                 "somebody changed the document while the ring was measured: measure again to put it in");
        return SF_OK;
    }
    sf_Status status = sf_limb_case_save(request->transaction, request->server->stages, limb, m->version, m->document,
                                         strlen(m->document), &recorded->version, &why);
    recorded->extended = status == SF_OK;
    if (status == SF_OK)
        return SF_OK;
    if (status != SF_E_INPUT && status != SF_E_MISSING && status != SF_E_RANGE)
        return SF_FAIL(err, status, why.path, "%s", why.text);
    snprintf(recorded->why_not, sizeof recorded->why_not, "%.500s", why.text);
    return SF_OK;
}

static sf_Status record_ring(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    const Measured *m = request->prepared;
    sf_Doc *result = NULL, *body = NULL;
    char *text = NULL;
    int64_t limb, row;
    sf_CaseRecorded recorded;
    sf_Status status;
    SF_TRY_DONE(sf_reply_or_404(reply, sf_request_id(request, 0, &limb, err)));
    SF_TRY_DONE(sf_doc_parse(&result, "result", m->result, strlen(m->result), err));
    SF_TRY_DONE(ring_body(m, sf_doc_root(result), &text, err));
    SF_TRY_DONE(sf_doc_parse(&body, "ring", text, strlen(text), err));
    const sf_CaseFact fact = {
        .limb = limb, .kind = "ring", .body = sf_doc_root(body), .signs = request->visitor.signing
    };
    SF_TRY_DONE(sf_limb_case_record(request->transaction, request->server->stages, &fact, &recorded, err));
    if (m->asked.caliper) {
        const sf_Attachment table = { .limb = limb,
                                      .fact = recorded.fact,
                                      .file_hash = m->asked.caliper,
                                      .name = "caliper readings",
                                      .media_type = "text/csv" };
        SF_TRY_DONE(sf_attachment_add(request->transaction, &table, &row, err));
    }
    SF_TRY_DONE(save_document(request, m, limb, &recorded, err));
    sf_Json *more = sf_json_object();
    sf_LimbCase *again = NULL;
    size_t count = 0;
    status = sf_limb_case_open(&again, request->transaction, request->server->stages, limb, err);
    if (status == SF_OK)
        find_ring(again, NULL, &count);
    sf_limb_case_close(&again);
    sf_json_set_whole(more, "ring", (int64_t)count - 1);
    sf_json_set(more, "result", sf_json_from_node(sf_doc_root(result)));
    if (status == SF_OK)
        status = sf_limb_reply_recorded(request, reply, limb, &recorded, more, err);
    else
        sf_json_destroy(&more);
done:
    sf_free(text);
    sf_doc_destroy(&body);
    sf_doc_destroy(&result);
    return status;
}

// What can be shown of a ring that is there.
static sf_Status show(sf_Request *request, sf_Reply *reply, const char *name, bool draw, sf_ComputeAnswer *answer,
                      sf_Error *err)
{
    Measured m = { .version = 0 };
    sf_Doc *document = NULL;
    SF_TRY(gather(request, reply, request->parameters[1], &m, &document, err));
    sf_doc_destroy(&document);
    return sf_ring_asked_run(answer, request->server, &m.asked, name, draw, err);
}

static sf_Status send_sheet(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    sf_ComputeAnswer answer;
    SF_TRY(show(request, reply, "ring", true, &answer, err));
    reply->bytes = (char *)answer.drawing;
    reply->size = answer.drawing_size;
    reply->type = "image/svg+xml";
    reply->status = 200;
    answer.drawing = NULL;
    sf_compute_answer_free(&answer);
    return SF_OK;
}

static sf_Status send_outline(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    sf_ComputeAnswer answer;
    SF_TRY(show(request, reply, "outline", false, &answer, err));
    return sf_reply_json(reply, 200, &answer.json, err);
}

#define FACES "limb-side|foot-side"
#define MARKS                                                                                                          \
    { "face", SF_ROUTE_WORD, false, 0, 0, FACES }, { "posterior_deg", SF_ROUTE_NUMBER, false, -360, 720, NULL },       \
        { "height_mm", SF_ROUTE_NUMBER, false, 10, 700, NULL }, { "dpi", SF_ROUTE_NUMBER, false, 1, 20000, NULL },     \
        { "seam_deg", SF_ROUTE_NUMBER, false, -360, 720, NULL },                                                       \
        { "nominal_wall_mm", SF_ROUTE_NUMBER, false, 1, 20, NULL },                                                    \
    {                                                                                                                  \
        "user", SF_ROUTE_WORD, false, 0, 0, "adult|child"                                                              \
    }

static const sf_RouteField ring_fields[] = { { "picture", SF_ROUTE_TEXT, false, 64, 64, NULL },
                                             { "caliper_csv", SF_ROUTE_TEXT, false, 1, 1e6, NULL },
                                             { "ring_number", SF_ROUTE_TEXT, false, 1, NUMBER_TEXT - 1, NULL },
                                             MARKS,
                                             { 0 } };
static const sf_RouteField mark_fields[] = { MARKS, { 0 } };

const sf_Route sf_ring_routes[] = {
    { "POST", "/api/limbs/{id}/pictures", SF_MAY_RECORD, SF_STORE_WRITE, SF_BODY_BYTES, NULL, shelve, add_picture,
      "put a picture to a limb: PNG, JPEG or TIFF; `?name=` is what the person calls it" },
    { "GET", "/api/pictures/{hash}", SF_MAY_STAFF, SF_STORE_READ, SF_BODY_NONE, NULL, NULL, send_picture,
      "the picture as it was sent" },
    { "GET", "/api/pictures/{hash}/view.png", SF_MAY_STAFF, SF_STORE_READ, SF_BODY_NONE, NULL, NULL, send_view,
      "a grey copy that browsers show" },
    { "POST", "/api/limbs/{id}/rings", SF_MAY_RECORD, SF_STORE_WRITE, SF_BODY_JSON, ring_fields, measure_new,
      record_ring, "measure a ring and write it down" },
    { "PUT", "/api/limbs/{id}/rings/{n}", SF_MAY_RECORD, SF_STORE_WRITE, SF_BODY_JSON, mark_fields, measure_again,
      record_ring, "the same ring with what was said later, such as its pen marks" },
    { "GET", "/api/limbs/{id}/rings/{n}/sheet.svg", SF_MAY_STAFF, SF_STORE_NONE, SF_BODY_NONE, NULL, NULL, send_sheet,
      "the finding as a drawing" },
    { "GET", "/api/limbs/{id}/rings/{n}/outline", SF_MAY_STAFF, SF_STORE_NONE, SF_BODY_NONE, NULL, NULL, send_outline,
      "the measured edges, to lie over the picture" },
    { 0 },
};
