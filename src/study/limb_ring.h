// SPDX-License-Identifier: GPL-3.0-or-later
// A ring of a limb document, however it is known, as an outline in the limb frame: x outward, y forward, the outer
// curve's centre on the pylon's axis.
#pragma once

#include "geom/outline.h"
#include "limb/limb.h"

/// How the ring was known, and what had to be assumed.
typedef struct sf_LimbRingNews {
    bool picture, outline, caliper, form;
    bool posterior_assumed; ///< a picture without posterior_deg: taken as 270
    bool face_assumed;      ///< a picture or outline with posterior_deg but no face: taken as limb-side
} sf_LimbRingNews;

/// Resolves one ring; files are read relative to the limb's folder. Every failure of the readers comes through, with
/// the file named. The caller frees the outline.
sf_Status sf_limb_ring_outline(sf_Outline *outline, sf_LimbRingNews *news, const sf_Limb *limb, size_t index,
                               sf_Error *err) SF_MUST_USE;

/// Turns a measured outline from its picture into the limb frame: `posterior` is the picture angle of the posterior
/// mark (rad).
void sf_limb_ring_place(sf_Outline *outline, double posterior, bool foot_side, sf_LimbSide side);

/// The parametric form: two circles, the bore off centre, a groove of raised-cosine shape in the bore, an unjoined line
/// from its bottom outward. SF_E_GEOMETRY when the wall vanishes somewhere, SF_E_MEMORY.
sf_Status sf_limb_ring_form(sf_Outline *outline, const sf_LimbRing *ring, sf_Error *err) SF_MUST_USE;

/// The same ring with its wall times `share` everywhere, outer curve kept: a ring higher or lower on the same pylon.
/// Voids and the unjoined line are dropped, the line's share of the wall is kept.
sf_Status sf_limb_ring_thinned(sf_Outline *outline, const sf_Outline *ring, double share, sf_Error *err) SF_MUST_USE;

/// Mean diameters of a ring whose sizes or outline stand in the document itself; NaN where a file would have to be read
/// or the outline is none.
void sf_limb_ring_diameters(const sf_LimbRing *ring, double *outer, double *inner);
