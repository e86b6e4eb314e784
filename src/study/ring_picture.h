// SPDX-License-Identifier: GPL-3.0-or-later
// The picture of a judged ring, as bytes or as a file.
#pragma once

#include "draw/sheet.h"
#include "study/ring_study.h"

/// Draws the finding and writes it to `path` (.png, .svg or .pdf), whole or not at all. `decided` is the finding whose
/// decision counts (of repeat scans the hardest). For the scan to be shown, the study must have kept its view.
/// SF_E_USAGE for another ending, SF_E_MISSING without the typeface, SF_E_MEMORY, SF_E_STORE.
sf_Status sf_ring_picture_write(const char *path, const char *name, const sf_RingFinding *finding, size_t scans,
                                const sf_RingAsk *ask, const sf_RingLimits *limits, sf_Error *err) SF_MUST_USE;

/// The same as bytes of a kind of sheet (free with sf_free).
sf_Status sf_ring_picture_draw(unsigned char **bytes, size_t *size, sf_SheetKind kind, const char *name,
                               const sf_RingFinding *finding, size_t scans, const sf_RingAsk *ask,
                               const sf_RingLimits *limits, sf_Error *err) SF_MUST_USE;

/// Whether a picture can be written under that name, as far as the name tells. SF_E_USAGE.
sf_Status sf_ring_picture_check(const char *path, sf_Error *err) SF_MUST_USE;
