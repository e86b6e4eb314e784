// SPDX-License-Identifier: GPL-3.0-or-later
// Rows of limbs as JSON.
#pragma once

#include "base/doc.h"
#include "record/limb_record.h"

/// One line of the list.
sf_Json *sf_limb_row_json(const sf_LimbRow *row);

/// Several.
sf_Json *sf_limb_rows_json(const sf_LimbRow *rows, size_t count);

/// "newest" (also when not given), "due" or "changed". SF_E_INPUT.
sf_Status sf_limb_order_read(const char *word, sf_LimbOrder *order, sf_Error *err) SF_MUST_USE;
