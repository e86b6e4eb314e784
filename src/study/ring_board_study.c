// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/ring_board_study.h"

#include "base/alloc.h"
#include "base/units.h"
#include "draw/ring_board.h"
#include "section/outline_table.h"
#include "study/limb_case_inside.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { LIMBS = 100, MOST_RINGS = 600, MOST_TABLE = 8 * 1024 * 1024 };

static const char *const figures[] = { "wall_median_mm", "wall_min_off_seam_mm", "groove_depth_mm",
                                       "seam_unjoined_depth_mm" };
enum { FIGURES = sizeof figures / sizeof *figures };

// One ring; texts live as long as the transaction.
typedef struct Ring {
    int64_t limb, fact;
    const char *label, *number, *measured_at, *decision, *evidence, *face, *outline;
    double figure[FIGURES], seam_deg;
} Ring;

typedef struct Board {
    Ring *list;
    size_t count;
} Board;

static sf_Status no_memory(sf_Error *err)
{
    return SF_FAIL(err, SF_E_MEMORY, "", "out of memory while laying out the rings");
}

static const char *kept(const sf_LimbCase *c, const char *text)
{
    return text ? sf_arena_text(sf_transaction_arena(c->transaction), text) : NULL;
}

static const char *number_of(const sf_LimbCase *c, size_t i)
{
    bool ring = strcmp(c->facts[i].kind, "ring") == 0 && !c->rows[i].withdrawn_by;
    return ring ? sf_fact_word(&c->facts[i], "ring_number") : NULL;
}

// Measured once more under its number later on.
static bool again(const sf_LimbCase *c, size_t i, const char *number)
{
    for (size_t k = i + 1; k < c->count; k++) {
        const char *other = number_of(c, k);
        if (other && strcmp(other, number) == 0)
            return true;
    }
    return false;
}

static void add_ring(Board *board, const sf_LimbCase *c, size_t i, const char *number)
{
    const sf_StageFact *fact = &c->facts[i];
    sf_DocNode result = sf_doc_member(fact->body, "result");
    const char *outline = NULL;
    sf_doc_text(sf_doc_member(result, "outline_csv"), MOST_TABLE, &outline);
    Ring *ring = &board->list[board->count++];
    *ring = (Ring){ .limb = c->row.id,
                    .fact = fact->id,
                    .label = kept(c, c->row.head.label),
                    .number = kept(c, number),
                    .measured_at = kept(c, fact->happened_at),
                    .decision = kept(c, sf_fact_word(fact, "decision")),
                    .evidence = kept(c, sf_fact_word(fact, "evidence")),
                    .face = kept(c, sf_fact_word(fact, "face")),
                    .outline = kept(c, outline),
                    .seam_deg = sf_document_number(result, "seam_direction_deg") };
    for (size_t k = 0; k < FIGURES; k++)
        ring->figure[k] = sf_document_number(result, figures[k]);
}

static sf_Status add_limb(Board *board, sf_Transaction *t, const sf_StageTable *table, int64_t id, sf_Error *err)
{
    sf_LimbCase *c = NULL;
    SF_TRY(sf_limb_case_load(&c, t, table, id, true, err));
    for (size_t i = 0; i < c->count && board->count < MOST_RINGS; i++) {
        const char *number = number_of(c, i);
        if (number && !again(c, i, number))
            add_ring(board, c, i, number);
    }
    sf_limb_case_close(&c);
    return SF_OK;
}

static int by_time(const void *left, const void *right)
{
    const Ring *a = left, *b = right;
    int order = strcmp(b->measured_at, a->measured_at);
    return order ? order : (b->fact > a->fact) - (b->fact < a->fact);
}

static sf_Status gather(Board *board, sf_Transaction *t, const sf_StageTable *table, const sf_BoardAsk *ask,
                        sf_Error *err)
{
    sf_LimbAsk limbs = { .order = SF_LIMB_CHANGED, .count = LIMBS };
    sf_LimbRow *rows;
    size_t count;
    const char *next;
    *board = (Board){ .list = sf_arena_alloc(sf_transaction_arena(t), MOST_RINGS, sizeof *board->list) };
    if (!board->list)
        return no_memory(err);
    if (ask->limb) {
        SF_TRY(add_limb(board, t, table, ask->limb, err));
    } else {
        SF_TRY(sf_limb_record_list(t, &limbs, &rows, &count, &next, err));
        for (size_t i = 0; i < count; i++)
            SF_TRY(add_limb(board, t, table, rows[i].id, err));
    }
    for (size_t i = 0; i < board->count; i++)
        if (!board->list[i].measured_at || !board->list[i].number)
            return no_memory(err);
    qsort(board->list, board->count, sizeof *board->list, by_time);
    board->count = board->count > ask->most ? ask->most : board->count;
    return SF_OK;
}

sf_Status sf_ring_board_json(sf_Transaction *t, const sf_StageTable *table, const sf_BoardAsk *ask, sf_Json **json,
                             sf_Error *err)
{
    Board board;
    SF_TRY(gather(&board, t, table, ask, err));
    sf_Json *list = sf_json_array();
    for (size_t i = 0; i < board.count; i++) {
        const Ring *ring = &board.list[i];
        sf_Json *one = sf_json_object();
        sf_json_set_whole(one, "limb", ring->limb);
        sf_json_set_text(one, "label", ring->label);
        sf_json_set_whole(one, "fact", ring->fact);
        sf_json_set_text(one, "ring_number", ring->number);
        sf_json_set_text(one, "measured_at", ring->measured_at);
        sf_json_set_text(one, "decision", ring->decision);
        sf_json_set_text(one, "evidence", ring->evidence);
        for (size_t k = 0; k < FIGURES; k++)
            sf_json_set_number(one, figures[k], ring->figure[k]);
        sf_json_set_flag(one, "drawn", ring->outline != NULL);
        sf_json_add(list, one);
    }
    *json = sf_json_object();
    sf_json_set(*json, "rings", list);
    return SF_OK;
}

static bool verdict_of(const char *word, sf_Verdict *verdict)
{
    for (int i = SF_VERDICT_ACCEPT; word && i <= SF_VERDICT_REJECT; i++)
        if (strcmp(word, sf_verdict_word((sf_Verdict)i)) == 0) {
            *verdict = (sf_Verdict)i;
            return true;
        }
    return false;
}

static sf_Status lay(sf_BoardRing *at, const Ring *ring, bool own, sf_Error *err)
{
    *at = (sf_BoardRing){ .seam = ring->seam_deg * SF_DEG,
                          .mirrored = ring->face && strcmp(ring->face, "foot-side") == 0,
                          .label = own ? NULL : ring->label,
                          .wall = ring->figure[0] * SF_MM };
    snprintf(at->number, sizeof at->number, "%.12s", ring->number);
    at->judged = verdict_of(ring->decision, &at->verdict);
    return sf_outline_read_csv(&at->outline, "the ring", ring->outline, strlen(ring->outline), err);
}

sf_Status sf_ring_board_picture(unsigned char **bytes, size_t *size, sf_Transaction *t, const sf_StageTable *table,
                                const sf_BoardAsk *ask, sf_SheetKind kind, sf_Error *err)
{
    Board board;
    sf_Sheet *sheet = NULL;
    sf_BoardRing *rings = NULL;
    size_t count = 0;
    sf_Status status;
    SF_TRY(gather(&board, t, table, ask, err));
    rings = sf_alloc(board.count + 1, sizeof *rings);
    if (!rings)
        return no_memory(err);
    for (size_t i = 0; i < board.count && count < SF_BOARD_RINGS; i++)
        if (board.list[i].outline)
            SF_TRY_DONE(lay(&rings[count++], &board.list[i], ask->limb != 0, err));
    sf_Box paper = sf_ring_board_size(count);
    const sf_RingBoard drawn = { rings, count, ask->limb ? "Rings of this limb" : "Rings of the shop" };
    SF_TRY_DONE(sf_sheet_create(&sheet, kind, paper.width, paper.height, err));
    SF_TRY_DONE(sf_ring_board_paint(sheet, &drawn, err));
    status = sf_sheet_finish(&sheet, bytes, size, err);
done:
    sf_sheet_destroy(&sheet);
    for (size_t i = 0; i < count; i++)
        sf_outline_free(&rings[i].outline);
    sf_free(rings);
    return status;
}
