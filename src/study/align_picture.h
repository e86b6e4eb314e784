// SPDX-License-Identifier: GPL-3.0-or-later
// The picture of `align`: the limb before and after, and the moments.
#pragma once

#include "draw/sheet.h"
#include "study/align_study.h"

/// The picture's bytes (free with sf_free) for a limb document and signed steps as in sf_align_study. Its errors, and
/// SF_E_MISSING when the typeface is not there.
sf_Status sf_align_picture(unsigned char **bytes, size_t *size, const char *name, const char *text, size_t length,
                           const double steps[SF_SETTING_COUNT], sf_SheetKind kind, sf_Error *err) SF_MUST_USE;

/// The same onto an A5 sheet lying down.
sf_Status sf_align_picture_paint(sf_Sheet *sheet, const char *name, const char *text, size_t length,
                                 const double steps[SF_SETTING_COUNT], sf_Error *err) SF_MUST_USE;

/// A change of settings in words, such as "+10 mm foot outset, +2 deg toe-out"; says so when nothing is changed.
void sf_align_picture_change(char *text, size_t room, const sf_Settings *before, const sf_Settings *after);
