// SPDX-License-Identifier: GPL-3.0-or-later
// The advice in the simulated fitting room, reached only through the use case that the command wraps: a trials document
// goes in, the result document comes out. TAP_LONG=1 makes the full 2,000 runs; ROOM_RUNS sets another number.
#include "base/alloc.h"
#include "base/text.h"
#include "harness/tap.h"
#include "study/advise_study.h"
#include "study/fitting_room.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { SHORT_RUNS = 240, FULL_RUNS = 2000, SEED = 1, DOCUMENT = 64 * 1024 };

static int runs(void)
{
    const char *text = getenv("ROOM_RUNS");
    int n = text ? atoi(text) : 0;
    if (n > 0)
        return n;
    return getenv("TAP_LONG") ? FULL_RUNS : SHORT_RUNS;
}

// The share that must be reached; a short run may miss it by two standard errors of a share.
static double target(double share)
{
    return runs() >= FULL_RUNS ? share : share - 2 * sqrt(share * (1 - share) / runs());
}

// How a person would write each effect down; [0] too little, [1] too much.
static const struct {
    const char *sign[2], *phase;
} WRITTEN[ROOM_EFFECTS] = {
    [ROOM_SAGITTAL_30] = { { "knee-instability", "hyperextension" }, "loading-response" },
    [ROOM_SAGITTAL_75] = { { "drop-off", "walking-uphill" }, "terminal-stance" },
    [ROOM_CORONAL_30] = { { "lateral-thrust", "medial-thrust" }, "mid-stance" },
    [ROOM_CORONAL_75] = { { "lateral-thrust", "medial-thrust" }, "terminal-stance" },
    [ROOM_TOE_OUT] = { { "too-little-toe-out", "too-much-toe-out" }, "mid-stance" },
};

static void write_walk(sf_Text *text, const RoomWalk *walk)
{
    sf_text_add(text, "{\"settings\": {");
    for (int i = 0; i < SF_SETTING_COUNT; i++)
        sf_text_format(text, "%s\"%s\": %.6f", i ? ", " : "", sf_setting_key((sf_Setting)i), walk->settings[i]);
    sf_text_add(text, "}, \"observations\": [");
    bool any = false;
    for (int e = 0; e < ROOM_EFFECTS; e++) {
        if (walk->seen[e] == 0)
            continue;
        sf_text_format(text, "%s{\"sign\": \"%s\", \"phase\": \"%s\", \"strength\": %d}", any ? ", " : "",
                       WRITTEN[e].sign[walk->seen[e] > 0], WRITTEN[e].phase, abs(walk->seen[e]));
        any = true;
    }
    sf_text_add(text, "], \"support\": \"bars\", \"assistant\": true, \"skin\": \"clear\", \"pain\": 0}");
}

static void write_document(sf_Text *text, const RoomWalk *walks, int count, bool rotation_only)
{
    sf_text_add(
        text,
        "{\"format\": \"standfast-trials/1\", \"person\": {\"side\": \"left\", \"body_mass_kg\": 78}, \"adapter\": "
        "{\"motions\": [{\"setting\": \"toe_out_deg\", \"range\": [-45, 45]}");
    if (!rotation_only)
        sf_text_add(text,
                    ", {\"setting\": \"foot_forward_mm\", \"range\": [-80, 80]}, {\"setting\": \"foot_outset_mm\", "
                    "\"range\": [-80, 80]}, {\"setting\": \"dorsiflexion_deg\", \"range\": [-30, 30]}, {\"setting\": "
                    "\"eversion_deg\", \"range\": [-30, 30]}");
    sf_text_add(text, "]}, \"trials\": [");
    for (int i = 0; i < count; i++) {
        sf_text_add(text, i ? ", " : "");
        write_walk(text, &walks[i]);
    }
    sf_text_add(text, "]}");
}

static unsigned lacking_of(sf_DocNode root)
{
    unsigned lacking = 0;
    sf_DocNode list = sf_doc_member(root, "lacking");
    for (size_t i = 0; i < sf_doc_length(list); i++) {
        sf_DocNode settings = sf_doc_member(sf_doc_item(list, i), "settings");
        for (size_t k = 0; k < sf_doc_length(settings); k++) {
            const char *name;
            if (sf_doc_text(sf_doc_item(settings, k), 100, &name))
                lacking |= 1u << sf_setting_find(name);
        }
    }
    return lacking;
}

static RoomChange read_result(sf_Doc *doc)
{
    RoomChange change = { .none = true };
    sf_DocNode root = sf_doc_root(doc), next = sf_doc_item(sf_doc_member(root, "next"), 0);
    const char *name;
    sf_doc_flag(sf_doc_member(root, "stop"), &change.stop);
    change.lacking = lacking_of(root);
    if (sf_doc_text(sf_doc_member(next, "setting"), 100, &name) &&
        sf_doc_number(sf_doc_member(next, "change"), -100, 100, &change.change)) {
        change.setting = sf_setting_find(name);
        change.none = false;
        TAP_TRUE(change.setting < SF_SETTING_COUNT);
    }
    return change;
}

// context: const bool *, whether the adapter can only turn.
static RoomChange advised(void *context, const RoomWalk *walks, int count)
{
    sf_Text text = sf_text_make(DOCUMENT);
    write_document(&text, walks, count, *(const bool *)context);
    sf_Json *json = NULL;
    char *out = NULL;
    sf_Doc *doc = NULL;
    sf_Error err = { 0 };
    RoomChange change = { .stop = true };
    bool good = sf_advise_study(&json, "room", sf_text_string(&text), text.length, &err) == SF_OK &&
                sf_json_text(json, 12, &out, &err) == SF_OK &&
                sf_doc_parse(&doc, "result", out, strlen(out), &err) == SF_OK;
    TAP_TRUE(good, "%s", err.text);
    if (good)
        change = read_result(doc);
    sf_doc_destroy(&doc);
    sf_free(out);
    sf_json_destroy(&json);
    sf_text_free(&text);
    return change;
}

static RoomResult room(RoomAdviser adviser, bool rotation_only, int trials)
{
    static sf_Stance stance;
    TAP_OK(sf_stance_load(&stance, NULL));
    RoomOptions options = { .seed = SEED, .runs = runs(), .trials = trials, .rotation_only = rotation_only };
    return room_run(&options, &stance, adviser, &rotation_only);
}

static void print_curve(const char *name, const double *share, int trials)
{
    char line[300];
    size_t used = 0;
    for (int n = 1; n <= trials; n++)
        used += (size_t)snprintf(line + used, sizeof line - used, " %.3f", share[n]);
    tap_note("%-28s%s", name, line);
}

TAP_CASE(advice_brings_the_foot_into_the_zone_in_time)
{
    RoomResult r = room(advised, false, ROOM_MAX_TRIALS), one = room(room_one_step, false, ROOM_MAX_TRIALS);
    RoomResult graded = room(room_graded, false, ROOM_MAX_TRIALS);
    tap_note("%d runs; in the zone at the start %.3f; after trial 1 to %d:", r.runs, r.at_start, r.trials);
    print_curve("advice", r.in_zone, r.trials);
    print_curve("one step per sign", one.in_zone, r.trials);
    print_curve("step graded by strength", graded.in_zone, r.trials);
    tap_note("advice: %.2f changes a run, ended outside the zone %.3f, most turns to and fro %d", r.mean_changes,
             r.stopped_outside, r.most_reversals);
    TAP_TRUE(r.in_zone[5] >= target(0.90), "in 5 trials %.3f", r.in_zone[5]);
    TAP_TRUE(r.in_zone[8] >= target(0.97), "in 8 trials %.3f", r.in_zone[8]);
    TAP_TRUE(r.most_reversals <= 2, "to and fro %d times", r.most_reversals);
    TAP_TRUE(r.in_zone[5] > graded.in_zone[5] && graded.in_zone[5] > one.in_zone[5]);
}

TAP_CASE(an_adapter_that_only_turns_is_told_apart_in_three_trials)
{
    RoomResult r = room(advised, true, ROOM_MAX_TRIALS);
    tap_note("rotation only: %d of %d runs need another motion; all of them named by trial 1 to %d:", r.need_other,
             r.runs, r.trials);
    print_curve("lacking motion named", r.named, r.trials);
    tap_note("named without need in %.3f of the runs that need none", r.named_wrongly);
    TAP_TRUE(r.named[3] >= target(0.90), "named within 3 trials %.3f", r.named[3]);
}

TAP_MAIN(TAP_RUN(advice_brings_the_foot_into_the_zone_in_time),
         TAP_RUN(an_adapter_that_only_turns_is_told_apart_in_three_trials))
