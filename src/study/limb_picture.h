// SPDX-License-Identifier: GPL-3.0-or-later
// The drawing of a whole limb from its document, and the same in words: what is known and what is missing.
#pragma once

#include "draw/sheet.h"
#include "limb/limb.h"
#include "study/result.h"

/// The drawing's bytes (free with sf_free); side and body mass are enough. SF_E_MEMORY, SF_E_MISSING (typeface).
sf_Status sf_limb_picture(unsigned char **bytes, size_t *size, const sf_Limb *limb, sf_SheetKind kind,
                          sf_Error *err) SF_MUST_USE;

/// Sets heights, parts and missing sizes into a result (docs/limb-result.schema.json).
void sf_limb_sight(sf_Result *result, const sf_Limb *limb);
