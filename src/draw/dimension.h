// SPDX-License-Identifier: GPL-3.0-or-later
// Dimension lines, arrows and leaders of a workshop drawing.
#pragma once

#include "draw/lettering.h"

/// A slim filled arrow head whose tip is at `tip` and which points along `angle` (rad on the paper, y down).
void sf_arrow_head(sf_Sheet *sheet, sf_Spot tip, double angle, sf_PaperMm length, sf_Colour colour);

/// A line from `from` to `to` with a head at both ends and the text in a gap at its middle (on a patch of paper).
void sf_dimension_line(sf_Sheet *sheet, sf_Spot from, sf_Spot to, const sf_Lettering *style, const char *text);

/// Both ends of a short length, marked from outside: heads point at `from` and `to` from beyond, on stubs of `reach`,
/// with a thin line between. White-edged, so that it shows on a dark picture.
void sf_dimension_outside(sf_Sheet *sheet, sf_Spot from, sf_Spot to, sf_PaperMm reach, sf_Colour colour);

/// A thin line from a text to what it tells of. `gap` 0: it ends at another line, without a head; else a head points at
/// the target from that far away, so that a small thing stays open to the eye.
void sf_leader(sf_Sheet *sheet, sf_Spot text_end, sf_Spot elbow, sf_Spot target, sf_PaperMm gap);
