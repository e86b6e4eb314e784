// SPDX-License-Identifier: GPL-3.0-or-later
// Actions along the pylon under a force on the load line, first or second order (docs/theory/load-line.md).
#pragma once

#include "strength/load_line.h"
#include "strength/pylon.h"

/// Actions at one station. Compression and all magnitudes positive; torque + turns the toe outward.
typedef struct sf_Actions {
    double axial;    ///< N, compression
    sf_Point moment; ///< axial force times (outward, forward) distance from the centroid to the line, N m
    sf_Point shear;  ///< (outward, forward), N
    double torque;   ///< about the shear centre, N m
} sf_Actions;

/// Actions at every station of the pylon under `force` (N) and modulus (Pa); a modulus of INFINITY gives first order.
/// `actions` has room for station_count. Returns false, with nothing set, when the force is at or above the lowest
/// elastic critical force. Residual of the far boundary condition, relative to the largest deflection, in *residual
/// (NULL allowed).
bool sf_beam_actions(sf_Actions *actions, const sf_Pylon *pylon, const sf_LoadLine *line, double force, double modulus,
                     double *residual);
