// SPDX-License-Identifier: GPL-3.0-or-later
// Mass, centre of mass and inertia about the knee of a limb made of simple bodies, and of an intact shank with foot
// (docs/theory/mass.md). SI; depth is measured down from the knee, forward to the toes.
#pragma once

#include "growth/stature_reference.h"

#include <stdbool.h>
#include <stddef.h>

enum { SF_MASS_MAX_BODIES = 80 };

/// A slender straight body with evenly spread mass, lying upright (along = height) or forward (along = length).
typedef struct sf_Body {
    const char *name;
    double mass;
    double depth, forward; ///< of its middle
    double upright;        ///< extent along the limb
    double level;          ///< extent along the foot
} sf_Body;

typedef struct sf_MassSum {
    double mass, depth, forward; ///< centre of mass
    double inertia_knee;         ///< about the transverse axis through the knee
    double inertia_centre;       ///< about the parallel axis through the centre of mass
} sf_MassSum;

/// Sum over the bodies; each adds m (d^2 + f^2) + m (upright^2 + level^2) / 12.
sf_MassSum sf_mass_sum(const sf_Body *bodies, size_t count);

/// A tube's mass: density times area times length, area in m^2.
double sf_mass_tube(double density, double area, double length);

/// Shank and foot of an adult by de Leva 1996 (Zatsiorsky's data, adjusted): masses, centres and gyration radii.
/// `shank` is knee to ankle, `ankle_height` ankle to sole, `foot` the foot's length; the foot's heel lies 0.25 foot
/// lengths behind the ankle (judgement).
sf_MassSum sf_mass_intact(double body_mass, sf_Sex sex, double shank, double ankle_height, double foot);
