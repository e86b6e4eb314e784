// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/steps_picture.h"

#include "base/alloc.h"
#include "draw/steps_sheet.h"
#include "study/result.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { LONG = 4096, DIGITS = 12 };

// The figures are read back from the result's own document, so that picture and result tell the same.
typedef struct Gathering {
    sf_Json *json;
    char *result;
    sf_Doc *doc;
    sf_StepsFinding finding;
    sf_StepsSheet sheet;
    char program[64];
} Gathering;

static double number_in(sf_DocNode object, const char *key, const char *inner)
{
    double value = NAN;
    sf_DocNode node = sf_doc_member(object, key);
    sf_doc_number(inner ? sf_doc_member(node, inner) : node, -1e12, 1e12, &value);
    return value;
}

static void put(char cell[SF_STEPS_SHEET_CELL], double value, int digits)
{
    if (isfinite(value))
        snprintf(cell, SF_STEPS_SHEET_CELL, "%.*f", digits, value);
    else
        snprintf(cell, SF_STEPS_SHEET_CELL, "\u2013");
}

static void put_cv(char cell[SF_STEPS_SHEET_CELL], sf_DocNode row, const char *side)
{
    double cv = number_in(row, "cv_percent", side), low = NAN, high = NAN;
    sf_DocNode ends = sf_doc_member(sf_doc_member(row, "cv_interval_percent"), side);
    sf_doc_number(sf_doc_item(ends, 0), 0, 1e6, &low);
    sf_doc_number(sf_doc_item(ends, 1), 0, 1e6, &high);
    if (isfinite(cv) && isfinite(low) && isfinite(high))
        snprintf(cell, SF_STEPS_SHEET_CELL, "%.1f (%.1f to %.1f)", cv, low, high);
    else
        put(cell, cv, 1);
}

static void gather_rows(Gathering *g, sf_DocNode root)
{
    sf_DocNode groups = sf_doc_member(root, "by_support");
    sf_StepsSheet *s = &g->sheet;
    for (size_t r = 0; r < sf_doc_length(groups) && r < SF_STEPS_SHEET_ROWS; r++) {
        sf_DocNode row = sf_doc_item(groups, r);
        char(*cells)[SF_STEPS_SHEET_CELL] = s->cells[r];
        const char *support = "not told";
        sf_doc_text(sf_doc_member(row, "support"), LONG, &support);
        snprintf(cells[0], SF_STEPS_SHEET_CELL, "%.20s", support);
        put(cells[1], number_in(row, "steps", NULL), 0);
        put(cells[2], number_in(row, "step_time_s", "left"), 3);
        put(cells[3], number_in(row, "step_time_s", "right"), 3);
        put(cells[4], number_in(row, "symmetry", "ratio"), 3);
        put(cells[5], number_in(row, "symmetry", "index_percent"), 1);
        put_cv(cells[6], row, "left");
        put_cv(cells[7], row, "right");
        put(cells[8], number_in(row, "missed_steps", NULL), 0);
        put(cells[9], number_in(row, "double_contacts", NULL), 0);
        put(cells[10], number_in(row, "pauses", NULL), 0);
        s->row_count = r + 1;
    }
}

// Notes about keys that this sheet has no place for stay in the result.
static void gather_notes(sf_StepsSheet *s, sf_DocNode notes)
{
    static const char *const elsewhere[] = { "stance_time_s", "index in " };
    for (size_t i = 0; i < sf_doc_length(notes) && s->note_count < SF_STEPS_SHEET_NOTES; i++) {
        const char *note;
        if (sf_doc_text(sf_doc_item(notes, i), LONG, &note) && strncmp(note, elsewhere[0], strlen(elsewhere[0])) != 0 &&
            strncmp(note, elsewhere[1], strlen(elsewhere[1])) != 0)
            s->notes[s->note_count++] = note;
    }
}

static sf_Status gather(Gathering *g, const char *name, const char *text, size_t length, const sf_StepsAsk *ask,
                        sf_Error *err)
{
    static const char *const plain[] = { "left", "right" }, *const limb[] = { "left, prosthetic", "right, prosthetic" };
    SF_TRY(sf_steps_find(&g->json, &g->finding, name, text, length, ask, err));
    SF_TRY(sf_json_text(g->json, DIGITS, &g->result, err));
    SF_TRY(sf_doc_parse(&g->doc, "result", g->result, strlen(g->result), err));
    sf_DocNode root = sf_doc_root(g->doc), notes = sf_doc_member(root, "notes");
    const char *slash = strrchr(name, '/'), *kind = "";
    snprintf(g->program, sizeof g->program, "standfast %s", sf_version());
    sf_doc_text(sf_doc_member(root, "kind"), LONG, &kind);
    sf_StepsSheet *s = &g->sheet;
    *s = (sf_StepsSheet){ .name = slash ? slash + 1 : name,
                          .program = g->program,
                          .safety = sf_safety_sentence(),
                          .kind = kind,
                          .order = ask->prosthetic ? "prosthetic over sound" : "left over right",
                          .strip = {
                              &g->finding.list, &g->finding.report, g->finding.sides_known, { plain[0], plain[1] } } };
    if (ask->prosthetic) {
        int side = ask->prosthetic == SF_STEPS_SIDE_RIGHT;
        s->strip.words[side] = limb[side];
    }
    gather_rows(g, root);
    gather_notes(s, notes);
    return SF_OK;
}

sf_Status sf_steps_picture_paint(sf_Sheet *sheet, const char *name, const char *text, size_t length,
                                 const sf_StepsAsk *ask, sf_Error *err)
{
    sf_Status status;
    Gathering *g = sf_alloc(1, sizeof *g);
    if (!g)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory while drawing steps");
    SF_TRY_DONE(gather(g, name, text, length, ask, err));
    SF_TRY_DONE(sf_steps_sheet_paint(sheet, &g->sheet, err));
done:
    sf_steps_finding_free(&g->finding);
    sf_doc_destroy(&g->doc);
    sf_free(g->result);
    sf_json_destroy(&g->json);
    sf_free(g);
    return status;
}

sf_Status sf_steps_picture(unsigned char **bytes, size_t *size, const char *name, const char *text, size_t length,
                           const sf_StepsAsk *ask, sf_SheetKind kind, sf_Error *err)
{
    sf_Sheet *sheet = NULL;
    sf_Status status;
    SF_TRY_DONE(sf_sheet_create(&sheet, kind, SF_A5_LONG, SF_A5_SHORT, err));
    SF_TRY_DONE(sf_steps_picture_paint(sheet, name, text, length, ask, err));
    return sf_sheet_finish(&sheet, bytes, size, err);
done:
    sf_sheet_destroy(&sheet);
    return status;
}
