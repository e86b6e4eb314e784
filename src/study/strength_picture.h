// SPDX-License-Identifier: GPL-3.0-or-later
// The picture of a strength result, as bytes or as a file.
#pragma once

#include "draw/sheet.h"
#include "study/strength_cases.h"

/// Whether a picture can be written under that name, as far as the name tells. SF_E_USAGE.
sf_Status sf_strength_picture_check(const char *path, sf_Error *err) SF_MUST_USE;

/// Solves the person's level (or ask->level) at its temperatures and draws it to `path` (.png, .svg or .pdf), whole or
/// not at all. Errors of sf_strength_input_make and sf_strength_cases_solve; SF_E_USAGE for another ending,
/// SF_E_MISSING without the typeface, SF_E_MEMORY, SF_E_STORE.
sf_Status sf_strength_picture_write(const char *path, const sf_Limb *limb, const sf_StrengthAsk *ask,
                                    sf_Error *err) SF_MUST_USE;

/// The same as bytes of a kind of sheet (free with sf_free).
sf_Status sf_strength_picture_draw(unsigned char **bytes, size_t *size, sf_SheetKind kind, const sf_Limb *limb,
                                   const sf_StrengthAsk *ask, sf_Error *err) SF_MUST_USE;
