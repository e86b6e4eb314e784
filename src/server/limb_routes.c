// SPDX-License-Identifier: GPL-3.0-or-later
// Shop, limbs, facts, incidents.
#include "base/alloc.h"
#include "record/limb_record.h"
#include "server/compute_source.h"
#include "server/limb_json.h"
#include "server/route.h"
#include "server/server_inside.h"
#include "study/limb_case.h"
#include "study/said_seen.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

enum { PAGE = 50, PAGE_MOST = 200, DOCUMENT_DIGITS = 15, SAID_LIMBS = 100 };

// ---- lists -----------------------------------------------------------------------------------------------------

static sf_Status shop(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    sf_Json *json = NULL;
    SF_TRY(sf_limb_case_shop(request->transaction, sf_request_query(request, "as_of"), &json, err));
    return sf_reply_json(reply, 200, &json, err);
}

static sf_Status stages(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    sf_Json *json = sf_stage_table_json(request->server->stages);
    return sf_reply_json(reply, 200, &json, err);
}

static sf_Status list_limbs(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    int64_t count, wearer;
    sf_LimbRow *rows;
    size_t found;
    const char *next, *order = sf_request_query(request, "order"), *search = sf_request_query(request, "search");
    const char *after = sf_request_query(request, "after");
    SF_TRY(sf_request_query_whole(request, "count", 1, PAGE_MOST, PAGE, &count, err));
    SF_TRY(sf_request_query_whole(request, "wearer", 1, INT64_MAX, 0, &wearer, err));
    sf_LimbAsk ask = { .search = search && *search ? search : NULL,
                       .stage = sf_request_query(request, "stage"),
                       .flag = sf_request_query(request, "flag"),
                       .due_until = sf_request_query(request, "due_until"),
                       .wearer = wearer,
                       .after = after && *after ? after : NULL,
                       .count = (size_t)count };
    SF_TRY(sf_limb_order_read(order, &ask.order, err));
    SF_TRY(sf_limb_record_list(request->transaction, &ask, &rows, &found, &next, err));
    sf_Json *json = sf_json_object();
    sf_json_set(json, "limbs", sf_limb_rows_json(rows, found));
    sf_json_set_text(json, "after", next);
    return sf_reply_json(reply, 200, &json, err);
}

// ---- one limb --------------------------------------------------------------------------------------------------

static sf_Status reply_limb(sf_Request *request, sf_Reply *reply, int http, int64_t id, sf_Error *err)
{
    sf_LimbCase *limb = NULL;
    SF_TRY(sf_reply_or_404(reply, sf_limb_case_open(&limb, request->transaction, request->server->stages, id, err)));
    const char *tag = sf_arena_format(request->arena, "\"%lld\"", (long long)limb->row.version);
    sf_Json *json = sf_limb_case_json(limb);
    sf_limb_case_close(&limb);
    if (tag)
        sf_reply_header(reply, "ETag", tag);
    return sf_reply_json(reply, http, &json, err);
}

static sf_Status show_limb(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    int64_t id;
    SF_TRY(sf_reply_or_404(reply, sf_request_id(request, 0, &id, err)));
    return reply_limb(request, reply, 200, id, err);
}

// Looks at the document before the store is held; leaves its text.
static sf_Status prepare_document(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    (void)reply;
    sf_DocNode document = sf_doc_member(sf_request_root(request), "document");
    sf_ComputeSource source = sf_compute_source(request->server->store);
    sf_Json *json = sf_json_from_node(document);
    char *text = NULL;
    sf_Status status;
    SF_TRY_DONE(sf_computation_limb_check(document, &source, err));
    SF_TRY_DONE(sf_json_text(json, DOCUMENT_DIGITS, &text, err));
    request->prepared = sf_arena_text(request->arena, text);
    if (!request->prepared)
        status = SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
done:
    sf_free(text);
    sf_json_destroy(&json);
    return status;
}

static sf_Status add_limb(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    const char *document = request->prepared;
    int64_t id, wearer = 0;
    sf_doc_whole(sf_doc_member(sf_request_root(request), "wearer"), 1, INT64_MAX, &wearer);
    SF_TRY(
        sf_limb_case_add(request->transaction, request->server->stages, wearer, document, strlen(document), &id, err));
    return reply_limb(request, reply, 201, id, err);
}

// If-Match: 4, "4" or W/"4".
static sf_Status read_version(const sf_Request *request, sf_Reply *reply, int64_t *version, sf_Error *err)
{
    const char *match = sf_request_header(request, "If-Match");
    char *end = NULL;
    if (!match) {
        reply->status = 428;
        return SF_FAIL(err, SF_E_USAGE, "If-Match", "say which version was edited, so that no other change is lost");
    }
    match += strncmp(match, "W/", 2) == 0 ? 2 : 0;
    bool quoted = *match == '"';
    match += quoted;
    *version = strtoll(match, &end, 10);
    if (end == match || *version < 1 || strcmp(end, quoted ? "\"" : "") != 0)
        return SF_FAIL(err, SF_E_INPUT, "If-Match", "If-Match must be the version's number");
    return SF_OK;
}

// The second editor gets what is there now, to merge with.
static sf_Status conflict(sf_Request *request, sf_Reply *reply, int64_t id, int64_t current, sf_Error *err)
{
    const char *text;
    sf_Doc *doc = NULL;
    SF_TRY(sf_limb_record_document(request->transaction, id, 0, &text, err));
    SF_TRY(sf_doc_parse(&doc, "document", text, strlen(text), err));
    reply->current = sf_json_object();
    sf_json_set_whole(reply->current, "version", current);
    sf_json_set(reply->current, "document", sf_json_from_node(sf_doc_root(doc)));
    sf_doc_destroy(&doc);
    reply->status = 409;
    return SF_FAIL(err, SF_E_CONFLICT, "If-Match",
                   "somebody else has changed this limb in the meantime: it is at version %lld now",
                   (long long)current);
}

static sf_Status save_limb(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    const char *document = request->prepared;
    int64_t id, expected = 0, version = 0;
    SF_TRY(sf_reply_or_404(reply, sf_request_id(request, 0, &id, err)));
    SF_TRY(read_version(request, reply, &expected, err));
    sf_LimbRow row;
    SF_TRY(sf_reply_or_404(reply, sf_limb_record_get(request->transaction, id, &row, err)));
    sf_Status status = sf_limb_case_save(request->transaction, request->server->stages, id, expected, document,
                                         strlen(document), &version, err);
    if (status == SF_E_CONFLICT)
        return conflict(request, reply, id, version, err);
    SF_TRY(status);
    return reply_limb(request, reply, 200, id, err);
}

// ---- facts -----------------------------------------------------------------------------------------------------

sf_Status sf_limb_reply_recorded(sf_Request *request, sf_Reply *reply, int64_t id, const sf_CaseRecorded *recorded,
                                 sf_Json *more, sf_Error *err)
{
    sf_LimbCase *limb = NULL;
    sf_Json *json = more ? more : sf_json_object();
    sf_Status status = sf_limb_case_open(&limb, request->transaction, request->server->stages, id, err);
    if (status != SF_OK) {
        sf_json_destroy(&json);
        return status;
    }
    sf_json_set(json, "fact", sf_limb_case_fact_json(limb, recorded->fact));
    sf_json_set_whole(json, "version", limb->row.version);
    sf_json_set_flag(json, "out_of_order", recorded->out_of_order);
    sf_json_set_flag(json, "extended", recorded->extended);
    sf_json_set_text(json, "why_not", *recorded->why_not ? recorded->why_not : NULL);
    sf_json_set(json, "state", sf_limb_state_json(limb->state));
    sf_limb_case_close(&limb);
    return sf_reply_json(reply, 201, &json, err);
}

// What takes a limb out of use is anybody's to write down, as notes are; the rest takes who makes limbs, some of it a
// prosthetist.
static sf_Status check_role(sf_Request *request, sf_Reply *reply, const char *kind, sf_Error *err)
{
    const sf_StageTable *table = request->server->stages;
    sf_PersonRole role = request->visitor.person.role;
    size_t index = kind ? sf_stage_kind_find(table, kind) : SIZE_MAX;
    if (index == SIZE_MAX || role == SF_ROLE_PROSTHETIST || table->kinds[index].record == SF_SIGNER_NOBODY ||
        (role == SF_ROLE_TECHNICIAN && table->kinds[index].record == SF_SIGNER_MAKER))
        return SF_OK;
    reply->status = 403;
    return SF_FAIL(err, SF_E_USAGE, "kind", "'%s' is written down by %s", table->kinds[index].title,
                   sf_stage_signer_words(table->kinds[index].record));
}

static sf_Status record(sf_Request *request, sf_Reply *reply, int64_t limb, const char *kind, sf_Error *err)
{
    sf_DocNode root = sf_request_root(request);
    sf_CaseFact fact = {
        .limb = limb, .kind = kind, .body = sf_doc_member(root, "body"), .signs = request->visitor.signing
    };
    sf_CaseRecorded recorded;
    sf_LimbRow row;
    SF_TRY(check_role(request, reply, kind, err));
    SF_TRY(sf_reply_or_404(reply, sf_limb_record_get(request->transaction, limb, &row, err)));
    sf_doc_text(sf_doc_member(root, "happened_at"), SF_TIME_TEXT, &fact.happened_at);
    SF_TRY(sf_limb_case_record(request->transaction, request->server->stages, &fact, &recorded, err));
    return sf_limb_reply_recorded(request, reply, limb, &recorded, NULL, err);
}

static sf_Status record_fact(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    int64_t id;
    const char *kind = NULL;
    SF_TRY(sf_reply_or_404(reply, sf_request_id(request, 0, &id, err)));
    sf_doc_text(sf_doc_member(sf_request_root(request), "kind"), SF_FACT_KIND_MOST, &kind);
    return record(request, reply, id, kind, err);
}

// ---- incidents and recall ---------------------------------------------------------------------------------------

static sf_Status record_incident(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    int64_t id = 0;
    sf_doc_whole(sf_doc_member(sf_request_root(request), "limb"), 1, INT64_MAX, &id);
    return record(request, reply, id, "incident", err);
}

static sf_Status list_incidents(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    sf_Json *json = NULL;
    SF_TRY(sf_limb_case_incidents(request->transaction, &json, err));
    return sf_reply_json(reply, 200, &json, err);
}

static sf_Status recall(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    sf_Json *json = NULL;
    SF_TRY(sf_limb_case_recall(request->transaction, sf_request_query(request, "lot"), &json, err));
    return sf_reply_json(reply, 200, &json, err);
}

// ---- said and seen ---------------------------------------------------------------------------------------------

static sf_Status said_of_limb(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    int64_t id;
    sf_Json *json = NULL;
    SF_TRY(sf_reply_or_404(reply, sf_request_id(request, 0, &id, err)));
    SF_TRY(sf_reply_or_404(reply, sf_said_seen_limb(request->transaction, request->server->stages, id, &json, err)));
    return sf_reply_json(reply, 200, &json, err);
}

static sf_Status said_of_shop(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    int64_t count;
    sf_Json *json = NULL;
    SF_TRY(sf_request_query_whole(request, "count", 1, PAGE_MOST, SAID_LIMBS, &count, err));
    SF_TRY(sf_said_seen_shop(request->transaction, request->server->stages, (size_t)count, &json, err));
    return sf_reply_json(reply, 200, &json, err);
}

static sf_Status said_drawing(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    int64_t count;
    unsigned char *svg = NULL;
    SF_TRY(sf_request_query_whole(request, "count", 1, PAGE_MOST, SAID_LIMBS, &count, err));
    SF_TRY(sf_said_seen_picture(&svg, &reply->size, request->transaction, request->server->stages, (size_t)count,
                                SF_SHEET_SVG, err));
    reply->bytes = (char *)svg;
    reply->type = "image/svg+xml";
    reply->status = 200;
    return SF_OK;
}

// ---- the table -------------------------------------------------------------------------------------------------

static const sf_RouteField add_fields[] = { { "document", SF_ROUTE_OBJECT, true, 0, 0, NULL },
                                            { "wearer", SF_ROUTE_WHOLE, false, 1, 9e15, NULL },
                                            { 0 } };
static const sf_RouteField save_fields[] = { { "document", SF_ROUTE_OBJECT, true, 0, 0, NULL }, { 0 } };
static const sf_RouteField fact_fields[] = { { "kind", SF_ROUTE_TEXT, true, 1, SF_FACT_KIND_MOST, NULL },
                                             { "happened_at", SF_ROUTE_TEXT, false, 10, SF_TIME_TEXT, NULL },
                                             { "body", SF_ROUTE_OBJECT, true, 0, 0, NULL },
                                             { 0 } };
static const sf_RouteField incident_fields[] = { { "limb", SF_ROUTE_WHOLE, true, 1, 9e15, NULL },
                                                 { "happened_at", SF_ROUTE_TEXT, false, 10, SF_TIME_TEXT, NULL },
                                                 { "body", SF_ROUTE_OBJECT, true, 0, 0, NULL },
                                                 { 0 } };

const sf_Route sf_limb_routes[] = {
    { "GET", "/api/stages", SF_MAY_STAFF, SF_STORE_NONE, SF_BODY_NONE, NULL, NULL, stages,
      "the stages and the kinds of facts, as data" },
    { "GET", "/api/shop", SF_MAY_STAFF, SF_STORE_READ, SF_BODY_NONE, NULL, NULL, shop, "what is due: `?as_of=`" },
    { "GET", "/api/limbs", SF_MAY_STAFF, SF_STORE_READ, SF_BODY_NONE, NULL, NULL, list_limbs,
      "the list: `?search= order= stage= flag= due_until= wearer= after= count=`" },
    { "POST", "/api/limbs", SF_MAY_RECORD, SF_STORE_WRITE, SF_BODY_JSON, add_fields, prepare_document, add_limb,
      "a new limb" },
    { "GET", "/api/limbs/{id}", SF_MAY_STAFF, SF_STORE_READ, SF_BODY_NONE, NULL, NULL, show_limb,
      "document, facts, rings, state" },
    { "PUT", "/api/limbs/{id}", SF_MAY_RECORD, SF_STORE_WRITE, SF_BODY_JSON, save_fields, prepare_document, save_limb,
      "save the document; needs If-Match" },
    { "POST", "/api/limbs/{id}/facts", SF_MAY_STAFF, SF_STORE_WRITE, SF_BODY_JSON, fact_fields, NULL, record_fact,
      "write down what happened; its kind says who may" },
    { "GET", "/api/limbs/{id}/said", SF_MAY_STAFF, SF_STORE_READ, SF_BODY_NONE, NULL, NULL, said_of_limb,
      "each prediction about the limb beside what then happened" },
    { "GET", "/api/said", SF_MAY_STAFF, SF_STORE_READ, SF_BODY_NONE, NULL, NULL, said_of_shop,
      "the same of the limbs changed last, with counts: `?count=`" },
    { "GET", "/api/said/walls.svg", SF_MAY_STAFF, SF_STORE_READ, SF_BODY_NONE, NULL, NULL, said_drawing,
      "their walls, seen against said, as a drawing" },
    { "POST", "/api/incidents", SF_MAY_STAFF, SF_STORE_WRITE, SF_BODY_JSON, incident_fields, NULL, record_incident,
      "write down an incident" },
    { "GET", "/api/incidents", SF_MAY_STAFF, SF_STORE_READ, SF_BODY_NONE, NULL, NULL, list_incidents, "all incidents" },
    { "GET", "/api/recall", SF_MAY_STAFF, SF_STORE_READ, SF_BODY_NONE, NULL, NULL, recall,
      "all limbs of a sheet lot: `?lot=`" },
    { 0 },
};
