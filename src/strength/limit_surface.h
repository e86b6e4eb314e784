// SPDX-License-Identifier: GPL-3.0-or-later
// What a section carries beside every axial force, in every direction, worked out once: a table of the N-M-M surface at
// the strain limit (docs/theory/band.md).
#pragma once

#include "strength/fibre_section.h"

enum { SF_SURFACE_LEVELS = 6, SF_SURFACE_DIRECTIONS = 72 };

/// For a yield of 1: moment over yield (m^3) at axial force = level x SF_SURFACE_STEP x yield x area.
typedef struct sf_LimitSurface {
    double area;
    double moment[SF_SURFACE_LEVELS][SF_SURFACE_DIRECTIONS]; ///< direction k at 5 k degrees of (outward, forward)
} sf_LimitSurface;

/// Compression as a share of the squash force from level to level; the table ends at 0.75.
#define SF_SURFACE_STEP 0.15

/// Works the table out from strain states at the law's strain limit, neutral axis by neutral axis.
void sf_limit_surface_make(sf_LimitSurface *surface, const sf_FibreSection *fibres, const sf_StressLaw *law);

/// The table's row in one direction, straight between directions: moment over yield at each level, m^3.
void sf_limit_surface_row(double row[SF_SURFACE_LEVELS], const sf_LimitSurface *surface, double angle);

/// The moment beside compression `axial` N by a row, N m; quadratic between levels; beyond the table it falls to 0 at
/// the squash force of `area`.
double sf_limit_row_moment(const double row[SF_SURFACE_LEVELS], double area, double yield, double axial);

/// Both at once.
double sf_limit_surface_moment(const sf_LimitSurface *surface, double yield, double axial, double angle);
