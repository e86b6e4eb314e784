// SPDX-License-Identifier: GPL-3.0-or-later
// Papers when memory runs out, and from limbs of which little is known. All limbs are invented.
#include "harness/tap.h"

#include "base/alloc.h"
#include "report/report.h"

#include <string.h>

static const char SCREWED[] =
    "{\"format\":\"standfast-limb/"
    "1\",\"person\":{\"side\":\"right\",\"body_mass_kg\":70},\"pylon\":{\"cut_height_mm\":110,"
    "\"top_height_mm\":290,\"rings\":[{\"height_mm\":110,\"outer_diameter_mm\":50,\"inner_diameter_mm\":38,\"seam_"
    "deg\":270}]},"
    "\"adapter\":{\"depth_mm\":30,\"rim_mm\":50.4,\"rim_wall_mm\":4,\"shank_wall_mm\":8,\"permanent_fixing\":\"through-"
    "screws\","
    "\"screw_diameter_mm\":6}}";

static const char WORDS[] =
    "{\"format\":\"standfast-report/1\",\"shop\":{\"name\":\"Invented Shop\",\"statement\":\"Invented.\"},"
    "\"checks\":[{\"title\":\"Ring\",\"state\":\"done\"}]}";

typedef struct Task {
    sf_ReportKind kind;
    const char *words;
} Task;

static sf_Status make_paper(void *context)
{
    const Task *task = context;
    sf_Limb *limb = NULL;
    sf_Result result = { 0 };
    sf_Report report = { 0 };
    sf_ReportWords words = sf_report_words_none();
    sf_Error err = { 0 };
    sf_Status status;
    sf_ReportAsk ask = {
        .kind = task->kind, .file = SF_SHEET_SVG, .page = 1, .document = SCREWED, .document_size = strlen(SCREWED)
    };
    SF_TRY_DONE(sf_limb_parse(&limb, "limb.json", SCREWED, strlen(SCREWED), &err));
    if (task->words) {
        SF_TRY_DONE(sf_report_words_parse(&words, "words.json", task->words, strlen(task->words), &err));
        ask.words = &words;
    }
    SF_TRY_DONE(sf_result_begin(&result, &err));
    SF_TRY_DONE(sf_report_make(&report, &result, limb, &ask, &err));
    TAP_TRUE(report.faults == 0, "%s", report.fault);
    sf_Json *json = sf_result_finish(&result, NULL);
    char *text = NULL;
    status = sf_json_text(json, 10, &text, &err);
    sf_free(text);
    sf_json_destroy(&json);
done:
    sf_report_free(&report);
    sf_report_words_free(&words);
    sf_result_drop(&result);
    sf_limb_destroy(&limb);
    return status;
}

TAP_CASE(running_out_of_memory_leaves_nothing_behind)
{
    Task care = { SF_REPORT_CARE, WORDS }, wrap = { SF_REPORT_WRAP, NULL };
    tap_every_allocation(make_paper, &care, 2000, "a care sheet");
    tap_every_allocation(make_paper, &wrap, 2000, "a wrap");
}

TAP_CASE(every_paper_comes_out_of_a_limb_of_which_little_is_known)
{
    for (int kind = 0; kind < 4; kind++) {
        Task task = { (sf_ReportKind)kind, kind % 2 ? WORDS : NULL };
        TAP_OK(make_paper(&task));
    }
}

TAP_MAIN(TAP_RUN(running_out_of_memory_leaves_nothing_behind),
         TAP_RUN(every_paper_comes_out_of_a_limb_of_which_little_is_known))
