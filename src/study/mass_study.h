// SPDX-License-Identifier: GPL-3.0-or-later
// `mass`: mass, centre of mass and inertia about the knee, beside an intact shank, and against the scale.
#pragma once

#include "limb/limb.h"
#include "study/result.h"

typedef struct sf_MassAsk {
    double weighed; ///< kg, without the shoe when `without_shoe`; NaN: not weighed
    bool without_shoe;
} sf_MassAsk;

/// Sets every key of docs/mass.schema.json into the result. SF_E_INPUT, SF_E_MISSING, SF_E_MEMORY.
sf_Status sf_mass_study(sf_Result *result, const sf_Limb *limb, const sf_MassAsk *ask, sf_Error *err) SF_MUST_USE;
