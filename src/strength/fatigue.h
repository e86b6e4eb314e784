// SPDX-License-Identifier: GPL-3.0-or-later
// Repeated loads by Miner's rule on the card's S-N line (docs/theory/strength.md).
#pragma once

#include "material/card.h"
#include "strength/elastic.h"

typedef struct sf_LoadBlock {
    double stress; ///< greatest stress of the pulses, net section, Pa
    double pulses;
} sf_LoadBlock;

/// Miner's sum of pulses over the pulses borne at that stress: 1 uses the S-N line up.
double sf_miner_sum(const sf_Card *card, const sf_LoadBlock *blocks, size_t count);

/// The factor on all stresses at which Miner's sum becomes 1, its inverse: stress used over stress borne.
double sf_miner_utilisation(const sf_Card *card, const sf_LoadBlock *blocks, size_t count);

/// Greatest utilisation of any place on the pylon's outer edge, net sections in, when each of `count` load cases
/// (actions of all stations, one after the other) pulses `pulses` times. The greatest single stress of all in *stress.
double sf_pylon_fatigue(const sf_Pylon *pylon, const sf_Card *card, const sf_Actions *const *actions, size_t count,
                        double pulses, double *stress);
