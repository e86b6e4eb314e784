// SPDX-License-Identifier: GPL-3.0-or-later
// Transactions: a pool of readers and the one writer.
#define _POSIX_C_SOURCE 200809L
#include "base/alloc.h"
#include "record/sealed.h"

#include <errno.h>
#include <time.h>

enum { WAIT_S = 10, ARENA_BYTES = 512 * 1024 * 1024 };

static struct timespec in_a_while(clockid_t clock)
{
    struct timespec until = { 0 };
    clock_gettime(clock, &until);
    until.tv_sec += WAIT_S;
    return until;
}

static sf_Status make(sf_Transaction **out, sf_Store *store, bool write, int64_t who, sf_Error *err)
{
    *out = NULL;
    sf_Transaction *t = sf_alloc(1, sizeof *t);
    if (t)
        t->arena = sf_arena_create(ARENA_BYTES);
    if (!t || !t->arena) {
        sf_free(t);
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    }
    t->store = store;
    t->write = write;
    t->who = who;
    t->reader = -1;
    *out = t;
    return SF_OK;
}

/// Takes a reader from the pool, waiting for one.
static sf_Status take_reader(sf_Transaction *t, sf_Error *err)
{
    sf_Store *store = t->store;
    struct timespec until = in_a_while(CLOCK_MONOTONIC);
    pthread_mutex_lock(&store->pool_lock);
    while (t->reader < 0) {
        // One that has worked before has its statements ready: those come first.
        for (int i = 0; i < SF_STORE_READERS && t->reader < 0; i++) {
            if (!store->reader_busy[i])
                t->reader = i;
        }
        if (t->reader < 0 && pthread_cond_timedwait(&store->pool_free, &store->pool_lock, &until) == ETIMEDOUT)
            break;
    }
    if (t->reader >= 0)
        store->reader_busy[t->reader] = true;
    pthread_mutex_unlock(&store->pool_lock);
    if (t->reader < 0)
        return SF_FAIL(err, SF_E_LIMIT, NULL, "the store is busy: try again in a moment");
    sf_Database **reader = &store->readers[t->reader];
    if (!*reader)
        SF_TRY(store->postgres ? sf_database_open_postgres(reader, store->place, err)
                               : sf_database_open_sqlite(reader, store->place, false, err));
    t->db = *reader;
    return SF_OK;
}

sf_Status sf_transaction_read(sf_Transaction **out, sf_Store *store, sf_Error *err)
{
    sf_Transaction *t = NULL;
    SF_TRY(make(&t, store, false, 0, err));
    sf_Status status = take_reader(t, err);
    if (status == SF_OK)
        status = sf_database_begin(t->db, false, err);
    sf_store_now(store, t->time);
    if (status != SF_OK)
        sf_transaction_end(&t);
    *out = t;
    return status;
}

sf_Status sf_transaction_write(sf_Transaction **out, sf_Store *store, int64_t who, sf_Error *err)
{
    sf_Transaction *t = NULL;
    *out = NULL;
    SF_TRY(make(&t, store, true, who, err));
    struct timespec until = in_a_while(CLOCK_REALTIME);
    sf_Status status = SF_OK;
    if (pthread_mutex_timedlock(&store->writer_lock, &until) != 0) {
        status = SF_FAIL(err, SF_E_STORE, NULL, "somebody else has been writing for more than %d s: try again", WAIT_S);
    } else {
        t->db = store->writer;
        status = sf_database_begin(t->db, true, err);
    }
    sf_store_now(store, t->time);
    if (status != SF_OK)
        sf_transaction_end(&t);
    *out = t;
    return status;
}

sf_Status sf_transaction_commit(sf_Transaction *t, sf_Error *err)
{
    if (t->over)
        return SF_FAIL(err, SF_E_STORE, NULL, "nothing was kept: an earlier step had failed");
    t->over = true;
    return sf_database_commit(t->db, err);
}

void sf_transaction_end(sf_Transaction **transaction)
{
    if (!transaction || !*transaction)
        return;
    sf_Transaction *t = *transaction;
    sf_Store *store = t->store;
    if (t->db)
        sf_database_undo(t->db);
    if (t->write && t->db) {
        pthread_mutex_unlock(&store->writer_lock);
    } else if (t->reader >= 0) {
        pthread_mutex_lock(&store->pool_lock);
        store->reader_busy[t->reader] = false;
        pthread_cond_signal(&store->pool_free);
        pthread_mutex_unlock(&store->pool_lock);
    }
    sf_arena_destroy(&t->arena);
    sf_free(t);
    *transaction = NULL;
}

const char *sf_transaction_time(const sf_Transaction *t)
{
    return t->time;
}

int64_t sf_transaction_who(const sf_Transaction *t)
{
    return t->who;
}

sf_Arena *sf_transaction_arena(sf_Transaction *t)
{
    return t->arena;
}

sf_Store *sf_transaction_store(sf_Transaction *t)
{
    return t->store;
}
