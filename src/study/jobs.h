// SPDX-License-Identifier: GPL-3.0-or-later
// Long work beside the requests: begun, looked at, waited on, stopped. A few threads work; the rest waits in line.
#pragma once

#include "study/computation.h"

#include <stdint.h>

enum { SF_JOB_ID = 33, SF_JOB_SAID = 120, SF_JOBS_MOST = 64, SF_JOBS_OF_ONE = 8 };

typedef struct sf_Jobs sf_Jobs;

typedef enum sf_JobState { SF_JOB_WAITING, SF_JOB_RUNNING, SF_JOB_DONE, SF_JOB_FAILED, SF_JOB_CANCELLED } sf_JobState;

/// The work itself: returns its result's text by `text` (free with sf_free), calls watch->go_on as it goes.
typedef struct sf_JobWork {
    const char *name; ///< a fixed word, such as the computation's
    void *context;
    sf_Status (*run)(void *context, const sf_ComputeWatch *watch, char **text, sf_Error *err);
    void (*drop)(void *context); ///< frees the context; called once, whatever happens
} sf_JobWork;

/// What can be seen of a job.
typedef struct sf_JobView {
    char id[SF_JOB_ID];
    const char *work;
    sf_JobState state;
    double share; ///< 0 to 1
    char said[SF_JOB_SAID];
    uint64_t change; ///< grows with every change
    char *result;    ///< done: its text, a copy (free with sf_free); else NULL
    sf_Error error;  ///< failed: why
} sf_JobView;

/// Starts `workers` threads (1 to 8). Ended jobs are forgotten after `keep_s` seconds. SF_E_MEMORY.
sf_Status sf_jobs_create(sf_Jobs **jobs, size_t workers, double keep_s, sf_Error *err) SF_MUST_USE;

/// Stops all work, wakes all who wait and frees; NULL and pointer to NULL are allowed. Nobody may be inside a call.
void sf_jobs_destroy(sf_Jobs **jobs);

/// Asks all work to stop and wakes all who wait: before a shutdown.
void sf_jobs_quiesce(sf_Jobs *jobs);

/// Puts work in line for `owner`; takes the context in any case. SF_E_LIMIT when SF_JOBS_OF_ONE of that owner or
/// SF_JOBS_MOST of all have not ended, SF_E_MEMORY.
sf_Status sf_jobs_begin(sf_Jobs *jobs, int64_t owner, sf_JobWork work, char id[SF_JOB_ID], sf_Error *err) SF_MUST_USE;

/// Looks at a job of that owner; with `seen` (a former view's change, else 0) it first waits up to `wait_s` seconds for
/// something newer. SF_E_MISSING when the owner has no such job.
sf_Status sf_jobs_look(sf_Jobs *jobs, int64_t owner, const char *id, uint64_t seen, double wait_s, sf_JobView *view,
                       sf_Error *err) SF_MUST_USE;

/// Asks a job to stop; one that has not begun is cancelled at once. SF_E_MISSING.
sf_Status sf_jobs_cancel(sf_Jobs *jobs, int64_t owner, const char *id, sf_Error *err) SF_MUST_USE;

/// Whether the state is one that stays.
bool sf_job_ended(sf_JobState state);
const char *sf_job_state_word(sf_JobState state);
