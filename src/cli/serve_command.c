// SPDX-License-Identifier: GPL-3.0-or-later
// `standfast serve`: the server, until it is interrupted.
#define _POSIX_C_SOURCE 200809L // threads, clocks, sockets, signals

#include "base/alloc.h"
#include "cli/arguments.h"
#include "cli/command.h"
#include "record/store.h"
#include "server/server.h"

#include <pthread.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>

typedef struct Ask {
    const char *store, *files, *address, *certificate, *key;
    double port, rest_s, session_s, lock_s;
    bool own_certificate, print_api, demo;
} Ask;

static sf_Status read_arguments(Ask *ask, sf_Arguments *arguments, int argc, char **argv, int first, sf_Error *err)
{
    const sf_Option options[] = {
        { "--store", SF_OPTION_TEXT, &ask->store, 0, 0, NULL, "SQLite file, or postgres://... (made when not there)" },
        { "--files", SF_OPTION_TEXT, &ask->files, 0, 0, NULL, "folder of picture files and key (with postgres)" },
        { "--address", SF_OPTION_TEXT, &ask->address, 0, 0, NULL, "to listen at (127.0.0.1)" },
        { "--port", SF_OPTION_NUMBER, &ask->port, 0, 65535, NULL, "to listen at (8470; 0: any free one)" },
        { "--certificate", SF_OPTION_TEXT, &ask->certificate, 0, 0, NULL, "PEM file for HTTPS, with --key" },
        { "--key", SF_OPTION_TEXT, &ask->key, 0, 0, NULL, "PEM file of its key" },
        { "--own-certificate", SF_OPTION_FLAG, &ask->own_certificate, 0, 0, NULL,
          "HTTPS with a certificate made here and kept beside the store" },
        { "--rest-s", SF_OPTION_NUMBER, &ask->rest_s, 1, 86400, NULL, "signing waits after this long idle (1200)" },
        { "--session-s", SF_OPTION_NUMBER, &ask->session_s, 1, 604800, NULL, "a session ends after this (43200)" },
        { "--lock-s", SF_OPTION_NUMBER, &ask->lock_s, 1, 86400, NULL, "lock-out after five wrong tries (900)" },
        { "--demo", SF_OPTION_FLAG, &ask->demo, 0, 0, NULL, "say on the page that all of it is invented" },
        { "--print-api", SF_OPTION_FLAG, &ask->print_api, 0, 0, NULL, "print the table of routes and end" },
    };
    enum { OPTIONS = sizeof options / sizeof *options };
    SF_TRY(sf_arguments_read(arguments, argc, argv, first, options, OPTIONS, err));
    if (arguments->help) {
        printf("standfast serve\n\nServes the page and its interface (docs/api.md) until interrupted. The first start "
               "on a new store prints a link for the first admin, good for one use.\n\n");
        sf_arguments_print_help(options, OPTIONS);
        return SF_OK;
    }
    if (arguments->name_count > 0)
        return SF_FAIL(err, SF_E_USAGE, NULL, "serve takes options only, not '%s'", arguments->names[0]);
    if (ask->port != (double)(int)ask->port)
        return SF_FAIL(err, SF_E_USAGE, "--port", "--port takes a whole number");
    return SF_OK;
}

static sf_Status print_api(sf_Error *err)
{
    char *text = NULL;
    SF_TRY(sf_server_api_page(&text, err));
    fputs(text, stdout);
    sf_free(text);
    return SF_OK;
}

static void greet(sf_Server *server, const Ask *ask, const sf_Store *store)
{
    const char *address = ask->address ? ask->address : "127.0.0.1";
    const char *open = strchr(address, ':') ? "[" : "", *close = *open ? "]" : "";
    char where[256], token[SF_SERVER_TOKEN];
    sf_server_first_token(server, token);
    snprintf(where, sizeof where, "%s://%s%s%s:%d/", sf_server_tls(server) ? "https" : "http", open, address, close,
             sf_server_port(server));
    printf("Standfast listens at %s (store: %s)\n", where, sf_store_place(store));
    if (*token)
        printf("Nobody is in the store yet. Make the first admin here, once: %s#first-admin=%s\n", where, token);
    fflush(stdout);
}

// Threads that a library started before main (OpenBLAS does) do not hold these signals back: what reaches one of them
// goes on to the thread that waits.
static pthread_t waiting;

static void pass_on(int signal_number)
{
    pthread_kill(waiting, signal_number);
}

// Every thread leaves these signals to the one that waits for them.
static void hold_signals(sigset_t *ends)
{
    const struct sigaction passing = { .sa_handler = pass_on, .sa_flags = SA_RESTART };
    waiting = pthread_self();
    sigemptyset(ends);
    sigaddset(ends, SIGINT);
    sigaddset(ends, SIGTERM);
    sigaddset(ends, SIGHUP);
    pthread_sigmask(SIG_BLOCK, ends, NULL);
    sigaction(SIGINT, &passing, NULL);
    sigaction(SIGTERM, &passing, NULL);
    sigaction(SIGHUP, &passing, NULL);
    signal(SIGPIPE, SIG_IGN);
}

static sf_Status serve(const Ask *ask, sf_Error *err)
{
    sf_Store *store = NULL;
    sf_Server *server = NULL;
    char *place = NULL, *folder = NULL;
    sigset_t ends;
    int signal_number;
    sf_Status status = SF_OK;
    hold_signals(&ends);
    sf_ServerAsk how = {
        ask->address, (int)ask->port, ask->certificate, ask->key,   ask->own_certificate ? "tls" : NULL,
        ask->demo,    ask->rest_s,    ask->session_s,   ask->lock_s
    };
    SF_TRY_DONE(sf_server_check(&how, err)); // before a store is made
    if (!ask->store)
        SF_TRY_DONE(sf_store_default_place(&place, err));
    SF_TRY_DONE(sf_store_open(&store, ask->store ? ask->store : place, ask->files, SF_STORE_MAKE, err));
    if (ask->own_certificate) {
        const char *files = sf_store_files(store);
        size_t length = strlen(files) + 5;
        folder = sf_alloc(length, 1);
        if (!folder) {
            status = SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
            goto done;
        }
        snprintf(folder, length, "%s/tls", files);
    }
    how.own_certificate = folder;
    SF_TRY_DONE(sf_server_start(&server, store, &how, err));
    greet(server, ask, store);
    sigwait(&ends, &signal_number);
    fprintf(stderr, "standfast: serve: stopping\n");
done:
    sf_server_stop(&server);
    sf_store_close(&store);
    sf_free(folder);
    sf_free(place);
    return status;
}

sf_Status sf_serve_command(int argc, char **argv, int first, sf_Error *err)
{
    Ask ask = { .port = 8470 };
    sf_Arguments arguments;
    SF_TRY(read_arguments(&ask, &arguments, argc, argv, first, err));
    if (arguments.help)
        return SF_OK;
    return ask.print_api ? print_api(err) : serve(&ask, err);
}
