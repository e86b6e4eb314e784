// SPDX-License-Identifier: GPL-3.0-or-later
// Whole tables, page by page in the order of their keys. Internal to record.
#pragma once

#include "record/sealed.h"

/// The chain as a table, so that it can be walked and copied like the others.
extern const sf_SealedTable sf_chain_table;

/// Looks at one row: its cells are the table's columns, then the extra ones; they live until the visit returns.
typedef sf_Status (*sf_RowVisit)(void *context, sf_Arena *arena, const sf_Value *cells, sf_Error *err);

/// Visits every row. `extra` names further columns (of `r`, the row, or of what `join` brings in); NULL: none.
sf_Status sf_table_walk(sf_Transaction *t, const sf_SealedTable *table, const char *extra, const char *join,
                        sf_RowVisit visit, void *context, sf_Error *err) SF_MUST_USE;
