// SPDX-License-Identifier: GPL-3.0-or-later
#define _POSIX_C_SOURCE 200809L // threads, clocks, sockets, signals

#include "server/http_front.h"

#include "base/alloc.h"
#include "server/event_stream.h"
#include "server/page_file.h"
#include "server/route.h"

#include <arpa/inet.h>
#include <microhttpd.h>
#include <netdb.h>
#include <netinet/in.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>

enum {
    ARENA_BYTES = 64 * 1024 * 1024,
    CONNECTIONS = 128,
    CONNECTIONS_OF_ONE = 64,
    SILENT_S = 30,                     ///< a connection on which nothing moves is closed
    HEAD_BYTES = 32 * 1024,            ///< request line and headers
    BODY_S = 180,                      ///< a body must be here by then
    BODIES_BYTES = 384 * 1024 * 1024,  ///< all bodies being received
    DISCARD_BYTES = 512 * 1024 * 1024, ///< beyond this the connection is cut
    ALLOWED_TEXT = 64,
    THREAD_STACK = 4 * 1024 * 1024,
    EVENT_BLOCK = 4096
};

// One request while it is received and answered.
typedef struct Exchange {
    sf_Request request;
    sf_Reply reply;
    unsigned char *body;
    size_t size, room, all; ///< kept, allocated, received
    double begun;
    bool refused; ///< what still comes is thrown away, then the refusal below is sent
    sf_Error why;
} Exchange;

// ---- answering -------------------------------------------------------------------------------------------------

static void add_policy(struct MHD_Response *response, const sf_Server *server, bool page)
{
    static const char policy[] =
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob: data:; font-src 'self'; "
        "connect-src 'self'; media-src 'self' blob:; worker-src 'self'; manifest-src 'self'; base-uri 'none'; "
        "form-action 'none'; frame-ancestors 'none'";
    static const char of_data[] =
        "default-src 'none'; style-src 'unsafe-inline'; img-src data:; frame-ancestors 'none'; sandbox";
    MHD_add_response_header(response, "Content-Security-Policy", page ? policy : of_data);
    MHD_add_response_header(response, "X-Content-Type-Options", "nosniff");
    MHD_add_response_header(response, "X-Frame-Options", "DENY");
    MHD_add_response_header(response, "Referrer-Policy", "no-referrer");
    MHD_add_response_header(response, "Cross-Origin-Opener-Policy", "same-origin");
    MHD_add_response_header(response, "Cross-Origin-Resource-Policy", "same-origin");
    MHD_add_response_header(response, "Permissions-Policy", "camera=(self), microphone=(), geolocation=()");
    if (server->tls)
        MHD_add_response_header(response, "Strict-Transport-Security", "max-age=31536000");
}

static ssize_t read_events(void *context, uint64_t position, char *bytes, size_t room)
{
    (void)position;
    ssize_t n = sf_event_stream_read(context, bytes, room);
    return n < 0 ? MHD_CONTENT_READER_END_OF_STREAM : n;
}

static struct MHD_Response *make_response(Exchange *x)
{
    sf_Reply *reply = &x->reply;
    if (reply->events) {
        sf_EventStream *stream = sf_event_stream_open(x->request.server, reply->job_owner, reply->job);
        return stream ? MHD_create_response_from_callback(MHD_SIZE_UNKNOWN, EVENT_BLOCK, read_events, stream,
                                                          sf_event_stream_close)
                      : NULL;
    }
    if (reply->fixed)
        return MHD_create_response_from_buffer(reply->size, (void *)(uintptr_t)reply->fixed, MHD_RESPMEM_PERSISTENT);
    // The bytes stay the exchange's, which outlives the response (it is freed when the request is completed).
    return MHD_create_response_from_buffer(reply->bytes ? reply->size : 0, reply->bytes, MHD_RESPMEM_PERSISTENT);
}

static enum MHD_Result send_reply(struct MHD_Connection *connection, Exchange *x, bool page)
{
    sf_Reply *reply = &x->reply;
    struct MHD_Response *response = make_response(x);
    if (!response)
        return MHD_NO;
    bool empty = reply->status == 204 || reply->status == 304;
    if (!empty)
        MHD_add_response_header(response, "Content-Type", reply->type ? reply->type : "application/json");
    bool cached = false;
    for (size_t i = 0; i < reply->header_count; i++) {
        MHD_add_response_header(response, reply->headers[i].name, reply->headers[i].value);
        cached = cached || strcmp(reply->headers[i].name, "Cache-Control") == 0;
    }
    if (!cached)
        MHD_add_response_header(response, "Cache-Control", "no-store");
    add_policy(response, x->request.server, page);
    enum MHD_Result result = MHD_queue_response(connection, (unsigned)reply->status, response);
    MHD_destroy_response(response);
    return result;
}

// A refusal is sent when the body has come and been thrown away: whoever is still sending would not hear it.
static enum MHD_Result refuse(Exchange *x, int http, sf_Status status, const char *field, const char *what)
{
    if (x->refused)
        return MHD_YES;
    x->refused = true;
    x->why.status = SF_FAIL(&x->why, status, field, "%s", what);
    x->reply.status = http ? http : x->reply.status;
    return MHD_YES;
}

// ---- the page's files ------------------------------------------------------------------------------------------

static const sf_PageFile *find_page(const char *path)
{
    for (size_t i = 0; i < sf_page_file_count; i++)
        if (strcmp(sf_page_files[i].path, path) == 0)
            return &sf_page_files[i];
    return NULL;
}

static enum MHD_Result send_page(struct MHD_Connection *connection, Exchange *x, const sf_PageFile *file)
{
    sf_Reply *reply = &x->reply;
    const char *known = sf_request_header(&x->request, "If-None-Match");
    const char *takes = sf_request_header(&x->request, "Accept-Encoding");
    bool packed = file->gzip && takes && strstr(takes, "gzip");
    reply->status = 200;
    reply->type = file->media_type;
    reply->fixed = packed ? file->gzip : file->bytes;
    reply->size = packed ? file->gzip_size : file->size;
    sf_reply_header(reply, "ETag", file->etag);
    sf_reply_header(reply, "Cache-Control", "no-cache");
    sf_reply_header(reply, "Vary", "Accept-Encoding");
    if (known && strcmp(known, file->etag) == 0) {
        reply->status = 304;
        reply->size = 0;
    } else if (packed) {
        sf_reply_header(reply, "Content-Encoding", "gzip");
    }
    return send_reply(connection, x, true);
}

// ---- receiving -------------------------------------------------------------------------------------------------

// A page of another site may point its own name at this machine: on loopback only names of loopback are answered.
static bool host_is_ours(const Exchange *x)
{
    static const char *const names[] = { "localhost", "127.0.0.1", "[::1]" };
    const char *host = sf_request_header(&x->request, "Host");
    if (!x->request.server->loopback || !host)
        return true; // HTTP/1.0 tools name no host; a browser always does
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        size_t length = strlen(names[i]);
        if (strncmp(host, names[i], length) == 0 && (host[length] == '\0' || host[length] == ':'))
            return true;
    }
    return false;
}

static enum MHD_Result begin_request(Exchange *x)
{
    sf_Error err = { 0 };
    sf_Request *request = &x->request;
    char *allowed = sf_arena_alloc(request->arena, 1, ALLOWED_TEXT);
    const char *length = sf_request_header(request, "Content-Length");
    unsigned long long bytes = length ? strtoull(length, NULL, 10) : 0;
    if (bytes > DISCARD_BYTES)
        return MHD_NO; // not even to be thrown away
    if (!host_is_ours(x))
        return refuse(x, 403, SF_E_USAGE, "Host", "this machine is not called that here: use 127.0.0.1 or localhost");
    if (strncmp(request->path, "/api/", 5) != 0)
        return MHD_YES;
    sf_Status status = allowed ? sf_route_find(request, allowed, ALLOWED_TEXT, &err) : SF_E_MEMORY;
    if (status == SF_E_USAGE)
        sf_reply_header(&x->reply, "Allow", allowed);
    if (status != SF_OK)
        return refuse(x, status == SF_E_USAGE ? 405 : status == SF_E_MISSING ? 404 : 503, status, NULL, err.text);
    if (bytes > sf_route_body_most(request->route))
        return refuse(x, 413, SF_E_LIMIT, NULL, "this is more than is taken here");
    status = sf_route_admit(request, &x->reply, &err);
    if (status != SF_OK)
        return refuse(x, 0, status, err.path, err.text);
    return MHD_YES;
}

static bool take(Exchange *x, const char *bytes, size_t size)
{
    size_t most = sf_route_body_most(x->request.route), wanted = x->size + size;
    if (wanted > most)
        return false;
    if (wanted > x->room) {
        size_t room = x->room ? 2 * x->room : 4096;
        room = room < wanted ? wanted : room;
        room = room > most ? most : room;
        size_t all = atomic_fetch_add(&x->request.server->body_bytes, room - x->room) + room - x->room;
        unsigned char *moved = all <= BODIES_BYTES ? sf_realloc(x->body, room + 1, 1) : NULL;
        if (!moved) {
            atomic_fetch_sub(&x->request.server->body_bytes, room - x->room);
            return false;
        }
        x->body = moved;
        x->room = room;
    }
    memcpy(x->body + x->size, bytes, size);
    x->size += size;
    x->body[x->size] = '\0';
    return true;
}

static void take_part(Exchange *x, const char *bytes, size_t size)
{
    x->all += size;
    if (x->refused)
        return;
    bool late = sf_server_clock() - x->begun > BODY_S;
    if (!late && x->request.route && take(x, bytes, size))
        return;
    refuse(x, late ? 408 : 413, SF_E_LIMIT, NULL, late ? "the body took too long" : "this is more than is taken here");
    sf_free(x->body);
    atomic_fetch_sub(&x->request.server->body_bytes, x->room);
    x->body = NULL;
    x->room = x->size = 0;
}

static enum MHD_Result finish_request(struct MHD_Connection *connection, Exchange *x)
{
    if (!x->refused && !x->request.route) {
        const sf_PageFile *file = find_page(x->request.path);
        bool reads = strcmp(x->request.method, "GET") == 0 || strcmp(x->request.method, "HEAD") == 0;
        if (file && reads)
            return send_page(connection, x, file);
        refuse(x, file ? 405 : 404, SF_E_MISSING, NULL, "there is nothing at this address");
    }
    if (x->refused) {
        sf_reply_fail(&x->reply, &x->request, &x->why);
        return send_reply(connection, x, false);
    }
    x->request.body = x->body ? x->body : (const unsigned char *)"";
    x->request.body_size = x->size;
    sf_route_answer(&x->request, &x->reply);
    return send_reply(connection, x, false);
}

static enum MHD_Result on_request(void *context, struct MHD_Connection *connection, const char *path,
                                  const char *method, const char *version, const char *bytes, size_t *size,
                                  void **state)
{
    Exchange *x = *state;
    (void)version;
    if (x && *size) {
        take_part(x, bytes, *size);
        *size = 0;
        return x->all <= DISCARD_BYTES ? MHD_YES : MHD_NO;
    }
    if (x)
        return finish_request(connection, x);
    x = sf_alloc(1, sizeof *x);
    if (!x)
        return MHD_NO;
    *state = x;
    x->begun = sf_server_clock();
    x->request.server = context;
    x->request.connection = connection;
    x->request.arena = sf_arena_create(ARENA_BYTES);
    x->request.path = path;
    x->request.method = method;
    if (!x->request.arena)
        return MHD_NO;
    return begin_request(x);
}

static void on_completed(void *context, struct MHD_Connection *connection, void **state,
                         enum MHD_RequestTerminationCode code)
{
    Exchange *x = *state;
    (void)context, (void)connection, (void)code;
    if (!x)
        return;
    atomic_fetch_sub(&x->request.server->body_bytes, x->room);
    if (x->request.drop && x->request.prepared)
        x->request.drop(x->request.prepared);
    sf_doc_destroy(&x->request.doc);
    sf_reply_free(&x->reply);
    sf_arena_destroy(&x->request.arena);
    sf_free(x->body);
    sf_free(x);
    *state = NULL;
}

static void on_words(void *context, const char *format, va_list args)
{
    (void)context, (void)format, (void)args; // a client that hangs up in mid-word is no news
}

// ---- starting and stopping -------------------------------------------------------------------------------------

static sf_Status find_address(const sf_FrontAsk *ask, struct sockaddr_storage *place, bool *loopback, sf_Error *err)
{
    struct addrinfo hints = { .ai_family = AF_UNSPEC, .ai_socktype = SOCK_STREAM, .ai_flags = AI_PASSIVE },
                    *list = NULL;
    char port[8];
    snprintf(port, sizeof port, "%d", ask->port);
    if (getaddrinfo(ask->address, port, &hints, &list) != 0 || !list)
        return SF_FAIL(err, SF_E_USAGE, "--address",
                       "there is no address '%.60s' to listen at: name one of this machine", ask->address);
    memcpy(place, list->ai_addr, list->ai_addrlen);
    freeaddrinfo(list);
    if (place->ss_family == AF_INET6)
        *loopback = IN6_IS_ADDR_LOOPBACK(&((struct sockaddr_in6 *)place)->sin6_addr);
    else
        *loopback = (ntohl(((struct sockaddr_in *)place)->sin_addr.s_addr) >> 24) == 127;
    return SF_OK;
}

sf_Status sf_front_check(const char *address, bool tls, sf_Error *err)
{
    struct sockaddr_storage place = { 0 };
    const sf_FrontAsk ask = { .address = address };
    bool loopback;
    SF_TRY(find_address(&ask, &place, &loopback, err));
    if (!loopback && !tls)
        return SF_FAIL(err, SF_E_USAGE, "--address",
                       "%.60s can be reached by other machines: listen there with --own-certificate, or with "
                       "--certificate and --key, or stay on 127.0.0.1",
                       address);
    return SF_OK;
}

sf_Status sf_front_start(sf_Server *server, const sf_FrontAsk *ask, sf_Error *err)
{
    struct sockaddr_storage place = { 0 };
    SF_TRY(find_address(ask, &place, &server->loopback, err));
    server->tls = ask->certificate != NULL;
    unsigned flags = MHD_USE_THREAD_PER_CONNECTION | MHD_USE_INTERNAL_POLLING_THREAD | MHD_USE_POLL |
                     MHD_USE_ERROR_LOG | MHD_USE_ITC;
    flags |= server->tls ? MHD_USE_TLS : 0;
    flags |= place.ss_family == AF_INET6 ? MHD_USE_IPv6 : 0;
    struct MHD_OptionItem tls[] = { { MHD_OPTION_HTTPS_MEM_CERT, 0, (void *)(uintptr_t)ask->certificate },
                                    { MHD_OPTION_HTTPS_MEM_KEY, 0, (void *)(uintptr_t)ask->key },
                                    { MHD_OPTION_END, 0, NULL } };
    struct MHD_OptionItem none[] = { { MHD_OPTION_END, 0, NULL } };
    server->daemon = MHD_start_daemon(
        flags, 0, NULL, NULL, on_request, server, MHD_OPTION_EXTERNAL_LOGGER, on_words, NULL, MHD_OPTION_SOCK_ADDR,
        (struct sockaddr *)&place, MHD_OPTION_NOTIFY_COMPLETED, on_completed, NULL, MHD_OPTION_CONNECTION_LIMIT,
        (unsigned)CONNECTIONS, MHD_OPTION_PER_IP_CONNECTION_LIMIT, (unsigned)CONNECTIONS_OF_ONE,
        MHD_OPTION_CONNECTION_TIMEOUT, (unsigned)SILENT_S, MHD_OPTION_CONNECTION_MEMORY_LIMIT, (size_t)HEAD_BYTES,
        MHD_OPTION_THREAD_STACK_SIZE, (size_t)THREAD_STACK, MHD_OPTION_STRICT_FOR_CLIENT, 1,
        MHD_OPTION_LISTENING_ADDRESS_REUSE, 1u, MHD_OPTION_ARRAY, server->tls ? tls : none, MHD_OPTION_END);
    if (!server->daemon)
        return SF_FAIL(err, SF_E_STORE, "--port",
                       "%.60s port %d cannot be listened at: another program has it, or the certificate is not good",
                       ask->address, ask->port);
    const union MHD_DaemonInfo *info = MHD_get_daemon_info(server->daemon, MHD_DAEMON_INFO_BIND_PORT);
    server->port = info ? info->port : ask->port;
    return SF_OK;
}

void sf_front_stop(sf_Server *server)
{
    if (server->daemon)
        MHD_stop_daemon(server->daemon);
    server->daemon = NULL;
}

sf_Status sf_server_adopt(sf_Server *server, int socket, sf_Error *err)
{
    struct sockaddr_in from = { .sin_family = AF_INET, .sin_addr = { htonl(INADDR_LOOPBACK) } };
    if (MHD_add_connection(server->daemon, socket, (struct sockaddr *)&from, sizeof from) != MHD_YES)
        return SF_FAIL(err, SF_E_STORE, NULL, "the connection could not be taken over");
    return SF_OK;
}
