// SPDX-License-Identifier: GPL-3.0-or-later
// Finds the one ring in a picture, roughly, or says what is there instead. Internal to image.
#pragma once

#include "image/raster.h"

enum { SF_PLACE_RAYS = 360 };

/// Where the ring lies, to about a third of a millimetre.
typedef struct sf_RingPlace {
    bool disc;                   ///< a round gauge without a bore: `inner` is a mere half of `outer`
    bool light_ring;             ///< lighter than what it lies on
    sf_Point centre;             ///< of the bore, m
    double inner[SF_PLACE_RAYS]; ///< distance of the inner edge from the centre at each whole degree, m
    double outer[SF_PLACE_RAYS]; ///< the same of the outer edge
} sf_RingPlace;

/// Tries many thresholds of a coarse copy in both polarities and keeps what stays a closed annulus of a ring's size.
/// SF_E_INPUT says what was seen: nothing, noise, two rings, a disc without a hole, a ring cut by the border.
/// SF_E_MEMORY.
/// With `or_disc` a disc without a hole will do where there is no ring.
sf_Status sf_ring_locate(sf_RingPlace *place, const sf_Raster *raster, bool or_disc, const char *name,
                         sf_Error *err) SF_MUST_USE;
