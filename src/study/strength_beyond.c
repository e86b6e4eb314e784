// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/strength_beyond.h"

#include "base/alloc.h"
#include "base/units.h"
#include "num/stats.h"
#include "strength/creep.h"
#include "strength/fatigue.h"

#include <math.h>

enum { PROFILE_DRAWS = 1000 };

static const double thin_wall = 10; // radius over wall from which thin-wall formulas are meant
static const double lower_end = 0.05, upper_end = 0.95;
static const double standing_hours[] = { 1.0 / 60, 1, 8 };
static const double preload_hours[] = { 1, 24, 1000, 8760 };
// Quiet standing on both feet: half the weight, the pressure some 50 mm before the ankle (textbook figure, from
// memory).
static const double standing_share = 0.5, standing_forward = 50 * SF_MM;
static const double nut_factor = 0.2; // ordinary steel thread, as on the strength page

sf_Status sf_strength_actions_of(sf_Actions *actions, const sf_StrengthInput *input, const sf_StrengthAsk *ask,
                                 const sf_LoadLevel *level, int condition, double force, double modulus,
                                 sf_LoadLine *line, sf_Error *err)
{
    double share;
    SF_TRY(sf_strength_line(line, &share, input, level, condition, false, err));
    if (!sf_beam_actions(actions, &input->pylon, line, force, ask->first_order ? INFINITY : modulus, NULL))
        (void)sf_beam_actions(actions, &input->pylon, line, force, INFINITY, NULL);
    return SF_OK;
}

static void add_pair(sf_Json *json, const char *key, double low, double high)
{
    if (isnan(low) || isnan(high)) {
        sf_json_set_null(json, key);
        return;
    }
    sf_Json *pair = sf_json_array();
    sf_json_add_number(pair, low);
    sf_json_add_number(pair, high);
    sf_json_set(json, key, pair);
}

// ---- repeated loads ---------------------------------------------------------------------------------------------

// The band: where the S-N line lies (the card's factor taken as its 90 % ends) and what the draws do to the stress.
static sf_Status fatigue_band(double band[2], const sf_StrengthBeyond *b, double middle, sf_Error *err)
{
    band[0] = band[1] = NAN;
    if (!b->bands->own)
        return SF_OK;
    size_t n = b->bands->count;
    double *used = sf_alloc(n, sizeof *used), sd = log(b->input->card->fatigue.stress_factor_band) / 1.6449;
    if (!used)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory in strength");
    for (size_t i = 0; i < n; i++)
        used[i] = middle * b->bands->stress[i] * exp(sd * b->bands->draws[i].fatigue);
    band[0] = sf_stats_quantile(used, n, lower_end);
    band[1] = sf_stats_quantile(used, n, upper_end);
    sf_free(used);
    return SF_OK;
}

sf_Status sf_strength_set_fatigue(sf_Result *result, const sf_StrengthBeyond *b, sf_Error *err)
{
    sf_Actions actions[SF_CONDITION_COUNT][SF_STATION_MAX];
    const sf_Actions *both[SF_CONDITION_COUNT] = { actions[0], actions[1] };
    sf_LoadLine line;
    double stress, band[2];
    for (int c = 0; c < SF_CONDITION_COUNT; c++) {
        double force = sf_load_force(&b->level->conditions[c], SF_FORCE_CYCLIC);
        SF_TRY(sf_strength_actions_of(actions[c], b->input, b->ask, b->level, c, force, b->cases->state.modulus, &line,
                                      err));
    }
    const sf_Pylon *pylon = &b->input->pylon;
    double at_1e6 = sf_pylon_fatigue(pylon, b->input->card, both, SF_CONDITION_COUNT, 1e6, &stress);
    double at_3e6 = sf_pylon_fatigue(pylon, b->input->card, both, SF_CONDITION_COUNT, 3e6, &stress);
    SF_TRY(fatigue_band(band, b, at_3e6, err));
    sf_Json *json = sf_json_object();
    sf_json_set_text(json, "level", b->level->level);
    sf_json_set_number(json, "net_stress_mpa", stress / SF_MPA);
    sf_json_set_number(json, "utilisation_1e6", at_1e6);
    sf_json_set_number(json, "utilisation_3e6", at_3e6);
    add_pair(json, "band", band[0], band[1]);
    sf_json_set_text(json, "text",
                     "stress on net sections at the level's cyclic forces, both conditions in each step by Miner's "
                     "rule, over an estimated S-N curve; the band is of utilisation_3e6; no years follow from it: the "
                     "inspection rule says when to look");
    sf_json_set(result->json, "fatigue", json);
    return SF_OK;
}

// ---- along the height -------------------------------------------------------------------------------------------

// What a thin wall's strength gains in bending from moved edges.
static double stronger(const sf_BeamSection *section, const sf_Draw *draw, double up)
{
    double outer = draw->of[SF_DOUBT_OUTER_EDGE];
    double inner = draw->of[SF_DOUBT_INNER_EDGE] + up * draw->of[SF_DOUBT_TOP_WALL];
    double wall = 0.5 * (section->outer_diameter - section->inner_diameter);
    double radius = 0.25 * (section->outer_diameter + section->inner_diameter);
    double wider = 1 + 0.5 * (outer + inner) / radius;
    return draw->of[SF_DOUBT_YIELD] * wider * wider * fmax(1 + (outer - inner) / wall, 0.05);
}

static void band_at(double band[2], const sf_StrengthBeyond *b, size_t i, double used, sf_Point arm, sf_Point straight)
{
    double drawn[PROFILE_DRAWS];
    const sf_Pylon *pylon = &b->input->pylon;
    const sf_PylonStation *station = &pylon->stations[i];
    size_t n = b->bands->count < PROFILE_DRAWS ? b->bands->count : PROFILE_DRAWS;
    double ankle = b->input->centres.ankle.z, knee = b->input->centres.knee.z;
    double up = (station->height - pylon->cut) / (pylon->top - pylon->cut);
    double along = (station->height - ankle) / (knee - ankle), length = fmax(sf_point_length(arm), 1e-6);
    sf_Point bent = sf_point_sub(arm, straight);
    for (size_t k = 0; k < n; k++) {
        const double *x = b->bands->draws[k].of;
        sf_Point off = { x[SF_DOUBT_ANKLE_OUTWARD] + along * (x[SF_DOUBT_KNEE_OUTWARD] - x[SF_DOUBT_ANKLE_OUTWARD]),
                         x[SF_DOUBT_ANKLE_FORWARD] + along * (x[SF_DOUBT_KNEE_FORWARD] - x[SF_DOUBT_ANKLE_FORWARD]) };
        sf_Point lever = sf_point_add(straight, sf_point_add(off, sf_point_scale(bent, 1 / x[SF_DOUBT_MODULUS])));
        drawn[k] = used * sf_point_length(lever) / length / stronger(&station->section, &b->bands->draws[k], up);
    }
    band[0] = n ? sf_stats_quantile(drawn, n, lower_end) : NAN;
    band[1] = n ? sf_stats_quantile(drawn, n, upper_end) : NAN;
}

sf_Status sf_strength_used(double *used, double (*band)[2], const sf_StrengthBeyond *b, const sf_Actions *actions,
                           const sf_LoadLine *line, sf_Error *err)
{
    const sf_StrengthInput *input = b->input;
    const sf_MaterialState *state = &b->cases->state;
    sf_StressLaw law =
        sf_stress_law_of_card(input->card, state->modulus, state->yield, sf_card_strain_limit(input->card));
    if (input->model.gross == NULL)
        return SF_FAIL(err, SF_E_INTERNAL, NULL, "the pylon was not cut into fibres");
    for (size_t i = 0; i < input->pylon.station_count; i++) {
        const sf_BeamSection *section = &input->pylon.stations[i].section;
        const sf_FibreSection *f = &input->model.gross[i];
        for (size_t h = 0; h < input->model.net_count; h++)
            f = input->model.net_station[h] == i ? &input->model.net[h] : f;
        const sf_Actions *a = &actions[i];
        double share = sf_yield_share(section, state->yield, a->torque, sf_point_length(a->shear));
        double strength = NAN;
        if (!b->ask->elastic_only)
            strength = sf_fibre_moment_limit(f, &law, share, a->axial, atan2(a->moment.y, a->moment.x));
        used[i] = strength > 0 ? sf_point_length(a->moment) / strength : NAN;
        if (!band)
            continue;
        sf_Point straight = sf_point_sub(sf_load_line_at(line, input->pylon.stations[i].height), section->centroid);
        band_at(band[i], b, i, used[i], sf_point_scale(a->moment, 1 / a->axial), straight);
    }
    return SF_OK;
}

sf_Status sf_strength_set_profile(sf_Result *result, const sf_StrengthBeyond *b, sf_Error *err)
{
    sf_Actions actions[SF_STATION_MAX];
    double used[SF_STATION_MAX], band[SF_STATION_MAX][2];
    sf_LoadLine line;
    const sf_Pylon *pylon = &b->input->pylon;
    double force = sf_load_force(&b->level->conditions[1], SF_FORCE_PROOF);
    SF_TRY(sf_strength_actions_of(actions, b->input, b->ask, b->level, 1, force, b->cases->state.modulus, &line, err));
    SF_TRY(sf_strength_used(used, band, b, actions, &line, err));
    sf_Json *list = sf_json_array();
    for (size_t i = 0; i < pylon->station_count; i++) {
        const sf_PylonStation *station = &pylon->stations[i];
        sf_Peak peak = sf_station_peak(pylon, i, &actions[i]);
        sf_Json *json = sf_json_object();
        sf_json_set_number(json, "height_mm", station->height / SF_MM);
        sf_json_set_number(json, "outer_mm", station->section.outer_diameter / SF_MM);
        sf_json_set_number(json, "inner_mm", station->section.inner_diameter / SF_MM);
        sf_json_set_number(json, "moment_nm", sf_point_length(actions[i].moment));
        sf_json_set_number(json, "stress_mpa", peak.normal / SF_MPA);
        sf_json_set_number(json, "von_mises_mpa", peak.von_mises / SF_MPA);
        sf_json_set_number(json, "used", used[i]);
        add_pair(json, "used_band", band[i][0], band[i][1]);
        sf_json_add(list, json);
    }
    sf_json_set(result->json, "profile", list);
    return SF_OK;
}

// ---- stability --------------------------------------------------------------------------------------------------

// The lowest force without a bent shape that holds it, by halving.
static double critical_force(const sf_StrengthBeyond *b, const sf_LoadLine *line)
{
    static const double within = 1e-4;
    sf_Actions actions[SF_STATION_MAX];
    double low = 0, high = 1e3, modulus = b->cases->state.modulus;
    for (int n = 0; n < 60 && sf_beam_actions(actions, &b->input->pylon, line, high, modulus, NULL); n++) {
        low = high;
        high *= 2;
    }
    while (high - low > within * high) {
        double middle = 0.5 * (low + high);
        *(sf_beam_actions(actions, &b->input->pylon, line, middle, modulus, NULL) ? &low : &high) = middle;
    }
    return low;
}

sf_Status sf_strength_set_stability(sf_Result *result, const sf_StrengthBeyond *b, sf_Error *err)
{
    sf_Actions actions[SF_STATION_MAX];
    sf_LoadLine line;
    const sf_StrengthInput *input = b->input;
    const sf_MaterialState *state = &b->cases->state;
    double force = sf_load_force(&b->level->conditions[1], SF_FORCE_PROOF), nu = input->card->poisson_ratio.value;
    double flat = INFINITY, wrinkle = INFINITY, thinnest = 0, moment = NAN, stress = NAN;
    SF_TRY(sf_strength_actions_of(actions, input, b->ask, b->level, 1, force, state->modulus, &line, err));
    for (size_t i = 0; i < input->pylon.station_count; i++) {
        double r = input->model.radius[i], t = input->model.wall[i], bending = sf_point_length(actions[i].moment);
        double brazier = sf_brazier_moment(state->modulus, nu, r, t);
        double critical = sf_wrinkling_stress(state->modulus, nu, r, t);
        if (brazier / bending < flat) {
            flat = brazier / bending;
            moment = brazier;
        }
        wrinkle = fmin(wrinkle, critical / state->yield);
        stress = fmin(isnan(stress) ? critical : stress, critical);
        thinnest = fmax(thinnest, r / t);
    }
    const sf_StrengthCase *proof = sf_strength_case_find(b->cases, b->level->level, "II", SF_FORCE_PROOF);
    bool governs =
        proof && (proof->mechanism == SF_MECHANISM_FLATTENING || proof->mechanism == SF_MECHANISM_LOCAL_BUCKLING);
    double column = b->ask->first_order ? NAN : critical_force(b, &line);
    sf_Json *json = sf_json_object();
    sf_json_set_text(json, "level", b->level->level);
    sf_json_set_number(json, "flattening_moment_nm", moment);
    sf_json_set_number(json, "flattening_factor", flat);
    sf_json_set_number(json, "wrinkling_stress_mpa", stress / SF_MPA);
    sf_json_set_number(json, "wrinkling_over_yield", wrinkle);
    sf_json_set_number(json, "critical_force_n", column);
    sf_json_set_number(json, "critical_factor", column / force);
    sf_json_set_number(json, "radius_over_wall", thinnest);
    sf_json_set_flag(json, "thin_wall", thinnest >= thin_wall);
    sf_json_set_flag(json, "governs", governs);
    sf_json_set_text(
        json, "text",
        thinnest >= thin_wall
            ? "flattening (Brazier) and wrinkling at the proof force of condition II, by thin-wall theory"
            : "flattening (Brazier) and wrinkling at the proof force of condition II; by thin-wall theory, "
              "which this thick tube is outside of: estimates that say how far away they are");
    sf_json_set(result->json, "stability", json);
    if (b->ask->first_order)
        sf_result_note(result, "stability.critical_force_n, critical_factor: null, first order knows none");
    return SF_OK;
}

// ---- lasting loads ----------------------------------------------------------------------------------------------

static sf_Json *preload_json(const sf_StrengthInput *input)
{
    const sf_LimbFootBolt *bolt = &input->limb->data.adapter.foot_bolt;
    double preload = bolt->torque / (nut_factor * bolt->thread);
    sf_Json *list = sf_json_array();
    for (size_t i = 0; i < sizeof preload_hours / sizeof *preload_hours; i++) {
        sf_Json *json = sf_json_object();
        double kept = sf_preload_kept(input->card, preload_hours[i]);
        sf_json_set_number(json, "hours", preload_hours[i]);
        sf_json_set_number(json, "kept_share", kept);
        sf_json_set_number(json, "foot_bolt_n", kept * preload);
        sf_json_add(list, json);
    }
    return list;
}

sf_Status sf_strength_set_creep(sf_Result *result, const sf_StrengthBeyond *b, sf_Error *err)
{
    const sf_StrengthInput *input = b->input;
    const sf_CreepLaw *law = &input->card->creep;
    sf_LoadLine line = { .at_floor = { input->centres.ankle.x, input->centres.ankle.y + standing_forward },
                         .length_factor = 1 };
    sf_MaterialState state;
    sf_Drift at_once, later;
    SF_TRY(sf_card_at(&state, input->card, 23, err));
    line.lower_joint = input->centres.ankle.z;
    line.upper_joint = input->centres.knee.z;
    double force = standing_share * input->mass * SF_GRAVITY, ankle = input->centres.ankle.z;
    bool stands = sf_standing_drift(&at_once, &input->pylon, &line, force, state.modulus, ankle);
    sf_Json *times = sf_json_array();
    for (size_t i = 0; i < sizeof standing_hours / sizeof *standing_hours; i++) {
        double modulus = sf_creep_modulus(input->card, state.modulus, standing_hours[i]);
        bool holds = stands && sf_standing_drift(&later, &input->pylon, &line, force, modulus, ankle);
        sf_Json *json = sf_json_object();
        sf_json_set_number(json, "hours", standing_hours[i]);
        sf_json_set_number(json, "modulus_mpa", modulus / SF_MPA);
        sf_json_set_number(json, "tilt_deg", holds ? later.tilt / SF_DEG : NAN);
        sf_json_set_number(json, "drift_deg", holds ? (later.tilt - at_once.tilt) / SF_DEG : NAN);
        sf_json_set_number(json, "drift_mm", holds ? (later.shift - at_once.shift) / SF_MM : NAN);
        sf_json_add(times, json);
    }
    double stress = stands ? at_once.stress : NAN;
    sf_Json *json = sf_json_object(), *standing = sf_json_object();
    sf_json_set_number(standing, "force_n", force);
    sf_json_set_number(standing, "stress_mpa", stress / SF_MPA);
    sf_json_set(standing, "times", times);
    sf_json_set_text(
        standing, "text",
        "half the weight with load, straight up 50 mm in front of the ankle centre (judgement), 23 C; drift "
        "is what comes on top of the bending at once, of the ankle centre against the pylon's top, and goes "
        "back slowly when the load is off");
    sf_json_set_number(json, "m", law->m);
    sf_json_set_number(json, "n", law->n);
    sf_json_set_number(json, "valid_to_stress_mpa", law->valid_to_stress / SF_MPA);
    sf_json_set_number(json, "valid_to_temperature_c", law->valid_to_temperature_c);
    sf_json_set_flag(json, "within_validity", stands && stress <= law->valid_to_stress);
    sf_json_set(json, "standing", standing);
    sf_json_set(json, "preload", preload_json(input));
    sf_json_set_text(json, "text",
                     "Findley's law of the card; kept_share is what a screw or bolt that squeezes the formed plastic "
                     "keeps of its preload; tightening it again starts the clock again at a lower rate");
    sf_json_set(result->json, "creep", json);
    if (!(stress <= law->valid_to_stress))
        sf_result_note(result,
                       "creep.standing: the stress lies above the %g MPa up to which the creep law was read: "
                       "it will creep more than shown",
                       law->valid_to_stress / SF_MPA);
    if (isnan(input->limb->data.adapter.foot_bolt.torque))
        sf_result_note(result, "creep.preload[].foot_bolt_n: null, adapter.foot_bolt is not given");
    return SF_OK;
}
