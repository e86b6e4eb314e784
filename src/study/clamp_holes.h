// SPDX-License-Identifier: GPL-3.0-or-later
// The clamp's place on the pylon as a limb document tells it, with the holes that are there.
#pragma once

#include "growth/fastening.h"
#include "limb/limb.h"
#include "study/result.h"

typedef struct sf_ClampHoles {
    sf_FastenZone zone;
    double inner_radius; ///< NaN: not known
    sf_FastenHole holes[SF_FASTEN_MAX_HOLES];
    size_t hole_count;
} sf_ClampHoles;

/// Reads cut, grip, outside and seam from the ring nearest to the cut; without a ring's diameter the adapter's rim
/// stands in, which is said. SF_E_MISSING names what is needed, SF_E_LIMIT.
sf_Status sf_clamp_holes_read(sf_ClampHoles *clamp, const sf_Limb *limb, const char *command, sf_Result *result,
                              sf_Error *err) SF_MUST_USE;
