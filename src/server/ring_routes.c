// SPDX-License-Identifier: GPL-3.0-or-later
// Pictures and rings.
#include "server/route.h"

const sf_Route sf_ring_routes[] = {
    { 0 },
};
