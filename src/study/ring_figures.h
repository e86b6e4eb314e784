// SPDX-License-Identifier: GPL-3.0-or-later
// The figures of a measured ring as people and documents see them: key, unit, value, doubt, and why one is missing.
#pragma once

#include "section/ring_measure.h"
#include "section/torsion.h"

enum { SF_RING_FIGURE_COUNT = 32, SF_FIGURE_REASON = 200 };

/// One number. Pairs (centroid, shear centre) are two figures with one key and `part` 0 and 1.
typedef struct sf_Figure {
    const char *key;   ///< of the result document, unit included
    const char *label; ///< for people
    const char *unit;
    int part;                       ///< -1 for a plain number
    double value;                   ///< in the key's unit; NaN when missing
    double edge, scale;             ///< 95 % half widths in the same unit; NaN when not known
    char missing[SF_FIGURE_REASON]; ///< why the value is NaN, or ""
} sf_Figure;

typedef struct sf_RingFigures {
    sf_Figure items[SF_RING_FIGURE_COUNT];
    size_t count;
} sf_RingFigures;

/// Fills the table from a measure; `torsion` may be NULL with `torsion_missing` saying why. `doubt_known` false leaves
/// every doubt NaN (an outline without a word on its edges).
void sf_ring_figures_fill(sf_RingFigures *figures, const sf_RingMeasure *measure, const sf_EdgeDoubt *edges,
                          const sf_Torsion *torsion, const char *torsion_missing, bool doubt_known);

/// The figure with this key and part, or NULL.
const sf_Figure *sf_ring_figure(const sf_RingFigures *figures, const char *key, int part);

/// 95 % half widths of the torsion constant from those of the edges (edge) and of the scale, m^4.
sf_Doubt sf_torsion_doubt(const sf_Torsion *torsion, const sf_EdgeDoubt *edges);
