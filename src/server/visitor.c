// SPDX-License-Identifier: GPL-3.0-or-later
#define _POSIX_C_SOURCE 200809L // threads, clocks, sockets, signals

#include "server/visitor.h"

#include "base/date.h"
#include "seal/token.h"
#include "server/server_inside.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { DEVICE_MOST = 80 };

const char *sf_visitor_cookie(const sf_Server *server)
{
    return server->tls ? "__Host-standfast" : "standfast";
}

bool sf_visitor_later(sf_Store *store, const char *until)
{
    char now[SF_TIME_TEXT];
    sf_store_now(store, now);
    return until && strcmp(until, now) > 0;
}

void sf_visitor_time_in(sf_Store *store, double seconds, char text[SF_TIME_TEXT])
{
    char now[SF_TIME_TEXT], day[SF_DATE_TEXT];
    sf_Date date = { 1970, 1, 1 };
    int hour = 0, minute = 0;
    double second = 0;
    sf_store_now(store, now);
    snprintf(day, sizeof day, "%.10s", now);
    if (sf_date_parse(&date, day, NULL, NULL) == SF_OK) {
        hour = atoi(now + 11);
        minute = atoi(now + 14);
        second = atof(now + 17);
    }
    double all = 86400.0 * (double)sf_date_days(date) + 3600 * hour + 60 * minute + second + seconds;
    long days = (long)(all / 86400);
    long ms = (long)((all - 86400.0 * (double)days) * 1000);
    sf_date_format(sf_date_from_days(days), day);
    char clock[64];
    snprintf(clock, sizeof clock, "%sT%02ld:%02ld:%02ld.%03ldZ", day, ms / 3600000 % 24, ms / 60000 % 60,
             ms / 1000 % 60, ms % 1000);
    memcpy(text, clock, SF_TIME_TEXT - 1);
    text[SF_TIME_TEXT - 1] = '\0';
}

// ---- rest ------------------------------------------------------------------------------------------------------

static sf_Seen *find_seen(sf_Server *server, const char *token_hash)
{
    for (size_t i = 0; i < SF_SEEN_MOST; i++)
        if (strcmp(server->seen[i].token_hash, token_hash) == 0)
            return &server->seen[i];
    return NULL;
}

static void put_seen(sf_Server *server, const char *token_hash, double at)
{
    sf_Seen *slot = find_seen(server, token_hash);
    for (size_t i = 0; !slot && i < SF_SEEN_MOST; i++)
        if (!*server->seen[i].token_hash)
            slot = &server->seen[i];
    if (!slot) {
        slot = &server->seen[0];
        for (size_t i = 1; i < SF_SEEN_MOST; i++)
            slot = server->seen[i].at < slot->at ? &server->seen[i] : slot;
    }
    snprintf(slot->token_hash, sizeof slot->token_hash, "%s", token_hash);
    slot->at = at;
}

// Whether the session has not rested too long; being asked counts as being heard of. One of which nothing is known (the
// server was started anew) is awake when it is young.
static bool awake(sf_Server *server, const sf_Session *session)
{
    char young[SF_TIME_TEXT];
    double now = sf_server_clock();
    sf_visitor_time_in(server->store, -server->rest, young);
    pthread_mutex_lock(&server->guard);
    const sf_Seen *seen = find_seen(server, session->token_hash);
    bool good = seen ? now - seen->at <= server->rest : strcmp(session->made_at, young) >= 0;
    if (good)
        put_seen(server, session->token_hash, now);
    pthread_mutex_unlock(&server->guard);
    return good;
}

// ---- sessions --------------------------------------------------------------------------------------------------

// Texts of rows live as long as their transaction; a visitor lives as long as the request.
static const char *keep(sf_Request *request, const char *text)
{
    return text ? sf_arena_text(request->arena, text) : NULL;
}

static sf_Status keep_person(sf_Request *request, const sf_Person *person, sf_Error *err)
{
    sf_Visitor *visitor = &request->visitor;
    visitor->person = *person;
    visitor->person.name = keep(request, person->name);
    visitor->person.initials = keep(request, person->initials);
    visitor->person.license = keep(request, person->license);
    visitor->person.password_hash = keep(request, person->password_hash);
    visitor->person.pin_hash = keep(request, person->pin_hash);
    if (!visitor->person.name || !visitor->person.initials)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    return SF_OK;
}

sf_Status sf_visitor_find(sf_Request *request, sf_Transaction *t, sf_Error *err)
{
    const char *cookie = sf_request_cookie(request, sf_visitor_cookie(request->server));
    sf_Visitor *visitor = &request->visitor;
    char hash[SF_DIGEST_HEX];
    sf_Session session;
    sf_Person person;
    int64_t failures;
    const char *locked;
    if (!cookie || strlen(cookie) != SF_TOKEN_HEX - 1)
        return SF_OK;
    sf_token_digest(cookie, hash);
    sf_Status status = sf_session_find(t, hash, &session, err);
    if (status == SF_OK)
        status = sf_person_get(t, session.person, &person, err);
    if (status == SF_E_MISSING)
        return SF_OK;
    SF_TRY(status);
    SF_TRY(sf_person_failures(t, person.id, &failures, &locked, err));
    if (!person.active)
        return SF_OK;
    SF_TRY(keep_person(request, &person, err));
    visitor->token_hash = keep(request, session.token_hash);
    visitor->csrf = keep(request, session.csrf);
    visitor->expires_at = keep(request, session.expires_at);
    visitor->locked_until = sf_visitor_later(request->server->store, locked) ? keep(request, locked) : NULL;
    if (!visitor->token_hash || !visitor->csrf || !visitor->expires_at)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    visitor->there = true;
    bool fresh = awake(request->server, &session);
    visitor->signing = fresh && !visitor->locked_until;
    if (visitor->locked_until)
        visitor->signing_why = "too many wrong tries with this person's password or PIN: signing waits, facts go in";
    else if (!fresh)
        visitor->signing_why = "nobody has touched this session for a while: type your PIN to sign, facts go in";
    return SF_OK;
}

static sf_Status set_cookie(sf_Request *request, sf_Reply *reply, const char *token, double seconds, sf_Error *err)
{
    const char *text =
        sf_arena_format(request->arena, "%s=%s; Path=/; Max-Age=%.0f; HttpOnly; SameSite=Strict%s",
                        sf_visitor_cookie(request->server), token, seconds, request->server->tls ? "; Secure" : "");
    if (!text)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    sf_reply_header(reply, "Set-Cookie", text);
    return SF_OK;
}

sf_Status sf_visitor_begin(sf_Request *request, sf_Reply *reply, const sf_Person *person, sf_Error *err)
{
    sf_Server *server = request->server;
    sf_Visitor *visitor = &request->visitor;
    char token[SF_TOKEN_HEX], hash[SF_DIGEST_HEX], csrf[SF_SALT_HEX], until[SF_TIME_TEXT];
    const char *agent = sf_request_header(request, "User-Agent");
    sf_token_make(token);
    sf_token_digest(token, hash);
    sf_token_salt(csrf);
    sf_visitor_time_in(server->store, server->session, until);
    if (visitor->there)
        SF_TRY(sf_session_remove(request->transaction, visitor->token_hash, err));
    *visitor = (sf_Visitor){ .there = true, .signing = true };
    SF_TRY(keep_person(request, person, err));
    visitor->token_hash = keep(request, hash);
    visitor->csrf = keep(request, csrf);
    visitor->expires_at = keep(request, until);
    visitor->device = agent ? sf_arena_format(request->arena, "%.*s", DEVICE_MOST, agent) : NULL;
    if (!visitor->token_hash || !visitor->csrf || !visitor->expires_at)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    const sf_Session session = { visitor->token_hash, person->id,     visitor->csrf, NULL,
                                 visitor->expires_at, visitor->device };
    SF_TRY(sf_session_keep(request->transaction, &session, err));
    pthread_mutex_lock(&server->guard);
    put_seen(server, hash, sf_server_clock());
    pthread_mutex_unlock(&server->guard);
    return set_cookie(request, reply, token, server->session, err);
}

sf_Status sf_visitor_end(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    SF_TRY(sf_session_remove(request->transaction, request->visitor.token_hash, err));
    return set_cookie(request, reply, "", 0, err);
}

// ---- as JSON ---------------------------------------------------------------------------------------------------

sf_Json *sf_visitor_person_json(const sf_Person *person, const char *locked_until)
{
    sf_Json *json = sf_json_object();
    sf_json_set_whole(json, "id", person->id);
    sf_json_set_text(json, "name", person->name);
    sf_json_set_text(json, "initials", person->initials);
    sf_json_set_text(json, "role", sf_person_role_words[person->role]);
    sf_json_set_text(json, "licence", person->license);
    sf_json_set_text(json, "units", person->inch ? "inch" : "metric");
    sf_json_set_flag(json, "active", person->active);
    sf_json_set_flag(json, "has_pin", person->pin_hash != NULL);
    sf_json_set_text(json, "locked_until", locked_until);
    return json;
}

sf_Json *sf_visitor_json(const sf_Request *request)
{
    const sf_Visitor *visitor = &request->visitor;
    sf_Json *json = sf_json_object();
    sf_json_set(json, "person", sf_visitor_person_json(&visitor->person, visitor->locked_until));
    sf_json_set_text(json, "csrf", visitor->csrf);
    sf_json_set_text(json, "expires", visitor->expires_at);
    sf_json_set_flag(json, "signing", visitor->signing);
    sf_json_set_text(json, "signing_why", visitor->signing_why);
    return json;
}
