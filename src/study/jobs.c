// SPDX-License-Identifier: GPL-3.0-or-later
#define _POSIX_C_SOURCE 200809L // threads, clocks, sockets, signals

#include "study/jobs.h"

#include "base/alloc.h"
#include "seal/token.h"

#include <math.h>
#include <pthread.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

enum { MOST_WORKERS = 8, SLOTS = 4 * SF_JOBS_MOST }; // ended jobs lie beside those in line until they are forgotten

typedef struct Job {
    char id[SF_JOB_ID];
    int64_t owner;
    sf_JobWork work;
    sf_JobState state;
    bool stop; ///< asked to stop
    double share;
    char said[SF_JOB_SAID];
    uint64_t change, order;
    double ended_at;
    char *result;
    sf_Error error;
    sf_Jobs *all;
} Job;

struct sf_Jobs {
    pthread_mutex_t lock;
    pthread_cond_t work, news;
    pthread_t workers[MOST_WORKERS];
    size_t worker_count;
    Job *slots[SLOTS];
    double keep;
    uint64_t changes, orders;
    bool closing;
};

static double now_s(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

bool sf_job_ended(sf_JobState state)
{
    return state >= SF_JOB_DONE;
}

const char *sf_job_state_word(sf_JobState state)
{
    static const char *const words[] = { "waiting", "running", "done", "failed", "cancelled" };
    return words[state];
}

// ---- all below with the lock held ------------------------------------------------------------------------------

static void changed(Job *job)
{
    job->change = ++job->all->changes;
    pthread_cond_broadcast(&job->all->news);
}

static void finish(Job *job, sf_JobState state)
{
    job->state = state;
    job->ended_at = now_s();
    changed(job);
}

static void forget(Job **slot)
{
    Job *job = *slot;
    if (job->work.drop)
        job->work.drop(job->work.context);
    sf_free(job->result);
    sf_free(job);
    *slot = NULL;
}

static Job *find(sf_Jobs *jobs, int64_t owner, const char *id)
{
    for (size_t i = 0; i < SLOTS; i++)
        if (jobs->slots[i] && jobs->slots[i]->owner == owner && strcmp(jobs->slots[i]->id, id) == 0)
            return jobs->slots[i];
    return NULL;
}

// A free slot; what has ended long ago goes, and in need the one that ended first.
static Job **free_slot(sf_Jobs *jobs)
{
    Job **empty = NULL, **oldest = NULL;
    double now = now_s();
    for (size_t i = 0; i < SLOTS; i++) {
        Job **slot = &jobs->slots[i];
        if (*slot && sf_job_ended((*slot)->state) && now - (*slot)->ended_at > jobs->keep)
            forget(slot);
        if (!*slot)
            empty = slot;
        else if (sf_job_ended((*slot)->state) && (!oldest || (*slot)->ended_at < (*oldest)->ended_at))
            oldest = slot;
    }
    if (!empty && oldest) {
        forget(oldest);
        empty = oldest;
    }
    return empty;
}

static Job *next_in_line(sf_Jobs *jobs)
{
    Job *next = NULL;
    for (size_t i = 0; i < SLOTS; i++)
        if (jobs->slots[i] && jobs->slots[i]->state == SF_JOB_WAITING && (!next || jobs->slots[i]->order < next->order))
            next = jobs->slots[i];
    return next;
}

// ---- working ---------------------------------------------------------------------------------------------------

static bool go_on(void *context, double share, const char *said)
{
    Job *job = context;
    pthread_mutex_lock(&job->all->lock);
    bool stop = job->stop;
    job->share = share;
    snprintf(job->said, sizeof job->said, "%s", said ? said : "");
    changed(job);
    pthread_mutex_unlock(&job->all->lock);
    return !stop;
}

static void work_on(sf_Jobs *jobs, Job *job)
{
    sf_ComputeWatch watch = { job, go_on };
    sf_Error err = { 0 };
    char *text = NULL;
    job->state = SF_JOB_RUNNING;
    changed(job);
    pthread_mutex_unlock(&jobs->lock);
    sf_Status status = job->work.run(job->work.context, &watch, &text, &err);
    pthread_mutex_lock(&jobs->lock);
    job->result = text;
    job->error = err;
    job->error.status = status;
    if (status == SF_OK)
        job->share = 1;
    finish(job, status == SF_OK ? SF_JOB_DONE : status == SF_E_CANCELLED ? SF_JOB_CANCELLED : SF_JOB_FAILED);
}

static void *worker(void *context)
{
    sf_Jobs *jobs = context;
    pthread_mutex_lock(&jobs->lock);
    while (!jobs->closing) {
        Job *job = next_in_line(jobs);
        if (job)
            work_on(jobs, job);
        else
            pthread_cond_wait(&jobs->work, &jobs->lock);
    }
    pthread_mutex_unlock(&jobs->lock);
    return NULL;
}

sf_Status sf_jobs_create(sf_Jobs **out, size_t workers, double keep_s, sf_Error *err)
{
    *out = NULL;
    sf_Jobs *jobs = sf_alloc(1, sizeof *jobs);
    if (!jobs)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    pthread_condattr_t clock;
    pthread_condattr_init(&clock);
    pthread_condattr_setclock(&clock, CLOCK_MONOTONIC);
    pthread_mutex_init(&jobs->lock, NULL);
    pthread_cond_init(&jobs->work, NULL);
    pthread_cond_init(&jobs->news, &clock);
    pthread_condattr_destroy(&clock);
    jobs->keep = keep_s;
    for (size_t i = 0; i < workers && i < MOST_WORKERS; i++) {
        if (pthread_create(&jobs->workers[i], NULL, worker, jobs) != 0) {
            sf_jobs_destroy(&jobs);
            return SF_FAIL(err, SF_E_MEMORY, NULL, "no thread could be started for long work");
        }
        jobs->worker_count++;
    }
    *out = jobs;
    return SF_OK;
}

void sf_jobs_quiesce(sf_Jobs *jobs)
{
    pthread_mutex_lock(&jobs->lock);
    jobs->closing = true;
    for (size_t i = 0; i < SLOTS; i++)
        if (jobs->slots[i]) {
            jobs->slots[i]->stop = true;
            if (jobs->slots[i]->state == SF_JOB_WAITING)
                finish(jobs->slots[i], SF_JOB_CANCELLED);
        }
    pthread_cond_broadcast(&jobs->work);
    pthread_cond_broadcast(&jobs->news);
    pthread_mutex_unlock(&jobs->lock);
}

void sf_jobs_destroy(sf_Jobs **jobs)
{
    if (!jobs || !*jobs)
        return;
    sf_jobs_quiesce(*jobs);
    for (size_t i = 0; i < (*jobs)->worker_count; i++)
        pthread_join((*jobs)->workers[i], NULL);
    for (size_t i = 0; i < SLOTS; i++)
        if ((*jobs)->slots[i])
            forget(&(*jobs)->slots[i]);
    pthread_cond_destroy(&(*jobs)->news);
    pthread_cond_destroy(&(*jobs)->work);
    pthread_mutex_destroy(&(*jobs)->lock);
    sf_free(*jobs);
    *jobs = NULL;
}

// ---- asking ----------------------------------------------------------------------------------------------------

static sf_Status put_in_line(sf_Jobs *jobs, Job *job, sf_Error *err)
{
    size_t own = 0, all = 0;
    for (size_t i = 0; i < SLOTS; i++)
        if (jobs->slots[i] && !sf_job_ended(jobs->slots[i]->state)) {
            all++;
            own += jobs->slots[i]->owner == job->owner;
        }
    Job **slot = own < SF_JOBS_OF_ONE && all < SF_JOBS_MOST && !jobs->closing ? free_slot(jobs) : NULL;
    if (!slot)
        return SF_FAIL(err, SF_E_LIMIT, NULL, "too much long work is in line: wait for some of it, or stop some");
    *slot = job;
    job->order = ++jobs->orders;
    changed(job);
    pthread_cond_signal(&jobs->work);
    return SF_OK;
}

sf_Status sf_jobs_begin(sf_Jobs *jobs, int64_t owner, sf_JobWork work, char id[SF_JOB_ID], sf_Error *err)
{
    Job *job = sf_alloc(1, sizeof *job);
    if (!job) {
        if (work.drop)
            work.drop(work.context);
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    }
    *job = (Job){ .owner = owner, .work = work, .all = jobs };
    sf_token_salt(job->id);
    memcpy(id, job->id, SF_JOB_ID);
    pthread_mutex_lock(&jobs->lock);
    sf_Status status = put_in_line(jobs, job, err);
    pthread_mutex_unlock(&jobs->lock);
    if (status != SF_OK)
        forget(&job);
    return status;
}

static sf_Status no_such(const char *id, sf_Error *err)
{
    return SF_FAIL(err, SF_E_MISSING, "job", "there is no job '%.40s' of yours: it was never begun or is forgotten",
                   id);
}

sf_Status sf_jobs_look(sf_Jobs *jobs, int64_t owner, const char *id, uint64_t seen, double wait_s, sf_JobView *view,
                       sf_Error *err)
{
    *view = (sf_JobView){ 0 };
    double until = now_s() + wait_s;
    struct timespec at = { (time_t)until, (long)(1e9 * (until - (double)(time_t)until)) };
    sf_Status status = SF_OK;
    pthread_mutex_lock(&jobs->lock);
    Job *job = find(jobs, owner, id);
    while (job && seen && job->change <= seen && !sf_job_ended(job->state) && !jobs->closing) {
        if (pthread_cond_timedwait(&jobs->news, &jobs->lock, &at) != 0)
            break;
        job = find(jobs, owner, id);
    }
    job = find(jobs, owner, id);
    if (job) {
        memcpy(view->id, job->id, sizeof view->id);
        memcpy(view->said, job->said, sizeof view->said);
        view->work = job->work.name;
        view->state = job->state;
        view->share = job->share;
        view->change = job->change;
        view->error = job->error;
        view->result = job->result ? sf_copy_text(job->result, strlen(job->result)) : NULL;
        if (job->result && !view->result)
            status = SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    }
    pthread_mutex_unlock(&jobs->lock);
    return job ? status : no_such(id, err);
}

sf_Status sf_jobs_cancel(sf_Jobs *jobs, int64_t owner, const char *id, sf_Error *err)
{
    pthread_mutex_lock(&jobs->lock);
    Job *job = find(jobs, owner, id);
    if (job) {
        job->stop = true;
        if (job->state == SF_JOB_WAITING)
            finish(job, SF_JOB_CANCELLED);
    }
    pthread_mutex_unlock(&jobs->lock);
    return job ? SF_OK : no_such(id, err);
}
