// SPDX-License-Identifier: GPL-3.0-or-later
// What lasts: stiffness and preload under a load that stays, by Findley's law of the card (docs/theory/strength.md).
#pragma once

#include "material/card.h"
#include "strength/beam.h"

/// Modulus for a load that has stayed `hours`: strain(t) = stress / E (1 + m t^n).
double sf_creep_modulus(const sf_Card *card, double modulus, double hours);

/// Share of a preload kept after `hours` at a held length, quasi-elastic: 1 / (1 + m t^n).
double sf_preload_kept(const sf_Card *card, double hours);

/// How the pylon's foot end has moved against its top under a load that stays.
typedef struct sf_Drift {
    double tilt;   ///< of the clamp against the pylon's top, rad
    double shift;  ///< of a point at `height` below, m
    double stress; ///< greatest normal stress, Pa
} sf_Drift;

/// Bends the pylon by a force (N) along `line` with this modulus; the shift is that of the point at `height`. False at
/// or above the critical force.
bool sf_standing_drift(sf_Drift *drift, const sf_Pylon *pylon, const sf_LoadLine *line, double force, double modulus,
                       double height);
