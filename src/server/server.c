// SPDX-License-Identifier: GPL-3.0-or-later
#define _POSIX_C_SOURCE 200809L // threads, clocks, sockets, signals

#include "server/server.h"

#include "base/alloc.h"
#include "base/file.h"
#include "record/people.h"
#include "server/certificate.h"
#include "server/http_front.h"

#include <stdio.h>
#include <string.h>

enum { PEM_MOST = 256 * 1024, WORKERS = 2 };

static const double REST_S = 20 * 60, SESSION_S = 12 * 3600, LOCK_S = 15 * 60, KEEP_JOBS_S = 3600;

typedef struct Pem {
    char *certificate, *key;
    char print[SF_CERTIFICATE_PRINT];
} Pem;

static sf_Status read_pem(const sf_ServerAsk *ask, const char *address, Pem *pem, sf_Error *err)
{
    size_t size;
    if (ask->certificate) {
        SF_TRY(sf_file_read(ask->certificate, PEM_MOST, (unsigned char **)&pem->certificate, &size, err));
        return sf_file_read(ask->key, PEM_MOST, (unsigned char **)&pem->key, &size, err);
    }
    if (!ask->own_certificate)
        return SF_OK;
    SF_TRY(sf_certificate_own(ask->own_certificate, address, &pem->certificate, &pem->key, pem->print, err));
    fprintf(stderr, "standfast: serve: the own certificate's fingerprint (SHA-256) is %s\n", pem->print);
    return SF_OK;
}

// An empty store lets in whoever holds the token that is printed once.
static sf_Status make_first_token(sf_Server *server, sf_Error *err)
{
    sf_Transaction *t = NULL;
    sf_Person *people;
    size_t count = 0;
    SF_TRY(sf_transaction_read(&t, server->store, err));
    sf_Status status = sf_person_list(t, &people, &count, err);
    sf_transaction_end(&t);
    if (status == SF_OK && count == 0)
        sf_token_make(server->first_token);
    return status;
}

static const char *address_of(const sf_ServerAsk *ask)
{
    return ask->address ? ask->address : "127.0.0.1";
}

sf_Status sf_server_check(const sf_ServerAsk *ask, sf_Error *err)
{
    if (!ask->certificate != !ask->key)
        return SF_FAIL(err, SF_E_USAGE, "--certificate", "--certificate and --key belong together: name both");
    return sf_front_check(address_of(ask), ask->certificate || ask->own_certificate, err);
}

sf_Status sf_server_start(sf_Server **out, sf_Store *store, const sf_ServerAsk *ask, sf_Error *err)
{
    *out = NULL;
    Pem pem = { 0 };
    sf_Status status = SF_OK;
    sf_Server *server = sf_alloc(1, sizeof *server);
    if (!server)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    sf_token_begin();
    server->store = store;
    server->demo = ask->demo;
    server->rest = ask->rest_s > 0 ? ask->rest_s : REST_S;
    server->session = ask->session_s > 0 ? ask->session_s : SESSION_S;
    server->lock = ask->lock_s > 0 ? ask->lock_s : LOCK_S;
    pthread_condattr_t clock;
    pthread_condattr_init(&clock);
    pthread_condattr_setclock(&clock, CLOCK_MONOTONIC);
    pthread_mutex_init(&server->guard, NULL);
    pthread_cond_init(&server->gate, &clock);
    pthread_condattr_destroy(&clock);
    const char *address = address_of(ask);
    SF_TRY_DONE(sf_server_check(ask, err));
    SF_TRY_DONE(read_pem(ask, address, &pem, err));
    SF_TRY_DONE(make_first_token(server, err));
    SF_TRY_DONE(sf_stage_table_load(&server->stages, err));
    SF_TRY_DONE(sf_jobs_create(&server->jobs, WORKERS, KEEP_JOBS_S, err));
    const sf_FrontAsk front = { address, ask->port, pem.certificate, pem.key };
    SF_TRY_DONE(sf_front_start(server, &front, err));
    *out = server;
    server = NULL;
done:
    sf_free(pem.certificate);
    sf_free(pem.key);
    sf_server_stop(&server);
    return status;
}

void sf_server_stop(sf_Server **server)
{
    if (!server || !*server)
        return;
    atomic_store(&(*server)->stopping, true);
    if ((*server)->jobs)
        sf_jobs_quiesce((*server)->jobs);
    sf_front_stop(*server);
    sf_jobs_destroy(&(*server)->jobs);
    sf_stage_table_destroy(&(*server)->stages);
    pthread_cond_destroy(&(*server)->gate);
    pthread_mutex_destroy(&(*server)->guard);
    sf_free(*server);
    *server = NULL;
}

int sf_server_port(const sf_Server *server)
{
    return server->port;
}

bool sf_server_tls(const sf_Server *server)
{
    return server->tls;
}

void sf_server_first_token(sf_Server *server, char token[SF_SERVER_TOKEN])
{
    pthread_mutex_lock(&server->guard);
    memcpy(token, server->first_token, SF_SERVER_TOKEN);
    pthread_mutex_unlock(&server->guard);
}
