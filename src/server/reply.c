// SPDX-License-Identifier: GPL-3.0-or-later
// Answers, and how a failure becomes one.
#include "base/alloc.h"
#include "server/request.h"

#include <assert.h>
#include <string.h>

enum { ANSWER_DIGITS = 12, MOST_PROBLEMS = 50 };

typedef struct Mend {
    sf_Status status;
    int http;
    const char *mend;
} Mend;

static const Mend mends[] = {
    { SF_E_USAGE, 400, "Ask as docs/api.md says." },
    { SF_E_INPUT, 422, "Correct the field and send it again." },
    { SF_E_PARSE, 400, "Send good JSON (or a good table) and try again." },
    { SF_E_MISSING, 422, "Fill in the field and send it again." },
    { SF_E_RANGE, 422, "Correct the value and send it again." },
    { SF_E_GEOMETRY, 422, "Measure or scan the ring again." },
    { SF_E_SINGULAR, 422, "Check the sizes in the document." },
    { SF_E_CONVERGE, 422, "Check the sizes in the document." },
    { SF_E_INACCURATE, 422, "Check the sizes in the document." },
    { SF_E_MEMORY, 503, "Try again in a moment." },
    { SF_E_LIMIT, 503, "Try again in a moment." },
    { SF_E_CANCELLED, 503, "Begin it again if it is still wanted." },
    { SF_E_CONFLICT, 409, "Take the current state, put your change into it and send it with its version." },
    { SF_E_STORE, 503, "Nothing was kept. Check the disk and the store, then send it again." },
    { SF_E_INTERNAL, 500, "Nothing was kept. Tell whoever looks after the program what you did." },
};

// What to do, where the status itself says more than the failure.
static const Mend statuses[] = {
    { SF_OK, 401, "Sign in." },
    { SF_OK, 403, "Ask somebody whose role allows it, or sign in anew." },
    { SF_OK, 404, "Look in the list: it may have been removed, or the address is mistyped." },
    { SF_OK, 405, "Use one of the methods named in Allow." },
    { SF_OK, 411, "Send Content-Length." },
    { SF_OK, 413, "Send less." },
    { SF_OK, 415, "Send the kind of body that the route takes." },
    { SF_OK, 423, "Record it as a fact that needs no signature, and sign after typing your PIN." },
    { SF_OK, 428, "Send If-Match with the version that you edited." },
    { SF_OK, 429, "Wait as long as Retry-After says." },
    { SF_OK, 507, "Make room on the disk, then send it again." },
};

static const Mend *find_mend(int http, sf_Status status)
{
    for (size_t i = 0; http && i < sizeof statuses / sizeof *statuses; i++)
        if (statuses[i].http == http)
            return &statuses[i];
    for (size_t i = 0; i < sizeof mends / sizeof *mends; i++)
        if (mends[i].status == status)
            return &mends[i];
    return &mends[sizeof mends / sizeof *mends - 1];
}

void sf_reply_header(sf_Reply *reply, const char *name, const char *value)
{
    assert(reply->header_count < SF_REPLY_HEADERS);
    reply->headers[reply->header_count++] = (sf_Header){ name, value };
}

sf_Status sf_reply_json(sf_Reply *reply, int status, sf_Json **json, sf_Error *err)
{
    char *text = NULL;
    sf_Status done = sf_json_text(*json, ANSWER_DIGITS, &text, err);
    sf_json_destroy(json);
    if (done != SF_OK)
        return done;
    sf_free(reply->bytes);
    reply->bytes = text;
    reply->size = strlen(text);
    reply->status = status;
    reply->type = "application/json";
    return SF_OK;
}

static sf_Json *problems_json(const sf_Doc *doc)
{
    sf_Json *list = sf_json_array();
    for (size_t i = 0; i < sf_doc_problem_count(doc) && i < MOST_PROBLEMS; i++) {
        sf_Json *one = sf_json_object();
        sf_json_set_text(one, "field", sf_doc_problem_path(doc, i));
        sf_json_set_text(one, "what", sf_doc_problem_text(doc, i));
        sf_json_add(list, one);
    }
    return list;
}

void sf_reply_fail(sf_Reply *reply, const sf_Request *request, const sf_Error *err)
{
    static const char no_memory[] =
        "{ \"error\": { \"field\": \"\", \"what\": \"out of memory\", \"mend\": \"Try again in a moment.\" } }\n";
    const Mend *mend = find_mend(reply->status, err->status);
    sf_Json *body = sf_json_object(), *inner = sf_json_object();
    sf_json_set_text(inner, "field", err->path);
    sf_json_set_text(inner, "what", err->text);
    sf_json_set_text(inner, "mend", mend->mend);
    if (request->doc && sf_doc_problem_count(request->doc) > 0)
        sf_json_set(inner, "problems", problems_json(request->doc));
    if (reply->current) {
        sf_json_set(inner, "current", reply->current);
        reply->current = NULL;
    }
    sf_json_set(body, "error", inner);
    int http = reply->status ? reply->status : mend->http;
    if (http == 503 || http == 429) {
        bool told = false;
        for (size_t i = 0; i < reply->header_count; i++)
            told = told || strcmp(reply->headers[i].name, "Retry-After") == 0;
        if (!told)
            sf_reply_header(reply, "Retry-After", "2");
    }
    if (sf_reply_json(reply, http, &body, NULL) != SF_OK) {
        reply->fixed = no_memory;
        reply->size = sizeof no_memory - 1;
        reply->status = 503;
        reply->type = "application/json";
    }
}

sf_Status sf_reply_or_404(sf_Reply *reply, sf_Status status)
{
    if (status == SF_E_MISSING)
        reply->status = 404;
    return status;
}

void sf_reply_free(sf_Reply *reply)
{
    sf_json_destroy(&reply->current);
    sf_free(reply->bytes);
    *reply = (sf_Reply){ 0 };
}
