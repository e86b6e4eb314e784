// SPDX-License-Identifier: GPL-3.0-or-later
// From a limb document to what strength needs: pylon, load line centres, card, level. What was left out is assumed and
// named in the result.
#pragma once

#include "limb/limb.h"
#include "material/card.h"
#include "strength/elastic.h"
#include "study/result.h"

/// What the person asks beside the limb. Start from SF_STRENGTH_ASK_EMPTY.
typedef struct sf_StrengthAsk {
    const char *level;    ///< one level only, NULL: all
    const char *material; ///< card in place of the limb's, NULL: the limb's
    double temperature_c; ///< of the cases; NaN: 23
    bool first_order, iso_axis, prismatic;
    int samples; ///< for the band; not used yet
} sf_StrengthAsk;

#define SF_STRENGTH_ASK_EMPTY ((sf_StrengthAsk){ .temperature_c = NAN })

typedef struct sf_StrengthInput {
    const sf_Limb *limb;
    sf_LoadLevels *levels;
    sf_Card *card;
    sf_Pylon pylon;
    sf_LineCentres centres;
    double mass;                      ///< body mass plus habitual load, kg
    double seam;                      ///< limb angle of the seam, NaN when not known
    bool provisional;                 ///< something that release needs was assumed
    size_t hole_of_limb[SF_HOLE_MAX]; ///< index in the document of each hole of the pylon
} sf_StrengthInput;

/// Builds it. Assumptions and notes go into `result`. SF_E_MISSING names every field that cannot be done without;
/// errors of the ring readers, the torsion and the card come through. Free with sf_strength_input_free.
sf_Status sf_strength_input_make(sf_StrengthInput *input, const sf_Limb *limb, const sf_StrengthAsk *ask,
                                 sf_Result *result, sf_Error *err) SF_MUST_USE;

/// Frees and empties; safe to call twice.
void sf_strength_input_free(sf_StrengthInput *input);
