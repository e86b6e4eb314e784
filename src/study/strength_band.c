// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/strength_band.h"

#include "base/alloc.h"
#include "base/progress.h"
#include "base/units.h"

#include <math.h>
#include <string.h>

// Judgement, each named in the result.
static const double hand_reading = 0.1 * SF_MM; // standard deviation of an edge that came without a doubt of its own
static const double line_offset = 3 * SF_MM;    // standard deviation of each offset of the load line
static const double top_share_spread = 0.10;    // of the ring's wall at the top either way, where it was assumed
static const double coverage = 0.90;

static sf_Range range_of(const sf_CardFigure *figure)
{
    return (sf_Range){ figure->low, figure->value, figure->high };
}

// The widest doubt of the rings' edges.
static void learn_edges(sf_DoubtSizes *sizes, const sf_StrengthInput *input, sf_Result *result)
{
    for (size_t i = 0; i < input->ring_count; i++) {
        const sf_EdgeDoubt *d = &input->rings[i].outline.doubt;
        sizes->outer_bias = fmax(sizes->outer_bias, d->bias_outer);
        sizes->inner_bias = fmax(sizes->inner_bias, d->bias_inner);
        sizes->both_bias = fmax(sizes->both_bias, d->bias_both);
        sizes->scale = fmax(sizes->scale, d->scale);
    }
    if (sizes->outer_bias + sizes->inner_bias + sizes->both_bias <= 0) {
        sizes->outer_bias = sizes->inner_bias = hand_reading;
        sf_result_assume(result, "no ring says how well its edges are known: 0.1 mm (one standard deviation) is taken "
                                 "for the bands; a picture or caliper readings replace it");
    }
    const sf_BeamSection *cut = &input->pylon.stations[0].section;
    sizes->outer_radius = 0.5 * cut->outer_diameter;
    sizes->inner_radius = 0.5 * cut->inner_diameter;
}

static void learn_top(sf_DoubtSizes *sizes, const sf_StrengthInput *input)
{
    if (isnan(input->top_wall_share))
        return;
    const sf_BeamSection *top = &input->pylon.stations[input->pylon.station_count - 1].section;
    double wall = 0.5 * (top->outer_diameter - top->inner_diameter) / input->top_wall_share;
    sizes->top_inner = (sf_Range){ -top_share_spread * wall, 0, top_share_spread * wall };
}

static sf_DoubtSizes sizes_of(const sf_StrengthInput *input, sf_Result *result)
{
    const sf_Card *card = input->card;
    double limit = sf_card_strain_limit(card);
    sf_DoubtSizes sizes = { .yield = range_of(&card->yield),
                            .modulus = range_of(&card->modulus),
                            .strain_limit = { limit, limit, limit },
                            .offset = line_offset };
    if (card->strain_limit.there)
        sizes.strain_limit = range_of(&card->strain_limit);
    learn_edges(&sizes, input, result);
    learn_top(&sizes, input);
    sf_result_assume(result, "bands: load line 3 mm (one standard deviation) at ankle and knee each way; card figures "
                             "from the triangle over low, value and high; judgement");
    if (!isnan(input->top_wall_share))
        sf_result_assume(result,
                         "bands: the wall at the top, which one ring does not show, between 75 and 95 %% of the "
                         "ring's (judgement); a second ring replaces it");
    return sizes;
}

static void write_bands(sf_StrengthCases *cases, const sf_StrengthCase *like, const sf_Band *band)
{
    for (size_t i = 0; i < cases->count; i++) {
        sf_StrengthCase *at = &cases->items[i];
        if (strcmp(at->level, like->level) != 0 || strcmp(at->condition, like->condition) != 0)
            continue;
        at->banded = true;
        for (int k = 0; k < 2; k++) {
            at->elastic_band[k] = band->elastic[k] / at->force;
            at->collapse_band[k] = band->collapse[k] / at->force;
        }
    }
}

static sf_Status find_one(sf_StrengthBands *bands, sf_StrengthCases *cases, const sf_StrengthInput *input,
                          const sf_StrengthAsk *ask, const sf_StrengthCase *at, sf_BandModels *models, bool own,
                          sf_Error *err)
{
    const sf_LoadLevel *level = at->scaled ? &input->levels->levels[0] : sf_load_level_find(input->levels, at->level);
    sf_LoadLine line;
    sf_BandLaw *law = NULL;
    sf_Band band;
    double share;
    sf_Status status;
    SF_TRY(sf_strength_line(&line, &share, input, level, strcmp(at->condition, "II") == 0, at->scaled, err));
    sf_CollapseCase beyond = sf_strength_collapse_case(input, ask, &cases->state, &line, at->factor * at->force);
    sf_BandLine middle = { &beyond, input->centres.ankle.z, input->centres.knee.z };
    SF_TRY_DONE(sf_band_law_create(&law, models, &middle, err));
    SF_TRY_DONE(sf_band_find(&band, own ? bands->stress : NULL, law, bands->draws, bands->count, err));
    write_bands(cases, at, &band);
    if (own) {
        bands->own = at;
        bands->band = band;
        // Stress at a given force over that of the middle case: the other way round, force at first yield over yield.
        double still = sf_band_law_at(law, &sf_draw_still).elastic;
        for (size_t i = 0; i < bands->count; i++)
            bands->stress[i] = still * bands->draws[i].of[SF_DOUBT_YIELD] / bands->stress[i];
    }
done:
    sf_band_law_destroy(&law);
    return status;
}

sf_Status sf_strength_bands_find(sf_StrengthBands *bands, sf_StrengthCases *cases, const sf_StrengthInput *input,
                                 const sf_StrengthAsk *ask, const char *level, sf_Result *result, sf_Error *err)
{
    sf_BandModels *models = NULL;
    double spread[SF_DOUBT_COUNT];
    sf_Status status = SF_OK;
    *bands = (sf_StrengthBands){ 0 };
    if (ask->samples <= 0)
        return SF_OK;
    bands->draws = sf_alloc((size_t)ask->samples, sizeof *bands->draws);
    bands->stress = sf_alloc((size_t)ask->samples, sizeof *bands->stress);
    if (!bands->draws || !bands->stress) {
        sf_strength_bands_free(bands);
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory for the bands");
    }
    bands->count = (size_t)ask->samples;
    bands->sizes = sizes_of(input, result);
    sf_draws_make(bands->draws, bands->count, &bands->sizes, ask->seed);
    sf_doubt_spread(spread, &bands->sizes);
    SF_TRY_DONE(sf_band_models_create(&models, &input->pylon, &input->model, spread, err));
    double lines = 0, done_lines = 0;
    for (size_t i = 0; i < cases->count; i++)
        lines += cases->items[i].governs;
    for (size_t i = 0; i < cases->count; i++) {
        const sf_StrengthCase *at = &cases->items[i];
        if (!at->governs)
            continue;
        sf_Error why = { 0 };
        sf_ProgressPart outer = sf_progress_part(done_lines / lines, (done_lines + 1) / lines);
        sf_Status found = find_one(bands, cases, input, ask, at, models, strcmp(at->level, level) == 0, &why);
        sf_progress_end(outer);
        done_lines++;
        if (found == SF_E_CONVERGE || found == SF_E_RANGE) {
            sf_result_note(result,
                           "elastic_band, collapse_band of %s: null, a sample's path could not be followed (%s)",
                           at->level, why.text);
            continue;
        }
        if (found != SF_OK) {
            status = SF_FAIL(err, found, NULL, "%s", why.text);
            goto done;
        }
    }
done:
    sf_band_models_destroy(&models);
    if (status != SF_OK)
        sf_strength_bands_free(bands);
    return status;
}

void sf_strength_bands_free(sf_StrengthBands *bands)
{
    sf_free(bands->draws);
    sf_free(bands->stress);
    *bands = (sf_StrengthBands){ 0 };
}

static void set_band(sf_Json *json, const char *key, const double *band)
{
    if (band)
        sf_json_set(json, key, sf_json_pair(band[0], band[1]));
    else
        sf_json_set_null(json, key);
}

void sf_strength_case_set_bands(sf_Json *json, const sf_StrengthCase *at)
{
    bool banded = at && at->banded;
    set_band(json, "elastic_band", banded ? at->elastic_band : NULL);
    set_band(json, "collapse_band", banded ? at->collapse_band : NULL);
}

void sf_strength_bands_set(sf_Result *result, const sf_StrengthBands *bands, const sf_StrengthAsk *ask)
{
    if (!bands->own) {
        sf_result_null(result, "band",
                       ask->samples > 0 ? "not found for the level of this person"
                                        : "no samples were asked for (--samples 0); elastic_band, collapse_band and "
                                          "fatigue.band are null with it");
        return;
    }
    sf_Json *json = sf_json_object(), *shares = sf_json_object();
    sf_json_set_text(json, "case", bands->own->name);
    sf_json_set_whole(json, "samples", (int64_t)bands->count);
    sf_json_set_whole(json, "seed", (int64_t)ask->seed);
    sf_json_set_number(json, "coverage", coverage);
    sf_json_set_text(json, "dominant", sf_doubt_group_word(bands->band.dominant));
    for (int g = 0; g < SF_GROUP_COUNT; g++)
        sf_json_set_number(shares, sf_doubt_group_word((sf_DoubtGroup)g), bands->band.share[g]);
    sf_json_set(json, "shares", shares);
    sf_json_set(result->json, "band", json);
}
