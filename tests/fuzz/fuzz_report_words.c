// SPDX-License-Identifier: GPL-3.0-or-later
// Any bytes as the words of a paper: refused with a sentence, or a care sheet comes out whole that says them.
#include "base/alloc.h"
#include "fuzz/fuzz_target.h"
#include "report/report.h"

#include <string.h>

static const char LIMB[] = "{\"format\":\"standfast-limb/1\",\"person\":{\"side\":\"left\",\"body_mass_kg\":70}}";

static void paper_of(const sf_ReportWords *words)
{
    sf_Limb *limb = NULL;
    sf_Result result = { 0 };
    sf_Report report;
    sf_Error err = { 0 };
    sf_ReportAsk ask = { .kind = SF_REPORT_CARE, .file = SF_SHEET_PDF, .page = 1, .words = words };
    FUZZ_TRUE(sf_limb_parse(&limb, "limb.json", LIMB, strlen(LIMB), &err) == SF_OK);
    FUZZ_TRUE(sf_result_begin(&result, &err) == SF_OK);
    FUZZ_TRUE(sf_report_make(&report, &result, limb, &ask, &err) == SF_OK);
    FUZZ_TRUE(report.pages >= 1 && report.size > 5 && memcmp(report.bytes, "%PDF-", 5) == 0);
    sf_report_free(&report);
    sf_result_drop(&result);
    sf_limb_destroy(&limb);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    size_t live = sf_alloc_live();
    sf_ReportWords words;
    sf_Error err = { 0 };
    sf_Status status = sf_report_words_parse(&words, "fuzz.json", (const char *)data, size, &err);
    if (status != SF_OK)
        FUZZ_TRUE(err.status == status && err.text[0] != '\0' && status != SF_E_INTERNAL && !words.arena);
    else
        paper_of(&words);
    sf_report_words_free(&words);
    FUZZ_TRUE(sf_alloc_live() == live);
    return 0;
}
