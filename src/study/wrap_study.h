// SPDX-License-Identifier: GPL-3.0-or-later
// What the wrap to drill by shows, from a limb document (docs/theory/wrap.md).
#pragma once

#include "draw/wrap_sheet.h"
#include "limb/limb.h"
#include "study/result.h"

typedef struct sf_WrapStudy {
    sf_WrapSheet sheet;
    char clamp_name[64], notes[SF_WRAP_NOTES][300];
} sf_WrapStudy;

/// Gathers the sheet (its label, program, safety, fingerprint and inch are the caller's to set) and sets `wrap` into
/// the result: join, strips, screws, witness marks. SF_E_MISSING names what is needed; errors of the ring readers come
/// through.
sf_Status sf_wrap_study(sf_WrapStudy *study, sf_Result *result, const sf_Limb *limb, sf_Error *err) SF_MUST_USE;
