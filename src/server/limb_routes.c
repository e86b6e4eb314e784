// SPDX-License-Identifier: GPL-3.0-or-later
// Shop, limbs, facts.
#include "server/route.h"

const sf_Route sf_limb_routes[] = {
    { 0 },
};
