// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/alloc.h"
#include "base/progress.h"
#include "base/units.h"
#include "study/strength_band.h"
#include "study/strength_study.h"

#include <math.h>

// Mass of the free and gripped pylon from its sections, kg.
static double pylon_mass(const sf_StrengthInput *input)
{
    double volume = 0;
    for (size_t i = 0; i + 1 < input->pylon.station_count; i++) {
        const sf_PylonStation *a = &input->pylon.stations[i], *b = a + 1;
        volume += (b->height - a->height) * (a->section.area + 4 * a->middle.area + b->section.area) / 6;
    }
    return volume * input->card->density.value;
}

static void set_choice(sf_Json *list, const char *name, const sf_StrengthInput *input, const sf_StrengthCases *cases,
                       const sf_StrengthBands *bands, const char *level)
{
    static const char *const conditions[] = { "I", "II" };
    const sf_BeamSection *cut = &input->pylon.stations[0].section;
    const sf_StrengthCase *worst = sf_strength_case_governing(cases, level), *proof = NULL;
    for (int c = 0; c < 2; c++) {
        const sf_StrengthCase *at = sf_strength_case_find(cases, level, conditions[c], SF_FORCE_PROOF);
        proof = at && (!proof || at->factor < proof->factor) ? at : proof;
    }
    sf_Json *json = sf_json_object();
    sf_json_set_text(json, "name", name);
    sf_json_set_text(json, "label", input->limb->data.person.label);
    sf_json_set_text(json, "material", input->card->name);
    sf_json_set_number(json, "outer_mm", cut->outer_diameter / SF_MM);
    sf_json_set_number(json, "wall_mm", 0.5 * (cut->outer_diameter - cut->inner_diameter) / SF_MM);
    sf_json_set_number(json, "free_length_mm", (input->pylon.top - input->pylon.grip_top) / SF_MM);
    sf_json_set_number(json, "pylon_mass_g", pylon_mass(input) * 1e3);
    sf_json_set_text(json, "level", level);
    sf_json_set_number(json, "proof_factor", proof ? proof->factor : NAN);
    sf_json_set_text(json, "governing_case", worst ? worst->name : NULL);
    sf_json_set_number(json, "elastic_factor", worst ? worst->factor : NAN);
    sf_json_set_number(json, "collapse_factor", worst ? worst->collapse_factor : NAN);
    bool followed = worst && !isnan(worst->collapse_factor);
    sf_json_set_text(json, "mechanism", followed ? sf_mechanism_word(worst->mechanism) : NULL);
    sf_strength_case_set_bands(json, worst);
    sf_json_set_text(json, "band_dominant", bands->own ? sf_doubt_group_word(bands->band.dominant) : NULL);
    sf_json_set_flag(json, "provisional", input->provisional);
    sf_json_add(list, json);
}

sf_Status sf_strength_compare(sf_Result *result, const sf_Limb *const *limbs, const char *const *names, size_t count,
                              const sf_StrengthAsk *ask, sf_Error *err)
{
    sf_Status status = SF_OK;
    sf_StrengthInput *inputs = sf_alloc(count, sizeof *inputs);
    sf_StrengthCases *cases = sf_alloc(1, sizeof *cases);
    sf_Json *list = sf_json_array();
    double heaviest = 0, temperature = isnan(ask->temperature_c) ? 23 : ask->temperature_c;
    if (!inputs || !cases) {
        status = SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory in strength");
        goto done;
    }
    for (size_t i = 0; i < count; i++) {
        SF_TRY_DONE(sf_strength_input_make(&inputs[i], limbs[i], ask, result, err));
        heaviest = fmax(heaviest, inputs[i].mass);
    }
    // All at one level, that of the heaviest, so that the columns can be compared.
    const sf_LoadLevel *level = sf_load_level_for_mass(inputs[0].levels, heaviest);
    level = level ? level : &inputs[0].levels->levels[SF_LEVEL_COUNT - 1];
    sf_StrengthAsk one = *ask;
    one.level = ask->level ? ask->level : level->level;
    for (size_t i = 0; i < count; i++) {
        sf_StrengthBands bands;
        sf_ProgressPart outer = sf_progress_part((double)i / (double)count, (double)(i + 1) / (double)count);
        status = sf_progress_tell(0, names[i], err);
        if (status == SF_OK)
            status = sf_strength_cases_solve(cases, &inputs[i], &one, temperature, err);
        if (status == SF_OK)
            status = sf_strength_bands_find(&bands, cases, &inputs[i], &one, one.level, result, err);
        sf_progress_end(outer);
        if (status != SF_OK)
            goto done;
        set_choice(list, names[i], &inputs[i], cases, &bands, one.level);
        sf_strength_bands_free(&bands);
    }
    if (ask->samples <= 0)
        sf_result_note(result, "choices[].elastic_band, collapse_band, band_dominant: no samples were asked for "
                               "(--samples 0)");
    sf_json_set(result->json, "choices", list);
    list = NULL;
done:
    for (size_t i = 0; inputs && i < count; i++)
        sf_strength_input_free(&inputs[i]);
    sf_free(inputs);
    sf_free(cases);
    sf_json_destroy(&list);
    return status;
}
