// SPDX-License-Identifier: GPL-3.0-or-later
#include "draw/ring_sheet.h"

#include "base/alloc.h"
#include "base/text.h"
#include "base/units.h"
#include "draw/lettering.h"
#include "draw/ring_view.h"
#include "draw/sheet_head.h"
#include "draw/verdict_mark.h"
#include "draw/wall_chart.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { LINE_TEXT = 320, MOST_CAUSES = 3, MOST_REASONS = 7, MOST_DESCRIPTION = 16384 };

static const sf_PaperMm MARGIN = 5, HEAD = 6.4, VIEW_WIDTH = 104, VIEW_HEIGHT = 81, GAP = 3, LINE = 3.05;

static const sf_Lettering SMALL = { SF_SMALLEST_PT, false, SF_ALIGN_LEFT, { 0.08, 0.09, 0.11 } };
static const sf_Lettering SMALL_BOLD = { SF_SMALLEST_PT, true, SF_ALIGN_LEFT, { 0.08, 0.09, 0.11 } };

// ---- head and decision ---------------------------------------------------------------------------------------------

static void describe_circumstances(char *text, size_t size, const sf_RingSheet *r, double scale)
{
    const sf_RingContext *c = r->context;
    char who[40] = "user not told", wall[48] = "expected wall not told", from[48];
    if (isfinite(c->body_mass))
        snprintf(who, sizeof who, "%.0f kg", c->body_mass);
    else if (c->user != SF_USER_UNKNOWN)
        snprintf(who, sizeof who, "%s", c->user == SF_USER_CHILD ? "child" : "adult");
    if (isfinite(c->nominal_wall))
        snprintf(wall, sizeof wall, "expected wall %.2f mm", c->nominal_wall / SF_MM);
    if (c->source == SF_RING_PICTURE)
        snprintf(from, sizeof from, "scan %.0f dpi, %s", r->dpi, r->foot_side ? "foot side" : "limb side");
    else
        snprintf(from, sizeof from, c->source == SF_RING_CALIPER ? "caliper readings" : "outline");
    snprintf(text, size, "%s \u00b7 %s \u00b7 %s \u00b7 drawn %g : 1 on A5", who, wall, from, scale);
}

static void paint_head(sf_Sheet *sheet, const sf_RingSheet *r, double scale)
{
    char name[LINE_TEXT], circumstances[LINE_TEXT];
    describe_circumstances(circumstances, sizeof circumstances, r, scale);
    snprintf(name, sizeof name, r->scans > 1 ? "%.80s, worst of %zu scans" : "%s", r->name, r->scans);
    sf_sheet_head(sheet, MARGIN, sf_sheet_box(sheet).width, "Cut-off ring", name, circumstances);
}

// "accept, by picture only" becomes a large word and what goes with it.
static void paint_decision(sf_Sheet *sheet, sf_Box box, const sf_RingDecision *d)
{
    static const char *const words[] = { "ACCEPT", "ACCEPT WITH A LIMIT", "MEASURE AGAIN", "REJECT" };
    const sf_PaperMm mark = 15;
    sf_verdict_mark(sheet, (sf_Spot){ box.x + mark / 2 + 0.7, box.y + mark / 2 + 0.7 }, mark, d->verdict);
    sf_Lettering large = { 22, true, SF_ALIGN_LEFT, sf_verdict_ink(d->verdict) };
    double x = box.x + mark + 4.5, width = box.x + box.width - x;
    while (large.size_pt > 12 && sf_sheet_text_width(sheet, &large, words[d->verdict]) > width)
        large.size_pt -= 1;
    sf_sheet_text(sheet, (sf_Spot){ x, box.y + 7.2 }, &large, words[d->verdict]);
    const char *rest = strpbrk(d->words, ",;:");
    while (rest && strchr(",;: ", *rest) && *rest)
        rest++;
    char text[SF_DECISION_WORDS + 80];
    snprintf(text, sizeof text, "%s%s", rest ? rest : "",
             !d->body_weight && d->verdict <= SF_VERDICT_LIMIT ? "; no body weight before the squeeze proof" : "");
    sf_Lettering second = { 9, true, SF_ALIGN_LEFT, SF_INK };
    sf_Box below = { x, box.y + 8.8, width, box.height - 8.8 };
    while (second.size_pt > SF_SMALLEST_PT && sf_sheet_text_height(sheet, width, &second, text) > below.height)
        second.size_pt -= 0.5;
    sf_sheet_text_box(sheet, below, &second, text);
}

// ---- large figures -------------------------------------------------------------------------------------------------

typedef struct Cell {
    const char *label;
    char value[24], unit[32], limit[2][48];
    const sf_Reason *reason;
} Cell;

static const sf_Reason *reason_of(const sf_RingDecision *d, const char *code, const char *other)
{
    for (size_t i = 0; i < d->reason_count; i++)
        if (strcmp(d->reasons[i].code, code) == 0 || strcmp(d->reasons[i].code, other) == 0)
            return &d->reasons[i];
    return NULL;
}

static void say_length(Cell *cell, double length, sf_Doubt doubt)
{
    double half = hypot(doubt.edge, doubt.scale);
    snprintf(cell->value, sizeof cell->value, "%.2f", length / SF_MM);
    if (half > 0)
        snprintf(cell->unit, sizeof cell->unit, "\u00b1%.2f mm", half / SF_MM);
    else
        snprintf(cell->unit, sizeof cell->unit, "mm");
}

// A share in per cent; finer where the limit is below one.
static void say_share(Cell *cell, double share, const sf_Limit *limit, const char *missing)
{
    if (isnan(share)) {
        snprintf(cell->value, sizeof cell->value, "\u2013");
        snprintf(cell->unit, sizeof cell->unit, "%s", missing);
    } else {
        snprintf(cell->value, sizeof cell->value, "%.*f", limit->accept < 0.01 ? 2 : 1, 100 * share);
        snprintf(cell->unit, sizeof cell->unit, "%%");
    }
    snprintf(cell->limit[0], sizeof cell->limit[0], "accept to %g %%", 100 * limit->accept);
    snprintf(cell->limit[1], sizeof cell->limit[1], "reject over %g %%", 100 * limit->reject);
}

static void fill_walls(Cell *thick, Cell *least, const sf_RingSheet *r)
{
    const sf_RingMeasure *m = r->measure;
    const sf_RingContext *c = r->context;
    const sf_RingLimits *l = r->limits;
    *thick = (Cell){ .label = isnan(m->wall.seam_angle) ? "Least wall (no seam seen)" : "Least wall off the seam",
                     .reason = reason_of(r->decision, "wall-off-seam", "wall-unjudged") };
    say_length(thick, m->wall.off_seam_min, m->doubt.wall_min_off_seam);
    if (isfinite(c->nominal_wall)) {
        snprintf(thick->limit[0], sizeof thick->limit[0], "accept from %.2f",
                 c->nominal_wall * l->wall_off_seam.accept / SF_MM);
        snprintf(thick->limit[1], sizeof thick->limit[1], "reject below %.2f",
                 c->nominal_wall * l->wall_off_seam.reject / SF_MM);
    } else {
        snprintf(thick->limit[0], sizeof thick->limit[0], "no limit without");
        snprintf(thick->limit[1], sizeof thick->limit[1], "the expected wall");
    }
    *least = (Cell){ .label = "Least wall anywhere", .reason = reason_of(r->decision, "wall-floor", "") };
    say_length(least, m->wall.min, m->doubt.wall_min);
    bool child = c->user == SF_USER_CHILD;
    if (isfinite(c->body_mass)) {
        snprintf(least->limit[0], sizeof least->limit[0], "floor %.2f", sf_ring_floor(l, c->body_mass, child) / SF_MM);
        snprintf(least->limit[1], sizeof least->limit[1], "for %.0f kg", c->body_mass);
    } else if (c->user != SF_USER_UNKNOWN) {
        snprintf(least->limit[0], sizeof least->limit[0], "floor %.2f", sf_ring_floor(l, NAN, child) / SF_MM);
        snprintf(least->limit[1], sizeof least->limit[1], "for %s", child ? "a child" : "an adult");
    } else {
        snprintf(least->limit[0], sizeof least->limit[0], "adult floor %.2f", l->floor.adult / SF_MM);
        snprintf(least->limit[1], sizeof least->limit[1], "child floor %.2f", l->floor.child / SF_MM);
    }
}

static void fill_shares(Cell cells[4], const sf_RingSheet *r)
{
    const sf_RingMeasure *m = r->measure;
    const sf_RingDecision *d = r->decision;
    const sf_RingLimits *l = r->limits;
    bool searched = m->wall.line_searched;
    for (int i = 0; i < 4; i++)
        cells[i] = (Cell){ 0 };
    cells[0].label = "Groove, share of wall";
    cells[0].reason = reason_of(d, "groove", "groove-unseen");
    say_share(&cells[0], m->wall.groove_share, &l->groove, "readings too far apart");
    cells[1].label = "Unjoined, share of wall";
    cells[1].reason = reason_of(d, "unjoined", "line-unseen");
    say_share(&cells[1],
              !searched                  ? NAN
              : m->wall.unjoined_through ? 1
                                         : m->wall.unjoined_share,
              &l->unjoined, "not seen by readings");
    cells[2].label = "Voids, share of area";
    cells[2].reason = reason_of(d, "voids", "");
    say_share(&cells[2], searched ? m->section.void_area / m->section.area : NAN, &l->voids, "not seen by readings");
    cells[3].label = "Ovality";
    cells[3].reason = reason_of(d, "ovality", "");
    say_share(&cells[3], m->fit.ovality, &l->ovality, "");
}

static void paint_cell(sf_Sheet *sheet, sf_Box box, const Cell *cell)
{
    const sf_Lettering value = { 16, true, SF_ALIGN_LEFT, SF_INK };
    sf_sheet_text(sheet, (sf_Spot){ box.x, box.y + 2.4 }, &SMALL, cell->label);
    sf_sheet_text(sheet, (sf_Spot){ box.x, box.y + 8.3 }, &value, cell->value);
    double x = box.x + sf_sheet_text_width(sheet, &value, cell->value) + 1;
    sf_sheet_text(sheet, (sf_Spot){ x, box.y + 8.3 }, &SMALL, cell->unit);
    if (cell->reason)
        sf_verdict_mark(sheet, (sf_Spot){ box.x + 2.4, box.y + 12.3 }, 4.2, cell->reason->verdict);
    for (int i = 0; i < 2; i++)
        sf_sheet_text(sheet, (sf_Spot){ box.x + 5.8, box.y + 11.8 + 2.9 * i }, &SMALL, cell->limit[i]);
}

static void paint_figures(sf_Sheet *sheet, sf_Box box, const sf_RingSheet *r)
{
    enum { COLUMNS = 3, ROWS = 2 };
    Cell cells[COLUMNS * ROWS];
    const sf_Pen thin = { SF_INK_FAINT, 0.15, SF_DASH_NONE };
    fill_walls(&cells[0], &cells[1], r);
    fill_shares(cells + 2, r);
    double width = box.width / COLUMNS, height = box.height / ROWS;
    for (int i = 0; i < COLUMNS * ROWS; i++) {
        sf_Box at = { box.x + width * (i % COLUMNS), box.y + height * (i / COLUMNS), width, height };
        sf_sheet_line(sheet, (sf_Spot){ at.x, at.y - 0.7 }, (sf_Spot){ at.x + width - 2, at.y - 0.7 }, &thin);
        paint_cell(sheet, at, &cells[i]);
    }
}

// ---- reasons, causes, what would sharpen ---------------------------------------------------------------------------

// Whether a reason only repeats what its large figure says: within its limit.
static bool told_above(const sf_Reason *r)
{
    static const char *const figures[] = { "wall-off-seam", "wall-floor", "groove", "unjoined", "voids", "ovality" };
    for (size_t i = 0; i < sizeof figures / sizeof *figures; i++)
        if (r->verdict == SF_VERDICT_ACCEPT && strcmp(r->code, figures[i]) == 0)
            return true;
    return false;
}

// One line each, the hardest first. Where they are many, those that the large figures tell already become one line.
static sf_PaperMm paint_reasons(sf_Sheet *sheet, sf_Box box, const sf_RingDecision *d)
{
    double y = box.y;
    size_t gathered = 0;
    bool many = d->reason_count > MOST_REASONS;
    for (size_t i = 0; i < d->reason_count; i++) {
        const sf_Reason *r = &d->reasons[i];
        if (many && told_above(r)) {
            gathered++;
            continue;
        }
        if (strncmp(r->code, "clamp-", 6) == 0) // told, not judged: no tick
            sf_sheet_text(sheet, (sf_Spot){ box.x + 0.7, y + 2.4 }, &SMALL_BOLD, "\u2013");
        else
            sf_verdict_mark(sheet, (sf_Spot){ box.x + 1.3, y + 1.5 }, 2.5, r->verdict);
        sf_Box line = { box.x + 4, y, box.width - 4, LINE + 0.4 };
        sf_sheet_text_box(sheet, line, r->verdict > SF_VERDICT_ACCEPT ? &SMALL_BOLD : &SMALL, r->text);
        y += LINE;
    }
    if (gathered > 0) {
        char text[LINE_TEXT];
        snprintf(text, sizeof text,
                 gathered == 1 ? "One more figure above is within its limit."
                               : "%zu more figures above are within their limits.",
                 gathered);
        sf_verdict_mark(sheet, (sf_Spot){ box.x + 1.3, y + 1.5 }, 2.5, SF_VERDICT_ACCEPT);
        sf_sheet_text_box(sheet, (sf_Box){ box.x + 4, y, box.width - 4, LINE + 0.4 }, &SMALL, text);
        y += LINE;
    }
    return y - box.y;
}

// Paints an item while it has room; returns its height, or 0 when it has none.
static sf_PaperMm paint_item(sf_Sheet *sheet, sf_Box box, const char *word, const char *text)
{
    char line[LINE_TEXT];
    snprintf(line, sizeof line, "%s%s%s", word, *word ? ": " : "", text);
    if (sf_sheet_text_height(sheet, box.width, &SMALL, line) > box.height)
        return 0;
    return sf_sheet_text_box(sheet, box, &SMALL, line);
}

static void paint_causes(sf_Sheet *sheet, sf_Box box, const sf_RingDecision *d)
{
    double y = box.y, end = box.y + box.height;
    if (d->cause_count == 0 || box.height < 3 * LINE)
        return;
    sf_sheet_text(sheet, (sf_Spot){ box.x, y + 2.4 }, &SMALL_BOLD, "Causes, likeliest first");
    y += LINE;
    for (size_t i = 0; i < d->cause_count && i < MOST_CAUSES; i++) {
        double took =
            paint_item(sheet, (sf_Box){ box.x, y, box.width, end - y }, d->causes[i].likelihood, d->causes[i].text);
        if (took == 0)
            return; // the rest is in the result
        y += took;
    }
}

static void paint_sharpen(sf_Sheet *sheet, sf_Box box, const sf_RingDecision *d)
{
    double y = box.y, end = box.y + box.height;
    if (d->sharpen_count == 0 || box.height < 3 * LINE)
        return;
    sf_sheet_text(sheet, (sf_Spot){ box.x, y + 2.4 }, &SMALL_BOLD, "What would sharpen this");
    y += LINE;
    for (size_t i = 0; i < d->sharpen_count; i++) {
        double took = paint_item(sheet, (sf_Box){ box.x, y, box.width, end - y }, "", d->sharpen[i]);
        if (took == 0)
            return;
        y += took;
    }
}

// ---- the whole -----------------------------------------------------------------------------------------------------

static sf_Status describe(sf_Sheet *sheet, const sf_RingSheet *r, sf_Error *err)
{
    const sf_RingDecision *d = r->decision;
    sf_Text text = sf_text_make(MOST_DESCRIPTION);
    sf_text_format(&text, "Decision: %s.\nEvidence: %s.\n", d->words, d->evidence);
    for (size_t i = 0; i < d->reason_count; i++)
        sf_text_format(&text, "%s: %s\n", sf_verdict_word(d->reasons[i].verdict), d->reasons[i].text);
    for (size_t i = 0; i < d->cause_count; i++)
        sf_text_format(&text, "%s cause: %s\n", d->causes[i].likelihood, d->causes[i].text);
    for (size_t i = 0; i < d->sharpen_count; i++)
        sf_text_format(&text, "Would sharpen this: %s\n", d->sharpen[i]);
    sf_text_add(&text, r->safety);
    char title[LINE_TEXT];
    snprintf(title, sizeof title, "Cut-off ring %.200s: %s", r->name, sf_verdict_word(d->verdict));
    sf_sheet_describe(sheet, title, sf_text_string(&text));
    bool broken = text.broken;
    sf_text_free(&text);
    return broken ? SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory") : SF_OK;
}

static void paint_foot(sf_Sheet *sheet, double y, const sf_RingSheet *r)
{
    sf_Box paper = sf_sheet_box(sheet);
    const sf_Pen rule = { SF_INK, 0.2, SF_DASH_NONE };
    double width = paper.width - 2 * MARGIN;
    char text[1024];
    snprintf(text, sizeof text, "%s  Evidence: %s; basis: %s. %s.", r->safety, r->decision->evidence,
             r->decision->basis, r->program);
    sf_sheet_line(sheet, (sf_Spot){ MARGIN, y - 0.6 }, (sf_Spot){ MARGIN + width, y - 0.6 }, &rule);
    sf_sheet_text_box(sheet, (sf_Box){ MARGIN, y, width, paper.height - y - 3 }, &SMALL, text);
}

sf_Status sf_ring_sheet_paint(sf_Sheet *sheet, const sf_RingSheet *ring, sf_Error *err)
{
    sf_Box paper = sf_sheet_box(sheet);
    double width = paper.width - 2 * MARGIN, top = MARGIN + HEAD, scale = 1;
    double foot = paper.height - MARGIN - 5.2;
    SF_TRY(describe(sheet, ring, err));
    SF_TRY(sf_ring_view_paint(sheet, (sf_Box){ MARGIN, top, VIEW_WIDTH, VIEW_HEIGHT }, ring, &scale, err));
    paint_head(sheet, ring, scale);
    sf_Box right = { MARGIN + VIEW_WIDTH + GAP, top, width - VIEW_WIDTH - GAP, VIEW_HEIGHT };
    paint_decision(sheet, (sf_Box){ right.x, top, right.width, 17 }, ring->decision);
    sf_wall_chart_paint(sheet, (sf_Box){ right.x, top + 17.5, right.width, 30 }, ring);
    paint_figures(sheet, (sf_Box){ right.x, top + 48.4, right.width, 33.2 }, ring);
    sf_Box reasons = { MARGIN, top + VIEW_HEIGHT + 1.5, width, 0 };
    double y = reasons.y + paint_reasons(sheet, reasons, ring->decision) + 0.8;
    double half = (width - GAP) / 2;
    paint_causes(sheet, (sf_Box){ MARGIN, y, half, foot - y - 0.8 }, ring->decision);
    double beside = ring->decision->cause_count > 0 ? half + GAP : 0;
    paint_sharpen(sheet, (sf_Box){ MARGIN + beside, y, half, foot - y - 0.8 }, ring->decision);
    paint_foot(sheet, foot, ring);
    return SF_OK;
}
