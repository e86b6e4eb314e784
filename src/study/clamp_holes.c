// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/clamp_holes.h"

#include "base/units.h"
#include "study/limb_ring.h"

#include <math.h>

static const double FREE_PLAY = 0.0003; ///< between pylon and rim on the radius, m (judgement)

/// The ring nearest to the cut, `count` when there is none.
static size_t nearest_ring(const sf_LimbPylon *pylon)
{
    size_t best = pylon->ring_count;
    for (size_t i = 0; i < pylon->ring_count; i++)
        if (best == pylon->ring_count ||
            fabs(pylon->rings[i].height - pylon->cut_height) < fabs(pylon->rings[best].height - pylon->cut_height))
            best = i;
    return best;
}

/// Mean radii of a ring however it is known; its seam from the document or from the outline's unjoined line.
static sf_Status read_ring(sf_ClampHoles *clamp, const sf_Limb *limb, size_t index, sf_Error *err)
{
    sf_Outline outline = { 0 };
    sf_LimbRingNews news = { 0 };
    SF_TRY(sf_limb_ring_outline(&outline, &news, limb, index, err));
    clamp->zone.radius = sqrt(sf_polygon_area(&outline.outer) / SF_PI);
    clamp->inner_radius = sqrt(sf_polygon_area(&outline.inner) / SF_PI);
    clamp->zone.seam_angle = limb->data.pylon.rings[index].seam;
    if (!isfinite(clamp->zone.seam_angle) && outline.line.present)
        clamp->zone.seam_angle = atan2(outline.line.start.y, outline.line.start.x);
    sf_outline_free(&outline);
    return SF_OK;
}

static sf_Status read_outside(sf_ClampHoles *clamp, const sf_Limb *limb, const char *command, sf_Result *result,
                              sf_Error *err)
{
    const sf_LimbData *d = &limb->data;
    size_t ring = nearest_ring(&d->pylon);
    clamp->inner_radius = NAN;
    clamp->zone.seam_angle = NAN;
    if (ring < d->pylon.ring_count)
        return read_ring(clamp, limb, ring, err);
    if (!isfinite(d->adapter.rim))
        return SF_FAIL(err, SF_E_MISSING, "adapter.rim_mm",
                       "%s needs the pylon's outside: give a ring (pylon.rings), or adapter.rim_mm", command);
    clamp->zone.radius = d->adapter.rim / 2 - FREE_PLAY;
    if (isfinite(d->adapter.shank))
        clamp->inner_radius = d->adapter.shank / 2 + FREE_PLAY;
    sf_result_assume(result, "the pylon fills the adapter between shank and rim, %.1f mm outside (pylon.rings)",
                     2 * clamp->zone.radius / SF_MM);
    return SF_OK;
}

sf_Status sf_clamp_holes_read(sf_ClampHoles *clamp, const sf_Limb *limb, const char *command, sf_Result *result,
                              sf_Error *err)
{
    static const char *const needed[] = { "pylon.cut_height_mm", "adapter.depth_mm" };
    const sf_LimbData *d = &limb->data;
    *clamp = (sf_ClampHoles){ 0 };
    SF_TRY(sf_limb_need(limb, needed, 2, command, err));
    SF_TRY(read_outside(clamp, limb, command, result, err));
    clamp->zone.cut_height = d->pylon.cut_height;
    clamp->zone.depth = d->adapter.depth;
    clamp->zone.top_height = d->pylon.top_height;
    if (!isfinite(clamp->zone.seam_angle))
        sf_result_note(result, "the seam's direction is not given: distances to it are null, mind it yourself "
                               "(pylon.rings[].seam_deg)");
    if (d->pylon.hole_count > SF_FASTEN_MAX_HOLES)
        return SF_FAIL(err, SF_E_LIMIT, "pylon.holes", "more than %d holes", SF_FASTEN_MAX_HOLES);
    for (size_t i = 0; i < d->pylon.hole_count; i++) {
        const sf_LimbHole *h = &d->pylon.holes[i];
        clamp->holes[clamp->hole_count++] =
            (sf_FastenHole){ h->angle, h->height, h->diameter,
                             h->state == SF_LIMB_HOLE_OLD || h->state == SF_LIMB_HOLE_VENT };
    }
    return SF_OK;
}
