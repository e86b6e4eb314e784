// SPDX-License-Identifier: GPL-3.0-or-later
// The one table of routes: it feeds dispatch, permission, validation and docs/api.md.
#pragma once

#include "server/request.h"

/// Who may come: a set of roles, or anyone at all.
enum {
    SF_MAY_PROSTHETIST = 1 << SF_ROLE_PROSTHETIST,
    SF_MAY_TECHNICIAN = 1 << SF_ROLE_TECHNICIAN,
    SF_MAY_READER = 1 << SF_ROLE_READER,
    SF_MAY_ADMIN = 1 << SF_ROLE_ADMIN,
    SF_MAY_ANYONE = 1 << 8, ///< without a session
    SF_MAY_STAFF = SF_MAY_PROSTHETIST | SF_MAY_TECHNICIAN | SF_MAY_READER | SF_MAY_ADMIN,
    SF_MAY_RECORD = SF_MAY_PROSTHETIST | SF_MAY_TECHNICIAN
};

/// The transaction that a handler finds open.
typedef enum sf_RouteStore {
    SF_STORE_NONE,
    SF_STORE_READ,
    SF_STORE_WRITE ///< committed when the handler succeeds, with the answer kept under its Idempotency-Key
} sf_RouteStore;

typedef enum sf_RouteBody { SF_BODY_NONE, SF_BODY_JSON, SF_BODY_BYTES } sf_RouteBody;

typedef enum sf_RouteFieldKind {
    SF_ROUTE_TEXT,   ///< low..high characters
    SF_ROUTE_WHOLE,  ///< low..high
    SF_ROUTE_NUMBER, ///< low..high
    SF_ROUTE_FLAG,
    SF_ROUTE_WORD, ///< one of words
    SF_ROUTE_OBJECT,
    SF_ROUTE_LIST ///< at most high entries
} sf_RouteFieldKind;

/// A field of a JSON body, checked before the handler runs.
typedef struct sf_RouteField {
    const char *name;
    sf_RouteFieldKind kind;
    bool required;
    double low, high;
    const char *words; ///< separated by '|'
} sf_RouteField;

typedef sf_Status (*sf_RouteHandler)(sf_Request *request, sf_Reply *reply, sf_Error *err);

struct sf_Route {
    const char *method, *path; ///< "/api/limbs/{id}/facts"
    unsigned may;
    sf_RouteStore store;
    sf_RouteBody body;
    const sf_RouteField *fields; ///< closed by a NULL name; NULL: the handler reads the body itself
    sf_RouteHandler prepare;     ///< slow work before the transaction is open; may be NULL
    sf_RouteHandler answer;
    const char *what; ///< one line for the page of the interface
};

/// Route number `index` of all, NULL past the end.
const sf_Route *sf_route_at(size_t index);

/// Finds the route and fills the request's parameters (texts of its arena). SF_E_MISSING: no such path;
/// SF_E_USAGE: the path is there but not with this method, *allowed (of `room` bytes) lists those that are.
sf_Status sf_route_find(sf_Request *request, char *allowed, size_t room, sf_Error *err) SF_MUST_USE;

/// Checks a parsed body against the route's fields: every problem is noted in the document.
void sf_route_check(const sf_Route *route, sf_DocNode root);

/// The most bytes of a body that the route takes.
size_t sf_route_body_most(const sf_Route *route);

/// Who asks, and whether they may: before the body is taken in. On failure reply->status may be set.
sf_Status sf_route_admit(sf_Request *request, sf_Reply *reply, sf_Error *err) SF_MUST_USE;

/// Answers an admitted request whose body is whole: repeats, validation, handler. Always fills the reply.
void sf_route_answer(sf_Request *request, sf_Reply *reply);

/// The tables of the parts, each closed by a NULL method.
extern const sf_Route sf_people_routes[], sf_limb_routes[], sf_ring_routes[], sf_compute_routes[], sf_record_routes[],
    sf_paper_routes[], sf_letterhead_routes[];
