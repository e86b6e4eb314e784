// SPDX-License-Identifier: GPL-3.0-or-later
// The screw map of a limb document as a picture file.
#pragma once

#include "draw/sheet.h"
#include "limb/limb.h"
#include "study/result.h"

/// Draws it and hands the bytes over (sf_free). Errors as below, SF_E_STORE apart.
sf_Status sf_fasten_picture_draw(unsigned char **bytes, size_t *size, sf_SheetKind kind, const sf_Limb *limb, bool inch,
                                 sf_Error *err) SF_MUST_USE;

/// Draws and writes it; the file appears whole or not at all. `inch`: lengths in inches. Errors of the fasten study,
/// SF_E_USAGE for another ending, SF_E_STORE.
sf_Status sf_fasten_picture_write(const char *path, const sf_Limb *limb, bool inch, sf_Error *err) SF_MUST_USE;
