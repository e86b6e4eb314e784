// SPDX-License-Identifier: GPL-3.0-or-later
// The picture of `advise`: where the next change lies on the drawn limb, why, and how the brackets narrow.
#pragma once

#include "draw/sheet.h"
#include "limb/limb.h"

/// The picture's bytes (free with sf_free) for a trials document, drawn on `limb`, or, where that is NULL, on a limb of
/// which only the little is known that trials tell. The errors of sf_advise_study, SF_E_INPUT when trials and limb are
/// of different sides, and SF_E_MISSING when the typeface is not there.
sf_Status sf_advise_picture(unsigned char **bytes, size_t *size, const char *name, const char *text, size_t length,
                            const sf_Limb *limb, sf_SheetKind kind, sf_Error *err) SF_MUST_USE;

/// The same onto an A5 sheet lying down.
sf_Status sf_advise_picture_paint(sf_Sheet *sheet, const char *name, const char *text, size_t length,
                                  const sf_Limb *limb, sf_Error *err) SF_MUST_USE;
