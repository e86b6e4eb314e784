// SPDX-License-Identifier: GPL-3.0-or-later
// Facts: what happened to a limb. They are only ever added; a wrong one is withdrawn by a later one.
#pragma once

#include "record/store.h"

enum { SF_FACT_KIND_MOST = 64, SF_FACT_BODY_MOST = 4 * 1024 * 1024 };

typedef struct sf_Fact {
    int64_t id, limb, who;
    const char *kind;        ///< such as "ring"; the rules above the store say which there are
    const char *happened_at; ///< time or date
    const char *recorded_at; ///< by the store's clock
    const char *body;        ///< JSON; NULL when it was removed with the wearer's data
    const char *origin;      ///< JSON: where an imported fact came from and who had recorded it; NULL: recorded here
    int64_t withdraws;       ///< the fact that this one takes back; 0: none
    int64_t withdrawn_by;    ///< the fact that took this one back; 0: it stands
} sf_Fact;

/// Adds; id, who, recorded_at and withdrawn_by of the struct are not read. SF_E_MISSING when there is no such limb,
/// SF_E_INPUT when a field is wrong, or `withdraws` is no fact of this limb or is withdrawn already.
sf_Status sf_fact_add(sf_Transaction *t, const sf_Fact *fact, int64_t *id, sf_Error *err) SF_MUST_USE;

sf_Status sf_fact_get(sf_Transaction *t, int64_t id, sf_Fact *fact, sf_Error *err) SF_MUST_USE;

/// All facts of a limb in the order in which they were recorded.
sf_Status sf_fact_list(sf_Transaction *t, int64_t limb, sf_Fact **facts, size_t *count, sf_Error *err) SF_MUST_USE;

/// Facts of one kind across all limbs with id greater than `after`, by id, at most `most`.
sf_Status sf_fact_of_kind(sf_Transaction *t, const char *kind, int64_t after, size_t most, sf_Fact **facts,
                          size_t *count, sf_Error *err) SF_MUST_USE;
