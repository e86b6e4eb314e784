// SPDX-License-Identifier: GPL-3.0-or-later
// What a page says beside the limb file: the shop, who signs, what the record holds. standfast-report/1
// (docs/report-words.schema.json). Everything may be left out: the page then has a line to write on.
#pragma once

#include "base/shape.h"

typedef enum sf_ReportCheckState {
    SF_REPORT_CHECK_UNSAID = 0,
    SF_REPORT_CHECK_DONE,
    SF_REPORT_CHECK_OPEN,
    SF_REPORT_CHECK_AGAIN,
    SF_REPORT_CHECK_NOT_NEEDED
} sf_ReportCheckState;

typedef struct sf_ReportCheck {
    bool there;
    const char *title, *by, *date, *text;
    sf_ReportCheckState state;
} sf_ReportCheck;

typedef struct sf_ReportShop {
    bool there;
    const char *name, *address, *telephone, *statement;
} sf_ReportShop;

typedef struct sf_ReportSigner {
    bool there;
    const char *name, *licence;
} sf_ReportSigner;

typedef struct sf_ReportDecision {
    bool there;
    const char *text, *reason, *date;
    sf_Answer against_advice;
} sf_ReportDecision;

typedef struct sf_ReportWords {
    bool there;
    sf_ReportShop shop;
    sf_ReportSigner prosthetist;
    sf_ReportDecision decision;
    const char *record, *record_sha256, *date;
    double wear_in_first_day_h; ///< hours; NaN: not said
    double weighed;             ///< kg, shoe and all; NaN: not weighed
    sf_ReportCheck *checks;
    size_t check_count;
    sf_Arena *arena; ///< owns all of it
} sf_ReportWords;

/// Reads it; all problems come in one error. SF_E_PARSE, SF_E_INPUT, SF_E_MEMORY. Free with sf_report_words_free.
sf_Status sf_report_words_parse(sf_ReportWords *words, const char *name, const char *text, size_t size,
                                sf_Error *err) SF_MUST_USE;

/// Words that say nothing.
sf_ReportWords sf_report_words_none(void);

/// Frees and empties; safe to call twice.
void sf_report_words_free(sf_ReportWords *words);
