// SPDX-License-Identifier: GPL-3.0-or-later
// Nothing acknowledged is lost and nothing is half written: kill -9 in the middle of writes and uploads, a file size
// limit in the place of a full disk, and every allocation that can fail. (A process that dies loses nothing of what the
// kernel has; that a flush reaches the disk when the power goes is the promise of the disk and is not tested here.)
#define _XOPEN_SOURCE 700
#include "base/alloc.h"
#include "harness/tap.h"
#include "record/attachment.h"
#include "record/fact.h"
#include "record/limb_record.h"
#include "record/verify.h"
#include "record/wearer.h"
#include "shop_rows.h"
#include "workroom.h"

#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

static sf_VerifyReport report;

static bool is_clean(sf_Store *store)
{
    sf_Error err = { 0 };
    sf_Status status = sf_store_verify(store, &(sf_VerifyAsk){ 0 }, &report, &err);
    if (status != SF_OK || report.problem_count)
        tap_note("%s %s", err.text, report.problems[0].text);
    return status == SF_OK && report.problem_count == 0;
}

/// What a process acknowledges down a pipe once it is kept.
typedef struct Promise {
    int64_t fact, attachment, version;
    char picture[65];
} Promise;

/// One piece of work: a picture is sent, then document, fact and picture's row are written together.
static sf_Status one_piece(sf_Store *store, int number, Promise *promise, sf_Error *err)
{
    static char bytes[40000];
    sf_Transaction *t = NULL;
    sf_Status status;
    char body[64];
    for (size_t i = 0; i < sizeof bytes; i++)
        bytes[i] = (char)(i * 7 + (size_t)number);
    snprintf(bytes, sizeof bytes, "picture %d of process %d", number, (int)getpid());
    snprintf(body, sizeof body, "{ \"number\": %d }", number);
    SF_TRY_DONE(sf_shelf_put(store, bytes, sizeof bytes, promise->picture, err));
    SF_TRY_DONE(sf_transaction_write(&t, store, 1, err));
    sf_LimbRow row;
    SF_TRY_DONE(sf_limb_record_get(t, 1, &row, err));
    SF_TRY_DONE(sf_limb_record_save(t, 1, row.version, &row.head, body, &promise->version, err));
    SF_TRY_DONE(sf_fact_add(t, &(sf_Fact){ .limb = 1, .kind = "ring", .happened_at = "2026-11-25", .body = body },
                            &promise->fact, err));
    SF_TRY_DONE(sf_attachment_add(
        t,
        &(sf_Attachment){ .limb = 1, .fact = promise->fact, .file_hash = promise->picture, .media_type = "image/png" },
        &promise->attachment, err));
    SF_TRY_DONE(sf_transaction_commit(t, err));
done:
    sf_transaction_end(&t);
    return status;
}

static void child_works(const WorkroomPlace *place, int to, long file_limit)
{
    sf_Store *store = NULL;
    sf_Error err = { 0 };
    if (file_limit > 0) {
        signal(SIGXFSZ, SIG_IGN);
        setrlimit(RLIMIT_FSIZE, &(struct rlimit){ (rlim_t)file_limit, (rlim_t)file_limit });
    }
    sf_Status status = sf_store_open(&store, place->place, place->files, SF_STORE_EXISTING, &err);
    for (int number = 0; status == SF_OK && number < 100000; number++) {
        Promise promise = { 0 };
        status = one_piece(store, number, &promise, &err);
        if (status == SF_OK && write(to, &promise, sizeof promise) != sizeof promise)
            break;
    }
    sf_store_close(&store);
    _exit(status == SF_OK ? 0 : 10);
}

/// Reads promises up to the end of the pipe and looks whether each was kept.
static int look_at_promises(int from, sf_Store *store, int *broken)
{
    Promise promise;
    int count = 0;
    sf_Transaction *t = NULL;
    sf_Error err = { 0 };
    if (!TAP_OK(sf_transaction_read(&t, store, &err)))
        return 0;
    while (read(from, &promise, sizeof promise) == sizeof promise) { // smaller than PIPE_BUF: never a part
        sf_Fact fact = { 0 };
        sf_Attachment attachment = { 0 };
        const char *document = NULL;
        unsigned char *bytes = NULL;
        size_t size = 0;
        bool kept = sf_fact_get(t, promise.fact, &fact, &err) == SF_OK &&
                    sf_limb_record_document(t, 1, promise.version, &document, &err) == SF_OK &&
                    strcmp(document, fact.body) == 0 &&
                    sf_attachment_by_hash(t, promise.picture, &attachment, &err) == SF_OK &&
                    attachment.id == promise.attachment &&
                    sf_shelf_get(store, promise.picture, &bytes, &size, &err) == SF_OK && size == 40000;
        sf_free(bytes);
        *broken += !kept;
        count++;
    }
    sf_transaction_end(&t);
    return count;
}

/// Waits until the first promise has come down the pipe: a busy machine may be slow to start a process.
static bool wait_for_promise(int from)
{
    struct pollfd waiting = { .fd = from, .events = POLLIN };
    return poll(&waiting, 1, 60000) == 1;
}

typedef struct Outcome {
    int promises, broken;
    int exit_code; // -1: killed
} Outcome;

/// `kill_after_us` counts from the start, or from the first promise when `promised`; 0: it is left to end by itself.
static Outcome let_work(const WorkroomPlace *place, long file_limit, bool promised, long kill_after_us)
{
    Outcome outcome = { 0 };
    int ends[2];
    if (!TAP_TRUE(pipe(ends) == 0))
        return outcome;
    pid_t child = fork();
    if (child == 0) {
        close(ends[0]);
        child_works(place, ends[1], file_limit);
    }
    close(ends[1]);
    if (kill_after_us > 0) {
        if (promised)
            TAP_TRUE(wait_for_promise(ends[0]));
        struct timespec wait = { kill_after_us / 1000000, kill_after_us % 1000000 * 1000 };
        nanosleep(&wait, NULL);
        kill(child, SIGKILL);
    }
    int state = 0;
    waitpid(child, &state, 0);
    outcome.exit_code = WIFEXITED(state) ? WEXITSTATUS(state) : -1;
    sf_Store *store = workroom_open(place);
    if (store) {
        outcome.promises = look_at_promises(ends[0], store, &outcome.broken);
        TAP_TRUE(is_clean(store), "the proof after a process that ended with %d", outcome.exit_code);
    }
    close(ends[0]);
    sf_store_close(&store);
    return outcome;
}

static bool make_shop(WorkroomPlace *place, WorkroomKind kind)
{
    ShopRows rows;
    sf_Error err = { 0 };
    if (!TAP_TRUE(workroom_place(place, kind)))
        return false;
    sf_Store *store = workroom_open(place);
    bool good = store && TAP_OK(shop_rows_add(store, &rows, &err));
    sf_store_close(&store);
    return good;
}

static void killed_in_the_middle(WorkroomKind kind)
{
    WorkroomPlace place;
    int kills = getenv("TAP_LONG") ? 200 : 5, promises = 0, broken = 0, killed = 0;
    if (!make_shop(&place, kind))
        return;
    for (int i = 0; i < kills; i++) {
        if (i % 20 == 19 && !make_shop(&place, kind)) // a fresh one now and then: the proof reads all that was written
            return;
        // From before the store is open to well into the writing.
        Outcome outcome = let_work(&place, 0, i % 2 == 0, 1000 + (i * 37 % 97) * 2000);
        promises += outcome.promises;
        broken += outcome.broken;
        killed += outcome.exit_code == -1;
    }
    TAP_TRUE(killed == kills, "%d of %d were killed", killed, kills);
    TAP_TRUE(promises >= kills / 2, "%d promises were made", promises);
    TAP_TRUE(broken == 0, "%d of %d promises were broken", broken, promises);
    tap_note("%s: killed %d times, %d promises, %d broken", workroom_kind_words[kind], killed, promises, broken);
}

/// As after a loss of power that took the end of the log with it: an earlier state comes back, whole, and an entry that
/// was noted down shows that something is missing.
TAP_CASE(a_log_that_lost_its_end)
{
    WorkroomPlace place;
    int ends[2], shorter = 0;
    sf_Error err = { 0 };
    if (!make_shop(&place, WORKROOM_SQLITE) || !TAP_TRUE(pipe(ends) == 0))
        return;
    pid_t child = fork();
    if (child == 0) {
        close(ends[0]);
        child_works(&place, ends[1], 0);
    }
    close(ends[1]);
    Promise promise;
    for (int i = 0; i < 20; i++)
        TAP_TRUE(read(ends[0], &promise, sizeof promise) == sizeof promise);
    kill(child, SIGKILL);
    waitpid(child, NULL, 0);
    close(ends[0]);
    TAP_TRUE(workroom_shell("cp %s %s.kept && cp %s-wal %s.log", place.place, place.place, place.place, place.place));
    char expect[128] = "";
    for (int tenth = 10; tenth >= 0; tenth--) {
        TAP_TRUE(workroom_shell(
            "rm -f %s-shm && cp %s.kept %s && cp %s.log %s-wal && truncate -s $(( $(stat -c %%s %s.log) * %d / "
            "10 + %d )) %s-wal",
            place.place, place.place, place.place, place.place, place.place, place.place, tenth, tenth == 10 ? 0 : 777,
            place.place));
        sf_Store *store = workroom_open(&place);
        if (!store)
            return;
        TAP_TRUE(is_clean(store), "with %d tenths of the log", tenth);
        if (tenth == 10) {
            snprintf(expect, sizeof expect, "%d:%s", (int)report.head_seq, report.head_hash);
        } else {
            TAP_OK(sf_store_verify(store, &(sf_VerifyAsk){ .expect = expect }, &report, &err));
            shorter += report.problem_count == 1;
        }
        sf_store_close(&store);
    }
    TAP_TRUE(shorter == 10, "%d of 10 cuts are shown by the entry that was noted down", shorter);
}

TAP_CASE(killed_in_the_middle_sqlite)
{
    killed_in_the_middle(WORKROOM_SQLITE);
}

TAP_CASE(killed_in_the_middle_postgres)
{
    killed_in_the_middle(WORKROOM_POSTGRES);
}

/// The server itself is killed while a process writes: what was acknowledged is there when it is back.
TAP_CASE(the_server_killed_in_the_middle)
{
    WorkroomPlace place;
    int ends[2], broken = 0;
    if (!make_shop(&place, WORKROOM_POSTGRES) || !TAP_TRUE(pipe(ends) == 0))
        return;
    pid_t child = fork();
    if (child == 0) {
        close(ends[0]);
        child_works(&place, ends[1], 0);
    }
    close(ends[1]);
    TAP_TRUE(wait_for_promise(ends[0]));
    nanosleep(&(struct timespec){ 0, 20000000 }, NULL);
    TAP_TRUE(workroom_restart_server());
    int state = 0;
    nanosleep(&(struct timespec){ 0, 100000000 }, NULL);
    kill(child, SIGKILL);
    waitpid(child, &state, 0);
    sf_Store *store = workroom_open(&place);
    int promises = look_at_promises(ends[0], store, &broken);
    close(ends[0]);
    TAP_TRUE(promises > 0 && broken == 0, "%d of %d promises were broken", broken, promises);
    TAP_TRUE(is_clean(store));
    sf_store_close(&store);
}

/// Files may grow to a limit and no further: every write beyond it fails as on a full disk.
TAP_CASE(no_room_left)
{
    WorkroomPlace place;
    int failed = 0, promises = 0, broken = 0;
    for (long limit = 30000; limit < 1500000; limit = limit * 5 / 4) {
        if (!make_shop(&place, WORKROOM_SQLITE))
            return;
        Outcome outcome = let_work(&place, limit, false, 0);
        failed += outcome.exit_code == 10;
        promises += outcome.promises;
        broken += outcome.broken;
        TAP_TRUE(workroom_shell("! find %s -name '*.part-*' | grep -q .", place.files), "no part of a file stays");
    }
    TAP_TRUE(failed >= 17 && promises > 10, "%d ran out of room, %d promises", failed, promises);
    TAP_TRUE(broken == 0, "%d of %d promises were broken", broken, promises);
}

// ---- memory
// ----------------------------------------------------------------------------------------------------------

static sf_Status open_and_add(const WorkroomPlace *place, sf_Error *err)
{
    sf_Store *store = NULL;
    Promise promise = { 0 };
    sf_Status status = sf_store_open(&store, place->place, place->files, SF_STORE_EXISTING, err);
    if (status == SF_OK)
        status = one_piece(store, 1, &promise, err);
    if (status == SF_OK) {
        sf_Transaction *t = NULL;
        sf_LimbRow *rows = NULL;
        size_t count = 0;
        const char *next = NULL;
        status = sf_transaction_read(&t, store, err);
        if (status == SF_OK)
            status = sf_limb_record_list(t, &(sf_LimbAsk){ .search = "nora", .count = 5 }, &rows, &count, &next, err);
        sf_transaction_end(&t);
    }
    sf_store_close(&store);
    return status;
}

/// One allocation after the other fails, inside SQLite too. The work then fails with a sentence (or succeeds, where
/// SQLite can do without the memory), nothing stays allocated, and what is in the store is all of it or nothing.
TAP_CASE(every_allocation_that_can_fail)
{
    WorkroomPlace place;
    sf_Error err = { 0 };
    if (!make_shop(&place, WORKROOM_SQLITE) || !TAP_OK(open_and_add(&place, &err)))
        return;
    size_t step = getenv("TAP_LONG") ? 1 : 23, failures = 0, live = sf_alloc_live();
    int64_t facts = workroom_number(&place, "SELECT count(*) FROM fact");
    for (size_t nth = 1; nth < 200000; nth += step) {
        sf_alloc_fail_at(nth);
        sf_Status status = open_and_add(&place, &err);
        bool failed = sf_alloc_failed();
        sf_alloc_fail_at(0);
        if (!TAP_TRUE(sf_alloc_live() == live, "allocation %zu: %zu blocks stay", nth, sf_alloc_live() - live))
            break;
        if (status != SF_OK)
            failures++;
        if (status != SF_OK &&
            !TAP_TRUE(status == SF_E_MEMORY || status == SF_E_STORE || status == SF_E_LIMIT || status == SF_E_MISSING,
                      "allocation %zu: %s: %s", nth, sf_status_word(status), err.text))
            break;
        int64_t now = workroom_number(&place, "SELECT count(*) FROM fact");
        if (!TAP_TRUE(now == facts || now == facts + 1, "allocation %zu", nth) ||
            !TAP_TRUE(status != SF_OK || now == facts + 1, "allocation %zu: said to be kept and was not", nth))
            break;
        facts = now;
        if (!failed)
            break;
    }
    sf_Store *store = workroom_open(&place);
    TAP_TRUE(failures > 10, "%zu failures", failures);
    TAP_TRUE(is_clean(store));
    sf_store_close(&store);
}

TAP_MAIN(TAP_RUN(a_log_that_lost_its_end), TAP_RUN(killed_in_the_middle_sqlite), TAP_RUN(killed_in_the_middle_postgres),
         TAP_RUN(the_server_killed_in_the_middle), TAP_RUN(no_room_left), TAP_RUN(every_allocation_that_can_fail))
