// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/ring_strength.h"

#include "base/alloc.h"
#include "base/progress.h"
#include "base/units.h"
#include "study/limb_ring.h"
#include "study/walking_share.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const double temperatures_c[SF_RING_TEMPERATURES] = { 0, 23, 50 };
enum { USUAL = 1 }; // index of 23 C, where the levels are judged
static const char *const conditions[SF_CONDITION_COUNT] = { "I", "II" };

// The person's level: the lightest that holds the mass; the scaled one below the lightest; above all the heaviest, for
// comparison.
static void choose_level(sf_RingLoad *load, const sf_StrengthInput *input)
{
    const sf_LoadLevel *level = sf_load_level_for_mass(input->levels, input->mass);
    load->mass = input->mass;
    load->comparison_only = level == NULL;
    load->scaled = input->mass < input->levels->levels[0].mass_limit;
    snprintf(load->level, sizeof load->level, "%s",
             load->scaled ? "P3-scaled"
             : level      ? level->level
                          : input->levels->levels[SF_LEVEL_COUNT - 1].level);
}

// First yield over ordinary walking, from the force at which each condition's line first yields.
static double walking_factor(const sf_StrengthCases *cases, const sf_RingLoad *load)
{
    const double share[SF_CONDITION_COUNT] = { SF_WALKING_FIRST, SF_WALKING_SECOND };
    double least = INFINITY;
    for (int c = 0; c < SF_CONDITION_COUNT; c++) {
        const sf_StrengthCase *proof = sf_strength_case_find(cases, load->level, conditions[c], SF_FORCE_PROOF);
        if (proof)
            least = fmin(least, proof->factor * proof->force / (share[c] * load->mass * SF_GRAVITY));
    }
    return least;
}

static const sf_StrengthCase *hardest_proof(const sf_StrengthCases *cases, const char *level)
{
    const sf_StrengthCase *one = sf_strength_case_find(cases, level, conditions[0], SF_FORCE_PROOF);
    const sf_StrengthCase *two = sf_strength_case_find(cases, level, conditions[1], SF_FORCE_PROOF);
    return one && two ? (one->factor <= two->factor ? one : two) : one ? one : two;
}

static double least_collapse(const sf_StrengthCases *cases, const char *level)
{
    const sf_StrengthCase *one = sf_strength_case_find(cases, level, conditions[0], SF_FORCE_PROOF);
    const sf_StrengthCase *two = sf_strength_case_find(cases, level, conditions[1], SF_FORCE_PROOF);
    return one && two ? fmin(one->collapse_factor, two->collapse_factor) : NAN;
}

static void keep_usual(sf_RingStrength *s, const sf_StrengthCases *cases, const sf_StrengthCase *proof)
{
    const sf_StrengthCase *worst = sf_strength_case_governing(cases, s->load.level);
    s->load.proof_factor = proof->factor;
    s->collapse_factor = least_collapse(cases, s->load.level);
    s->station = proof->balanced ? proof->station : NAN;
    s->direction = proof->balanced ? proof->peak.angle : NAN;
    snprintf(s->proof_case, sizeof s->proof_case, "%s", proof->name);
    snprintf(s->governing_case, sizeof s->governing_case, "%s", worst ? worst->name : proof->name);
    s->governing_factor = worst ? worst->factor : proof->factor;
}

static sf_Status solve_all(sf_RingStrength *s, const sf_StrengthInput *input, sf_StrengthCases *cases, sf_Error *err)
{
    sf_StrengthAsk ask = SF_STRENGTH_ASK_EMPTY;
    choose_level(&s->load, input);
    ask.level = s->load.level;
    s->load.heat_factor = INFINITY;
    for (int i = 0; i < SF_RING_TEMPERATURES; i++) {
        sf_ProgressPart outer =
            sf_progress_part((double)i / SF_RING_TEMPERATURES, (double)(i + 1) / SF_RING_TEMPERATURES);
        sf_Status status = sf_strength_cases_solve(cases, input, &ask, temperatures_c[i], err);
        sf_progress_end(outer);
        SF_TRY(status);
        const sf_StrengthCase *proof = hardest_proof(cases, s->load.level);
        if (!proof)
            return SF_FAIL(err, SF_E_INTERNAL, NULL, "no proof case of level %s was solved", s->load.level);
        double walking = walking_factor(cases, &s->load);
        s->at[i].temperature_c = temperatures_c[i];
        s->at[i].proof_factor = proof->factor;
        s->at[i].walking_factor = walking;
        if (walking < s->load.heat_factor) {
            s->load.heat_factor = walking;
            s->load.heat_temperature = temperatures_c[i];
        }
        if (i == USUAL) {
            s->load.walking_factor = walking;
            keep_usual(s, cases, proof);
        }
    }
    return SF_OK;
}

sf_Status sf_ring_strength_solve(sf_RingStrength *s, const sf_Limb *limb, const sf_Outline *outline, double posterior,
                                 bool foot_side, sf_Result *result, sf_Error *err)
{
    static const char *const needed[] = { "person.side", "person.body_mass_kg" };
    *s = (sf_RingStrength){ 0 };
    SF_TRY(sf_limb_need(limb, needed, 2, "ring --limb", err));
    sf_StrengthInput *input = sf_alloc(1, sizeof *input);
    sf_StrengthCases *cases = sf_alloc(1, sizeof *cases);
    sf_Outline placed = { 0 };
    sf_StrengthAsk ask = SF_STRENGTH_ASK_EMPTY;
    sf_Status status;
    if (!input || !cases) {
        status = SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory in strength");
        goto done;
    }
    SF_TRY_DONE(sf_outline_copy(&placed, outline, err));
    s->posterior_assumed = isnan(posterior);
    sf_limb_ring_place(&placed, s->posterior_assumed ? 270 * SF_DEG : posterior, foot_side, limb->data.person.side);
    ask.ring = &placed;
    SF_TRY_DONE(sf_strength_input_make(input, limb, &ask, result, err));
    if (s->posterior_assumed)
        sf_result_assume(result, "--posterior-deg is not given: posterior is taken at the bottom of the picture (270 "
                                 "degrees) for the strength.");
    snprintf(s->card, sizeof s->card, "%s", input->card->name);
    SF_TRY_DONE(solve_all(s, input, cases, err));
    s->provisional = input->provisional || s->posterior_assumed;
    s->there = true;
done:
    if (input)
        sf_strength_input_free(input);
    sf_free(input);
    sf_free(cases);
    sf_outline_free(&placed);
    return status;
}

// The hardest of the strength reasons.
static sf_Verdict verdict_of(const sf_RingDecision *decision)
{
    sf_Verdict hardest = SF_VERDICT_ACCEPT;
    for (size_t i = 0; i < decision->reason_count; i++)
        if (strncmp(decision->reasons[i].code, "strength-", 9) == 0 && decision->reasons[i].verdict > hardest)
            hardest = decision->reasons[i].verdict;
    return hardest;
}

void sf_ring_strength_result(sf_Result *result, const sf_RingStrength *s, const sf_RingDecision *decision)
{
    if (!s->there) {
        sf_result_null(result, "strength", "needs a limb file (--limb).");
        return;
    }
    sf_Json *json = sf_json_object(), *list = sf_json_array();
    sf_json_set_text(json, "decision", sf_verdict_word(verdict_of(decision)));
    sf_json_set_text(json, "level", s->load.level);
    sf_json_set_number(json, "mass_kg", s->load.mass);
    sf_json_set_number(json, "proof_factor", s->load.proof_factor);
    sf_json_set_text(json, "proof_case", s->proof_case);
    sf_json_set_number(json, "collapse_factor", s->collapse_factor);
    if (isnan(s->collapse_factor))
        sf_result_note(result, "strength.collapse_factor: null, as the path to collapse could not be followed.");
    sf_json_set_number(json, "elastic_factor", s->governing_factor);
    sf_json_set_text(json, "governing_case", s->governing_case);
    sf_json_set_number(json, "walking_factor", s->load.walking_factor);
    sf_json_set_number(json, "heat_factor", s->load.heat_factor);
    sf_json_set_number(json, "heat_temperature_c", s->load.heat_temperature);
    sf_json_set_number(json, "station_mm", s->station / SF_MM);
    sf_json_set_number(json, "direction_deg", s->direction / SF_DEG);
    for (int i = 0; i < SF_RING_TEMPERATURES; i++) {
        sf_Json *at = sf_json_object();
        sf_json_set_number(at, "temperature_c", s->at[i].temperature_c);
        sf_json_set_number(at, "proof_factor", s->at[i].proof_factor);
        sf_json_set_number(at, "walking_factor", s->at[i].walking_factor);
        sf_json_add(list, at);
    }
    sf_json_set(json, "temperatures", list);
    sf_json_set_text(json, "card", s->card);
    sf_json_set_flag(json, "outside_standard", s->load.scaled);
    sf_json_set_flag(json, "comparison_only", s->load.comparison_only);
    sf_json_set_flag(json, "provisional", s->provisional);
    sf_json_set(result->json, "strength", json);
    sf_result_note(
        result,
        "strength: factors to first yield with this ring's section at the sawn end; the levels of ISO 10328 are a "
        "test standard's and no guide for choosing a limb for one person.");
}
