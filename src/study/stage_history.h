// SPDX-License-Identifier: GPL-3.0-or-later
// The facts of a limb in the order in which they happened, and what still counts of them at a moment. Internal to the
// rules of the stages.
#pragma once

#include "study/stage_rules.h"

/// One fact in its place.
typedef struct sf_Happening {
    const sf_StageFact *fact;
    size_t kind;         ///< SIZE_MAX: unknown
    size_t withdrawn_at; ///< place of the withdrawal that holds; SIZE_MAX: none
    bool in_order;       ///< what opens its stage was met when it happened
    bool resets_fully;   ///< resets all that its kind can reset
} sf_Happening;

typedef struct sf_History {
    const sf_StageTable *table;
    sf_DocNode limb;
    sf_StageAround around;
    sf_Happening *items;
    size_t count;
    const char *now;
    sf_Arena *arena;
} sf_History;

/// The history up to, and without, place `end`: what was known then.
typedef struct sf_View {
    const sf_History *history;
    size_t end;
    bool past;                         ///< what only the present document can tell is taken as met
    size_t reset[SF_STAGE_MOST + 1];   ///< place after the last fact that reset the stage
    size_t ended[SF_STAGE_MOST_KINDS]; ///< place after the last fact that ended the kind
} sf_View;

/// Sorts the facts that happened up to `now`. Marks of order are not set yet.
sf_Status sf_history_make(sf_History *history, const sf_StageTable *table, sf_DocNode limb, const sf_StageFact *facts,
                          size_t count, const sf_StageAround *around, const char *now, sf_Arena *arena,
                          sf_Error *err) SF_MUST_USE;

sf_View sf_history_view(const sf_History *history, size_t end);

bool sf_view_alive(const sf_View *view, size_t place);  ///< seen and not withdrawn
bool sf_view_counts(const sf_View *view, size_t place); ///< alive and neither reset nor ended

/// The newest fact of a kind that counts, before place `before`; SIZE_MAX: none. The kind by its name.
size_t sf_view_newest(const sf_View *view, size_t kind, size_t before);
size_t sf_view_find(const sf_View *view, const char *kind);

/// Whether someone who may stands behind the fact: who wrote it down, or a signature under it.
bool sf_view_signed(const sf_View *view, size_t place, sf_StageSigner signer);
/// Whether the withdrawal `w` of fact `f` (of kind `kind`, SIZE_MAX: unknown) holds.
bool sf_stage_may_withdraw(const sf_StageTable *table, const sf_StageFact *w, const sf_StageFact *f, size_t kind);

bool sf_stage_may_sign(const sf_StageFact *fact, sf_StageSigner signer);

/// Fields of a fact's body; NULL, NaN, false when left out.
const char *sf_fact_word(const sf_StageFact *fact, const char *field);
double sf_fact_number(const sf_StageFact *fact, const char *field);
bool sf_fact_flag(const sf_StageFact *fact, const char *field);
bool sf_fact_has(const sf_StageFact *fact, const char *field);
int64_t sf_fact_whole(const sf_StageFact *fact, const char *field);

/// A value of the document by its path, such as "adapter.activity".
sf_DocNode sf_document_at(sf_DocNode root, const char *path);
double sf_document_number(sf_DocNode root, const char *path);
const char *sf_document_word(sf_DocNode root, const char *path);

/// Minutes since 1970-01-01 of a time or a day; NaN when it is none.
double sf_stage_minutes(const char *time);
