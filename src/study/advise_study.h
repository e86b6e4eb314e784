// SPDX-License-Identifier: GPL-3.0-or-later
// `advise`: the next step from the walks so far.
#pragma once

#include "study/trials.h"

/// Works through a trials document and hands over the result (docs/advise.schema.json; destroy with sf_json_destroy).
/// SF_E_PARSE, SF_E_INPUT, SF_E_MEMORY.
sf_Status sf_advise_study(sf_Json **json, const char *name, const char *text, size_t size, sf_Error *err) SF_MUST_USE;

/// The list of signs: name, phases, what each speaks of, what to exclude first.
sf_Status sf_advise_signs(sf_Json **json, sf_Error *err) SF_MUST_USE;
