// SPDX-License-Identifier: GPL-3.0-or-later
// Making a store out of rows that exist already. Internal to record.
#pragma once

#include "record/store.h"

/// Puts rows into the empty tables of a fresh store.
typedef sf_Status (*sf_StoreFill)(sf_Transaction *t, void *context, sf_Error *err);

/// Makes a store with the key of `key_path` whose tables (of the schema with this number) `fill` fills, and opens it,
/// brought up to date. SF_E_INPUT when there is a store at the place already. On failure everything made is removed.
sf_Status sf_store_found(sf_Store **store, const char *place, const char *files, const char *key_path, int64_t schema,
                         sf_StoreFill fill, void *context, sf_Error *err) SF_MUST_USE;
