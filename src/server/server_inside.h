// SPDX-License-Identifier: GPL-3.0-or-later
// What the parts of the server share. Internal to server.
#pragma once

#include "seal/token.h"
#include "server/request.h"
#include "server/server.h"
#include "study/jobs.h"
#include "study/stage_table.h"

#include <pthread.h>
#include <stdatomic.h>

enum { SF_SEEN_MOST = 512 };

/// When a session was last heard of, by the monotonic clock.
typedef struct sf_Seen {
    char token_hash[SF_DIGEST_HEX];
    double at;
} sf_Seen;

struct sf_Server {
    sf_Store *store;
    sf_Jobs *jobs;
    sf_StageTable *stages;
    void *daemon; ///< of the HTTP library
    bool tls, loopback, demo;
    int port;
    double rest, session, lock;
    pthread_mutex_t guard; ///< of what follows
    char first_token[SF_TOKEN_HEX];
    sf_Seen seen[SF_SEEN_MOST];
    double swept;   ///< when old sessions were last swept, monotonic; 0: not yet
    size_t working; ///< computations that run now
    pthread_cond_t gate;
    atomic_size_t body_bytes; ///< of bodies being received
    atomic_bool stopping;
};

/// Monotonic seconds.
double sf_server_clock(void);

/// A computation may begin; waits in line up to 20 s. SF_E_LIMIT when the machine stays busy. Pair with leave.
sf_Status sf_gate_enter(sf_Server *server, sf_Error *err) SF_MUST_USE;
void sf_gate_leave(sf_Server *server);
