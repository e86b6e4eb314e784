// SPDX-License-Identifier: GPL-3.0-or-later
// The plan document: a sheet, a model and the shop's own rings (docs/form.schema.json, $defs/input).
#pragma once

#include "limb/limb.h"
#include "material/forming.h"

enum { SF_PLAN_SHEETS = 20, SF_PLAN_NAME = 200 };

/// What a plan says. NaN where nothing was said.
typedef struct sf_FormPlan {
    char label[SF_PLAN_NAME], material[SF_PLAN_NAME];
    sf_Drape drape; ///< sheet NaN when it is what is asked for
    double wanted_wall;
    double sheets[SF_PLAN_SHEETS]; ///< in stock, rising
    size_t sheet_count;
    double length, trim; ///< of the model to be covered, and left beyond it at each end, m
    bool flange_said, shrinkage_said, trim_said;
    sf_FormingReading rings[SF_FORMING_RINGS];
    size_t ring_count;
    sf_Limb *limb; ///< the limb that it is for, without its rings; NULL: not said
} sf_FormPlan;

/// Reads a plan; every problem at once. Start values fill what was left out. SF_E_PARSE, SF_E_INPUT, SF_E_MEMORY. Free
/// with sf_form_plan_free.
sf_Status sf_form_plan_parse(sf_FormPlan *plan, const char *name, const char *text, size_t size,
                             const sf_FormingStart *start, sf_Error *err) SF_MUST_USE;

/// Frees and empties; safe to call twice.
void sf_form_plan_free(sf_FormPlan *plan);
