// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/report.h"

#include "base/alloc.h"
#include "report/limb_paper.h"
#include "study/wrap_study.h"

#include <stdio.h>
#include <string.h>

static const char *const KINDS[] = { "release", "traveller", "care", "wrap" };
static const char *const TITLES[] = { "Release of a below-knee limb", "Bench traveller", "Your limb: care sheet", "" };
static const double SIZES_PT[] = { 8, 8.6, 10.5, 8 };
static const double LETTER_SHARE = 0.95; ///< letter paper is shorter: the same lines want smaller letters

void sf_report_free(sf_Report *report)
{
    sf_free(report->bytes);
    *report = (sf_Report){ 0 };
}

static sf_PaperMm paper_width(const sf_ReportAsk *ask)
{
    bool lying = ask->kind == SF_REPORT_WRAP;
    if (ask->paper == SF_REPORT_LETTER)
        return lying ? SF_LETTER_LONG : SF_LETTER_SHORT;
    return lying ? SF_A4_LONG : SF_A4_SHORT;
}

static sf_PaperMm paper_height(const sf_ReportAsk *ask)
{
    bool lying = ask->kind == SF_REPORT_WRAP;
    if (ask->paper == SF_REPORT_LETTER)
        return lying ? SF_LETTER_SHORT : SF_LETTER_LONG;
    return lying ? SF_A4_SHORT : SF_A4_LONG;
}

static sf_Status fingerprint(char hex[SF_HASH_HEX], const sf_ReportAsk *ask, sf_Error *err)
{
    const void *bytes[] = { ask->document, ask->words_document };
    const size_t sizes[] = { ask->document_size, ask->words_size };
    return sf_result_fingerprint(hex, bytes, sizes, (size_t)(ask->document != NULL) + (ask->words_document != NULL),
                                 err);
}

static const char *label_of(const sf_Limb *limb)
{
    const char *label = limb->data.person.label;
    return label ? label : "";
}

// ---- wrap -----------------------------------------------------------------------------------------------------------

static sf_Status wrap_pages(sf_Report *report, const sf_WrapSheet *wrap, const sf_WrapLayout *layout,
                            const sf_ReportAsk *ask, sf_Error *err)
{
    sf_Sheet *sheet = NULL;
    const char *first = "";
    size_t from = ask->file == SF_SHEET_PDF ? 0 : ask->page - 1,
           to = ask->file == SF_SHEET_PDF ? layout->pages : ask->page;
    sf_Status status;
    if (to > layout->pages)
        return SF_FAIL(err, SF_E_USAGE, "--page", "there is no page %zu: the wrap has %zu", ask->page, layout->pages);
    SF_TRY_DONE(sf_sheet_create(&sheet, ask->file, layout->width, layout->height, err));
    for (size_t page = from; page < to; page++) {
        if (page > from)
            sf_sheet_next_page(sheet);
        SF_TRY_DONE(sf_wrap_page_paint(sheet, wrap, layout, page, err));
    }
    report->faults = sf_sheet_faults(sheet, &first);
    snprintf(report->fault, sizeof report->fault, "%s", first);
    report->pages = layout->pages;
    status = sf_sheet_finish(&sheet, &report->bytes, &report->size, err);
done:
    sf_sheet_destroy(&sheet);
    return status;
}

static sf_Status make_wrap(sf_Report *report, sf_Result *result, const sf_Limb *limb, const sf_ReportAsk *ask,
                           const char *hash, sf_Error *err)
{
    sf_WrapStudy *study = sf_alloc(1, sizeof *study);
    sf_WrapLayout layout;
    char program[64];
    sf_Status status;
    if (!study)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory for the wrap");
    SF_TRY_DONE(sf_wrap_study(study, result, limb, err));
    snprintf(program, sizeof program, "standfast %s", sf_version());
    study->sheet.label = label_of(limb);
    study->sheet.program = program;
    study->sheet.safety = sf_safety_sentence();
    study->sheet.fingerprint = hash;
    study->sheet.inch = ask->inch;
    SF_TRY_DONE(sf_wrap_layout(&layout, &study->sheet, paper_width(ask), paper_height(ask), err));
    status = wrap_pages(report, &study->sheet, &layout, ask, err);
done:
    sf_free(study);
    return status;
}

// ---- running text ---------------------------------------------------------------------------------------------------

static void make_heads(sf_LimbPaper *paper)
{
    const sf_ReportWords *w = paper->words;
    bool left = paper->limb->data.person.side == SF_LIMB_SIDE_LEFT;
    const char *hash = w->record_sha256 ? w->record_sha256 : paper->fingerprint;
    snprintf(paper->title, sizeof paper->title, "%s", TITLES[paper->ask->kind]);
    snprintf(paper->right, sizeof paper->right, "%.60s%s%s limb%s%.40s", label_of(paper->limb),
             *label_of(paper->limb) ? " \u00b7 " : "", left ? "left" : "right", w->date ? " \u00b7 " : "",
             w->date ? w->date : "");
    snprintf(paper->shop, sizeof paper->shop, "%.80s%s%.80s%s%.40s", w->shop.name ? w->shop.name : "",
             w->shop.address ? " \u00b7 " : "", w->shop.address ? w->shop.address : "",
             w->shop.telephone ? " \u00b7 " : "", w->shop.telephone ? w->shop.telephone : "");
    snprintf(paper->foot, sizeof paper->foot, "%s standfast %s. %s%s%s %s", sf_safety_sentence(), sf_version(),
             w->record ? w->record : "", w->record ? ", " : "", w->record_sha256 ? "record sha256" : "limb file sha256",
             hash);
}

static sf_Status write_once(sf_LimbPaper *paper, size_t total, sf_Error *err)
{
    static void (*const writers[])(sf_LimbPaper *) = { sf_release_write, sf_traveller_write, sf_care_write };
    const sf_ReportAsk *ask = paper->ask;
    const sf_PageHead head = { paper->title, paper->right, *paper->shop ? paper->shop : NULL, paper->foot,
                               SIZES_PT[ask->kind] * (ask->paper == SF_REPORT_LETTER ? LETTER_SHARE : 1) };
    SF_TRY(sf_pages_open(&paper->pages, ask->file, paper_width(ask), paper_height(ask), total, ask->page, &head, err));
    writers[ask->kind](paper);
    return SF_OK;
}

static sf_Status make_text(sf_Report *report, sf_LimbPaper *paper, sf_Error *err)
{
    sf_Status status;
    SF_TRY_DONE(sf_limb_paper_gather(paper, err));
    make_heads(paper);
    SF_TRY_DONE(write_once(paper, 0, err)); // to count the pages
    size_t total = paper->pages.page;
    SF_TRY_DONE(sf_pages_finish(&paper->pages, &report->bytes, &report->size, err));
    sf_report_free(report);
    SF_TRY_DONE(write_once(paper, total, err));
    report->pages = total;
    status = sf_pages_finish(&paper->pages, &report->bytes, &report->size, err);
    report->faults = paper->pages.faults;
    snprintf(report->fault, sizeof report->fault, "%s", paper->pages.fault);
done:
    sf_limb_paper_free(paper);
    return status;
}

sf_Status sf_report_make(sf_Report *report, sf_Result *result, const sf_Limb *limb, const sf_ReportAsk *ask,
                         sf_Error *err)
{
    sf_ReportWords none = sf_report_words_none();
    sf_LimbPaper *paper = sf_alloc(1, sizeof *paper);
    sf_Status status;
    *report = (sf_Report){ 0 };
    if (!paper)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory for the paper");
    *paper = (sf_LimbPaper){ .limb = limb, .ask = ask, .words = ask->words ? ask->words : &none };
    SF_TRY_DONE(fingerprint(paper->fingerprint, ask, err));
    const char *record = paper->words->record_sha256;
    if (ask->kind == SF_REPORT_WRAP) {
        SF_TRY_DONE(make_wrap(report, result, limb, ask, record ? record : paper->fingerprint, err));
    } else {
        SF_TRY_DONE(make_text(report, paper, err));
        sf_json_set_null(result->json, "wrap");
    }
    sf_json_set_text(result->json, "kind", KINDS[ask->kind]);
    sf_json_set_text(result->json, "paper", ask->paper == SF_REPORT_LETTER ? "letter" : "a4");
    sf_json_set_text(result->json, "units", ask->inch ? "inch" : "metric");
    sf_json_set_whole(result->json, "pages", (int64_t)report->pages);
    sf_json_set_text(result->json, "record_sha256", record);
    if (ask->kind != SF_REPORT_WRAP)
        sf_result_note(result, "wrap: figures are given with --kind wrap");
    if (report->faults)
        sf_result_note(result, "some lettering is crowded: %.200s", report->fault);
done:
    sf_free(paper);
    return status;
}
