// SPDX-License-Identifier: GPL-3.0-or-later
// Fills a store with invented limbs and measures how long lists, searches and opening one take when several ask at
// once. Usage: store_load PLACE FILES LIMBS SECONDS
#define _XOPEN_SOURCE 700
#include "base/alloc.h"
#include "record/attachment.h"
#include "record/fact.h"
#include "record/limb_record.h"
#include "record/people.h"
#include "record/verify.h"
#include "record/wearer.h"

#include <pthread.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <time.h>

enum { BATCH = 500, SAMPLES = 200000, PAGE = 50 };

static const char *const first_names[] = { "Ada", "Bo",  "Cy",  "Dee",  "Eli",  "Fay", "Gus",  "Hal", "Ida", "Jo",
                                           "Kim", "Lea", "Max", "Nora", "Otto", "Pia", "Quin", "Rae", "Sol", "Tess" };

static double now_s(void)
{
    struct timespec now = { 0 };
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

/// Processor time of all threads so far: unlike the time on the clock it does not hang on what else the machine does.
static double used_s(void)
{
    struct rusage used = { 0 };
    getrusage(RUSAGE_SELF, &used);
    return (double)(used.ru_utime.tv_sec + used.ru_stime.tv_sec) +
           1e-6 * (double)(used.ru_utime.tv_usec + used.ru_stime.tv_usec);
}

static void must(sf_Status status, const sf_Error *err)
{
    if (status == SF_OK)
        return;
    fprintf(stderr, "store_load: %s\n", err->text);
    exit(1);
}

// ---- filling
// ---------------------------------------------------------------------------------------------------------

static void add_limb(sf_Transaction *t, int64_t number, sf_Error *err)
{
    char label[80], lot[32], due[16], body[200], document[2200];
    int64_t wearer = 0, limb = 0, fact = 0;
    snprintf(label, sizeof label, "%s Invented%05d", first_names[number % 20], (int)(number * 7919 % 100003));
    snprintf(lot, sizeof lot, "LOT-%d", (int)(number / 40));
    snprintf(due, sizeof due, "2026-%02d-%02d", (int)(number % 12) + 1, (int)(number % 28) + 1);
    // About as long as the documents of a real limb.
    int n = snprintf(document, sizeof document, "{ \"format\": \"standfast-limb/1\", \"label\": \"%s\", \"notes\": \"",
                     label);
    memset(document + n, 'x', sizeof document - (size_t)n);
    memcpy(document + sizeof document - 5, "\" }\0", 4);
    must(sf_wearer_add(t, label, &wearer, err), err);
    const sf_LimbHead head = { label, number % 2 ? "left" : "right",       lot, "walking", "check the holding screw",
                               due,   number % 50 ? NULL : "out-of-order", NULL };
    must(sf_limb_record_add(t, wearer, &head, document, &limb, err), err);
    for (int i = 0; i < 3; i++) {
        snprintf(body, sizeof body, "{ \"wall_min_mm\": %.2f, \"by\": \"invented\" }",
                 5.0 + (double)(number % 100) / 50);
        must(sf_fact_add(t, &(sf_Fact){ .limb = limb, .kind = i ? "walk" : "ring", .happened_at = due, .body = body },
                         &fact, err),
             err);
    }
}

static void fill(sf_Store *store, int64_t limbs)
{
    sf_Error err = { 0 };
    sf_Transaction *t = NULL;
    int64_t there = 0;
    must(sf_transaction_read(&t, store, &err), &err);
    must(sf_limb_record_count(t, &there, &err), &err);
    sf_transaction_end(&t);
    double began = now_s();
    for (int64_t number = there; number < limbs;) {
        must(sf_transaction_write(&t, store, 0, &err), &err);
        for (int i = 0; i < BATCH && number < limbs; i++)
            add_limb(t, number++, &err);
        must(sf_transaction_commit(t, &err), &err);
        sf_transaction_end(&t);
    }
    if (limbs > there)
        printf("filled with %d limbs in %.0f s\n", (int)(limbs - there), now_s() - began);
}

// ---- asking
// ------------------------------------------------------------------------------------------------------------

typedef void (*Question)(sf_Transaction *t, uint32_t random, int64_t limbs);

static void list(sf_Transaction *t, const sf_LimbAsk *ask)
{
    sf_Error err = { 0 };
    sf_LimbRow *rows = NULL;
    size_t count = 0;
    const char *next = NULL;
    must(sf_limb_record_list(t, ask, &rows, &count, &next, &err), &err);
}

static void list_somewhere(sf_Transaction *t, uint32_t random, int64_t limbs)
{
    char after[24];
    snprintf(after, sizeof after, "%d", (int)(random % (uint32_t)limbs) + 2);
    list(t, &(sf_LimbAsk){ .after = random % 2 ? after : NULL, .count = PAGE });
}

static void list_due(sf_Transaction *t, uint32_t random, int64_t limbs)
{
    char until[16];
    (void)limbs;
    snprintf(until, sizeof until, "2026-%02d-15", (int)(random % 12) + 1);
    list(t, &(sf_LimbAsk){ .due_until = until, .order = SF_LIMB_NEXT_DUE, .count = PAGE });
}

static void search_common(sf_Transaction *t, uint32_t random, int64_t limbs)
{
    (void)limbs;
    list(t, &(sf_LimbAsk){ .search = first_names[random % 20], .count = PAGE });
}

static void search_rare(sf_Transaction *t, uint32_t random, int64_t limbs)
{
    char text[48];
    (void)limbs;
    snprintf(text, sizeof text, "%s invented%04d", first_names[random % 20], (int)(random / 20 % 10000));
    list(t, &(sf_LimbAsk){ .search = text, .count = PAGE });
}

static void recall(sf_Transaction *t, uint32_t random, int64_t limbs)
{
    char lot[32];
    snprintf(lot, sizeof lot, "LOT-%d", (int)(random % (uint32_t)(limbs / 40 + 1)));
    list(t, &(sf_LimbAsk){ .sheet_lot = lot, .count = PAGE });
}

static void open_one(sf_Transaction *t, uint32_t random, int64_t limbs)
{
    sf_Error err = { 0 };
    int64_t id = random % (uint32_t)limbs + 1;
    sf_LimbRow row;
    const char *document = NULL;
    sf_Fact *facts = NULL;
    sf_Attachment *attachments = NULL;
    size_t count = 0;
    must(sf_limb_record_get(t, id, &row, &err), &err);
    must(sf_limb_record_document(t, id, 0, &document, &err), &err);
    must(sf_fact_list(t, id, &facts, &count, &err), &err);
    must(sf_attachment_list(t, id, &attachments, &count, &err), &err);
}

typedef struct Asker {
    sf_Store *store;
    Question question;
    int64_t limbs;
    uint32_t seed;
    atomic_bool *stop;
    double *took_s;
    size_t count;
} Asker;

static void *ask(void *context)
{
    Asker *asker = context;
    while (!atomic_load(asker->stop) && asker->count < SAMPLES) {
        sf_Error err = { 0 };
        sf_Transaction *t = NULL;
        asker->seed = asker->seed * 1664525u + 1013904223u;
        double began = now_s();
        must(sf_transaction_read(&t, asker->store, &err), &err);
        asker->question(t, asker->seed >> 4, asker->limbs);
        sf_transaction_end(&t);
        asker->took_s[asker->count++] = now_s() - began;
    }
    return NULL;
}

static int by_size(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static void measure(sf_Store *store, const char *name, Question question, int64_t limbs, int threads, double seconds)
{
    pthread_t thread[64];
    Asker asker[64];
    atomic_bool stop = false;
    size_t count = 0;
    double *all = sf_alloc((size_t)threads * SAMPLES, sizeof *all), began = now_s(), before = used_s();
    for (int i = 0; i < threads; i++) {
        asker[i] = (Asker){ store, question, limbs, 77u * (uint32_t)(i + 1), &stop, sf_alloc(SAMPLES, sizeof *all), 0 };
        pthread_create(&thread[i], NULL, ask, &asker[i]);
    }
    nanosleep(&(struct timespec){ (time_t)seconds, (long)(1e9 * (seconds - (double)(time_t)seconds)) }, NULL);
    atomic_store(&stop, true);
    for (int i = 0; i < threads; i++) {
        pthread_join(thread[i], NULL);
        memcpy(all + count, asker[i].took_s, asker[i].count * sizeof *all);
        count += asker[i].count;
        sf_free(asker[i].took_s);
    }
    double took = now_s() - began, used = used_s() - before;
    qsort(all, count, sizeof *all, by_size);
    if (count)
        printf("%2d at once  %-14s p50 %7.2f ms  p99 %7.2f ms  %8.0f a second  %.3f ms of processor each\n", threads,
               name, 1e3 * all[count / 2], 1e3 * all[count * 99 / 100], (double)count / took,
               1e3 * used / (double)count);
    sf_free(all);
}

/// How long one fact takes to be kept, flushed to the disk, one after the other.
static void measure_writes(sf_Store *store, double seconds)
{
    sf_Error err = { 0 };
    double began = now_s();
    int count = 0;
    for (; now_s() - began < seconds; count++) {
        sf_Transaction *t = NULL;
        int64_t id = 0;
        must(sf_transaction_write(&t, store, 0, &err), &err);
        must(sf_fact_add(t, &(sf_Fact){ .limb = 1, .kind = "walk", .happened_at = "2026-11-25", .body = "{}" }, &id,
                         &err),
             &err);
        must(sf_transaction_commit(t, &err), &err);
        sf_transaction_end(&t);
    }
    printf("one writer   facts kept     %.2f ms each\n", 1e3 * (now_s() - began) / count);
}

int main(int argc, char **argv)
{
    static const struct {
        const char *name;
        Question question;
    } questions[] = { { "list", list_somewhere },     { "due", list_due },  { "search, many", search_common },
                      { "search, few", search_rare }, { "recall", recall }, { "open", open_one } };
    if (argc != 5)
        return 2;
    sf_Error err = { 0 };
    sf_Store *store = NULL;
    int64_t limbs = strtoll(argv[3], NULL, 10);
    double seconds = strtod(argv[4], NULL);
    must(sf_store_open(&store, argv[1], argv[2], SF_STORE_MAKE, &err), &err);
    printf("%s\n", sf_store_kind(store));
    fill(store, limbs);
    for (int threads = 8; threads <= 32; threads *= 4) {
        for (size_t i = 0; i < sizeof questions / sizeof *questions; i++)
            measure(store, questions[i].name, questions[i].question, limbs, threads, seconds);
    }
    measure_writes(store, seconds);
    static sf_VerifyReport report;
    double began = now_s();
    must(sf_store_verify(store, &(sf_VerifyAsk){ 0 }, &report, &err), &err);
    printf("proof of %d entries in %.1f s: %zu problems\n", (int)report.entries, now_s() - began, report.problem_count);
    sf_store_close(&store);
    return report.problem_count ? 1 : 0;
}
