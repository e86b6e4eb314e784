// SPDX-License-Identifier: GPL-3.0-or-later
// The sizes of a whole limb for drawing it: what the document tells, what follows from it, and what had to be assumed.
#pragma once

#include "draw/limb_elevation.h"
#include "limb/limb.h"

/// Takes the body out of a limb document; works from side and body mass alone. Parts whose sizes are not all told are
/// not `known`.
sf_LimbBody sf_limb_body(const sf_Limb *limb);

/// Height of the cut end that shoe, foot, spacers and adapter add up to, standing and loaded, m; NaN when one is not
/// told.
double sf_limb_body_stack(const sf_Limb *limb);

/// Heights, missing sizes, holes and rings of the document, with the body they go with.
void sf_limb_body_elevation(sf_LimbElevation *elevation, sf_LimbBody *body, const sf_Limb *limb);
