// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/strength_study.h"

#include "base/alloc.h"
#include "base/progress.h"
#include "base/units.h"
#include "study/clamp_zone.h"
#include "study/strength_band.h"
#include "study/strength_beyond.h"
#include "study/strength_growth.h"
#include "study/walking_share.h"

#include <math.h>
#include <stdio.h>

static const double default_temperature_c = 23;
static const double temperatures_c[] = { 0, 23, 50 };
static const double heaviest_for_verdict = 100; // kg; above it the levels are for comparison only

const char *sf_strength_safety(void)
{
    return "An aid to a licensed prosthetist, not a certificate: figures for first yield and collapse of a pylon do "
           "not replace "
           "physical tests "
           "(ISO 10328, ISO 22675) or the component makers' limits; the levels are a test standard's and no guide for "
           "choosing "
           "a limb for one person; trial walking is between bars or assisted.";
}

const char *sf_peak_cause_word(sf_PeakCause cause)
{
    static const char *const words[] = { "bending", "axial", "shear", "hole" };
    return words[cause];
}

static void set_case_numbers(sf_Json *json, const sf_StrengthCase *at)
{
    bool there = at->balanced;
    sf_json_set_number(json, "station_mm", there ? at->station / SF_MM : NAN);
    sf_json_set_number(json, "direction_deg", there ? at->peak.angle / SF_DEG : NAN);
    sf_json_set_number(json, "axial_n", there ? at->actions.axial : NAN);
    sf_json_set_number(json, "shear_n", there ? sf_point_length(at->actions.shear) : NAN);
    sf_json_set_number(json, "moment_nm", there ? sf_point_length(at->actions.moment) : NAN);
    sf_json_set_number(json, "torque_nm", there ? at->actions.torque : NAN);
    sf_json_set_number(json, "elastic_stress_mpa", there ? at->normal_stress / SF_MPA : NAN);
    sf_json_set_number(json, "peak_von_mises_mpa", there ? at->peak.von_mises / SF_MPA : NAN);
}

static sf_Json *case_json(const sf_StrengthCase *at)
{
    sf_Json *json = sf_json_object();
    sf_json_set_text(json, "name", at->name);
    sf_json_set_text(json, "level", at->level);
    sf_json_set_text(json, "condition", at->condition);
    sf_json_set_text(json, "force_kind", sf_force_kind_word(at->kind));
    sf_json_set_number(json, "force_n", at->force);
    set_case_numbers(json, at);
    sf_json_set_number(json, "elastic_factor", at->factor);
    sf_json_set_number(json, "collapse_factor", at->collapse_factor);
    bool followed = !isnan(at->collapse_factor);
    sf_json_set_text(json, "mechanism", followed ? sf_mechanism_word(at->mechanism) : NULL);
    sf_json_set_number(json, "collapse_station_mm", followed ? at->collapse_station / SF_MM : NAN);
    sf_json_set_text(json, "dominant", at->balanced ? sf_peak_cause_word(at->peak.cause) : NULL);
    sf_strength_case_set_bands(json, at);
    sf_json_set_flag(json, "governs", at->governs);
    sf_json_set_flag(json, "outside_standard", at->scaled);
    sf_json_set_flag(json, "comparison_only", at->comparison_only);
    return json;
}

static void set_cases(sf_Result *result, const sf_StrengthCases *cases)
{
    sf_Json *list = sf_json_array();
    bool lost = false;
    for (size_t i = 0; i < cases->count; i++) {
        sf_json_add(list, case_json(&cases->items[i]));
        lost = lost || !cases->items[i].balanced;
    }
    sf_json_set(result->json, "cases", list);
    if (cases->lost[0])
        sf_result_note(result, "collapse_factor: null where the path to collapse could not be followed (%s)",
                       cases->lost);
    if (lost)
        sf_result_note(result,
                       "where station and stress are null the force lies at or above the elastic critical force of the "
                       "pylon between its joints: no bent shape holds it");
}

// Factors of proof and ultimate-upper, the worse of the two conditions.
static sf_Json *factors_at(const sf_StrengthCases *cases, const char *level)
{
    static const sf_ForceKind kinds[] = { SF_FORCE_PROOF, SF_FORCE_ULTIMATE_LOWER, SF_FORCE_ULTIMATE_UPPER,
                                          SF_FORCE_CYCLIC };
    static const char *const keys[] = { "proof", "ultimate_lower", "ultimate_upper", "cyclic" };
    sf_Json *json = sf_json_object();
    for (size_t k = 0; k < 4; k++) {
        const sf_StrengthCase *one = sf_strength_case_find(cases, level, "I", kinds[k]);
        const sf_StrengthCase *two = sf_strength_case_find(cases, level, "II", kinds[k]);
        sf_json_set_number(json, keys[k], one && two ? fmin(one->factor, two->factor) : NAN);
    }
    return json;
}

static sf_Status set_temperatures(sf_Result *result, const sf_StrengthInput *input, const sf_StrengthAsk *ask,
                                  const char *level, const sf_StrengthCases *own, sf_Error *err)
{
    sf_Json *list = sf_json_array();
    sf_StrengthAsk one = *ask;
    sf_Status status = SF_OK;
    one.level = level;
    sf_StrengthCases *scratch = sf_alloc(1, sizeof *scratch);
    if (!scratch) {
        sf_json_destroy(&list);
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory in strength");
    }
    const double count = sizeof temperatures_c / sizeof *temperatures_c;
    for (size_t i = 0; i < sizeof temperatures_c / sizeof *temperatures_c && status == SF_OK; i++) {
        bool solved = temperatures_c[i] == own->state.temperature_c && sf_strength_case_governing(own, level);
        const sf_StrengthCases *cases = solved ? own : scratch;
        sf_ProgressPart outer = sf_progress_part((double)i / count, (double)(i + 1) / count);
        if (!solved)
            status = sf_strength_cases_solve(scratch, input, &one, temperatures_c[i], err);
        sf_progress_end(outer);
        if (status != SF_OK)
            break;
        const sf_StrengthCase *worst = sf_strength_case_governing(cases, level);
        sf_Json *json = sf_json_object();
        sf_json_set_number(json, "temperature_c", temperatures_c[i]);
        sf_json_set_text(json, "level", level);
        sf_json_set_number(json, "modulus_mpa", cases->state.modulus / SF_MPA);
        sf_json_set_number(json, "yield_mpa", cases->state.yield / SF_MPA);
        sf_json_set_text(json, "case", worst ? worst->name : NULL);
        sf_json_set_number(json, "elastic_factor", worst ? worst->factor : NAN);
        sf_json_set_number(json, "collapse_factor", worst ? worst->collapse_factor : NAN);
        sf_json_set_text(json, "mechanism",
                         worst && !isnan(worst->collapse_factor) ? sf_mechanism_word(worst->mechanism) : NULL);
        sf_json_set(json, "factors", factors_at(cases, level));
        sf_json_set_text(json, "note", i == 0 ? input->card->cold_note : NULL);
        sf_json_add(list, json);
    }
    sf_free(scratch);
    if (status != SF_OK) {
        sf_json_destroy(&list);
        return status;
    }
    sf_json_set(result->json, "temperatures", list);
    return SF_OK;
}

static sf_Status set_walking(sf_Result *result, const sf_StrengthInput *input, const sf_StrengthAsk *ask,
                             const sf_LoadLevel *level, const sf_MaterialState *state, sf_Error *err)
{
    sf_Json *json = sf_json_object();
    double least = INFINITY;
    sf_json_set_number(json, "mass_kg", input->mass);
    for (int c = 0; c < SF_CONDITION_COUNT; c++) {
        sf_Actions actions[SF_STATION_MAX];
        sf_LoadLine line;
        double force = (c ? SF_WALKING_SECOND : SF_WALKING_FIRST) * input->mass * SF_GRAVITY, yield_force;
        sf_Status status = sf_strength_actions_of(actions, input, ask, level, c, force, state->modulus, &line, err);
        sf_ElasticCase at = { &input->pylon, &line, ask->first_order ? INFINITY : state->modulus, state->yield };
        if (status == SF_OK)
            status = sf_elastic_yield_force(&yield_force, &at, NULL, err);
        if (status != SF_OK) {
            sf_json_destroy(&json);
            return status;
        }
        if (yield_force / force < least) {
            least = yield_force / force;
            sf_Peak peak = sf_pylon_peak(&input->pylon, actions);
            sf_json_set_text(json, "condition", level->conditions[c].condition);
            sf_json_set_number(json, "force_n", force);
            sf_json_set_number(json, "station_mm", peak.height / SF_MM);
            sf_json_set_number(json, "elastic_stress_mpa", sf_pylon_normal_stress(&input->pylon, actions) / SF_MPA);
            sf_json_set_number(json, "peak_von_mises_mpa", peak.von_mises / SF_MPA);
        }
    }
    sf_json_set_number(json, "elastic_factor", least);
    sf_json_set_text(json, "text",
                     "body mass and habitual load times 1.10 on the line of condition I and 1.07 on that of II: "
                     "ordinary walking, no stumble");
    sf_json_set(result->json, "walking", json);
    return SF_OK;
}

// ---- gates ------------------------------------------------------------------------------------------------------

static const char *const activity_words[] = { NULL, "low", "moderate", "high" };

static void add_mass_gate(sf_Result *result, sf_Json *list, const char *part, double mass, double limit,
                          const char *field)
{
    sf_Json *json = sf_json_object();
    sf_json_set_text(json, "part", part);
    sf_json_set_number(json, "value", mass);
    sf_json_set_number(json, "limit", limit);
    sf_json_set_text(json, "unit", "kg");
    sf_json_set_flag(json, "open", mass <= limit);
    sf_json_add(list, json);
    if (isnan(limit))
        sf_result_note(result, "the gate '%s' stays shut: %s is not given", part, field);
}

static void add_activity_gate(sf_Result *result, sf_Json *list, const char *part, sf_LimbActivity person,
                              sf_LimbActivity limit, const char *field)
{
    sf_Json *json = sf_json_object();
    sf_json_set_text(json, "part", part);
    sf_json_set_text(json, "value", activity_words[person]);
    sf_json_set_text(json, "limit", activity_words[limit]);
    sf_json_set_text(json, "unit", "activity");
    sf_json_set_flag(json, "open", person && limit && person <= limit);
    sf_json_add(list, json);
    if (!person || !limit)
        sf_result_note(result, "the gate '%s' stays shut: %s is not given", part, person ? field : "person.activity");
}

static void set_gates(sf_Result *result, const sf_StrengthInput *input)
{
    const sf_LimbData *d = &input->limb->data;
    sf_Json *list = sf_json_array();
    add_mass_gate(result, list, "foot", input->mass, d->foot.max_user_mass, "foot.max_user_mass_kg");
    add_mass_gate(result, list, "adapter", input->mass, d->adapter.max_user_mass, "adapter.max_user_mass_kg");
    if (!isnan(d->socket.suspension_max_user_mass))
        add_mass_gate(result, list, "suspension", input->mass, d->socket.suspension_max_user_mass, "");
    add_activity_gate(result, list, "foot-activity", d->person.activity, d->foot.activity, "foot.activity");
    add_activity_gate(result, list, "adapter-activity", d->person.activity, d->adapter.activity, "adapter.activity");
    sf_json_set(result->json, "gates", list);
}

// ---- the whole --------------------------------------------------------------------------------------------------

static void set_material(sf_Result *result, const sf_StrengthInput *input, const sf_MaterialState *state)
{
    const sf_Card *card = input->card;
    const struct {
        const char *key;
        const sf_CardFigure *figure;
        double unit;
    } rows[] = { { "modulus_mpa", &card->modulus, SF_MPA },
                 { "yield_mpa", &card->yield, SF_MPA },
                 { "compressive_yield_mpa", &card->compressive_yield, SF_MPA },
                 { "poisson_ratio", &card->poisson_ratio, 1 },
                 { "seam_factor", &card->seam_factor, 1 } };
    sf_Json *json = sf_json_object();
    sf_json_set_text(json, "card", card->name);
    sf_json_set_text(json, "valid", card->valid);
    sf_json_set_number(json, "temperature_c", state->temperature_c);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        sf_Json *figure = sf_json_object();
        sf_json_set_number(figure, "value", rows[i].figure->value / rows[i].unit);
        sf_json_set_number(figure, "low", rows[i].figure->low / rows[i].unit);
        sf_json_set_number(figure, "high", rows[i].figure->high / rows[i].unit);
        sf_json_set_text(figure, "confidence", sf_confidence_word(rows[i].figure->confidence));
        sf_json_set_text(figure, "source", rows[i].figure->source);
        sf_json_set(json, rows[i].key, figure);
    }
    sf_json_set(result->json, "material", json);
    sf_result_note(result, "card '%s': temperature law %s, fatigue %s, creep %s", card->name,
                   sf_confidence_word(card->temperature.confidence), sf_confidence_word(card->fatigue.confidence),
                   sf_confidence_word(card->creep.confidence));
}

static sf_Status set_clamp(sf_Result *result, const sf_StrengthInput *input, const sf_StrengthAsk *ask,
                           const sf_LoadLevel *level, const sf_MaterialState *state, sf_Error *err)
{
    sf_Actions actions[SF_STATION_MAX], joint;
    sf_LoadLine line;
    const sf_LoadCondition *at = &level->conditions[1];
    double cyclic = sf_load_force(at, SF_FORCE_CYCLIC);
    SF_TRY(sf_strength_actions_of(actions, input, ask, level, 1, sf_load_force(at, SF_FORCE_PROOF), state->modulus,
                                  &line, err));
    double build = input->limb->data.adapter.build_height, axial = cyclic / line.length_factor;
    sf_Point arm = sf_load_line_at(&line, input->pylon.cut - (isnan(build) ? 0 : build));
    joint = (sf_Actions){ .axial = axial, .moment = sf_point_scale(arm, axial) };
    return sf_clamp_zone_result(result, input, state, &actions[0], &joint, err);
}

// Shear along the seam at the proof forces, over what a seam of the card's factor bears in shear (von Mises: yield /
// sqrt 3).
static sf_Status set_seam(sf_Result *result, const sf_StrengthInput *input, const sf_StrengthAsk *ask,
                          const sf_LoadLevel *level, const sf_MaterialState *state, sf_Error *err)
{
    const sf_CardFigure *factor = &input->card->seam_factor;
    double shear = 0, across = 0;
    if (isnan(input->seam)) {
        sf_result_null(result, "seam", "the seam's direction is not known: give seam_deg of a ring");
        return SF_OK;
    }
    for (int c = 0; c < SF_CONDITION_COUNT; c++) {
        sf_Actions actions[SF_STATION_MAX];
        sf_LoadLine line;
        double force = sf_load_force(&level->conditions[c], SF_FORCE_PROOF);
        SF_TRY(sf_strength_actions_of(actions, input, ask, level, c, force, state->modulus, &line, err));
        for (size_t i = 0; i < input->pylon.station_count; i++) {
            const sf_BeamSection *section = &input->pylon.stations[i].section;
            double turn = atan2(actions[i].moment.y, actions[i].moment.x) - input->seam;
            shear = fmax(shear, sf_section_seam_shear(section, &actions[i], input->seam));
            across = fmax(across, sf_flattening_stress(state->modulus, sf_point_length(actions[i].moment),
                                                       0.5 * (section->jxx + section->jyy), input->model.radius[i],
                                                       input->model.wall[i] * (1 - section->unjoined_share), turn));
        }
    }
    double whole = state->yield / sqrt(3);
    sf_Json *json = sf_json_object(), *band = sf_json_array();
    sf_json_set_number(json, "direction_deg", fmod(input->seam / SF_DEG + 720, 360));
    sf_json_set_text(json, "level", level->level);
    sf_json_set_number(json, "shear_mpa", shear / SF_MPA);
    sf_json_set_number(json, "utilisation", shear / (factor->value * whole));
    sf_json_add_number(band, shear / (factor->high * whole));
    sf_json_add_number(band, shear / (factor->low * whole));
    sf_json_set(json, "band", band);
    sf_json_set_number(json, "across_mpa", across / SF_MPA);
    sf_json_set_number(json, "across_utilisation", across / (factor->value * state->yield));
    sf_json_set_text(
        json, "text",
        "shear along the seam at the proof force over the seam's own strength; the seam factor is the largest "
        "unknown and the band shows both its ends; across: bending of the wall by flattening, at the bore's edge; "
        "wedging by a screw is not in it");
    sf_json_set(result->json, "seam", json);
    return SF_OK;
}

// What the numbers say in plain words, for the level of this person.
static void set_finding(sf_Result *result, const sf_StrengthInput *input, const sf_StrengthCases *cases,
                        const sf_LoadLevel *level)
{
    sf_Json *list = sf_json_array();
    char text[400];
    const sf_StrengthCase *proof = sf_strength_case_find(cases, level->level, "II", SF_FORCE_PROOF);
    const sf_StrengthCase *first = sf_strength_case_find(cases, level->level, "I", SF_FORCE_PROOF);
    const sf_StrengthCase *upper = sf_strength_case_governing(cases, level->level);
    if (proof && first && first->factor < proof->factor)
        proof = first;
    if (proof && proof->balanced) {
        snprintf(text, sizeof text,
                 "At the proof force of %s the pylon is most stressed at %.0f mm above the floor, at limb angle %.0f "
                 "degrees "
                 "(%s dominates); it first yields at %.2f of that force.",
                 level->level, proof->station / SF_MM, proof->peak.angle / SF_DEG,
                 sf_peak_cause_word(proof->peak.cause), proof->factor);
        sf_json_add_text(list, text);
    }
    if (proof && !isnan(proof->collapse_factor)) {
        int n =
            snprintf(text, sizeof text, "Beyond first yield it carries %.2f times that force and ends by %s at %.0f mm",
                     proof->collapse_factor, sf_mechanism_phrase(proof->mechanism), proof->collapse_station / SF_MM);
        if (proof->banded)
            snprintf(text + n, sizeof text - (size_t)n, "; nine in ten such pylons lie between %.2f and %.2f.",
                     proof->collapse_band[0], proof->collapse_band[1]);
        else
            snprintf(text + n, sizeof text - (size_t)n, ".");
        sf_json_add_text(list, text);
    }
    if (upper && upper->factor < 1) {
        snprintf(
            text, sizeof text,
            "It does not reach the ultimate force of %s elastically (factor %.2f). Most plausible pylons of this kind "
            "do "
            "not. In published tests no copolymer socket met the standard's ductile criterion, while field studies of "
            "polypropylene limbs over one to three years report few breakages, with cracks at seams and holes.",
            level->level, upper->factor);
        sf_json_add_text(list, text);
    }
    if (input->mass > heaviest_for_verdict)
        sf_json_add_text(
            list, "The person with load weighs more than 100 kg: P5 is shown for comparison only, the best word is "
                  "accept-with-limit, and going on needs a licensed person's recorded override.");
    if (input->provisional)
        sf_json_add_text(
            list, "Provisional, not for release: something that release needs was assumed; the assumptions name the "
                  "fields that replace it.");
    sf_json_set(result->json, "finding", list);
}

static void note_standard(sf_Result *result, const sf_StrengthInput *input, const sf_StrengthAsk *ask)
{
    sf_result_note(result, "levels: %s; forces from %s, offsets from %s", input->levels->edition,
                   input->levels->force_source, input->levels->offset_source);
    sf_result_note(result, "forces of %s are not held", input->levels->not_held);
    if (input->mass < input->levels->levels[0].mass_limit)
        sf_result_note(result, "P3-scaled lies outside the standard: force by mass, offsets by length");
    if (ask->first_order)
        sf_result_assume(result, "first order: the pylon's bending does not move the load line (--first-order)");
    if (ask->iso_axis)
        sf_result_assume(result, "straight pylon on the standard's own axis, heights as they are (--iso-axis)");
    sf_result_note(
        result,
        "the seam factor acts across the seam and on shear along it, not on axial bending stress, so it does not "
        "lower elastic_factor");
}

static sf_Status set_all(sf_Result *result, const sf_StrengthInput *input, const sf_StrengthAsk *ask,
                         sf_StrengthCases *cases, sf_StrengthBands *bands, sf_Error *err)
{
    const sf_LoadLevel *own = sf_load_level_for_mass(input->levels, input->mass);
    const sf_LoadLevel *level = own ? own : &input->levels->levels[SF_LEVEL_COUNT - 1];
    const sf_StrengthBeyond beyond = { input, ask, cases, level, bands };
    sf_ProgressPart outer = sf_progress_part(0.1, 0.85);
    sf_Status status =
        sf_strength_bands_find(bands, cases, input, ask, ask->level ? ask->level : level->level, result, err);
    sf_progress_end(outer);
    SF_TRY(status);
    set_cases(result, cases);
    sf_strength_bands_set(result, bands, ask);
    if (own)
        sf_json_set_text(result->json, "level_for_mass", own->level);
    else
        sf_result_null(result, "level_for_mass",
                       "above 100 kg no level is held (P6 to P8); P5 is shown for comparison only");
    sf_json_set_number(result->json, "mass_kg", input->mass);
    outer = sf_progress_part(0.85, 0.9);
    status = set_temperatures(result, input, ask, level->level, cases, err);
    sf_progress_end(outer);
    SF_TRY(status);
    SF_TRY(sf_progress_tell(0.9, "fatigue", err));
    SF_TRY(sf_strength_set_fatigue(result, &beyond, err));
    SF_TRY(sf_progress_tell(0.91, "walking", err));
    SF_TRY(set_walking(result, input, ask, level, &cases->state, err));
    SF_TRY(set_seam(result, input, ask, level, &cases->state, err));
    SF_TRY(sf_progress_tell(0.92, "profile", err));
    SF_TRY(sf_strength_set_profile(result, &beyond, err));
    SF_TRY(sf_progress_tell(0.93, "stability", err));
    SF_TRY(sf_strength_set_stability(result, &beyond, err));
    SF_TRY(sf_progress_tell(0.94, "creep", err));
    SF_TRY(sf_strength_set_creep(result, &beyond, err));
    outer = sf_progress_part(0.95, 1);
    if (ask->iso_axis)
        sf_result_null(result, "at_interval_end", "not computed with --iso-axis");
    else
        status = sf_strength_set_interval_end(result, input->limb, ask, err);
    sf_progress_end(outer);
    SF_TRY(status);
    if (ask->iso_axis) {
        static const char *const gone[] = { "clamp_zone", "foot_bolt", "glue", "gates" };
        for (size_t i = 0; i < sizeof gone / sizeof *gone; i++)
            sf_result_null(result, gone[i], "not computed with --iso-axis, which looks at side, mass and pylon only");
    } else {
        SF_TRY(set_clamp(result, input, ask, level, &cases->state, err));
        set_gates(result, input);
    }
    set_material(result, input, &cases->state);
    set_finding(result, input, cases, level);
    note_standard(result, input, ask);
    sf_json_set_flag(result->json, "provisional", input->provisional);
    return SF_OK;
}

sf_Status sf_strength_study(sf_Result *result, const sf_Limb *limb, const sf_StrengthAsk *ask, sf_Error *err)
{
    sf_StrengthInput *input = sf_alloc(1, sizeof *input);
    sf_StrengthCases *cases = sf_alloc(1, sizeof *cases);
    sf_StrengthBands bands = { 0 };
    double temperature = isnan(ask->temperature_c) ? default_temperature_c : ask->temperature_c;
    sf_Status status;
    if (!input || !cases) {
        status = SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory in strength");
        goto done;
    }
    SF_TRY_DONE(sf_strength_input_make(input, limb, ask, result, err));
    sf_ProgressPart outer = sf_progress_part(0.01, 0.1);
    status = sf_strength_cases_solve(cases, input, ask, temperature, err);
    sf_progress_end(outer);
    if (status == SF_OK)
        status = set_all(result, input, ask, cases, &bands, err);
done:
    sf_strength_bands_free(&bands);
    if (input)
        sf_strength_input_free(input);
    sf_free(input);
    sf_free(cases);
    return status;
}
