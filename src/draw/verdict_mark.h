// SPDX-License-Identifier: GPL-3.0-or-later
// The shape of a decision. Form and filling tell them apart without colour: an open circle with a tick, a triangle with
// a bar, a hatched square with a question mark, a filled octagon with a cross.
#pragma once

#include "draw/lettering.h"
#include "section/ring_decision.h"

/// Draws the mark within a square of side `size` about `centre`.
void sf_verdict_mark(sf_Sheet *sheet, sf_Spot centre, sf_PaperMm size, sf_Verdict verdict);

/// The ink that goes with the shape; dark enough for lettering.
sf_Colour sf_verdict_ink(sf_Verdict verdict);
