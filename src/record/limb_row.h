// SPDX-License-Identifier: GPL-3.0-or-later
// How a row of the table `limb` is read. Internal to record.
#pragma once

#include "record/database.h"
#include "record/limb_record.h"

/// The beginning of a query for whole rows of `limb l`.
#define SF_LIMB_SELECT                                                                                                 \
    "SELECT l.id, l.wearer, l.version, l.made_at, l.changed_at, l.label, l.side, l.sheet_lot, l.stage, l.next_action," \
    " l.next_due, l.flags, l.origin, l.dues"

sf_LimbRow sf_limb_row_of(const sf_Rows *rows, size_t i);

/// Replaces the row of the table and, when they are others than those of `old`, its search words.
sf_Status sf_limb_row_change(sf_Transaction *t, const char *action, const sf_LimbRow *row, const sf_LimbHead *old,
                             sf_Error *err) SF_MUST_USE;
