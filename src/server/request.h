// SPDX-License-Identifier: GPL-3.0-or-later
// One request and its answer, as handlers see them. One arena per request; everything that a handler is given lives in
// it.
#pragma once

#include "base/arena.h"
#include "base/doc.h"
#include "record/people.h"
#include "record/store.h"

#include <stdbool.h>
#include <stdint.h>

typedef struct sf_Server sf_Server;
typedef struct sf_Route sf_Route;

enum { SF_REQUEST_PARAMETERS = 3, SF_REPLY_HEADERS = 6 };

/// Who asks.
typedef struct sf_Visitor {
    bool there; ///< a session stands behind the cookie
    sf_Person person;
    const char *token_hash, *csrf, *expires_at, *device;
    bool signing;            ///< may sign now
    const char *signing_why; ///< why not
    const char *locked_until;
} sf_Visitor;

typedef struct sf_Request {
    sf_Server *server;
    void *connection; ///< of the HTTP library
    sf_Arena *arena;
    const char *method, *path;
    const sf_Route *route;
    const char *parameters[SF_REQUEST_PARAMETERS]; ///< what stood in the path's places {id}, in order
    const unsigned char *body;
    size_t body_size;
    sf_Doc *doc; ///< the body, of routes that take JSON
    sf_Visitor visitor;
    sf_Transaction *transaction;  ///< as the route asks for it
    const char *repeat_key;       ///< Idempotency-Key, or NULL
    void *prepared;               ///< what the route's prepare left for its answer; in the arena, or with its own
    void (*drop)(void *prepared); ///< way to be freed, called once when the request is over; may be NULL
} sf_Request;

typedef struct sf_Header {
    const char *name, *value;
} sf_Header;

typedef struct sf_Reply {
    int status;        ///< set by a handler before it fails, it wins over what the failure would say
    const char *type;  ///< media type; NULL: JSON
    char *bytes;       ///< owned (sf_free)
    const void *fixed; ///< or static bytes
    size_t size;
    sf_Header headers[SF_REPLY_HEADERS]; ///< texts of the arena or static
    size_t header_count;
    sf_Json *current; ///< a conflict's current state, put into the error
    bool events;      ///< the answer is the event stream of `job`
    char job[40];
    int64_t job_owner;
} sf_Reply;

/// A header, a query value, a cookie of the request; NULL when not there. Borrowed.
const char *sf_request_header(const sf_Request *request, const char *name);
const char *sf_request_query(const sf_Request *request, const char *name);
const char *sf_request_cookie(const sf_Request *request, const char *name);

/// The body's root.
sf_DocNode sf_request_root(const sf_Request *request);

/// A whole number out of the path, SF_E_MISSING (so that it becomes "no such thing") when it is none.
sf_Status sf_request_id(const sf_Request *request, size_t place, int64_t *id, sf_Error *err) SF_MUST_USE;

/// A whole number of the query within bounds, `otherwise` when not given. SF_E_INPUT.
sf_Status sf_request_query_whole(const sf_Request *request, const char *name, int64_t low, int64_t high,
                                 int64_t otherwise, int64_t *value, sf_Error *err) SF_MUST_USE;

/// Sets a finished JSON as the answer and destroys it. SF_E_MEMORY.
sf_Status sf_reply_json(sf_Reply *reply, int status, sf_Json **json, sf_Error *err) SF_MUST_USE;

/// Adds a header; one too many is a programmer's error.
void sf_reply_header(sf_Reply *reply, const char *name, const char *value);

/// Turns a failure into the error answer.
void sf_reply_fail(sf_Reply *reply, const sf_Request *request, const sf_Error *err);

/// Hands `status` on; what is missing at a place of the path becomes 404.
sf_Status sf_reply_or_404(sf_Reply *reply, sf_Status status);

/// Frees what a reply owns and empties it.
void sf_reply_free(sf_Reply *reply);
