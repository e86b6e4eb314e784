// SPDX-License-Identifier: GPL-3.0-or-later
// The use case: which wall a sheet will leave at the pylon, or which sheet leaves a wanted wall, with intervals, before
// anything is formed (docs/theory/forming.md). Keys: docs/form.schema.json.
#pragma once

#include "study/form_plan.h"
#include "study/result.h"

/// Works out one plan and sets every key into `result`. SF_E_PARSE, SF_E_INPUT, SF_E_SINGULAR, SF_E_MEMORY.
sf_Status sf_form_study(sf_Result *result, const char *name, const char *text, size_t size, sf_Error *err) SF_MUST_USE;

/// Whether a document is a plan: it says so, or has what only a plan has.
bool sf_form_is_plan(sf_DocNode document);

/// The limb of a text: a limb document as it is, or the limb of a plan with two rings of the expected wall, at the cut
/// and at the pylon's top; what was taken goes into `result`. SF_E_MISSING when the plan names no limb; else as
/// sf_form_plan_parse and sf_limb_read_file.
sf_Status sf_form_limb_text(sf_Limb **limb, const char *name, const char *text, size_t size, sf_Result *result,
                            sf_Error *err) SF_MUST_USE;

/// The same of a file.
sf_Status sf_form_limb_read(sf_Limb **limb, const char *path, sf_Result *result, sf_Error *err) SF_MUST_USE;
