// SPDX-License-Identifier: GPL-3.0-or-later
// The HTTP library's side: collects bodies within bounds, hands requests on, sends answers. Internal to server.
#pragma once

#include "server/server_inside.h"

typedef struct sf_FrontAsk {
    const char *address;
    int port;
    const char *certificate, *key; ///< PEM text; NULL: plain HTTP
} sf_FrontAsk;

/// Whether the address is one of this machine, and not open to others without TLS. SF_E_USAGE.
sf_Status sf_front_check(const char *address, bool tls, sf_Error *err) SF_MUST_USE;

/// Starts the library's daemon; server->daemon and server->port are set. SF_E_STORE when the port cannot be had.
sf_Status sf_front_start(sf_Server *server, const sf_FrontAsk *ask, sf_Error *err) SF_MUST_USE;

/// Stops it and waits for what is being answered.
void sf_front_stop(sf_Server *server);
