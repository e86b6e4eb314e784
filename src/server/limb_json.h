// SPDX-License-Identifier: GPL-3.0-or-later
// Limbs and facts as answers.
#pragma once

#include "base/doc.h"
#include "record/limb_record.h"
#include "server/request.h"
#include "study/limb_case.h"

/// One line of the list.
sf_Json *sf_limb_row_json(const sf_LimbRow *row);

/// Several.
sf_Json *sf_limb_rows_json(const sf_LimbRow *rows, size_t count);

/// "newest" (also when not given), "due" or "changed". SF_E_INPUT.
sf_Status sf_limb_order_read(const char *word, sf_LimbOrder *order, sf_Error *err) SF_MUST_USE;

/// Answers 201 with the fact that was recorded, the limb's version and state; `more` (taken) holds further keys, NULL:
/// none.
sf_Status sf_limb_reply_recorded(sf_Request *request, sf_Reply *reply, int64_t id, const sf_CaseRecorded *recorded,
                                 sf_Json *more, sf_Error *err) SF_MUST_USE;
