// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/squeeze_study.h"

#include "base/units.h"
#include "material/card.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const double usual_temperature_c = 23;
// 95 % half widths where nobody said better: judgement, named in the result.
static const double load_share = 0.02, closing_reading = 0.05 * SF_MM, length_reading = 0.1 * SF_MM;
static const double wall_reading = 0.05 * SF_MM;
// How far curved-beam theory lies from exact plane elasticity (docs/theory/squeeze.md).
static const double theory_share = 0.015;
static const double reached_share = 0.995;     // of the wanted stress: the last digit of a load is not a failure
static const double straight_line_share = 0.5; // of the yield: beyond it polypropylene gives more than in proportion
static const double inner_within = 15 * SF_DEG, outer_within = 15 * SF_DEG;

const char *sf_squeeze_safety(void)
{
    return "An aid to a licensed prosthetist, not a certificate: a squeezed ring proves the seam at its own place and "
           "load only and does not replace physical tests (ISO 10328, ISO 22675). Rings can break into sharp pieces: "
           "squeeze behind a guard, with eye protection.";
}

// ---- the figures ------------------------------------------------------------------------------------------------

static double or_else(double value, double fallback)
{
    return isnan(value) ? fallback : value;
}

static sf_Status learn_card(sf_Squeeze *s, sf_Error *err)
{
    const sf_SqueezeFile *f = &s->file;
    sf_Card *card = NULL;
    sf_MaterialState state;
    sf_Status status;
    SF_TRY_DONE(sf_card_find(&card, *f->material ? f->material : "pp-copolymer", err));
    SF_TRY_DONE(sf_card_at(&state, card, or_else(f->temperature_c, usual_temperature_c), err));
    snprintf(s->card, sizeof s->card, "%s", card->name);
    s->poisson_ratio = or_else(f->poisson_ratio, card->poisson_ratio.value);
    s->yield = state.yield;
    double time = f->presses[0].time;
    s->card_modulus = isnan(time) ? NAN : state.modulus / sf_card_creep_ratio(card, time / 3600);
done:
    sf_card_destroy(&card);
    return status;
}

// The seam where it was found, where somebody said, or where the wall is least.
static void learn_seam(sf_Squeeze *s)
{
    const sf_SqueezeFile *f = &s->file;
    const sf_WallMap *w = &f->measure.wall;
    s->seam = w->seam_angle;
    if (isnan(s->seam) && f->by_hand)
        s->seam = or_else(f->given_seam, 270 * SF_DEG);
    if (isnan(s->seam)) {
        s->seam = 2 * SF_PI * (double)w->min_station / SF_WALL_STATIONS;
        s->seam_assumed = true;
    }
}

static void bound_modulus(sf_SqueezeFinding *at, const sf_SqueezeFile *f, const sf_SqueezePress *p)
{
    double wall = f->by_hand ? wall_reading : f->measure.doubt.wall_median.edge;
    double parts[] = { or_else(p->load_doubt, load_share * p->load) / p->load,
                       or_else(p->closing_doubt, closing_reading) / p->closing,
                       or_else(f->axial_doubt, length_reading) / f->axial_length,
                       3 * or_else(wall, wall_reading) / at->solved.mean_wall, theory_share };
    double sum = 0;
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++)
        sum += parts[i] * parts[i];
    double share = fmin(sqrt(sum), 0.99);
    at->modulus_low = at->modulus * (1 - share) / at->width_factor;
    at->modulus_high = at->modulus * (1 + share);
}

static sf_Verified judge(const sf_SqueezeFinding *at, const sf_SqueezePress *p, double wanted)
{
    if (at->solved.slit || p->outcome == SF_SQUEEZE_CRACKED || p->outcome == SF_SQUEEZE_WHITENED)
        return SF_VERIFIED_NO;
    if (isnan(p->load))
        return SF_VERIFIED_UNKNOWN;
    return at->seam_stress >= reached_share * wanted ? SF_VERIFIED_YES : SF_VERIFIED_NO;
}

// Seam `turn` away from the load line.
static sf_Status work_out(sf_SqueezeFinding *at, const sf_Squeeze *s, const sf_SqueezePress *p, double turn,
                          sf_Error *err)
{
    const sf_SqueezeFile *f = &s->file;
    sf_SqueezeSetup setup = { s->seam - turn, s->seam, f->axial_length, s->poisson_ratio };
    *at = (sf_SqueezeFinding){ 0 };
    SF_TRY(sf_ring_squeeze_solve(&at->solved, &f->outline, &setup, err));
    at->per_load = sf_ring_squeeze_tension(&at->solved, &at->inner);
    at->width_factor =
        sf_ring_squeeze_width_factor(f->axial_length, at->solved.mean_radius, at->solved.mean_wall, s->poisson_ratio);
    at->proof_load = at->per_load > 0 ? s->wanted_stress / at->per_load : NAN;
    at->modulus = at->modulus_low = at->modulus_high = at->seam_stress = at->peak_stress = NAN;
    if (!p)
        return SF_OK;
    at->seam_stress = at->per_load * p->load;
    at->peak_stress = at->solved.peak.stress * p->load;
    at->modulus = at->solved.compliance * p->load / p->closing;
    bound_modulus(at, f, p);
    at->passed = judge(at, p, s->wanted_stress);
    return SF_OK;
}

static bool near_turn(double turn, double wanted, double within)
{
    return fabs(remainder(turn - wanted, SF_PI)) <= within;
}

static double turn_of(const sf_SqueezePress *p)
{
    return or_else(p->turn, 0);
}

static void sum_up(sf_Squeeze *s)
{
    bool inner = false, outer = false;
    s->passed = SF_VERIFIED_YES;
    s->proof = SF_PROOF_NONE;
    for (size_t i = 0; i < s->file.count; i++) {
        const sf_SqueezeFinding *at = &s->findings[i];
        const sf_SqueezePress *p = &s->file.presses[i];
        bool broken = at->solved.slit || p->outcome == SF_SQUEEZE_CRACKED || p->outcome == SF_SQUEEZE_WHITENED;
        if (broken)
            s->proof = SF_PROOF_FAILED;
        if (at->passed == SF_VERIFIED_NO || (at->passed == SF_VERIFIED_UNKNOWN && s->passed == SF_VERIFIED_YES))
            s->passed = at->passed;
        inner = inner || (at->passed == SF_VERIFIED_YES && near_turn(turn_of(p), 0, inner_within));
        outer = outer || (at->passed == SF_VERIFIED_YES && near_turn(turn_of(p), SF_PI / 2, outer_within));
    }
    if (s->proof != SF_PROOF_FAILED && inner)
        s->proof = SF_PROOF_PASSED;
    s->whole_wall = s->proof == SF_PROOF_PASSED && outer;
}

sf_Status sf_squeeze_study(sf_Squeeze *s, const char *path, const char *text, size_t size, const sf_RingLimits *limits,
                           sf_Error *err)
{
    return sf_squeeze_study_of(s, NULL, path, text, size, limits, err);
}

sf_Status sf_squeeze_study_of(sf_Squeeze *s, const sf_Outline *own, const char *path, const char *text, size_t size,
                              const sf_RingLimits *limits, sf_Error *err)
{
    sf_Status status;
    *s = (sf_Squeeze){ 0 };
    SF_TRY_DONE(sf_squeeze_file_read_of(&s->file, own, path, text, size, err));
    SF_TRY_DONE(learn_card(s, err));
    learn_seam(s);
    s->wanted_by_shop = isnan(s->file.wanted_stress);
    s->wanted_stress = s->wanted_by_shop ? limits->squeeze.seam_stress : s->file.wanted_stress;
    for (size_t i = 0; i < s->file.count; i++)
        SF_TRY_DONE(work_out(&s->findings[i], s, &s->file.presses[i], turn_of(&s->file.presses[i]), err));
    SF_TRY_DONE(work_out(&s->under, s, NULL, 0, err));
    SF_TRY_DONE(work_out(&s->beside, s, NULL, SF_PI / 2, err));
    sum_up(s);
done:
    if (status != SF_OK)
        sf_squeeze_free(s);
    return status;
}

void sf_squeeze_free(sf_Squeeze *s)
{
    sf_squeeze_file_free(&s->file);
}

void sf_squeeze_words(char *text, size_t size, const sf_Squeeze *s)
{
    bool said = true;
    double stress = 0;
    for (size_t i = 0; i < s->file.count; i++) {
        said = said && s->file.presses[i].outcome != SF_SQUEEZE_UNSAID;
        stress = fmax(stress, or_else(s->findings[i].seam_stress, 0));
    }
    const char *unsaid = said ? "" : " (from the load alone: nobody said what the seam showed)";
    if (s->proof == SF_PROOF_FAILED)
        snprintf(text, size, "The seam did not hold the squeeze.");
    else if (s->whole_wall)
        snprintf(text, size, "The seam held %.1f MPa on both edges in the squeeze%s.", stress / SF_MPA, unsaid);
    else if (s->proof == SF_PROOF_PASSED)
        snprintf(text, size, "The seam's inner edge held %.1f MPa in the squeeze%s; the outer edge was not pulled.",
                 s->findings[0].seam_stress / SF_MPA, unsaid);
    else
        snprintf(text, size,
                 "The squeeze does not prove the seam: its inner edge was not pulled by %.1f MPa with the seam under "
                 "the load line.",
                 s->wanted_stress / SF_MPA);
}

// ---- the document -----------------------------------------------------------------------------------------------

static void set_verified(sf_Json *json, const char *key, sf_Verified verified)
{
    if (verified == SF_VERIFIED_UNKNOWN)
        sf_json_set_null(json, key);
    else
        sf_json_set_flag(json, key, verified == SF_VERIFIED_YES);
}

static const char *outcome_word(sf_SqueezeOutcome outcome)
{
    static const char *const words[] = { NULL, "held", "whitened", "cracked" };
    return words[outcome];
}

static void set_finding(sf_Json *json, const sf_SqueezeFinding *at, const sf_SqueezePress *p, double turn)
{
    sf_json_set_number(json, "seam_to_load_deg", turn / SF_DEG);
    sf_json_set_text(json, "pulled_edge", at->inner ? "inner" : "outer");
    sf_json_set_number(json, "seam_stress_per_100n_mpa", 100 * at->per_load / SF_MPA);
    sf_json_set_number(json, "proof_load_n", at->proof_load);
    sf_json_set_number(json, "peak_stress_at_proof_load_mpa", at->solved.peak.stress * at->proof_load / SF_MPA);
    if (!p)
        return;
    sf_json_set_number(json, "load_n", p->load);
    sf_json_set_number(json, "closing_mm", p->closing / SF_MM);
    sf_json_set_number(json, "loading_time_s", p->time);
    sf_json_set_number(json, "seam_stress_mpa", at->seam_stress / SF_MPA);
    sf_json_set_number(json, "ligament_stress_mpa", at->solved.ligament_stress * p->load / SF_MPA);
    sf_json_set_number(json, "modulus_mpa", at->modulus / SF_MPA);
    if (isnan(at->modulus))
        sf_json_set_null(json, "modulus_interval_mpa");
    else
        sf_json_set(json, "modulus_interval_mpa", sf_json_pair(at->modulus_low / SF_MPA, at->modulus_high / SF_MPA));
    sf_json_set_number(json, "peak_stress_mpa", at->peak_stress / SF_MPA);
    sf_json_set_text(json, "outcome", outcome_word(p->outcome));
    set_verified(json, "passed", at->passed);
}

static void set_ring(sf_Result *result, const sf_Squeeze *s)
{
    const sf_RingMeasure *m = &s->file.measure;
    sf_Json *ring = sf_json_object();
    sf_json_set_number(ring, "outer_diameter_mean_mm", m->section.outer_diameter_mean / SF_MM);
    sf_json_set_number(ring, "inner_diameter_mean_mm", m->section.inner_diameter_mean / SF_MM);
    sf_json_set_number(ring, "wall_min_mm", m->wall.min / SF_MM);
    sf_json_set_number(ring, "wall_mean_mm", s->under.solved.mean_wall / SF_MM);
    sf_json_set_number(ring, "wall_at_seam_mm", s->under.solved.wall_at_seam / SF_MM);
    sf_json_set_number(ring, "axial_length_mm", s->file.axial_length / SF_MM);
    sf_json_set_number(ring, "seam_deg", s->seam / SF_DEG);
    sf_json_set(result->json, "ring", ring);
}

static void note_figures(sf_Result *result, const sf_Squeeze *s)
{
    const sf_SqueezePress *p = &s->file.presses[0];
    const sf_SqueezeFinding *at = &s->findings[0];
    if (at->solved.slit)
        sf_result_note(result,
                       "modulus_mpa, modulus_interval_mpa, seam_stress_mpa, seam_stress_per_100n_mpa, peak_stress_mpa, "
                       "proof_load_n, peak_stress_at_proof_load_mpa: null, as the line goes through the wall: an open "
                       "ring says nothing of the sheet.");
    if (isnan(p->load))
        sf_result_note(result,
                       "modulus_mpa, modulus_interval_mpa, seam_stress_mpa, peak_stress_mpa, passed: null without "
                       "load_n; proof_load_n says what to press with.");
    else if (isnan(p->closing))
        sf_result_note(result, "modulus_mpa, modulus_interval_mpa: null without closing_mm.");
    if (isnan(p->time))
        sf_result_note(result,
                       "loading_time_s, card_modulus_mpa: null without loading_time_s; polypropylene creeps, so a "
                       "modulus holds for its loading time only.");
    if (isnan(at->proof_load) && !at->solved.slit)
        sf_result_note(result, "proof_load_n, peak_stress_at_proof_load_mpa: null, as neither edge of the seam is "
                               "pulled in this direction: put the seam "
                               "under the load line, or at 90 degrees to it.");
    double peak = at->solved.peak.stress * or_else(p->load, at->proof_load);
    if (peak > straight_line_share * s->yield)
        sf_result_note(result,
                       "the largest tension reaches %.1f MPa (at the inner edge under the load): beyond half of the "
                       "card's yield the sheet gives more than in proportion, so the modulus comes out low and the "
                       "stresses high.",
                       peak / SF_MPA);
}

static void note_theory(sf_Result *result, const sf_Squeeze *s)
{
    const sf_SqueezeFinding *at = &s->findings[0];
    sf_result_note(
        result, "closing is taken between the two plates; read in the bore it is 1 to 5 %% less, as the plates press "
                "into the ring.");
    if (at->width_factor > 1.005)
        sf_result_note(
            result,
            "modulus_interval_mpa: a ring %.0f mm long may not spread freely and is up to %.1f %% stiffer than "
            "a narrow one; the lower end allows for it.",
            s->file.axial_length / SF_MM, 100 * (at->width_factor - 1));
    if (isnan(at->solved.ligament_stress))
        sf_result_note(result, "ligament_stress_mpa: null, as no unjoined line is pulled open.");
    else
        sf_result_note(
            result,
            "seam_stress_mpa and proof_load_n are those of the whole wall, so that a line makes no proof easier; "
            "ligament_stress_mpa is on the %.2f mm that the line leaves. The modulus comes out low while the "
            "line is open; with the seam at 90 degrees it is pressed shut.",
            at->solved.ligament / SF_MM);
    if (s->file.outline.void_count > 0)
        sf_result_note(result, "voids are not taken off the wall here.");
    if (s->proof == SF_PROOF_NONE)
        sf_result_note(result,
                       "proves_inner_edge: no, as that needs the seam under the load line, a load that pulls it by "
                       "the wanted stress, and a seam that held.");
}

static void assume(sf_Result *result, const sf_Squeeze *s)
{
    const sf_SqueezeFile *f = &s->file;
    const sf_SqueezePress *p = &f->presses[0];
    if (isnan(f->poisson_ratio))
        sf_result_assume(result, "poisson_ratio is not given: %.2f of the card '%s' is taken.", s->poisson_ratio,
                         s->card);
    if (s->wanted_by_shop)
        sf_result_assume(result, "wanted_seam_stress_mpa is not given: the shop's %.1f MPa is taken (ring limits).",
                         s->wanted_stress / SF_MPA);
    if (isnan(p->turn))
        sf_result_assume(result, "seam_to_load_deg is not given: the seam is taken to lie under the load line (0).");
    if (s->seam_assumed)
        sf_result_assume(result,
                         "the seam was not found and seam_deg is not given: it is taken where the wall is least.");
    for (size_t i = 0; i < f->count; i++)
        if (!isnan(f->presses[i].load) && f->presses[i].outcome == SF_SQUEEZE_UNSAID)
            sf_result_assume(result,
                             "%soutcome is not given: it is taken that the seam held, without whitening or crack.",
                             i ? "second." : "");
    if (!isnan(p->load) && isnan(p->load_doubt))
        sf_result_assume(result, "load_doubt_n is not given: 2 %% of the load (judgement).");
    if (!isnan(p->closing) && isnan(p->closing_doubt))
        sf_result_assume(result, "closing_doubt_mm is not given: 0.05 mm (judgement).");
    if (f->by_hand)
        sf_result_assume(result, "the wall is read by hand: known to 0.05 mm (judgement).");
}

void sf_squeeze_result(sf_Result *result, const sf_Squeeze *s)
{
    const sf_SqueezeFile *f = &s->file;
    set_finding(result->json, &s->findings[0], &f->presses[0], turn_of(&f->presses[0]));
    set_verified(result->json, "passed", s->passed);
    sf_json_set_number(result->json, "wanted_seam_stress_mpa", s->wanted_stress / SF_MPA);
    sf_Json *directions = sf_json_array(), *first = sf_json_object(), *second = sf_json_object();
    set_finding(first, &s->under, NULL, 0);
    set_finding(second, &s->beside, NULL, SF_PI / 2);
    sf_json_add(directions, first);
    sf_json_add(directions, second);
    sf_json_set(result->json, "directions", directions);
    sf_Json *more = f->count > 1 ? sf_json_object() : NULL;
    if (more) {
        set_finding(more, &s->findings[1], &f->presses[1], turn_of(&f->presses[1]));
        sf_json_set(result->json, "second", more);
    } else {
        sf_result_null(result, "second", "one pressing only was given.");
    }
    sf_json_set_flag(result->json, "proves_inner_edge", s->proof == SF_PROOF_PASSED);
    sf_json_set_flag(result->json, "proves_whole_wall", s->whole_wall);
    char words[SF_REASON_TEXT];
    sf_squeeze_words(words, sizeof words, s);
    sf_json_set_text(result->json, "words", words);
    sf_json_set_text(result->json, "card", s->card);
    sf_json_set_number(result->json, "card_modulus_mpa", s->card_modulus / SF_MPA);
    sf_json_set_number(result->json, "poisson_ratio", s->poisson_ratio);
    sf_json_set_number(result->json, "residual", s->findings[0].solved.loads_closed);
    set_ring(result, s);
    note_figures(result, s);
    note_theory(result, s);
    assume(result, s);
}
