// SPDX-License-Identifier: GPL-3.0-or-later
// A pylon whose edges lie a little beside where they were measured: for doubt and for bands.
#pragma once

#include "strength/pylon.h"

/// Both edges moved outward (m), the inner one by `inner_top` more at the pylon's top, nothing more at the cut.
typedef struct sf_EdgeShift {
    double outer, inner, inner_top;
} sf_EdgeShift;

/// The section with its edges moved (a fraction of the wall): area, second moments and centroid by the same fibres
/// before and after, torsion figures in proportion to a thin wall's.
sf_BeamSection sf_beam_section_moved(const sf_BeamSection *section, double outer, double inner);

/// A copy of the pylon with every section moved. SF_E_MEMORY. Free with sf_pylon_free.
sf_Status sf_pylon_moved(sf_Pylon *moved, const sf_Pylon *pylon, const sf_EdgeShift *shift, sf_Error *err) SF_MUST_USE;
