// SPDX-License-Identifier: GPL-3.0-or-later
// The way of a request whose body is whole: session, permission, repeats, validation, handler, and the answer kept.
#define _POSIX_C_SOURCE 200809L // threads, clocks, sockets, signals

#include "base/alloc.h"
#include "record/audit.h"
#include "record/session.h"
#include "seal/digest.h"
#include "server/route.h"
#include "server/server_inside.h"
#include "server/visitor.h"

#include <stdio.h>
#include <string.h>
#include <time.h>

enum { KEY_LEAST = 8, KEY_MOST = 64, GATE_WAIT_S = 20, GATE_WORKERS = 3 };

double sf_server_clock(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

sf_Status sf_gate_enter(sf_Server *server, sf_Error *err)
{
    struct timespec until;
    clock_gettime(CLOCK_MONOTONIC, &until);
    until.tv_sec += GATE_WAIT_S;
    sf_Status status = SF_OK;
    pthread_mutex_lock(&server->guard);
    while (server->working >= GATE_WORKERS && status == SF_OK)
        if (pthread_cond_timedwait(&server->gate, &server->guard, &until) != 0)
            status =
                SF_FAIL(err, SF_E_LIMIT, NULL, "the machine is busy with other computations: try again in a moment");
    if (status == SF_OK)
        server->working++;
    pthread_mutex_unlock(&server->guard);
    return status;
}

void sf_gate_leave(sf_Server *server)
{
    pthread_mutex_lock(&server->guard);
    server->working--;
    pthread_cond_signal(&server->gate);
    pthread_mutex_unlock(&server->guard);
}

static bool writes(const sf_Request *request)
{
    return strcmp(request->method, "GET") != 0 && strcmp(request->method, "HEAD") != 0;
}

// ---- who, and whether they may ---------------------------------------------------------------------------------

static sf_Status find_visitor(sf_Request *request, sf_Error *err)
{
    sf_Transaction *t = NULL;
    sf_Status status;
    if (!sf_request_cookie(request, sf_visitor_cookie(request->server)))
        return SF_OK;
    SF_TRY_DONE(sf_transaction_read(&t, request->server->store, err));
    SF_TRY_DONE(sf_visitor_find(request, t, err));
done:
    sf_transaction_end(&t);
    return status;
}

static sf_Status permit(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    const sf_Route *route = request->route;
    const sf_Visitor *visitor = &request->visitor;
    if (route->may & SF_MAY_ANYONE)
        return SF_OK;
    if (!visitor->there) {
        reply->status = 401;
        return SF_FAIL(err, SF_E_USAGE, NULL, "nobody is signed in here, or the session has ended");
    }
    if (!(route->may & (1u << visitor->person.role))) {
        reply->status = 403;
        return SF_FAIL(err, SF_E_USAGE, NULL, "a %s may not do this", sf_person_role_words[visitor->person.role]);
    }
    if (!writes(request))
        return SF_OK;
    const char *token = sf_request_header(request, "X-CSRF-Token");
    if (!token || !sf_token_same(token, visitor->csrf)) {
        reply->status = 403;
        return SF_FAIL(err, SF_E_USAGE, "X-CSRF-Token",
                       "the token that protects against foreign pages is missing or stale: fetch it from /api/me");
    }
    return SF_OK;
}

// A page of another site may not send anything here, whatever the browser would let it.
static sf_Status check_origin(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    const char *origin = sf_request_header(request, "Origin"), *host = sf_request_header(request, "Host");
    const char *site = sf_request_header(request, "Sec-Fetch-Site");
    if (!writes(request))
        return SF_OK;
    const char *behind = origin ? strstr(origin, "://") : NULL;
    bool foreign = origin && (!host || !behind || strcmp(behind + 3, host) != 0);
    if (!foreign && !(site && strcmp(site, "same-origin") != 0 && strcmp(site, "none") != 0))
        return SF_OK;
    reply->status = 403;
    return SF_FAIL(err, SF_E_USAGE, "Origin", "this came from a page of another site and is refused");
}

// ---- the body --------------------------------------------------------------------------------------------------

static sf_Status read_body(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    const sf_Route *route = request->route;
    const char *type = sf_request_header(request, "Content-Type");
    if (route->body != SF_BODY_JSON)
        return SF_OK;
    if (!type || strncmp(type, "application/json", 16) != 0 || (type[16] && type[16] != ';' && type[16] != ' ')) {
        reply->status = 415;
        return SF_FAIL(err, SF_E_USAGE, "Content-Type", "this takes a body of application/json");
    }
    SF_TRY(sf_doc_parse(&request->doc, "the request", (const char *)request->body, request->body_size, err));
    sf_route_check(route, sf_request_root(request));
    return sf_doc_verdict(request->doc, err);
}

static sf_Status read_key(sf_Request *request, sf_Error *err)
{
    const char *key = sf_request_header(request, "Idempotency-Key");
    if (!key || request->route->store != SF_STORE_WRITE || !request->visitor.there)
        return SF_OK;
    size_t length = strlen(key);
    if (length < KEY_LEAST || length > KEY_MOST ||
        strspn(key, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_-") != length)
        return SF_FAIL(err, SF_E_INPUT, "Idempotency-Key", "Idempotency-Key must be %d to %d of A-Z a-z 0-9 _ and -",
                       KEY_LEAST, KEY_MOST);
    request->repeat_key = key;
    return SF_OK;
}

// ---- repeats ---------------------------------------------------------------------------------------------------

// What the same request sent again has in common with the first: method, path, If-Match and body.
static sf_Status fingerprint(const sf_Request *request, char hex[SF_DIGEST_HEX], sf_Error *err)
{
    char body[SF_DIGEST_HEX];
    const char *match = sf_request_header(request, "If-Match");
    sf_digest(request->body_size ? (const void *)request->body : "", request->body_size, NULL, 0, body);
    const char *whole =
        sf_arena_format(request->arena, "%s %s %s %s", request->method, request->path, match ? match : "", body);
    if (!whole)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    sf_digest(whole, strlen(whole), NULL, 0, hex);
    return SF_OK;
}

static sf_Status answered_before(sf_Request *request, sf_Transaction *t, const char *print, sf_Reply *reply,
                                 bool *found, sf_Error *err)
{
    sf_KeptAnswer kept = { 0 };
    *found = false;
    if (!request->repeat_key)
        return SF_OK;
    sf_Status status = sf_repeat_find(t, request->visitor.person.id, request->repeat_key, print, &kept, err);
    if (status == SF_E_CONFLICT) {
        reply->status = 422;
        return SF_FAIL(err, SF_E_INPUT, "Idempotency-Key",
                       "this key went with another request before: every request takes a key of its own");
    }
    if (status != SF_OK || !kept.text)
        return status;
    reply->bytes = sf_copy_text(kept.text, strlen(kept.text));
    if (!reply->bytes)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    reply->size = strlen(kept.text);
    reply->status = (int)kept.status;
    sf_reply_header(reply, "Idempotency-Replayed", "true");
    *found = true;
    return SF_OK;
}

// ---- the handler in its transaction ----------------------------------------------------------------------------

static sf_Status answer_writing(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    char print[SF_DIGEST_HEX];
    bool before = false;
    sf_Transaction *t = NULL;
    sf_Server *server = request->server;
    sf_Status status;
    SF_TRY_DONE(fingerprint(request, print, err));
    if (request->repeat_key) { // cheap look before slow preparations
        SF_TRY_DONE(sf_transaction_read(&t, server->store, err));
        SF_TRY_DONE(answered_before(request, t, print, reply, &before, err));
        sf_transaction_end(&t);
        if (before)
            return SF_OK;
    }
    if (request->route->prepare)
        SF_TRY_DONE(request->route->prepare(request, reply, err));
    SF_TRY_DONE(sf_transaction_write(&t, server->store, request->visitor.person.id, err));
    SF_TRY_DONE(answered_before(request, t, print, reply, &before, err)); // the same may have come on another line
    if (before)
        goto done;
    request->transaction = t;
    SF_TRY_DONE(request->route->answer(request, reply, err));
    if (request->repeat_key) {
        const sf_KeptAnswer kept = { reply->status, reply->bytes ? reply->bytes : "" };
        SF_TRY_DONE(sf_repeat_keep(t, request->visitor.person.id, request->repeat_key, print, &kept, err));
    }
    SF_TRY_DONE(sf_transaction_commit(t, err));
done:
    request->transaction = NULL;
    sf_transaction_end(&t);
    return status;
}

static sf_Status answer_reading(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    sf_Transaction *t = NULL;
    SF_TRY(sf_transaction_read(&t, request->server->store, err));
    request->transaction = t;
    sf_Status status = request->route->answer(request, reply, err);
    request->transaction = NULL;
    sf_transaction_end(&t);
    return status;
}

sf_Status sf_route_admit(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    SF_TRY(check_origin(request, reply, err));
    SF_TRY(find_visitor(request, err));
    return permit(request, reply, err);
}

static sf_Status answer(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    SF_TRY(read_key(request, err));
    SF_TRY(read_body(request, reply, err));
    switch (request->route->store) {
    case SF_STORE_WRITE: return answer_writing(request, reply, err);
    case SF_STORE_READ: return answer_reading(request, reply, err);
    case SF_STORE_NONE: break;
    }
    return request->route->answer(request, reply, err);
}

void sf_route_answer(sf_Request *request, sf_Reply *reply)
{
    sf_Error err = { 0 };
    sf_Status status = answer(request, reply, &err);
    if (status == SF_OK)
        return;
    err.status = status;
    sf_free(reply->bytes);
    reply->bytes = NULL;
    if (status == SF_E_STORE)
        fprintf(stderr, "standfast: serve: %s %s: %s\n", request->method, request->path, err.text);
    sf_reply_fail(reply, request, &err);
}
