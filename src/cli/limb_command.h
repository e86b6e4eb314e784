// SPDX-License-Identifier: GPL-3.0-or-later
// What commands on one limb file have in common.
#pragma once

#include "cli/arguments.h"
#include "limb/limb.h"
#include "study/result.h"

/// Sets the figures of one use case into the result.
typedef sf_Status (*sf_LimbWork)(sf_Result *result, const sf_Limb *limb, const void *ask, sf_Error *err);

/// Reads the one limb file that is named, lets `work` fill a result, and prints it as JSON or as text.
sf_Status sf_limb_command_run(const char *command, const sf_Arguments *arguments, sf_LimbWork work, const void *ask,
                              sf_Error *err) SF_MUST_USE;
