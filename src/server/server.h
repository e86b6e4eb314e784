// SPDX-License-Identifier: GPL-3.0-or-later
// The server: HTTP or HTTPS on one port, the page, the interface of docs/api.md, sessions.
#pragma once

#include "base/status.h"
#include "record/store.h"

enum { SF_SERVER_ADDRESS = 64, SF_SERVER_TOKEN = 65 };

typedef struct sf_Server sf_Server;

typedef struct sf_ServerAsk {
    const char *address;           ///< to listen at; NULL: 127.0.0.1
    int port;                      ///< 0: any free one
    const char *certificate, *key; ///< PEM files; both or none
    const char *own_certificate;   ///< folder in which to make or find an own certificate; NULL: none
    bool demo;                     ///< says so on the page
    double rest_s;                 ///< a session rests after this many seconds without a request; 0: 20 minutes
    double session_s;              ///< and ends after this many; 0: 12 hours
    double lock_s;                 ///< lock-out after wrong tries; 0: 15 minutes
} sf_ServerAsk;

/// Whether it could start so, as far as can be said without doing anything: the address, TLS off loopback, both halves
/// of a certificate. SF_E_USAGE.
sf_Status sf_server_check(const sf_ServerAsk *ask, sf_Error *err) SF_MUST_USE;

/// Starts answering, in threads of its own. The store stays the caller's. SF_E_USAGE: an address off loopback without
/// TLS, or half a certificate; SF_E_MISSING, SF_E_INPUT: certificate files; SF_E_STORE: the port is taken.
sf_Status sf_server_start(sf_Server **server, sf_Store *store, const sf_ServerAsk *ask, sf_Error *err) SF_MUST_USE;

/// Stops taking connections, stops long work, waits for what is being answered, frees and nulls.
void sf_server_stop(sf_Server **server);

int sf_server_port(const sf_Server *server);
bool sf_server_tls(const sf_Server *server);

/// The one-time token for the first admin; "" when the store has people already.
void sf_server_first_token(sf_Server *server, char token[SF_SERVER_TOKEN]);

/// Takes over an open connection (a socket), as if it had been accepted: for tests of damaged requests. SF_E_STORE.
sf_Status sf_server_adopt(sf_Server *server, int socket, sf_Error *err) SF_MUST_USE;

/// docs/api.md's table, from the routes (free with sf_free). SF_E_MEMORY.
sf_Status sf_server_api_page(char **text, sf_Error *err) SF_MUST_USE;
