// SPDX-License-Identifier: GPL-3.0-or-later
// Pictures and rings.
#include "base/alloc.h"
#include "record/attachment.h"
#include "record/limb_record.h"
#include "server/limb_json.h"
#include "server/ring_ask.h"
#include "server/route.h"
#include "server/server_inside.h"
#include "study/limb_case_ring.h"
#include "study/limb_case_squeeze.h"
#include "study/picture_view.h"
#include "study/ring_board_study.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { BOARD = 24, NUMBER_TEXT = 60, DOCUMENT_DIGITS = 15 };

static const char READINGS[] = "text/csv";

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

// The place of a ring of this limb: its fact, by the order in which rings were written down. `count` is that of all.
static const sf_StageFact *find_ring(const sf_LimbCase *limb, const char *place, size_t *count)
{
    const sf_StageFact *found = NULL;
    long wanted = place && *place >= '0' && *place <= '9' ? strtol(place, NULL, 10) : -1, n = 0;
    for (size_t i = 0; i < limb->count; i++)
        if (strcmp(limb->facts[i].kind, "ring") == 0) {
            if (n == wanted)
                found = &limb->facts[i];
            n++;
        }
    *count = (size_t)n;
    return found;
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
    asked->limb = keep_text(request, asked->limb);
    asked->squeeze = keep_text(request, asked->squeeze);
}

// The table of readings that went with a ring's fact.
static sf_Status find_readings(sf_Transaction *t, int64_t limb, int64_t fact, const char **hash, sf_Error *err)
{
    sf_Attachment *rows;
    size_t count;
    SF_TRY(sf_attachment_list(t, limb, &rows, &count, err));
    for (size_t i = 0; i < count; i++)
        if (rows[i].fact == fact && strcmp(rows[i].media_type, READINGS) == 0)
            *hash = rows[i].file_hash;
    return SF_OK;
}

// What is known of ring `place` (NULL: of a new one), what the request says, what the document knows.
static sf_Status gather(sf_Request *request, sf_Reply *reply, const char *place, sf_RingAsked *asked, bool complete,
                        int64_t *id, sf_Error *err)
{
    size_t count;
    sf_LimbCase *limb = NULL;
    sf_Transaction *t = NULL;
    char *pressed = NULL;
    sf_Status status;
    *asked = sf_ring_asked_nothing();
    SF_TRY_DONE(sf_reply_or_404(reply, sf_request_id(request, 0, id, err)));
    SF_TRY_DONE(sf_transaction_read(&t, request->server->store, err));
    SF_TRY_DONE(sf_reply_or_404(reply, sf_limb_case_open(&limb, t, request->server->stages, *id, err)));
    const sf_StageFact *before = find_ring(limb, place, &count);
    if (place && !before) {
        reply->status = 404;
        SF_TRY_DONE(SF_FAIL(err, SF_E_MISSING, NULL, "this limb has no ring %.20s", place));
    }
    if (before) {
        sf_ring_asked_read(asked, before->body);
        SF_TRY_DONE(find_readings(t, *id, before->id, &asked->caliper, err));
    }
    if (request->doc)
        sf_ring_asked_read(asked, sf_request_root(request));
    if (complete) {
        sf_ring_asked_complete(asked, sf_doc_root(limb->document), sf_transaction_time(t));
        asked->limb = limb->text;
        SF_TRY_DONE(sf_limb_case_pressed(limb, asked->ring_number, &pressed, err));
        asked->squeeze = pressed;
    }
    keep_asked(request, asked);
done:
    sf_free(pressed);
    sf_limb_case_close(&limb);
    sf_transaction_end(&t);
    return status;
}

// A ring on its way into the record: measured before the store is held.
typedef struct Measured {
    sf_CaseRing *ring;
    char readings[SF_DIGEST_HEX]; ///< where the table of readings lies; "" for a picture
} Measured;

static void drop_measured(void *prepared)
{
    sf_limb_case_ring_free(&((Measured *)prepared)->ring);
}

// With `squeeze`, the JSON text of how this ring was pressed just now.
static sf_Status measure(sf_Request *request, sf_Reply *reply, const char *place, const char *squeeze, sf_Error *err)
{
    sf_RingAsked asked;
    sf_CaseRingAsk ask = SF_CASE_RING_ASK;
    unsigned char *table = NULL;
    size_t size = 0;
    sf_Status status;
    Measured *m = sf_arena_alloc(request->arena, 1, sizeof *m);
    if (!m)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    request->prepared = m;
    request->drop = drop_measured;
    SF_TRY_DONE(gather(request, reply, place, &asked, false, &ask.limb, err));
    if (!asked.caliper_csv && asked.caliper)
        SF_TRY_DONE(sf_shelf_get(request->server->store, asked.caliper, &table, &size, err));
    ask.caliper_csv = asked.caliper_csv ? asked.caliper_csv : (const char *)table;
    ask.picture = ask.caliper_csv ? NULL : asked.picture;
    ask.ring_number = asked.ring_number;
    ask.face = asked.face;
    ask.user = asked.user;
    ask.dpi = asked.dpi;
    ask.posterior_deg = asked.posterior_deg;
    ask.height_mm = asked.height_mm;
    ask.nominal_wall_mm = asked.nominal_wall_mm;
    ask.seam_deg = asked.seam_deg;
    ask.squeeze = squeeze;
    SF_TRY_DONE(sf_gate_enter(request->server, err));
    status = sf_limb_case_ring_measure(&m->ring, request->server->store, request->server->stages, &ask, err);
    sf_gate_leave(request->server);
    if (status == SF_OK && ask.caliper_csv)
        status = sf_shelf_put(request->server->store, ask.caliper_csv, strlen(ask.caliper_csv), m->readings, err);
done:
    sf_free(table);
    return status;
}

static sf_Status measure_new(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    return measure(request, reply, NULL, NULL, err);
}

static sf_Status measure_again(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    return measure(request, reply, request->parameters[1], NULL, err);
}

static sf_Status measure_squeezed(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    sf_Json *json = sf_json_from_node(sf_doc_member(sf_request_root(request), "squeeze"));
    char *text = NULL;
    sf_Status status = sf_json_text(json, DOCUMENT_DIGITS, &text, err);
    sf_json_destroy(&json);
    if (status == SF_OK)
        status = measure(request, reply, request->parameters[1], text, err);
    sf_free(text);
    return status;
}

static sf_Status record_ring(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    const Measured *m = request->prepared;
    int64_t limb, row;
    sf_CaseRecorded recorded;
    sf_LimbCase *again = NULL;
    size_t count = 0;
    SF_TRY(sf_reply_or_404(reply, sf_request_id(request, 0, &limb, err)));
    SF_TRY(sf_limb_case_ring_record(request->transaction, request->server->stages, m->ring, request->visitor.signing,
                                    &recorded, err));
    if (*m->readings) {
        const sf_Attachment table = { .limb = limb,
                                      .fact = recorded.fact,
                                      .file_hash = m->readings,
                                      .name = "caliper readings",
                                      .media_type = READINGS };
        SF_TRY(sf_attachment_add(request->transaction, &table, &row, err));
    }
    SF_TRY(sf_limb_case_open(&again, request->transaction, request->server->stages, limb, err));
    find_ring(again, NULL, &count);
    sf_limb_case_close(&again);
    sf_Json *more = sf_json_object();
    sf_json_set_whole(more, "ring", (int64_t)count - 1);
    sf_json_set(more, "result", sf_limb_case_ring_json(m->ring));
    sf_Json *squeeze = sf_limb_case_ring_squeeze_json(m->ring);
    if (squeeze)
        sf_json_set(more, "squeeze", squeeze);
    return sf_limb_reply_recorded(request, reply, limb, &recorded, more, err);
}

// What can be shown of a ring that is there.
static sf_Status show(sf_Request *request, sf_Reply *reply, const char *name, bool draw, sf_ComputeAnswer *answer,
                      sf_Error *err)
{
    sf_RingAsked asked;
    int64_t id;
    SF_TRY(gather(request, reply, request->parameters[1], &asked, true, &id, err));
    return sf_ring_asked_run(answer, request->server, &asked, name, draw, err);
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

// ---- the ring board --------------------------------------------------------------------------------------------

static sf_Status board_ask(sf_Request *request, sf_Reply *reply, sf_BoardAsk *ask, sf_Error *err)
{
    int64_t count;
    SF_TRY(sf_request_query_whole(request, "count", 1, SF_BOARD_RINGS, BOARD, &count, err));
    *ask = (sf_BoardAsk){ .most = (size_t)count };
    return request->parameters[0] ? sf_reply_or_404(reply, sf_request_id(request, 0, &ask->limb, err)) : SF_OK;
}

static sf_Status list_board(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    sf_BoardAsk ask;
    sf_Json *json = NULL;
    SF_TRY(board_ask(request, reply, &ask, err));
    SF_TRY(sf_reply_or_404(reply, sf_ring_board_json(request->transaction, request->server->stages, &ask, &json, err)));
    return sf_reply_json(reply, 200, &json, err);
}

static sf_Status draw_board(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    sf_BoardAsk ask;
    unsigned char *svg = NULL;
    SF_TRY(board_ask(request, reply, &ask, err));
    SF_TRY(sf_reply_or_404(reply, sf_ring_board_picture(&svg, &reply->size, request->transaction,
                                                        request->server->stages, &ask, SF_SHEET_SVG, err)));
    reply->bytes = (char *)svg;
    reply->type = "image/svg+xml";
    reply->status = 200;
    return SF_OK;
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
static const sf_RouteField squeeze_fields[] = { { "squeeze", SF_ROUTE_OBJECT, true, 0, 0, NULL }, { 0 } };

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
    { "POST", "/api/limbs/{id}/rings/{n}/squeeze", SF_MAY_RECORD, SF_STORE_WRITE, SF_BODY_JSON, squeeze_fields,
      measure_squeezed, record_ring,
      "how this ring was pressed: the proof of its seam, and the ring judged again with it" },
    { "GET", "/api/limbs/{id}/rings/{n}/sheet.svg", SF_MAY_STAFF, SF_STORE_NONE, SF_BODY_NONE, NULL, NULL, send_sheet,
      "the finding as a drawing" },
    { "GET", "/api/limbs/{id}/rings/{n}/outline", SF_MAY_STAFF, SF_STORE_NONE, SF_BODY_NONE, NULL, NULL, send_outline,
      "the measured edges, to lie over the picture" },
    { "GET", "/api/limbs/{id}/ring-board.svg", SF_MAY_STAFF, SF_STORE_READ, SF_BODY_NONE, NULL, NULL, draw_board,
      "the limb's rings beside one another at one scale, as a drawing" },
    { "GET", "/api/rings", SF_MAY_STAFF, SF_STORE_READ, SF_BODY_NONE, NULL, NULL, list_board,
      "the rings measured last in the shop: `?count=`" },
    { "GET", "/api/rings/board.svg", SF_MAY_STAFF, SF_STORE_READ, SF_BODY_NONE, NULL, NULL, draw_board,
      "the same beside one another at one scale, as a drawing: `?count=`" },
    { 0 },
};
