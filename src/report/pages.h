// SPDX-License-Identifier: GPL-3.0-or-later
// Pages of running text: a head and a foot on each, blocks that go on to the next page where they do not fit. A PDF
// holds all pages; a PNG or an SVG the one that was asked for.
#pragma once

#include "draw/lettering.h"

typedef enum sf_ReportPaper { SF_REPORT_A4, SF_REPORT_LETTER } sf_ReportPaper;

typedef struct sf_PageHead {
    const char *title, *right, *shop; ///< shop NULL: none
    const char *foot;                 ///< under each page: cautions, program, fingerprint
    double text_pt;                   ///< of the running text
} sf_PageHead;

typedef struct sf_Pages {
    sf_SheetKind kind;
    sf_PaperMm width, height, y;
    size_t page, total, wanted; ///< from 1; total 0: not known yet
    sf_PageHead head;
    sf_Sheet *sheet; ///< the page being drawn
    sf_Sheet *kept;  ///< PNG, SVG: the page that was asked for
    size_t faults;
    char fault[240];
    sf_Status status;
    sf_Error error;
} sf_Pages;

typedef enum sf_BoxMark { SF_MARK_EMPTY, SF_MARK_TICK, SF_MARK_OPEN, SF_MARK_AGAIN, SF_MARK_NOT_NEEDED } sf_BoxMark;

/// Begins the first page. `wanted` is the page that a PNG or SVG shows. SF_E_MISSING without the typeface, SF_E_MEMORY.
sf_Status sf_pages_open(sf_Pages *pages, sf_SheetKind kind, sf_PaperMm width, sf_PaperMm height, size_t total,
                        size_t wanted, const sf_PageHead *head, sf_Error *err) SF_MUST_USE;

/// Width between the margins, and the left margin.
sf_PaperMm sf_pages_width(const sf_Pages *pages);
sf_PaperMm sf_pages_left(const sf_Pages *pages);

/// A new page unless `height` more fits on this one.
void sf_pages_room(sf_Pages *pages, sf_PaperMm height);

void sf_pages_break(sf_Pages *pages); ///< goes on at the top of a page
void sf_pages_gap(sf_Pages *pages, sf_PaperMm height);
void sf_pages_heading(sf_Pages *pages, const char *text);
void sf_pages_text(sf_Pages *pages, bool bold, const char *text); ///< a paragraph; newlines begin a line

/// A paragraph behind a small mark.
void sf_pages_point(sf_Pages *pages, const char *text);

/// Name, figure, and what it is held against, in three columns.
void sf_pages_row(sf_Pages *pages, const char *name, const char *value, const char *limit);

/// A box to tick or ticked, what it is for, and who and when on a line to sign on.
void sf_pages_check(sf_Pages *pages, sf_BoxMark mark, const char *title, const char *who);

/// Lines to sign on, side by side, each with its word below and what is known already above.
void sf_pages_sign(sf_Pages *pages, const char *const *words, const char *const *given, size_t count);

/// A framed sentence that must be seen.
void sf_pages_caution(sf_Pages *pages, const char *text);

/// Closes and hands the bytes over (sf_free). Frees the pages in any case.
sf_Status sf_pages_finish(sf_Pages *pages, unsigned char **bytes, size_t *size, sf_Error *err) SF_MUST_USE;

/// Drops everything; safe to call twice.
void sf_pages_drop(sf_Pages *pages);
