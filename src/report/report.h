// SPDX-License-Identifier: GPL-3.0-or-later
// Papers of one limb: release, traveller, care sheet, wrap (docs/theory/paper.md). The same inputs give the same bytes.
#pragma once

#include "report/pages.h"
#include "report/report_words.h"
#include "study/result.h"
#include "study/strength_input.h"

typedef enum sf_ReportKind {
    SF_REPORT_RELEASE,   ///< every check on one page, signed; statement and delivery behind it
    SF_REPORT_TRAVELLER, ///< goes through the shop with the limb
    SF_REPORT_CARE,      ///< for the wearer
    SF_REPORT_WRAP       ///< to drill by, full size
} sf_ReportKind;

typedef struct sf_ReportAsk {
    sf_ReportKind kind;
    sf_ReportPaper paper;
    bool inch;                             ///< inch-pound in place of metric
    sf_SheetKind file;                     ///< PDF holds all pages
    size_t page;                           ///< of a PNG or SVG, from 1
    const sf_ReportWords *words;           ///< NULL: none
    const void *document, *words_document; ///< the bytes of limb file and words, for the fingerprint; NULL: none
    size_t document_size, words_size;
} sf_ReportAsk;

typedef struct sf_Report {
    unsigned char *bytes; ///< owned
    size_t size, pages;
    size_t faults; ///< pieces of lettering that do not fit or cover each other
    char fault[240];
} sf_Report;

/// Makes the paper and sets every key of docs/report.schema.json into `result`. What a study cannot give stands on the
/// paper as its reason. SF_E_MISSING (the wrap needs cut and clamp), SF_E_USAGE for a page there is not, SF_E_RANGE,
/// SF_E_MEMORY. Free with sf_report_free.
sf_Status sf_report_make(sf_Report *report, sf_Result *result, const sf_Limb *limb, const sf_ReportAsk *ask,
                         sf_Error *err) SF_MUST_USE;

/// Frees and empties; safe to call twice.
void sf_report_free(sf_Report *report);
