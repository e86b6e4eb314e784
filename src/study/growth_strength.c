// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/growth_strength.h"

#include "base/alloc.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const double USUAL_TEMPERATURE_C = 23;
static const double SCALED_BELOW = 60; ///< kg: lightest person of the lowest level of ISO 10328

/// A limb whose heights are raised; rings and holes are copies in one block.
typedef struct Raised {
    sf_Limb limb;
    void *block;
} Raised;

static sf_Status raise_limb(Raised *raised, const sf_Limb *limb, double added, double stature_ratio, sf_Error *err)
{
    raised->limb = *limb;
    sf_LimbData *d = &raised->limb.data;
    size_t rings = d->pylon.ring_count * sizeof *d->pylon.rings, holes = d->pylon.hole_count * sizeof *d->pylon.holes;
    raised->block = sf_alloc(rings + holes + 1, 1);
    if (!raised->block)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory for the strength at the end of the interval");
    if (rings)
        d->pylon.rings = memcpy(raised->block, limb->data.pylon.rings, rings);
    if (holes)
        d->pylon.holes = memcpy((char *)raised->block + rings, limb->data.pylon.holes, holes);
    for (size_t i = 0; i < d->pylon.ring_count; i++)
        d->pylon.rings[i].height += added;
    for (size_t i = 0; i < d->pylon.hole_count; i++)
        d->pylon.holes[i].height += added;
    d->pylon.cut_height += added;
    d->pylon.top_height += added;
    d->socket.distal_end_height += added;
    d->person.sound_knee_height += added; // the knee rises with the limb that follows it
    d->person.stature *= stature_ratio;
    d->person.body_mass *= pow(stature_ratio, SF_GROWTH_MASS_POWER);
    return SF_OK;
}

static sf_Status solve(sf_GrowthStrength *out, const sf_Limb *limb, sf_StrengthInput *input, sf_StrengthCases *cases,
                       sf_Result *scratch, sf_Error *err)
{
    sf_StrengthAsk ask = SF_STRENGTH_ASK_EMPTY;
    SF_TRY(sf_strength_input_make(input, limb, &ask, scratch, err));
    const sf_LoadLevel *level = sf_load_level_for_mass(input->levels, input->mass);
    snprintf(out->level, sizeof out->level, "%s",
             input->mass < SCALED_BELOW ? "P3-scaled"
             : level                    ? level->level
                                        : "P5");
    ask.level = out->level;
    SF_TRY(sf_strength_cases_solve(cases, input, &ask, USUAL_TEMPERATURE_C, err));
    const sf_StrengthCase *worst = sf_strength_case_governing(cases, out->level);
    if (!worst)
        return SF_FAIL(err, SF_E_INTERNAL, NULL, "no case of level %s was solved", out->level);
    snprintf(out->governing, sizeof out->governing, "%s", worst->name);
    out->factor = worst->factor;
    out->collapse_factor = worst->collapse_factor;
    out->mass = limb->data.person.body_mass;
    return SF_OK;
}

sf_Status sf_growth_strength(sf_GrowthStrength *out, const sf_Limb *limb, double added, double stature_ratio,
                             sf_Error *err)
{
    *out = (sf_GrowthStrength){ .factor = NAN };
    Raised raised = { 0 };
    sf_Result scratch = { 0 }; // its assumptions are those of `strength`, which shows them
    sf_StrengthInput *input = sf_alloc(1, sizeof *input);
    sf_StrengthCases *cases = sf_alloc(1, sizeof *cases);
    sf_Status status;
    if (!input || !cases) {
        status = SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory for the strength at the end of the interval");
        goto done;
    }
    SF_TRY_DONE(sf_result_begin(&scratch, err));
    SF_TRY_DONE(raise_limb(&raised, limb, added, stature_ratio, err));
    status = solve(out, &raised.limb, input, cases, &scratch, err);
done:
    if (input)
        sf_strength_input_free(input);
    sf_free(input);
    sf_free(cases);
    sf_free(raised.block);
    sf_result_drop(&scratch);
    return status;
}
