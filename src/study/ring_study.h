// SPDX-License-Identifier: GPL-3.0-or-later
// The first use case: a picture, a caliper table or an outline of a cut-off ring becomes figures, torsion and a
// decision, and one result document.
#pragma once

#include "image/ring_scan.h"
#include "section/ring_decision.h"
#include "study/result.h"
#include "study/ring_figures.h"
#include "study/ring_strength.h"
#include "study/squeeze_study.h"

#include <stdint.h>

typedef enum sf_Face { SF_FACE_LIMB_SIDE, SF_FACE_FOOT_SIDE } sf_Face;
typedef enum sf_Side { SF_SIDE_UNKNOWN, SF_SIDE_LEFT, SF_SIDE_RIGHT } sf_Side;

/// What a person says beside the ring itself. Start from SF_RING_ASK_EMPTY.
typedef struct sf_RingAsk {
    sf_RingScanOptions scan;
    double seam_angle; ///< picture frame, rad; NaN: searched
    sf_RingContext context;
    sf_Face face;
    double posterior_angle; ///< picture angle of the posterior line, rad; NaN: not given
    sf_Side side;
    bool torsion;
    const sf_Limb *limb;       ///< whose strength is judged with this ring; borrowed, NULL: none
    bool limb_may_lack;        ///< a limb that strength cannot be computed of is noted, and the ring judged without
    const sf_Squeeze *squeeze; ///< how the seam was proved; borrowed, NULL: it was not
    const char *pressed; ///< in its place: how this very ring was pressed, a squeeze document without a ring; NULL
    sf_Result *result;   ///< takes the assumptions of the strength; borrowed, NULL: they are dropped
} sf_RingAsk;

#define SF_RING_ASK_EMPTY                                                                                              \
    ((sf_RingAsk){ .scan = SF_RING_SCAN_DEFAULTS,                                                                      \
                   .seam_angle = NAN,                                                                                  \
                   .context = SF_RING_CONTEXT_EMPTY,                                                                   \
                   .posterior_angle = NAN,                                                                             \
                   .torsion = true })

typedef struct sf_RingFinding {
    sf_RingSource source;
    sf_RingScan scan; ///< of a caliper table or an outline only scan.outline is filled
    sf_RingMeasure measure;
    bool torsion_there;
    sf_Torsion torsion;
    char torsion_missing[SF_FIGURE_REASON];
    sf_RingStrength strength;
    sf_Squeeze *squeeze;              ///< worked out from `pressed`; NULL: none
    bool squeeze_of_another;          ///< the squeezed ring's size shows that it was another one
    char proof_words[SF_REASON_TEXT]; ///< what the squeeze showed; "" without one
    sf_RingDecision decision;
    sf_RingFigures figures;
} sf_RingFinding;

/// Measures and judges one ring from file bytes. Every failure of the parts comes through. *finding is empty on
/// failure; the caller frees. The finding is large: keep it on the heap.
sf_Status sf_ring_study(sf_RingFinding *finding, sf_RingSource source, const char *name, const uint8_t *bytes,
                        size_t size, const sf_RingAsk *ask, const sf_RingLimits *limits, sf_Error *err) SF_MUST_USE;

void sf_ring_finding_free(sf_RingFinding *finding);

/// Sets all figures of a ring or of a section into the result, with doubt, assumptions and notes.
void sf_ring_result_figures(sf_Result *result, const sf_RingFinding *finding);

/// Sets what only a ring has: picture, limb angles, and the decision (of `decided`, which is `finding` itself but for
/// repeat scans), reasons, causes.
void sf_ring_result_ring(sf_Result *result, const sf_RingFinding *finding, const sf_RingFinding *decided,
                         const sf_RingAsk *ask);

/// Takes what the person did not say from a limb document: side, mass, expected wall, adapter, forming record, and
/// from its entry of the same picture the posterior line and the face. SF_E_USAGE when --side contradicts it.
sf_Status sf_ring_ask_limb(sf_RingAsk *ask, const sf_Limb *limb, const char *picture, bool face_said,
                           sf_Error *err) SF_MUST_USE;

/// Limb angle (rad, [0, 2 pi)) of a picture angle; NaN without a posterior line or a side. From the contract's rule:
/// right limb and limb-side face: picture - posterior + 270 degrees; a left limb or the foot-side face mirrors the
/// difference, both together cancel.
double sf_limb_angle(double picture_angle, const sf_RingAsk *ask);
