// SPDX-License-Identifier: GPL-3.0-or-later
#include "gait/footfall.h"

#include "base/alloc.h"
#include "base/csv.h"

#include <math.h>
#include <string.h>

static const char *const SUPPORTS[SF_WALK_COUNT] = { "unsaid", "bars", "stick", "free" };

const char *sf_footfall_support_word(sf_WalkSupport support)
{
    return SUPPORTS[support];
}

typedef struct Columns {
    size_t time, side, pass, support, toe_off;
    bool has_pass, has_support, has_toe_off;
} Columns;

static sf_Status find_columns(Columns *c, const sf_Csv *csv, sf_Error *err)
{
    static const char *const known[] = { "time_s", "side", "pass", "support", "toe_off_s" };
    for (size_t i = 0; i < csv->columns; i++) {
        bool found = false;
        for (size_t k = 0; k < sizeof known / sizeof *known; k++)
            found |= strcmp(known[k], csv->header[i]) == 0;
        if (!found)
            return SF_FAIL(
                err, SF_E_INPUT, csv->header[i],
                "%s: column '%.40s' is not known; a footfall table has time_s,side and may have pass, support and "
                "toe_off_s",
                csv->name, csv->header[i]);
    }
    SF_TRY(sf_csv_column(csv, "time_s", &c->time, err));
    SF_TRY(sf_csv_column(csv, "side", &c->side, err));
    c->has_pass = sf_csv_has(csv, "pass");
    c->has_support = sf_csv_has(csv, "support");
    c->has_toe_off = sf_csv_has(csv, "toe_off_s");
    if (c->has_pass)
        SF_TRY(sf_csv_column(csv, "pass", &c->pass, err));
    if (c->has_support)
        SF_TRY(sf_csv_column(csv, "support", &c->support, err));
    if (c->has_toe_off)
        SF_TRY(sf_csv_column(csv, "toe_off_s", &c->toe_off, err));
    return SF_OK;
}

static sf_Status read_side(const sf_Csv *csv, size_t row, const Columns *c, sf_Footfall *f, sf_Error *err)
{
    const char *cell = sf_csv_cell(csv, row, c->side);
    if (strcmp(cell, "L") != 0 && strcmp(cell, "R") != 0)
        return SF_FAIL(err, SF_E_INPUT, "side", "%s line %zu: side is '%.20s'; it must be L or R", csv->name,
                       csv->lines[row], cell);
    f->side = *cell == 'L' ? SF_FOOT_LEFT : SF_FOOT_RIGHT;
    if (!c->has_support)
        return SF_OK;
    cell = sf_csv_cell(csv, row, c->support);
    size_t k = *cell == '\0' ? SF_WALK_UNSAID : SF_WALK_BARS;
    while (k < SF_WALK_COUNT && k != SF_WALK_UNSAID && strcmp(SUPPORTS[k], cell) != 0)
        k++;
    if (k == SF_WALK_COUNT)
        return SF_FAIL(err, SF_E_INPUT, "support", "%s line %zu: support is '%.20s'; it must be bars, stick or free",
                       csv->name, csv->lines[row], cell);
    f->support = (unsigned char)k;
    return SF_OK;
}

// A pass is a run of rows with one label; support may not change inside.
static sf_Status read_pass(const sf_Csv *csv, size_t row, const Columns *c, sf_Footfall *items, sf_Error *err)
{
    sf_Footfall *f = &items[row];
    const char *label = c->has_pass ? sf_csv_cell(csv, row, c->pass) : "";
    if (c->has_pass && *label == '\0')
        return SF_FAIL(err, SF_E_INPUT, "pass", "%s line %zu: pass is blank; name the pass or leave the column out",
                       csv->name, csv->lines[row]);
    if (row == 0)
        return SF_OK;
    const sf_Footfall *before = &items[row - 1];
    bool same = !c->has_pass || strcmp(label, sf_csv_cell(csv, row - 1, c->pass)) == 0;
    // Without pass labels a change of support begins a new pass.
    if (same && !c->has_pass && f->support != before->support)
        same = false;
    if (same && f->support != before->support)
        return SF_FAIL(err, SF_E_INPUT, "support",
                       "%s line %zu: support changes within pass '%.20s'; give it a pass of its own", csv->name,
                       csv->lines[row], label);
    f->pass = before->pass + (same ? 0 : 1);
    return SF_OK;
}

static sf_Status read_times(const sf_Csv *csv, size_t row, const Columns *c, sf_FootfallList *list, sf_Error *err)
{
    sf_Footfall *f = &list->items[row];
    SF_TRY(sf_csv_number(csv, row, c->time, &f->time, err));
    if (row > 0 && f->time <= f[-1].time)
        return SF_FAIL(err, SF_E_INPUT, "time_s",
                       "%s line %zu: time %.6g s %s the line before (%.6g s); sort the table by time and "
                       "take double rows out",
                       csv->name, csv->lines[row], f->time,
                       f->time == f[-1].time ? "is the same as in" : "comes before", f[-1].time);
    f->toe_off = NAN;
    if (!c->has_toe_off || *sf_csv_cell(csv, row, c->toe_off) == '\0')
        return SF_OK;
    SF_TRY(sf_csv_number(csv, row, c->toe_off, &f->toe_off, err));
    if (f->toe_off <= f->time)
        return SF_FAIL(err, SF_E_INPUT, "toe_off_s", "%s line %zu: toe-off %.6g s is not after its contact at %.6g s",
                       csv->name, csv->lines[row], f->toe_off, f->time);
    list->toe_off_known = true;
    return SF_OK;
}

sf_Status sf_footfall_read(sf_FootfallList *list, const char *name, const char *text, size_t size, sf_Error *err)
{
    *list = (sf_FootfallList){ 0 };
    sf_Csv csv;
    Columns columns = { 0 };
    SF_TRY(sf_csv_read(&csv, name, text, size, err));
    sf_Status status;
    SF_TRY_DONE(find_columns(&columns, &csv, err));
    list->items = sf_alloc(csv.rows, sizeof *list->items);
    if (!list->items) {
        status = SF_FAIL(err, SF_E_MEMORY, name, "out of memory while reading %s", name);
        goto done;
    }
    list->count = csv.rows;
    for (size_t row = 0; row < csv.rows; row++) {
        SF_TRY_DONE(read_times(&csv, row, &columns, list, err));
        SF_TRY_DONE(read_side(&csv, row, &columns, &list->items[row], err));
        SF_TRY_DONE(read_pass(&csv, row, &columns, list->items, err));
    }
done:
    sf_csv_free(&csv);
    if (status != SF_OK)
        sf_footfall_free(list);
    return status;
}

void sf_footfall_free(sf_FootfallList *list)
{
    sf_free(list->items);
    *list = (sf_FootfallList){ 0 };
}
