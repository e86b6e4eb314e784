// SPDX-License-Identifier: GPL-3.0-or-later
// The record as a whole: what was done and by whom.
#include "record/audit.h"
#include "record/bundle.h"
#include "record/limb_record.h"
#include "record/removal.h"
#include "record/verify.h"
#include "server/route.h"
#include "server/server_inside.h"
#include "study/limb_case.h"
#include "study/limb_removal.h"

#include <stdio.h>

enum { PAGE = 50, PAGE_MOST = 200 };

static sf_Status list_audit(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    int64_t before, count, limb;
    sf_AuditEntry *entries;
    size_t found;
    SF_TRY(sf_request_query_whole(request, "after", 0, INT64_MAX, 0, &before, err));
    SF_TRY(sf_request_query_whole(request, "count", 1, PAGE_MOST, PAGE, &count, err));
    SF_TRY(sf_request_query_whole(request, "limb", 0, INT64_MAX, 0, &limb, err));
    SF_TRY(sf_audit_list(request->transaction, limb, before, (size_t)count, &entries, &found, err));
    sf_Json *list = sf_json_array(), *json = sf_json_object();
    for (size_t i = 0; i < found; i++) {
        sf_Json *one = sf_json_object();
        sf_json_set_whole(one, "seq", entries[i].seq);
        sf_json_set_text(one, "at", entries[i].at);
        sf_json_set_whole(one, "who", entries[i].who);
        sf_json_set_text(one, "action", entries[i].action);
        sf_json_set_text(one, "subject", entries[i].subject);
        if (entries[i].limb)
            sf_json_set_whole(one, "limb", entries[i].limb);
        else
            sf_json_set_null(one, "limb");
        sf_json_set_text(one, "hash", entries[i].entry_hash);
        sf_json_add(list, one);
    }
    sf_json_set(json, "entries", list);
    if (found == (size_t)count)
        sf_json_set_whole(json, "after", entries[found - 1].seq);
    else
        sf_json_set_null(json, "after");
    return sf_reply_json(reply, 200, &json, err);
}

static sf_Json *report_json(const sf_VerifyReport *report)
{
    sf_Json *json = sf_json_object(), *problems = sf_json_array();
    char head[100];
    sf_json_set_flag(json, "holds", report->problem_count == 0);
    sf_json_set_whole(json, "entries", report->entries);
    sf_json_set_whole(json, "rows", report->rows);
    sf_json_set_whole(json, "files", report->files);
    sf_json_set_whole(json, "file_bytes", report->file_bytes);
    sf_json_set_whole(json, "unnamed_files", report->unnamed_files);
    snprintf(head, sizeof head, "%lld:%s", (long long)report->head_seq, report->head_hash);
    sf_json_set_text(json, "head", head);
    sf_json_set_whole(json, "problem_count", (int64_t)report->problem_count);
    for (size_t i = 0; i < report->kept; i++) {
        sf_Json *one = sf_json_object();
        sf_json_set_whole(one, "seq", report->problems[i].seq);
        sf_json_set_text(one, "text", report->problems[i].text);
        sf_json_add(problems, one);
    }
    sf_json_set(json, "problems", problems);
    return json;
}

static sf_Status verify(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    const char *expect = sf_request_query(request, "expect");
    const sf_VerifyAsk ask = { .expect = expect && *expect ? expect : NULL };
    sf_VerifyReport *report = sf_arena_alloc(request->arena, 1, sizeof *report);
    if (!report)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    SF_TRY(sf_gate_enter(request->server, err));
    sf_Status status = sf_store_verify(request->server->store, &ask, report, err);
    sf_gate_leave(request->server);
    SF_TRY(status);
    sf_Json *json = report_json(report);
    return sf_reply_json(reply, 200, &json, err);
}

// ---- out of the store and in again -----------------------------------------------------------------------------

static sf_Status send_bundle(sf_Request *request, sf_Reply *reply, int64_t wearer, int64_t limb, sf_Error *err)
{
    unsigned char *bytes;
    const char *subject =
        sf_arena_format(request->arena, "%s/%lld", limb ? "limb" : "wearer", (long long)(limb ? limb : wearer));
    const char *name = sf_arena_format(request->arena, "attachment; filename=\"standfast-%s-%lld.tar\"",
                                       limb ? "limb" : "wearer", (long long)(limb ? limb : wearer));
    if (!subject || !name)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    SF_TRY(sf_reply_or_404(reply, sf_bundle_export(request->transaction, wearer, limb, &bytes, &reply->size, err)));
    reply->bytes = (char *)bytes;
    reply->type = "application/x-tar";
    reply->status = 200;
    sf_reply_header(reply, "Content-Disposition", name);
    return sf_audit_note(request->transaction, "export", subject, limb, err);
}

static sf_Status export_limb(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    int64_t id;
    sf_LimbRow row;
    SF_TRY(sf_reply_or_404(reply, sf_request_id(request, 0, &id, err)));
    SF_TRY(sf_reply_or_404(reply, sf_limb_record_get(request->transaction, id, &row, err)));
    return send_bundle(request, reply, row.wearer, id, err);
}

static sf_Status export_wearer(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    int64_t id;
    SF_TRY(sf_reply_or_404(reply, sf_request_id(request, 0, &id, err)));
    return send_bundle(request, reply, id, 0, err);
}

static sf_Status import(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    int64_t wearer;
    sf_BundleReport report;
    SF_TRY(sf_request_query_whole(request, "wearer", 1, INT64_MAX, 0, &wearer, err));
    sf_Status status = sf_bundle_import(request->transaction, request->body, request->body_size, wearer, &report, err);
    if (status == SF_E_PARSE)
        reply->status = 422;
    SF_TRY(status);
    sf_Json *json = sf_json_object(), *list = sf_json_array();
    for (size_t i = 0; i < report.limb_count && status == SF_OK; i++) {
        sf_json_add_number(list, (double)report.limb_ids[i]);
        status = sf_limb_case_refresh(request->transaction, request->server->stages, report.limb_ids[i], err);
    }
    sf_json_set(json, "limbs", list);
    sf_json_set_whole(json, "wearer", report.wearer);
    sf_json_set_whole(json, "facts", report.facts);
    sf_json_set_text(json, "from_store", report.store);
    if (status == SF_OK)
        return sf_reply_json(reply, 201, &json, err);
    sf_json_destroy(&json);
    return status;
}

// The store sweeps what rewritten rows leave behind once the removal is kept, so that this opens its own transaction.
static sf_Status remove_wearer(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    sf_Server *server = request->server;
    sf_Transaction *t = NULL;
    int64_t id;
    size_t files = 0;
    sf_Status status;
    SF_TRY(sf_reply_or_404(reply, sf_request_id(request, 0, &id, err)));
    SF_TRY_DONE(sf_transaction_write(&t, server->store, request->visitor.person.id, err));
    SF_TRY_DONE(sf_reply_or_404(reply, sf_limb_removal(t, server->stages, id, err)));
    SF_TRY_DONE(sf_transaction_commit(t, err));
    sf_transaction_end(&t);
    SF_TRY_DONE(sf_store_scrub(server->store, &files, err));
    sf_Json *json = sf_json_object();
    sf_json_set_whole(json, "wearer", id);
    sf_json_set_whole(json, "pictures_removed", (int64_t)files);
    return sf_reply_json(reply, 200, &json, err);
done:
    sf_transaction_end(&t);
    return status;
}

static const sf_RouteField remove_fields[] = { { "confirm", SF_ROUTE_WORD, true, 0, 0, "remove" }, { 0 } };

const sf_Route sf_record_routes[] = {
    { "GET", "/api/audit", SF_MAY_PROSTHETIST | SF_MAY_ADMIN, SF_STORE_READ, SF_BODY_NONE, NULL, NULL, list_audit,
      "what was done and by whom, newest first" },
    { "GET", "/api/verify", SF_MAY_PROSTHETIST | SF_MAY_ADMIN, SF_STORE_NONE, SF_BODY_NONE, NULL, NULL, verify,
      "walk the whole record: does every entry hold? `?expect=SEQ:HASH` of an earlier answer's head" },
    { "GET", "/api/limbs/{id}/export", SF_MAY_PROSTHETIST | SF_MAY_ADMIN, SF_STORE_WRITE, SF_BODY_NONE, NULL, NULL,
      export_limb, "one limb whole, with pictures (tar)" },
    { "GET", "/api/wearers/{id}/export", SF_MAY_PROSTHETIST | SF_MAY_ADMIN, SF_STORE_WRITE, SF_BODY_NONE, NULL, NULL,
      export_wearer, "all that is kept of a wearer, whole (tar)" },
    { "POST", "/api/import", SF_MAY_PROSTHETIST | SF_MAY_ADMIN, SF_STORE_WRITE, SF_BODY_BYTES, NULL, NULL, import,
      "such an export, as new limbs; `?wearer=` puts them to one who is here" },
    { "POST", "/api/wearers/{id}/remove", SF_MAY_ADMIN, SF_STORE_NONE, SF_BODY_JSON, remove_fields, NULL, remove_wearer,
      "take a wearer's data out; what the maker must keep stays under the pseudonym" },
    { 0 },
};
