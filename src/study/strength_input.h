// SPDX-License-Identifier: GPL-3.0-or-later
// From a limb document to what strength needs: pylon, load line centres, card, level. What was left out is assumed and
// named in the result.
#pragma once

#include "limb/limb.h"
#include "material/card.h"
#include "strength/collapse.h"
#include "strength/elastic.h"
#include "study/result.h"

/// What the person asks beside the limb. Start from SF_STRENGTH_ASK_EMPTY.
typedef struct sf_StrengthAsk {
    const char *level;    ///< one level only, NULL: all
    const char *material; ///< card in place of the limb's, NULL: the limb's
    double temperature_c; ///< of the cases; NaN: 23
    bool first_order, iso_axis, prismatic;
    const char *as_of;      ///< day of asking for a growing person, NULL: today
    int interval_months;    ///< of the follow-up interval; 0: three
    bool elastic_only;      ///< leave collapse out (null): what a test that runs the study thousands of times wants
    int samples;            ///< for the bands; 0: none
    uint64_t seed;          ///< of the samples
    const sf_Outline *ring; ///< a ring just measured, in the limb frame (sf_limb_ring_place), at the sawn end, in place
                            ///< of the document's rings; borrowed, NULL: none
} sf_StrengthAsk;

/// Samples and seed when nobody says otherwise.
enum { SF_STRENGTH_SAMPLES = 10000, SF_STRENGTH_SEED = 1 };

#define SF_STRENGTH_ASK_EMPTY                                                                                          \
    ((sf_StrengthAsk){ .temperature_c = NAN, .samples = SF_STRENGTH_SAMPLES, .seed = SF_STRENGTH_SEED })

/// A ring as it was laid into the pylon.
typedef struct sf_LaidRing {
    double height;
    sf_Outline outline; ///< limb frame
} sf_LaidRing;

typedef struct sf_StrengthInput {
    const sf_Limb *limb;
    sf_LoadLevels *levels;
    sf_Card *card;
    sf_Pylon pylon;
    sf_CollapseModel model; ///< fibres of `pylon`; this struct must not be moved
    sf_LineCentres centres;
    double mass;           ///< body mass plus habitual load, kg
    double seam;           ///< limb angle of the seam, NaN when not known
    double top_wall_share; ///< of the ring's wall at the top where it was assumed (one ring), NaN: not assumed
    bool provisional;      ///< something that release needs was assumed
    sf_LaidRing *rings;    ///< owned, rising heights; the top ring that was made by thinning is not among them
    size_t ring_count;
    size_t hole_of_limb[SF_HOLE_MAX]; ///< index in the document of each hole of the pylon
} sf_StrengthInput;

/// Builds it in place. Assumptions and notes go into `result`. SF_E_MISSING names every field that cannot be done
/// without; errors of the ring readers, the torsion and the card come through. Free with sf_strength_input_free.
sf_Status sf_strength_input_make(sf_StrengthInput *input, const sf_Limb *limb, const sf_StrengthAsk *ask,
                                 sf_Result *result, sf_Error *err) SF_MUST_USE;

/// The section at a height as an outline, for drawing: the nearest ring with its wall made as thick as the pylon's is
/// there. The caller frees it.
sf_Status sf_strength_outline_at(sf_Outline *outline, const sf_StrengthInput *input, double height,
                                 sf_Error *err) SF_MUST_USE;

/// Frees and empties; safe to call twice.
void sf_strength_input_free(sf_StrengthInput *input);
