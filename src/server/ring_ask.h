// SPDX-License-Identifier: GPL-3.0-or-later
// What is asked about a ring of a limb: from the fact that was written down, from the request, and from the limb's
// document. Internal to server.
#pragma once

#include "base/doc.h"
#include "server/request.h"
#include "study/computation.h"

/// Texts are borrowed from the documents read. NULL and NaN: not said.
typedef struct sf_RingAsked {
    const char *picture;     ///< hash of a stored picture
    const char *caliper;     ///< hash of a stored table of readings
    const char *caliper_csv; ///< the table itself
    const char *user, *face, *side, *ring_number;
    const char *limb;    ///< the limb's document, JSON text: its strength is judged with the ring
    const char *squeeze; ///< how the ring was pressed, JSON text
    double posterior_deg, dpi, seam_deg, nominal_wall_mm, height_mm, body_mass_kg, shank_mm, rim_mm;
} sf_RingAsked;

/// Nothing said yet.
sf_RingAsked sf_ring_asked_nothing(void);

/// Takes over what an object says: a request's body, or a ring fact's (with what was asked at that time).
void sf_ring_asked_read(sf_RingAsked *asked, sf_DocNode object);

/// Fills in what the limb document knows and nobody said: side, body mass, adapter, expected wall, child or adult by
/// birth date on the day `today`, height of the cut.
void sf_ring_asked_complete(sf_RingAsked *asked, sf_DocNode document, const char *today);

/// Runs "ring", "outline" or, with `draw`, the ring's sheet. A stored table of readings is read from the shelf.
sf_Status sf_ring_asked_run(sf_ComputeAnswer *answer, sf_Server *server, const sf_RingAsked *asked, const char *name,
                            bool draw, sf_Error *err) SF_MUST_USE;
