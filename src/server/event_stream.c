// SPDX-License-Identifier: GPL-3.0-or-later
#define _POSIX_C_SOURCE 200809L // threads, clocks, sockets, signals

#include "server/event_stream.h"

#include "base/alloc.h"
#include "base/text.h"

#include <stdio.h>
#include <string.h>

enum { ANSWER_DIGITS = 10, EVENT_MOST = 32 * 1024 * 1024 };

static const double HEARTBEAT_S = 10; // a silent line tells proxies and the page that we are still here

struct sf_EventStream {
    sf_Server *server;
    int64_t owner;
    char job[SF_JOB_ID];
    uint64_t seen;
    bool begun, last;
    sf_Text pending;
    size_t sent; ///< of pending
};

static sf_Json *job_json(const sf_JobView *view)
{
    sf_Json *json = sf_json_object();
    sf_Doc *doc = NULL;
    sf_json_set_text(json, "job", view->id);
    sf_json_set_text(json, "work", view->work);
    sf_json_set_text(json, "state", sf_job_state_word(view->state));
    sf_json_set_number(json, "progress", view->share);
    sf_json_set_text(json, "said", view->said);
    if (view->result && sf_doc_parse(&doc, "result", view->result, strlen(view->result), NULL) == SF_OK)
        sf_json_set(json, "result", sf_json_from_node(sf_doc_root(doc)));
    else
        sf_json_set_null(json, "result");
    sf_doc_destroy(&doc);
    if (view->state != SF_JOB_FAILED) {
        sf_json_set_null(json, "error");
        return json;
    }
    sf_Json *error = sf_json_object();
    sf_json_set_text(error, "field", view->error.path);
    sf_json_set_text(error, "what", view->error.text);
    sf_json_set_text(error, "mend", "Correct it and begin again.");
    sf_json_set(json, "error", error);
    return json;
}

sf_Status sf_job_text(const sf_JobView *view, char **text, sf_Error *err)
{
    sf_Json *json = job_json(view);
    sf_Status status = sf_json_text(json, ANSWER_DIGITS, text, err);
    sf_json_destroy(&json);
    return status;
}

sf_EventStream *sf_event_stream_open(sf_Server *server, int64_t owner, const char *job)
{
    sf_EventStream *stream = sf_alloc(1, sizeof *stream);
    if (!stream)
        return NULL;
    *stream = (sf_EventStream){ .server = server, .owner = owner, .pending = sf_text_make(EVENT_MOST) };
    snprintf(stream->job, sizeof stream->job, "%s", job);
    return stream;
}

void sf_event_stream_close(void *context)
{
    sf_EventStream *stream = context;
    if (!stream)
        return;
    sf_text_free(&stream->pending);
    sf_free(stream);
}

// One event: its data is JSON over several lines, each of which is marked.
static void put_event(sf_EventStream *stream, const sf_JobView *view)
{
    char *text = NULL;
    if (sf_job_text(view, &text, NULL) != SF_OK)
        return;
    const char *name = sf_job_ended(view->state) ? sf_job_state_word(view->state) : "progress";
    sf_text_format(&stream->pending, "event: %s\n", name);
    for (char *line = text; line && *line;) {
        char *end = strchr(line, '\n');
        if (end)
            *end++ = '\0';
        sf_text_add(&stream->pending, "data: ");
        sf_text_add(&stream->pending, line);
        sf_text_add(&stream->pending, "\n");
        line = end;
    }
    sf_text_add(&stream->pending, "\n");
    sf_free(text);
}

static void gather(sf_EventStream *stream)
{
    sf_JobView view;
    sf_text_free(&stream->pending);
    stream->sent = 0;
    double wait = stream->begun ? HEARTBEAT_S : 0;
    if (sf_jobs_look(stream->server->jobs, stream->owner, stream->job, stream->seen, wait, &view, NULL) != SF_OK) {
        stream->last = true;
        return;
    }
    bool news = !stream->begun || view.change != stream->seen;
    stream->begun = true;
    stream->seen = view.change;
    stream->last = sf_job_ended(view.state) || atomic_load(&stream->server->stopping);
    if (news)
        put_event(stream, &view);
    else
        sf_text_add(&stream->pending, ": still here\n\n");
    sf_free(view.result);
}

ssize_t sf_event_stream_read(sf_EventStream *stream, char *bytes, size_t room)
{
    if (stream->sent == stream->pending.length) {
        if (stream->last)
            return -1;
        gather(stream);
    }
    size_t left = stream->pending.length - stream->sent, n = left < room ? left : room;
    if (n)
        memcpy(bytes, stream->pending.data + stream->sent, n);
    stream->sent += n;
    return (ssize_t)n;
}
