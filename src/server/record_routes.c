// SPDX-License-Identifier: GPL-3.0-or-later
// The record as a whole: what was done and by whom.
#include "record/audit.h"
#include "record/verify.h"
#include "server/route.h"
#include "server/server_inside.h"

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

const sf_Route sf_record_routes[] = {
    { "GET", "/api/audit", SF_MAY_PROSTHETIST | SF_MAY_ADMIN, SF_STORE_READ, SF_BODY_NONE, NULL, NULL, list_audit,
      "what was done and by whom, newest first" },
    { "GET", "/api/verify", SF_MAY_PROSTHETIST | SF_MAY_ADMIN, SF_STORE_NONE, SF_BODY_NONE, NULL, NULL, verify,
      "walk the whole record: does every entry hold? `?expect=SEQ:HASH` of an earlier answer's head" },
    { 0 },
};
