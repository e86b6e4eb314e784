// SPDX-License-Identifier: GPL-3.0-or-later
// The use case: a cut-off ring squeezed across a diameter gives the formed sheet's modulus and proves its seam
// (docs/theory/squeeze.md). Keys: docs/squeeze.schema.json.
#pragma once

#include "section/ring_decision.h"
#include "strength/ring_squeeze.h"
#include "study/result.h"
#include "study/squeeze_file.h"

typedef enum sf_Verified { SF_VERIFIED_UNKNOWN, SF_VERIFIED_NO, SF_VERIFIED_YES } sf_Verified;

/// One pressing, worked out. NaN where something was not said.
typedef struct sf_SqueezeFinding {
    sf_RingSqueeze solved;
    double modulus, modulus_low, modulus_high; ///< Pa, 95 %
    double width_factor;                       ///< share of `modulus` that a long ring's held spread may make
    double seam_stress;                        ///< at the load, on the pulled edge, Pa
    double peak_stress;                        ///< largest tension anywhere at the load, Pa
    double proof_load;                         ///< for the wanted stress, N
    double per_load;                           ///< seam stress per newton, Pa
    bool inner;                                ///< the pulled edge of the seam is the inner one
    sf_Verified passed;
} sf_SqueezeFinding;

typedef struct sf_Squeeze {
    sf_SqueezeFile file;
    double seam; ///< in the ring's own frame, rad
    bool seam_assumed;
    double wanted_stress, poisson_ratio;
    bool wanted_by_shop;
    double card_modulus; ///< Pa, of the card at this temperature after the loading time; NaN
    double yield;        ///< Pa, of the card at this temperature
    char card[SF_SQUEEZE_NAME];
    sf_SqueezeFinding findings[SF_SQUEEZE_PRESSES];
    sf_SqueezeFinding under,
        beside;         ///< the two directions for one newton: seam under the load line, seam at 90 degrees
    sf_Verified passed; ///< of all pressings
    sf_Proof proof;     ///< what it is worth as evidence of the seam's inner edge
    bool whole_wall;    ///< both directions held
} sf_Squeeze;

/// Reads and works out one document. SF_E_PARSE, SF_E_INPUT, errors of the ring's readers, of the card and of the
/// solver. Free with sf_squeeze_free.
sf_Status sf_squeeze_study(sf_Squeeze *squeeze, const char *path, const char *text, size_t size,
                           const sf_RingLimits *limits, sf_Error *err) SF_MUST_USE;

/// The same of a ring that is measured already, where the document names none.
sf_Status sf_squeeze_study_of(sf_Squeeze *squeeze, const sf_Outline *own, const char *path, const char *text,
                              size_t size, const sf_RingLimits *limits, sf_Error *err) SF_MUST_USE;

void sf_squeeze_free(sf_Squeeze *squeeze);

/// Sets every key into the result.
void sf_squeeze_result(sf_Result *result, const sf_Squeeze *squeeze);

/// What the squeeze proves, as one sentence for a ring's evidence.
void sf_squeeze_words(char *text, size_t size, const sf_Squeeze *squeeze);

const char *sf_squeeze_safety(void);
