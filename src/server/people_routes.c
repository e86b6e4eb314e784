// SPDX-License-Identifier: GPL-3.0-or-later
// Signing in and out, switching by PIN, the first admin, people.
#define _POSIX_C_SOURCE 200809L // threads, clocks, sockets, signals

#include "record/attachment.h"
#include "record/audit.h"
#include "seal/password.h"
#include "server/route.h"
#include "server/server_inside.h"
#include "server/visitor.h"
#include "study/result.h"

#include <stdio.h>
#include <string.h>

enum { PASSWORD_LEAST = 10, PASSWORD_MOST = 128, PIN_LEAST = 4, PIN_MOST = 8, SUBJECT = 40 };

static const double SWEEP_S = 3600, ANSWERS_S = 7 * 86400, UPLOADS_S = 86400;

static const char *text_of(const sf_Request *request, const char *name)
{
    const char *text = NULL;
    sf_doc_text(sf_doc_member(sf_request_root(request), name), 4096, &text);
    return text;
}

static sf_Status check_pin(const char *pin, sf_Error *err)
{
    if (pin && strspn(pin, "0123456789") != strlen(pin))
        return SF_FAIL(err, SF_E_INPUT, "pin", "pin must be %d to %d digits", PIN_LEAST, PIN_MOST);
    return SF_OK;
}

// ---- about, me -------------------------------------------------------------------------------------------------

static sf_Status about(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    sf_Server *server = request->server;
    sf_Json *json = sf_json_object();
    sf_json_set_text(json, "version", sf_version());
    pthread_mutex_lock(&server->guard);
    sf_json_set_flag(json, "first_admin", *server->first_token != '\0');
    pthread_mutex_unlock(&server->guard);
    sf_json_set_flag(json, "tls", server->tls);
    sf_json_set_flag(json, "demo", server->demo);
    sf_json_set_text(json, "safety", sf_safety_sentence());
    return sf_reply_json(reply, 200, &json, err);
}

static sf_Status me(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    sf_Json *json = sf_visitor_json(request);
    sf_json_set_text(json, "version", sf_version());
    return sf_reply_json(reply, 200, &json, err);
}

// ---- trying a password or a PIN --------------------------------------------------------------------------------

typedef struct Try {
    int64_t id;
    bool good;   ///< the secret belongs to an active person
    bool locked; ///< shut out at present: nothing was tried
} Try;

// Looks the person up and tries the secret, outside any transaction that would hold others up.
static sf_Status try_secret(sf_Request *request, const char *name, int64_t id, const char *secret, bool pin, Try *out,
                            sf_Error *err)
{
    sf_Transaction *t = NULL;
    sf_Person person = { 0 };
    int64_t failures;
    const char *locked = NULL;
    char hash[SF_PASSWORD_HASH] = "";
    *out = (Try){ 0 };
    SF_TRY(sf_transaction_read(&t, request->server->store, err));
    sf_Status status = name ? sf_person_by_name(t, name, &person, err) : sf_person_get(t, id, &person, err);
    if (status == SF_OK)
        status = sf_person_failures(t, person.id, &failures, &locked, err);
    if (status == SF_OK) {
        out->id = person.id;
        out->locked = sf_visitor_later(request->server->store, locked);
        const char *kept = pin ? person.pin_hash : person.password_hash;
        snprintf(hash, sizeof hash, "%s", kept ? kept : "");
    }
    bool active = status == SF_OK && person.active;
    sf_transaction_end(&t);
    if (status != SF_OK && status != SF_E_MISSING)
        return status;
    if (!out->locked)
        out->good = sf_password_matches(secret, *hash ? hash : NULL) && active;
    return SF_OK;
}

// Counts a wrong try; the last of them shuts the person out for a while.
static sf_Status count_wrong(sf_Request *request, sf_Transaction *t, int64_t id, sf_Error *err)
{
    int64_t failures;
    const char *locked;
    char subject[SUBJECT], until[SF_TIME_TEXT];
    SF_TRY(sf_person_failures(t, id, &failures, &locked, err));
    failures++;
    bool shut = failures >= SF_TRIES_MOST;
    sf_visitor_time_in(request->server->store, request->server->lock, until);
    SF_TRY(sf_person_set_failures(t, id, shut ? 0 : failures, shut ? until : NULL, err));
    snprintf(subject, sizeof subject, "person/%lld", (long long)id);
    return sf_audit_note(t, shut ? "lock-out" : "sign-in refused", subject, 0, err);
}

static sf_Status refuse(sf_Request *request, sf_Reply *reply, const Try *tried, bool pin, sf_Error *err)
{
    if (tried->id && !tried->locked) {
        sf_Transaction *t = NULL;
        SF_TRY(sf_transaction_write(&t, request->server->store, 0, err));
        sf_Status status = count_wrong(request, t, tried->id, err);
        if (status == SF_OK)
            status = sf_transaction_commit(t, err);
        sf_transaction_end(&t);
        SF_TRY(status);
    }
    if (tried->locked) {
        reply->status = pin ? 423 : 429;
        if (!pin) {
            const char *wait = sf_arena_format(request->arena, "%.0f", request->server->lock);
            sf_reply_header(reply, "Retry-After", wait ? wait : "900");
        }
        return SF_FAIL(err, SF_E_USAGE, pin ? "person" : "name",
                       "too many wrong tries: this person is locked out for a while; whoever is signed in on a tablet "
                       "goes on recording facts, and an admin can unlock");
    }
    reply->status = pin ? 403 : 401;
    return SF_FAIL(err, SF_E_USAGE, pin ? "pin" : "password", "%s",
                   pin ? "that PIN is not this person's, or they have none" : "name and password do not go together");
}

// Now and then, when somebody comes in, what is old goes: expired sessions, answers that no tablet will ask for again,
// uploads that were never finished.
static bool sweep_due(sf_Server *server)
{
    double now = sf_server_clock();
    pthread_mutex_lock(&server->guard);
    bool due = now - server->swept > SWEEP_S || server->swept == 0;
    server->swept = due ? now : server->swept;
    pthread_mutex_unlock(&server->guard);
    return due;
}

static sf_Status sweep_sessions(sf_Request *request, sf_Error *err)
{
    char before[SF_TIME_TEXT];
    sf_visitor_time_in(request->server->store, -ANSWERS_S, before);
    return sf_session_sweep(request->transaction, before, err);
}

static void sweep_uploads(sf_Server *server)
{
    size_t removed;
    if (sf_shelf_sweep(server->store, UPLOADS_S, &removed, NULL) != SF_OK)
        fprintf(stderr, "standfast: serve: unfinished uploads could not be swept; another time\n");
}

static sf_Status let_in(sf_Request *request, sf_Reply *reply, int64_t id, const char *action, sf_Error *err)
{
    sf_Transaction *t = NULL;
    sf_Person person;
    char subject[SUBJECT];
    int64_t failures;
    const char *locked;
    bool due = sweep_due(request->server);
    sf_Status status;
    SF_TRY_DONE(sf_transaction_write(&t, request->server->store, id, err));
    request->transaction = t;
    SF_TRY_DONE(sf_person_get(t, id, &person, err));
    SF_TRY_DONE(sf_person_failures(t, id, &failures, &locked, err));
    if (failures || locked)
        SF_TRY_DONE(sf_person_set_failures(t, id, 0, NULL, err));
    if (due)
        SF_TRY_DONE(sweep_sessions(request, err));
    SF_TRY_DONE(sf_visitor_begin(request, reply, &person, err));
    snprintf(subject, sizeof subject, "person/%lld", (long long)id);
    SF_TRY_DONE(sf_audit_note(t, action, subject, 0, err));
    SF_TRY_DONE(me(request, reply, err));
    SF_TRY_DONE(sf_transaction_commit(t, err));
done:
    request->transaction = NULL;
    sf_transaction_end(&t);
    if (due)
        sweep_uploads(request->server);
    return status;
}

static sf_Status sign_in(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    Try tried;
    SF_TRY(try_secret(request, text_of(request, "name"), 0, text_of(request, "password"), false, &tried, err));
    if (!tried.good)
        return refuse(request, reply, &tried, false, err);
    return let_in(request, reply, tried.id, "sign-in", err);
}

static sf_Status switch_person(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    Try tried;
    int64_t id = 0;
    sf_doc_whole(sf_doc_member(sf_request_root(request), "person"), 1, INT64_MAX, &id);
    SF_TRY(try_secret(request, NULL, id, text_of(request, "pin"), true, &tried, err));
    if (!tried.good)
        return refuse(request, reply, &tried, true, err);
    return let_in(request, reply, tried.id, "switch", err);
}

static sf_Status sign_out(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    SF_TRY(sf_visitor_end(request, reply, err));
    reply->status = 204;
    return SF_OK;
}

// ---- the first admin -------------------------------------------------------------------------------------------

typedef struct Hashes {
    char password[SF_PASSWORD_HASH], pin[SF_PASSWORD_HASH];
} Hashes;

// Hashes what secrets the body holds, before the store is held.
static sf_Status prepare_secrets(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    (void)reply;
    const char *password = text_of(request, "password"), *pin = text_of(request, "pin");
    Hashes *hashes = sf_arena_alloc(request->arena, 1, sizeof *hashes);
    if (!hashes)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    request->prepared = hashes;
    SF_TRY(check_pin(pin, err));
    if (password)
        SF_TRY(sf_password_hash(password, hashes->password, err));
    if (pin)
        SF_TRY(sf_password_hash(pin, hashes->pin, err));
    return SF_OK;
}

static sf_Status prepare_first(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    sf_Server *server = request->server;
    pthread_mutex_lock(&server->guard);
    bool good = *server->first_token && sf_token_same(text_of(request, "token"), server->first_token);
    pthread_mutex_unlock(&server->guard);
    if (!good) {
        reply->status = 403;
        return SF_FAIL(err, SF_E_USAGE, "token",
                       "this link has been used or is not the one that the server printed: look at its window");
    }
    return prepare_secrets(request, reply, err);
}

// Whether the field is there as null: an admin takes a licence back.
static bool takes_away(const sf_Request *request, const char *field)
{
    sf_DocNode root = sf_request_root(request);
    const char *key;
    for (size_t i = 0; (key = sf_doc_key(root, i)); i++)
        if (strcmp(key, field) == 0)
            return !sf_doc_there(sf_doc_member(root, field));
    return false;
}

static void read_person(const sf_Request *request, sf_Person *person)
{
    const Hashes *hashes = request->prepared;
    const char *name = text_of(request, "name"), *initials = text_of(request, "initials");
    const char *licence = text_of(request, "licence"), *role = text_of(request, "role");
    const char *units = text_of(request, "units");
    person->name = name ? name : person->name;
    person->initials = initials ? initials : person->initials;
    person->license = licence ? licence : takes_away(request, "licence") ? NULL : person->license;
    person->inch = units ? strcmp(units, "inch") == 0 : person->inch;
    person->password_hash = hashes && *hashes->password ? hashes->password : person->password_hash;
    person->pin_hash = hashes && *hashes->pin ? hashes->pin : person->pin_hash;
    for (int i = 0; role && i < SF_ROLE_COUNT; i++)
        if (strcmp(role, sf_person_role_words[i]) == 0)
            person->role = (sf_PersonRole)i;
    sf_doc_flag(sf_doc_member(sf_request_root(request), "active"), &person->active);
}

static sf_Status first_admin(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    sf_Server *server = request->server;
    sf_Person *people, person = { .active = true, .role = SF_ROLE_ADMIN };
    size_t count;
    SF_TRY(sf_person_list(request->transaction, &people, &count, err));
    if (count > 0) {
        reply->status = 403;
        return SF_FAIL(err, SF_E_USAGE, "token", "the store has people already: sign in");
    }
    read_person(request, &person);
    person.role = SF_ROLE_ADMIN;
    person.active = true;
    SF_TRY(sf_person_add(request->transaction, &person, &person.id, err));
    SF_TRY(sf_visitor_begin(request, reply, &person, err));
    pthread_mutex_lock(&server->guard);
    server->first_token[0] = '\0';
    pthread_mutex_unlock(&server->guard);
    return me(request, reply, err);
}

// ---- people ----------------------------------------------------------------------------------------------------

static sf_Status person_json(sf_Request *request, const sf_Person *person, sf_Json **json, sf_Error *err)
{
    int64_t failures;
    const char *locked;
    SF_TRY(sf_person_failures(request->transaction, person->id, &failures, &locked, err));
    *json = sf_visitor_person_json(person, sf_visitor_later(request->server->store, locked) ? locked : NULL);
    return SF_OK;
}

static sf_Status list_people(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    sf_Person *people;
    size_t count;
    sf_Json *list = sf_json_array(), *one = NULL, *json = NULL;
    sf_Status status;
    SF_TRY_DONE(sf_person_list(request->transaction, &people, &count, err));
    for (size_t i = 0; i < count; i++) {
        SF_TRY_DONE(person_json(request, &people[i], &one, err));
        sf_json_add(list, one);
    }
    json = sf_json_object();
    sf_json_set(json, "people", list);
    return sf_reply_json(reply, 200, &json, err);
done:
    sf_json_destroy(&list);
    return status;
}

static sf_Status reply_person(sf_Request *request, sf_Reply *reply, int http, int64_t id, sf_Error *err)
{
    sf_Person person;
    sf_Json *inner = NULL;
    SF_TRY(sf_person_get(request->transaction, id, &person, err));
    SF_TRY(person_json(request, &person, &inner, err));
    sf_Json *json = sf_json_object();
    sf_json_set(json, "person", inner);
    return sf_reply_json(reply, http, &json, err);
}

static sf_Status add_person(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    sf_Person person = { .active = true };
    read_person(request, &person);
    SF_TRY(sf_person_add(request->transaction, &person, &person.id, err));
    return reply_person(request, reply, 201, person.id, err);
}

// What may not happen to the last admin: then nobody could let anybody in any more.
static sf_Status guard_last_admin(sf_Request *request, const sf_Person *after, sf_Error *err)
{
    sf_Person *people;
    size_t count, admins = 0;
    bool was = false;
    SF_TRY(sf_person_list(request->transaction, &people, &count, err));
    for (size_t i = 0; i < count; i++)
        if (people[i].active && people[i].role == SF_ROLE_ADMIN) {
            admins++;
            was = was || people[i].id == after->id;
        }
    if (was && admins == 1 && !(after->active && after->role == SF_ROLE_ADMIN))
        return SF_FAIL(err, SF_E_INPUT, after->active ? "role" : "active",
                       "this is the last admin: make another one first");
    return SF_OK;
}

// Oneself: units, and new secrets with the old password; everything else takes an admin.
static sf_Status check_self(const sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    static const char *const admins_only[] = { "name", "initials", "role", "licence", "active", "unlock" };
    const sf_Person *own = &request->visitor.person;
    for (size_t i = 0; i < sizeof admins_only / sizeof *admins_only; i++)
        if (sf_doc_there(sf_doc_member(sf_request_root(request), admins_only[i]))) {
            reply->status = 403;
            return SF_FAIL(err, SF_E_USAGE, admins_only[i], "%s is changed by an admin only", admins_only[i]);
        }
    if (!text_of(request, "password") && !text_of(request, "pin"))
        return SF_OK;
    const char *old = text_of(request, "old_password");
    if (old && sf_password_matches(old, own->password_hash))
        return SF_OK;
    reply->status = 403;
    return SF_FAIL(err, SF_E_USAGE, "old_password", "a new password or PIN takes the old password with it");
}

static sf_Status prepare_change(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    int64_t id;
    SF_TRY(sf_reply_or_404(reply, sf_request_id(request, 0, &id, err)));
    if (request->visitor.person.role != SF_ROLE_ADMIN) {
        if (id != request->visitor.person.id) {
            reply->status = 403;
            return SF_FAIL(err, SF_E_USAGE, NULL, "other people are changed by an admin only");
        }
        SF_TRY(check_self(request, reply, err));
    }
    return prepare_secrets(request, reply, err);
}

static sf_Status change_person(sf_Request *request, sf_Reply *reply, sf_Error *err)
{
    int64_t id;
    bool unlock = false;
    sf_Person person;
    const Hashes *hashes = request->prepared;
    SF_TRY(sf_reply_or_404(reply, sf_request_id(request, 0, &id, err)));
    SF_TRY(sf_reply_or_404(reply, sf_person_get(request->transaction, id, &person, err)));
    sf_PersonRole role = person.role;
    read_person(request, &person);
    SF_TRY(guard_last_admin(request, &person, err));
    SF_TRY(sf_person_change(request->transaction, &person, err));
    if (id != request->visitor.person.id && (!person.active || person.role != role || *hashes->password))
        SF_TRY(sf_session_remove_all(request->transaction, id, err));
    if (sf_doc_flag(sf_doc_member(sf_request_root(request), "unlock"), &unlock) && unlock)
        SF_TRY(sf_person_set_failures(request->transaction, id, 0, NULL, err));
    return reply_person(request, reply, 200, id, err);
}

// ---- the table -------------------------------------------------------------------------------------------------

#define ROLES    "prosthetist|technician|reader|admin"
#define NAME     "name", SF_ROUTE_TEXT
#define INITIALS "initials", SF_ROUTE_TEXT
#define PASSWORD "password", SF_ROUTE_TEXT
#define PIN_FIELD                                                                                                      \
    {                                                                                                                  \
        "pin", SF_ROUTE_TEXT, false, PIN_LEAST, PIN_MOST, NULL                                                         \
    }

static const sf_RouteField sign_in_fields[] = { { NAME, true, 1, SF_PERSON_NAME_MOST, NULL },
                                                { PASSWORD, true, 1, PASSWORD_MOST, NULL },
                                                { 0 } };
static const sf_RouteField switch_fields[] = { { "person", SF_ROUTE_WHOLE, true, 1, 9e15, NULL },
                                               { "pin", SF_ROUTE_TEXT, true, 1, PIN_MOST, NULL },
                                               { 0 } };
static const sf_RouteField first_fields[] = { { "token", SF_ROUTE_TEXT, true, 1, 100, NULL },
                                              { NAME, true, 1, SF_PERSON_NAME_MOST, NULL },
                                              { INITIALS, true, 1, SF_PERSON_INITIALS_MOST, NULL },
                                              { PASSWORD, true, PASSWORD_LEAST, PASSWORD_MOST, NULL },
                                              PIN_FIELD,
                                              { 0 } };
static const sf_RouteField add_fields[] = { { NAME, true, 1, SF_PERSON_NAME_MOST, NULL },
                                            { INITIALS, true, 1, SF_PERSON_INITIALS_MOST, NULL },
                                            { "role", SF_ROUTE_WORD, true, 0, 0, ROLES },
                                            { "licence", SF_ROUTE_TEXT, false, 0, SF_PERSON_LICENSE_MOST, NULL },
                                            { PASSWORD, true, PASSWORD_LEAST, PASSWORD_MOST, NULL },
                                            PIN_FIELD,
                                            { "units", SF_ROUTE_WORD, false, 0, 0, "metric|inch" },
                                            { 0 } };
static const sf_RouteField change_fields[] = { { NAME, false, 1, SF_PERSON_NAME_MOST, NULL },
                                               { INITIALS, false, 1, SF_PERSON_INITIALS_MOST, NULL },
                                               { "role", SF_ROUTE_WORD, false, 0, 0, ROLES },
                                               { "licence", SF_ROUTE_TEXT, false, 0, SF_PERSON_LICENSE_MOST, NULL },
                                               { PASSWORD, false, PASSWORD_LEAST, PASSWORD_MOST, NULL },
                                               { "old_password", SF_ROUTE_TEXT, false, 1, PASSWORD_MOST, NULL },
                                               PIN_FIELD,
                                               { "units", SF_ROUTE_WORD, false, 0, 0, "metric|inch" },
                                               { "active", SF_ROUTE_FLAG, false, 0, 0, NULL },
                                               { "unlock", SF_ROUTE_FLAG, false, 0, 0, NULL },
                                               { 0 } };

const sf_Route sf_people_routes[] = {
    { "GET", "/api/about", SF_MAY_ANYONE, SF_STORE_NONE, SF_BODY_NONE, NULL, NULL, about,
      "version, and whether a first admin is wanted" },
    { "POST", "/api/first-admin", SF_MAY_ANYONE, SF_STORE_WRITE, SF_BODY_JSON, first_fields, prepare_first, first_admin,
      "make the first admin with the printed token, and sign in" },
    { "POST", "/api/sign-in", SF_MAY_ANYONE, SF_STORE_NONE, SF_BODY_JSON, sign_in_fields, NULL, sign_in,
      "sign in by name and password" },
    { "POST", "/api/switch", SF_MAY_STAFF, SF_STORE_NONE, SF_BODY_JSON, switch_fields, NULL, switch_person,
      "hand the tablet to another person, or wake one's own session, by PIN" },
    { "POST", "/api/sign-out", SF_MAY_STAFF, SF_STORE_WRITE, SF_BODY_NONE, NULL, NULL, sign_out, "end the session" },
    { "GET", "/api/me", SF_MAY_STAFF, SF_STORE_NONE, SF_BODY_NONE, NULL, NULL, me,
      "who is signed in, the CSRF token, whether signing is open" },
    { "GET", "/api/people", SF_MAY_STAFF, SF_STORE_READ, SF_BODY_NONE, NULL, NULL, list_people, "the staff" },
    { "POST", "/api/people", SF_MAY_ADMIN, SF_STORE_WRITE, SF_BODY_JSON, add_fields, prepare_secrets, add_person,
      "add a person" },
    { "PUT", "/api/people/{id}", SF_MAY_STAFF, SF_STORE_WRITE, SF_BODY_JSON, change_fields, prepare_change,
      change_person, "change a person; oneself: units, password, PIN" },
    { 0 },
};
