// SPDX-License-Identifier: GPL-3.0-or-later
// Whatever bytes come down a connection, the server stays up: they go through the real parser of the HTTP library and
// the real routes, in a server of its own over an empty store. A NUL byte in the input stands for a pause: what follows
// is sent after what came before was read. Every answer begins with a status line, and the server then still answers a
// good request. A request that carries the cookie and token below comes from a signed-in admin.
#define _POSIX_C_SOURCE 200809L
#include "base/alloc.h"
#include "record/people.h"
#include "record/session.h"
#include "seal/token.h"
#include "server/server.h"

#include <poll.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <unistd.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

enum { ANSWER = 1 << 16, PATIENCE_MS = 2000, MOST_PARTS = 4 };

static sf_Server *server;
static sf_Store *kept;
static char folder[] = "/tmp/standfast-fuzz-XXXXXX";

static void clean(void)
{
    char line[200];
    sf_server_stop(&server);
    sf_store_close(&kept);
    snprintf(line, sizeof line, "rm -rf %s", folder);
    if (system(line) != 0)
        fprintf(stderr, "%s stays\n", folder);
}

#define COOKIE "ffffffffffffffffffffffffffffffffffffffffffffffffffffffffffffffff"
#define CSRF   "00000000000000000000000000000000"

// Somebody who is signed in, so that damaged requests get beyond the door.
static sf_Status let_in(sf_Store *store, sf_Error *err)
{
    sf_Transaction *t = NULL;
    sf_Person person = { .name = "fuzz", .initials = "F", .role = SF_ROLE_ADMIN, .active = true };
    char hash[SF_DIGEST_HEX];
    sf_token_digest(COOKIE, hash);
    SF_TRY(sf_transaction_write(&t, store, 0, err));
    sf_Status status = sf_person_add(t, &person, &person.id, err);
    const sf_Session session = { hash, person.id, CSRF, NULL, "2200-01-01T00:00:00.000Z", "fuzz" };
    if (status == SF_OK)
        status = sf_session_keep(t, &session, err);
    if (status == SF_OK)
        status = sf_transaction_commit(t, err);
    sf_transaction_end(&t);
    return status;
}

static void start(void)
{
    char place[200];
    sf_Error err = { 0 };
    const sf_ServerAsk ask = { .port = 0 };
    if (!mkdtemp(folder))
        abort();
    snprintf(place, sizeof place, "%s/fuzz.sqlite", folder);
    if (sf_store_open(&kept, place, NULL, SF_STORE_MAKE, &err) != SF_OK || let_in(kept, &err) != SF_OK ||
        sf_server_start(&server, kept, &ask, &err) != SF_OK) {
        fprintf(stderr, "%s\n", err.text);
        abort();
    }
    atexit(clean);
}

// Reads until the other side closes or stays silent; whether anything came.
static size_t hear(int line, char *answer, size_t room, int patience_ms)
{
    size_t have = 0;
    struct pollfd wait = { line, POLLIN, 0 };
    while (have + 1 < room && poll(&wait, 1, patience_ms) > 0) {
        ssize_t n = read(line, answer + have, room - 1 - have);
        if (n <= 0)
            break;
        have += (size_t)n;
    }
    answer[have] = '\0';
    return have;
}

// Sends and hangs up, as a client does that loses its network.
static size_t talk(const uint8_t *data, size_t size, char *answer)
{
    int ends[2];
    if (socketpair(AF_UNIX, SOCK_STREAM, 0, ends) != 0)
        abort();
    if (sf_server_adopt(server, ends[1], NULL) != SF_OK) {
        close(ends[0]);
        return 0; // too many at once: it says no
    }
    for (int part = 0; part < MOST_PARTS && size > 0; part++) {
        const uint8_t *pause = memchr(data, 0, size);
        size_t n = pause && part + 1 < MOST_PARTS ? (size_t)(pause - data) : size;
        if (n > 0 && send(ends[0], data, n, MSG_NOSIGNAL) < 0)
            break;
        n += pause && n < size ? 1 : 0;
        data += n;
        size -= n;
        if (size > 0)
            hear(ends[0], answer, ANSWER, 2);
    }
    shutdown(ends[0], SHUT_WR);
    size_t have = hear(ends[0], answer, ANSWER, PATIENCE_MS);
    close(ends[0]);
    return have;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static const char good[] = "GET /api/about HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n";
    static char answer[ANSWER];
    if (!server)
        start();
    size_t have = talk(data, size, answer);
    if (have >= 5 && strncmp(answer, "HTTP/", 5) != 0 && !memchr(data, 0, size)) {
        fprintf(stderr, "an answer that is none: %.60s\n", answer);
        abort();
    }
    have = talk((const uint8_t *)good, sizeof good - 1, answer);
    if (have < 15 || strncmp(answer, "HTTP/1.1 200", 12) != 0 || !strstr(answer, "\"version\"")) {
        fprintf(stderr, "after that a good request gets: %.200s\n", answer);
        abort();
    }
    return 0;
}
