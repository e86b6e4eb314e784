// SPDX-License-Identifier: GPL-3.0-or-later
// Sessions: who stands behind a cookie, whether they may sign now, and how sessions begin and end.
#pragma once

#include "record/session.h"
#include "server/request.h"

enum { SF_TRIES_MOST = 5 };

/// The cookie's name: with TLS it is one that only this host may set.
const char *sf_visitor_cookie(const sf_Server *server);

/// Fills request->visitor from the cookie, within the open transaction `t`; no session is no failure. Counts as being
/// heard of. SF_E_STORE.
sf_Status sf_visitor_find(sf_Request *request, sf_Transaction *t, sf_Error *err) SF_MUST_USE;

/// Begins a session for a person in the write transaction and sets the cookie; visitor becomes that person.
sf_Status sf_visitor_begin(sf_Request *request, sf_Reply *reply, const sf_Person *person, sf_Error *err) SF_MUST_USE;

/// Ends the visitor's session.
sf_Status sf_visitor_end(sf_Request *request, sf_Reply *reply, sf_Error *err) SF_MUST_USE;

/// Whether `until` (NULL: no) is later than the store's now.
bool sf_visitor_later(sf_Store *store, const char *until);

/// The time `seconds` from the store's now, as the store writes it.
void sf_visitor_time_in(sf_Store *store, double seconds, char text[SF_TIME_TEXT]);

/// The answer of `me`, `sign-in`, `switch`.
sf_Json *sf_visitor_json(const sf_Request *request);

/// One person as JSON; `failures` may say until when they are locked out.
sf_Json *sf_visitor_person_json(const sf_Person *person, const char *locked_until);
