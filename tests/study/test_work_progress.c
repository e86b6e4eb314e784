// SPDX-License-Identifier: GPL-3.0-or-later
// Long work tells how far it is, in at least ten steps that only rise, and stops within 200 ms of its own processor
// time when it is asked to, wherever it is at that moment.
#define _POSIX_C_SOURCE 200809L

#include "base/alloc.h"
#include "base/file.h"
#include "harness/tap.h"
#include "study/computation.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

enum { LEAST_STEPS = 10, MOST_TOLD = 20000, PATH = 600 };
static const double STOPS_WITHIN = 0.2; // s of the working thread: what else the machine does is not its fault

typedef struct Ear {
    double shares[MOST_TOLD], last, longest; // longest: s between two of them
    size_t told, stop_at;                    // stop_at: refused from there on; 0: never
    char said[MOST_TOLD][24];
} Ear;

static double own_time(void)
{
    struct timespec t;
    clock_gettime(CLOCK_THREAD_CPUTIME_ID, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static bool hear(void *context, double share, const char *said)
{
    Ear *ear = context;
    double now = own_time();
    if (ear->told > 0 && now - ear->last > ear->longest)
        ear->longest = now - ear->last;
    ear->last = now;
    if (ear->told < MOST_TOLD) {
        snprintf(ear->said[ear->told], sizeof ear->said[0], "%s", said ? said : "");
        ear->shares[ear->told] = share;
    }
    ear->told++;
    return ear->stop_at == 0 || ear->told < ear->stop_at;
}

static sf_Status ring_file(void *context, const char *hash, char *path, size_t room, sf_Error *err)
{
    (void)context, (void)hash, (void)err;
    snprintf(path, room, "%s/tests/data/known_rings/trough.png", getenv("TAP_ROOT"));
    return SF_OK;
}

static char *request_text(const char *limb, const char *more)
{
    char path[PATH];
    unsigned char *bytes = NULL;
    size_t size = 0;
    snprintf(path, sizeof path, "%s/data/examples/%s.json", getenv("TAP_ROOT"), limb);
    TAP_OK(sf_file_read(path, 1 << 20, &bytes, &size, NULL));
    char *text = sf_alloc(size + strlen(more) + 40, 1);
    snprintf(text, size + strlen(more) + 40, "{\"document\": %.*s%s}", (int)size, (const char *)bytes, more);
    sf_free(bytes);
    return text;
}

static sf_Status work(Ear *ear, const char *name, const char *text)
{
    const sf_ComputeSource source = { NULL, ring_file, NULL };
    const sf_ComputeWatch watch = { ear, hear };
    sf_ComputeAnswer answer = { 0 };
    sf_Doc *doc = NULL;
    sf_Error err = { 0 };
    TAP_OK(sf_doc_parse(&doc, "the request", text, strlen(text), &err));
    sf_Status status =
        sf_computation_run(&answer, sf_computation_find(name), sf_doc_root(doc), false, &source, &watch, &err);
    TAP_TRUE((status == SF_OK) == (answer.json != NULL), "an answer or none: %s", err.text);
    sf_compute_answer_free(&answer);
    sf_doc_destroy(&doc);
    return status;
}

static const struct {
    const char *name, *limb, *more;
} works[] = {
    { "strength", "adult", ", \"options\": {\"samples\": 20000}" },
    { "strength", "child", ", \"options\": {\"as_of\": \"2026-03-01\"}" },
    { "growth", "child", ", \"options\": {\"as_of\": \"2026-03-01\"}" },
    { "ring", "adult",
      ", \"picture\": \"0011223344556677889900112233445566778899001122334455667788990011\", "
      "\"options\": {\"user\": \"adult\", \"posterior_deg\": 250}" },
};
enum { WORKS = sizeof works / sizeof *works };

TAP_CASE(long_work_tells_how_far_it_is)
{
    Ear *ear = sf_alloc(1, sizeof *ear);
    for (size_t i = 0; i < WORKS; i++) {
        char *text = request_text(works[i].limb, works[i].more);
        size_t steps = 0;
        memset(ear, 0, sizeof *ear);
        TAP_OK(work(ear, works[i].name, text));
        bool rises = true;
        for (size_t k = 1; k < ear->told && k < MOST_TOLD; k++) {
            rises = rises && ear->shares[k] >= ear->shares[k - 1] - 1e-9;
            steps += ear->shares[k] > ear->shares[k - 1] + 0.005;
        }
        TAP_TRUE(rises && ear->shares[0] == 0 && ear->shares[ear->told - 1] == 1, "%s rises from 0 to 1",
                 works[i].name);
        TAP_TRUE(steps >= LEAST_STEPS, "%s: %zu steps of half a percent or more", works[i].name, steps);
        TAP_TRUE(ear->longest < STOPS_WITHIN, "%s: %.0f ms without a word", works[i].name, 1e3 * ear->longest);
        for (size_t k = 1, last = 0; k < ear->told; last = k++)
            TAP_TRUE(ear->shares[k] - ear->shares[last] < 0.35, "%s leaps from %g to %g", works[i].name,
                     ear->shares[last], ear->shares[k]);
        sf_free(text);
    }
    sf_free(ear);
}

TAP_CASE(samples_are_counted)
{
    Ear *ear = sf_alloc(1, sizeof *ear);
    char *text = request_text("adult", ", \"options\": {\"samples\": 5000}");
    size_t counted = 0;
    TAP_OK(work(ear, "strength", text));
    for (size_t i = 0; i < ear->told && i < MOST_TOLD; i++)
        counted += strstr(ear->said[i], " of 5000 samples") != NULL;
    TAP_TRUE(counted >= 40, "%zu times", counted);
    sf_free(text);
    sf_free(ear);
}

// Asked to stop at every word it says: it comes back at once, as cancelled, and without an answer.
TAP_CASE(long_work_stops_wherever_it_is)
{
    bool whole = getenv("TAP_LONG") && strcmp(getenv("TAP_LONG"), "1") == 0;
    Ear *ear = sf_alloc(1, sizeof *ear);
    for (size_t i = 0; i < WORKS; i++) {
        char *text = request_text(works[i].limb, works[i].more);
        memset(ear, 0, sizeof *ear);
        TAP_OK(work(ear, works[i].name, text));
        size_t all = ear->told, step = all / (whole ? 40 : 6) + 1;
        for (size_t at = 1; at <= all; at += step) {
            memset(ear, 0, sizeof *ear);
            ear->stop_at = at;
            TAP_STATUS(work(ear, works[i].name, text), SF_E_CANCELLED);
            TAP_TRUE(own_time() - ear->last < STOPS_WITHIN, "%s stopped at %zu of %zu", works[i].name, at, all);
            TAP_TRUE(ear->told == at, "%s went on after it was told to stop: %zu, %zu", works[i].name, at, ear->told);
        }
        sf_free(text);
    }
    sf_free(ear);
}

// A part inside a part, and one that ends early.
TAP_CASE(parts_lie_within_each_other)
{
    Ear *ear = sf_alloc(1, sizeof *ear);
    const sf_ProgressWatch watch = { ear, hear };
    TAP_OK(sf_progress_tell(0.5, "nobody hears", NULL));
    const sf_ProgressWatch *before = sf_progress_watch(&watch);
    sf_ProgressPart outer = sf_progress_part(0.2, 0.6);
    TAP_OK(sf_progress_tell(0.5, "half", NULL));
    sf_ProgressPart middle = sf_progress_part(0.5, 1);
    TAP_OK(sf_progress_tell(0.5, "half", NULL));
    TAP_OK(sf_progress_count(3, 4, "things", NULL));
    sf_progress_end(middle);
    sf_progress_end(outer);
    TAP_OK(sf_progress_tell(0.9, "nearly", NULL));
    sf_progress_watch(before);
    TAP_OK(sf_progress_tell(1, "nobody hears", NULL));
    const double wanted[] = { 0.4, 0.5, 0.55, 0.9 };
    TAP_TRUE(ear->told == 4, "%zu", ear->told);
    for (size_t i = 0; i < 4; i++)
        TAP_NEAR(ear->shares[i], wanted[i], TAP_TIGHT, TAP_CLOSED_FORM);
    TAP_TEXT(ear->said[2], "3 of 4 things");
    sf_free(ear);
}

TAP_MAIN(TAP_RUN(parts_lie_within_each_other), TAP_RUN(long_work_tells_how_far_it_is), TAP_RUN(samples_are_counted),
         TAP_RUN(long_work_stops_wherever_it_is))
