// SPDX-License-Identifier: GPL-3.0-or-later
// How the forces at first yield and at collapse spread with what is not known for sure (docs/theory/band.md).
#pragma once

#include "strength/band_draw.h"
#include "strength/collapse.h"

/// The pylon as it is and with its edges moved, shared by all load lines.
typedef struct sf_BandModels sf_BandModels;

/// Moves the edges by what `spread` (sf_doubt_spread) says is typical. Borrows `pylon` and `model`. SF_E_MEMORY. Free
/// with sf_band_models_destroy.
sf_Status sf_band_models_create(sf_BandModels **models, const sf_Pylon *pylon, const sf_CollapseModel *model,
                                const double spread[SF_DOUBT_COUNT], sf_Error *err) SF_MUST_USE;
void sf_band_models_destroy(sf_BandModels **models);

/// One load line whose spread is wanted.
typedef struct sf_BandLine {
    const sf_CollapseCase *at; ///< without doubt
    double ankle, knee;        ///< heights at which the offsets act, m
} sf_BandLine;

/// The forces of one draw, N.
typedef struct sf_BandForces {
    double elastic, collapse;
} sf_BandForces;

/// The full solution for a draw: both solvers on the moved pylon. SF_E_CONVERGE, SF_E_MEMORY.
sf_Status sf_band_solve(sf_BandForces *forces, const sf_BandLine *line, const sf_Draw *draw, sf_Error *err) SF_MUST_USE;

/// The quick one, through the sections' N-M-M surfaces and full solutions at each doubt's typical size.
typedef struct sf_BandLaw sf_BandLaw;

/// Surfaces are kept in `models` for the next line, which must have the same law of stress; `models` outlives the law.
/// SF_E_CONVERGE, SF_E_MEMORY. Free with sf_band_law_destroy.
sf_Status sf_band_law_create(sf_BandLaw **law, sf_BandModels *models, const sf_BandLine *line,
                             sf_Error *err) SF_MUST_USE;
void sf_band_law_destroy(sf_BandLaw **law);

/// The forces of a draw by the quick law.
sf_BandForces sf_band_law_at(const sf_BandLaw *law, const sf_Draw *draw);

/// Doubts by where they come from.
typedef enum sf_DoubtGroup {
    SF_GROUP_YIELD = 0,
    SF_GROUP_MODULUS,
    SF_GROUP_STRAIN_LIMIT,
    SF_GROUP_EDGES,
    SF_GROUP_TOP_WALL,
    SF_GROUP_OFFSETS
} sf_DoubtGroup;

enum { SF_GROUP_COUNT = SF_GROUP_OFFSETS + 1 };

/// "yield", "modulus", "strain-limit", "measured-edges", "wall-at-the-top", "load-offsets".
const char *sf_doubt_group_word(sf_DoubtGroup group);

/// 5 and 95 % of the draws, and each group's share of the variance of the logarithm of the collapse force when it
/// varies alone (the shares are scaled to add up to 1).
typedef struct sf_Band {
    double elastic[2], collapse[2]; ///< N
    double share[SF_GROUP_COUNT];
    sf_DoubtGroup dominant;
} sf_Band;

/// Runs the draws through the law. `at_yield` (NULL allowed) gets the force at first yield of every draw. SF_E_MEMORY.
sf_Status sf_band_find(sf_Band *band, double *at_yield, const sf_BandLaw *law, const sf_Draw *draws, size_t count,
                       sf_Error *err) SF_MUST_USE;
