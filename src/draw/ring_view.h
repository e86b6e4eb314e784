// SPDX-License-Identifier: GPL-3.0-or-later
// The ring itself, with call-outs. Internal to `draw`.
#pragma once

#include "draw/ring_sheet.h"

/// Draws into the box; *scale becomes drawn over real length. SF_E_MEMORY.
sf_Status sf_ring_view_paint(sf_Sheet *sheet, sf_Box box, const sf_RingSheet *ring, double *scale,
                             sf_Error *err) SF_MUST_USE;
