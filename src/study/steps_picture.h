// SPDX-License-Identifier: GPL-3.0-or-later
// The picture of `steps`: the walk as a strip with odd steps marked, and its figures.
#pragma once

#include "draw/sheet.h"
#include "study/steps_study.h"

/// The picture's bytes (free with sf_free) for a table of footfalls or an acceleration. The errors of sf_steps_study,
/// and SF_E_MISSING when the typeface is not there.
sf_Status sf_steps_picture(unsigned char **bytes, size_t *size, const char *name, const char *text, size_t length,
                           const sf_StepsAsk *ask, sf_SheetKind kind, sf_Error *err) SF_MUST_USE;

/// The same onto an A5 sheet lying down.
sf_Status sf_steps_picture_paint(sf_Sheet *sheet, const char *name, const char *text, size_t length,
                                 const sf_StepsAsk *ask, sf_Error *err) SF_MUST_USE;
