// SPDX-License-Identifier: GPL-3.0-or-later
// Computations by name, and long work.
#define _POSIX_C_SOURCE 200809L // threads, clocks, sockets, signals

#include "base/alloc.h"
#include "record/attachment.h"
#include "record/limb_record.h"
#include "server/compute_source.h"
#include "server/event_stream.h"
#include "server/route.h"
#include "server/server_inside.h"
#include "study/computation.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { ANSWER_DIGITS = 10 };

// ---- what a request may name -----------------------------------------------------------------------------------

static sf_Status stored_file(void *context, const char *hash, char *path, size_t room, sf_Error *err)
{
    sf_Store *store = context;
    char *place = sf_shelf_path(store, hash);
    bool there = place && access(place, R_OK) == 0;
    if (there)
        snprintf(path, room, "%s", place);
    sf_free(place);
    return there ? SF_OK : SF_FAIL(err, SF_E_MISSING, "picture", "there is no picture %.16s... in the store", hash);
}

static sf_Status stored_limb(void *context, const char *id, char **text, sf_Error *err)
{
    sf_Store *store = context;
    sf_Transaction *t = NULL;
    const char *document;
    char *end = NULL;
    long long number = strtoll(id, &end, 10);
    *text = NULL;
    if (!*id || *end)
        return SF_FAIL(err, SF_E_MISSING, "limb", "there is no limb '%.40s'", id);
    SF_TRY(sf_transaction_read(&t, store, err));
    sf_Status status = sf_limb_record_document(t, number, 0, &document, err);
    if (status == SF_E_MISSING)
        status = SF_FAIL(err, SF_E_MISSING, "limb", "there is no limb %lld, or its document was removed", number);
    if (status == SF_OK && !(*text = sf_copy_text(document, strlen(document))))
        status = SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    sf_transaction_end(&t);
    return status;
}

sf_ComputeSource sf_compute_source(sf_Store *store)
{
    return (sf_ComputeSource){ store, stored_file, stored_limb };
}

// ---- at once ---------------------------------------------------------------------------------------------------

static sf_Status list(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    (void)request;
    sf_Json *json = sf_computation_list();
    return sf_reply_json(reply, 200, &json, err);
}

static sf_Status find(const sf_Request *request, sf_Reply *reply, const char *name, const sf_Computation **out,
                      sf_Error *err)
{
    (void)request;
    *out = name ? sf_computation_find(name) : NULL;
    if (*out)
        return SF_OK;
    reply->status = 404;
    return SF_FAIL(err, SF_E_MISSING, NULL, "there is no computation '%.40s': GET /api/compute lists them",
                   name ? name : "");
}

static sf_Status run(sf_Request *request, sf_Reply *reply, bool draw, sf_ComputeAnswer *answer, sf_Error *err)
{
    const sf_Computation *computation;
    sf_ComputeSource source = sf_compute_source(request->server->store);
    SF_TRY(find(request, reply, request->parameters[0], &computation, err));
    if (draw && !computation->draws)
        reply->status = 404;
    SF_TRY(sf_gate_enter(request->server, err));
    sf_Status status = sf_computation_run(answer, computation, sf_request_root(request), draw, &source, NULL, err);
    sf_gate_leave(request->server);
    // The request is JSON; what stands in one of its fields is not what it should be.
    if ((status == SF_E_PARSE || status == SF_E_USAGE) && !reply->status)
        reply->status = 422;
    return status;
}

static sf_Status compute(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    sf_ComputeAnswer answer = { 0 };
    char *text = NULL;
    SF_TRY(run(request, reply, false, &answer, err));
    sf_Status status = sf_json_text(answer.json, ANSWER_DIGITS, &text, err);
    sf_compute_answer_free(&answer);
    if (status != SF_OK)
        return status;
    reply->bytes = text;
    reply->size = strlen(text);
    reply->status = 200;
    return SF_OK;
}

static sf_Status draw(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    sf_ComputeAnswer answer = { 0 };
    SF_TRY(run(request, reply, true, &answer, err));
    reply->bytes = (char *)answer.drawing;
    reply->size = answer.drawing_size;
    reply->type = "image/svg+xml";
    reply->status = 200;
    answer.drawing = NULL;
    sf_compute_answer_free(&answer);
    return SF_OK;
}

// ---- long work -------------------------------------------------------------------------------------------------

typedef struct LongWork {
    sf_Server *server;
    const sf_Computation *computation;
    char *body;
    size_t size;
} LongWork;

static void drop_work(void *context)
{
    LongWork *work = context;
    sf_free(work->body);
    sf_free(work);
}

static sf_Status run_work(void *context, const sf_ComputeWatch *watch, char **text, sf_Error *err)
{
    LongWork *work = context;
    sf_Doc *doc = NULL;
    sf_ComputeAnswer answer = { 0 };
    sf_ComputeSource source = sf_compute_source(work->server->store);
    sf_Status status;
    SF_TRY_DONE(sf_doc_parse(&doc, "the request", work->body, work->size, err));
    SF_TRY_DONE(sf_computation_run(&answer, work->computation, sf_doc_root(doc), false, &source, watch, err));
    SF_TRY_DONE(sf_json_text(answer.json, ANSWER_DIGITS, text, err));
done:
    sf_compute_answer_free(&answer);
    sf_doc_destroy(&doc);
    return status;
}

static sf_Status begin_job(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    const char *name = NULL;
    const sf_Computation *computation;
    char id[SF_JOB_ID];
    sf_doc_text(sf_doc_member(sf_request_root(request), "work"), 100, &name);
    if (!name || !(computation = sf_computation_find(name)))
        return SF_FAIL(err, SF_E_INPUT, "work", "work must name a computation: GET /api/compute lists them");
    LongWork *work = sf_alloc(1, sizeof *work);
    if (work)
        *work = (LongWork){ request->server, computation, sf_copy_text((const char *)request->body, request->body_size),
                            request->body_size };
    if (!work || !work->body) {
        if (work)
            drop_work(work);
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    }
    const sf_JobWork job = { computation->name, work, run_work, drop_work };
    sf_Status status = sf_jobs_begin(request->server->jobs, request->visitor.person.id, job, id, err);
    if (status == SF_E_LIMIT)
        reply->status = 429;
    SF_TRY(status);
    sf_Json *json = sf_json_object();
    sf_json_set_text(json, "job", id);
    return sf_reply_json(reply, 202, &json, err);
}

static sf_Status look_at_job(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    sf_JobView view;
    SF_TRY(sf_reply_or_404(reply, sf_jobs_look(request->server->jobs, request->visitor.person.id,
                                               request->parameters[0], 0, 0, &view, err)));
    char *text = NULL;
    sf_Status status = sf_job_text(&view, &text, err);
    sf_free(view.result);
    SF_TRY(status);
    reply->bytes = text;
    reply->size = strlen(text);
    reply->status = 200;
    return SF_OK;
}

static sf_Status follow_job(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    sf_JobView view;
    SF_TRY(sf_reply_or_404(reply, sf_jobs_look(request->server->jobs, request->visitor.person.id,
                                               request->parameters[0], 0, 0, &view, err)));
    sf_free(view.result);
    snprintf(reply->job, sizeof reply->job, "%s", view.id);
    reply->job_owner = request->visitor.person.id;
    reply->events = true;
    reply->type = "text/event-stream";
    reply->status = 200;
    return SF_OK;
}

static sf_Status cancel_job(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    SF_TRY(sf_reply_or_404(
        reply, sf_jobs_cancel(request->server->jobs, request->visitor.person.id, request->parameters[0], err)));
    reply->status = 204;
    return SF_OK;
}

const sf_Route sf_compute_routes[] = {
    { "GET", "/api/compute", SF_MAY_STAFF, SF_STORE_NONE, SF_BODY_NONE, NULL, NULL, list,
      "the computations with what they take" },
    { "POST", "/api/compute/{name}", SF_MAY_STAFF, SF_STORE_NONE, SF_BODY_JSON, NULL, NULL, compute,
      "compute at once; the result of the command of that name" },
    { "POST", "/api/compute/{name}/drawing", SF_MAY_STAFF, SF_STORE_NONE, SF_BODY_JSON, NULL, NULL, draw,
      "the same as a drawing (SVG)" },
    { "POST", "/api/jobs", SF_MAY_STAFF, SF_STORE_NONE, SF_BODY_JSON, NULL, NULL, begin_job,
      "begin a computation as long work" },
    { "GET", "/api/jobs/{id}", SF_MAY_STAFF, SF_STORE_NONE, SF_BODY_NONE, NULL, NULL, look_at_job,
      "how far it is, and its result" },
    { "GET", "/api/jobs/{id}/events", SF_MAY_STAFF, SF_STORE_NONE, SF_BODY_NONE, NULL, NULL, follow_job,
      "the same as a stream of events" },
    { "DELETE", "/api/jobs/{id}", SF_MAY_STAFF, SF_STORE_NONE, SF_BODY_NONE, NULL, NULL, cancel_job, "ask it to stop" },
    { 0 },
};
