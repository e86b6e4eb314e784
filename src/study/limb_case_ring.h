// SPDX-License-Identifier: GPL-3.0-or-later
// A ring of a limb of the store: its picture (or caliper readings) measured with all that is known of the limb, and
// written down as a fact with figures and decision.
#pragma once

#include "study/limb_case.h"

/// What is said of a ring. Texts NULL and numbers NaN: taken from the limb, or not known.
typedef struct sf_CaseRingAsk {
    int64_t limb;
    const char *picture;     ///< hash of a stored picture, or
    const char *caliper_csv; ///< readings in its place
    const char *ring_number; ///< NULL: the number of a marked ring not yet measured, else R1, R2, ...
    const char *happened_at; ///< NULL: now
    const char *face, *user; ///< "limb-side", "foot-side"; "adult", "child"
    double dpi, posterior_deg, height_mm, nominal_wall_mm, seam_deg;
    const char *squeeze; ///< how the ring was pressed just now: a squeeze document without a ring; NULL: as recorded
} sf_CaseRingAsk;

#define SF_CASE_RING_ASK                                                                                               \
    ((sf_CaseRingAsk){ .dpi = NAN, .posterior_deg = NAN, .height_mm = NAN, .nominal_wall_mm = NAN, .seam_deg = NAN })

typedef struct sf_CaseRing sf_CaseRing;

/// Measures; slow, and holds no transaction while it does. SF_E_MISSING (limb, picture), SF_E_INPUT, and every failure
/// of the ring study. Free with sf_limb_case_ring_free.
sf_Status sf_limb_case_ring_measure(sf_CaseRing **ring, sf_Store *store, const sf_StageTable *table,
                                    const sf_CaseRingAsk *ask, sf_Error *err) SF_MUST_USE;
void sf_limb_case_ring_free(sf_CaseRing **ring);

/// Writes the fact 'ring' down (with `ask.squeeze` the fact 'squeeze-proof' before it) and puts the ring's measured
/// outline into the limb document at its height, when that and the posterior line are known.
sf_Status sf_limb_case_ring_record(sf_Transaction *t, const sf_StageTable *table, const sf_CaseRing *ring, bool signs,
                                   sf_CaseRecorded *recorded, sf_Error *err) SF_MUST_USE;

/// What the squeeze showed, as `standfast squeeze --json` has it; NULL: none was told. Owned by the caller.
sf_Json *sf_limb_case_ring_squeeze_json(const sf_CaseRing *ring);

/// The result as `standfast ring --json` has it. Owned by the caller.
sf_Json *sf_limb_case_ring_json(const sf_CaseRing *ring);
