// SPDX-License-Identifier: GPL-3.0-or-later
// What must be seen beside the stages: out of order, gates that are shut, decisions whose reason stays for ever.
// Internal to the rules of the stages.
#pragma once

#include "study/stage_gate.h"

/// Fills flags, out_of_order of the state from the whole history.
sf_Status sf_stage_flags(const sf_View *view, sf_LimbState *state, sf_Error *err) SF_MUST_USE;
