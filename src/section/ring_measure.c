// SPDX-License-Identifier: GPL-3.0-or-later
#include "section/ring_measure.h"

#include "section/ring_doubt.h"

sf_Status sf_ring_measure(sf_RingMeasure *measure, const sf_Outline *outline, double given_seam, sf_Error *err)
{
    SF_TRY(sf_section_compute(&measure->section, outline, err));
    SF_TRY(sf_wall_map(&measure->wall, outline, given_seam, err));
    SF_TRY(sf_ring_fit(&measure->fit, outline, err));
    sf_ring_doubt_spread(measure, outline);
    double difference = measure->section.i_max - measure->section.i_min;
    // Rounding alone leaves about 1e-9 of the second moment on a perfect circle of a few thousand points.
    bool known = difference > fmax(measure->i_difference_doubt, 1e-8 * measure->section.i_max);
    measure->principal_angle = known ? measure->section.principal_angle : NAN;
    if (!known)
        measure->doubt.principal_angle = (sf_Doubt){ NAN, NAN };
    return SF_OK;
}
