// SPDX-License-Identifier: GPL-3.0-or-later
// Numbered changes of the schema. Internal to record.
#pragma once

#include "record/store.h"

/// Number of the newest migration this program knows.
int64_t sf_migration_newest(void);

/// Brings the schema from number `from` (0: empty) up to `to` inside the open transaction and notes each step in the
/// chain. SF_E_STORE.
sf_Status sf_migration_run(sf_Transaction *t, int64_t from, int64_t to, sf_Error *err) SF_MUST_USE;

/// Number of the newest migration applied to the store; 0 when it is empty.
sf_Status sf_migration_found(sf_Transaction *t, int64_t *number, sf_Error *err) SF_MUST_USE;

/// Runs the scripts up to `to` on an empty database without noting anything: rows that tell of it are loaded next.
sf_Status sf_migration_schema(sf_Transaction *t, int64_t to, sf_Error *err) SF_MUST_USE;

/// Fills what is derived from rows that were loaded into the schema with this number.
sf_Status sf_migration_refill(sf_Transaction *t, int64_t schema, sf_Error *err) SF_MUST_USE;
