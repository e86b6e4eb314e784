// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/strength_cases.h"
#include "base/progress.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const char scaled_name[] = "P3-scaled";

sf_Status sf_strength_line(sf_LoadLine *line, double *force_share, const sf_StrengthInput *input,
                           const sf_LoadLevel *level, int condition, bool scaled, sf_Error *err)
{
    const sf_LevelHeights *heights = &input->levels->height;
    double rise = input->centres.knee.z - input->centres.ankle.z;
    *force_share = scaled ? input->mass / level->mass_limit : 1;
    return sf_load_line_lay(line, &input->centres, &level->conditions[condition], heights,
                            scaled ? rise / (heights->knee - heights->ankle) : 1, err);
}

static void fill_case(sf_StrengthCase *at, const sf_StrengthInput *input, const sf_LoadLine *line, double modulus)
{
    sf_Actions actions[SF_STATION_MAX];
    at->balanced = sf_beam_actions(actions, &input->pylon, line, at->force, modulus, NULL);
    if (!at->balanced)
        return;
    at->peak = sf_pylon_peak(&input->pylon, actions);
    at->station = at->peak.height;
    at->actions = actions[at->peak.station];
    at->normal_stress = sf_pylon_normal_stress(&input->pylon, actions);
}

sf_CollapseCase sf_strength_collapse_case(const sf_StrengthInput *input, const sf_StrengthAsk *ask,
                                          const sf_MaterialState *state, const sf_LoadLine *line, double yield_force)
{
    static const double begin_share = 0.7; // of the force at first yield: every section is elastic still, holes apart
    double limit = sf_card_strain_limit(input->card);
    return (sf_CollapseCase){ .model = &input->model,
                              .line = line,
                              .law = sf_stress_law_of_card(input->card, state->modulus, state->yield, limit),
                              .poisson = input->card->poisson_ratio.value,
                              .start = begin_share * yield_force,
                              .first_order = ask->first_order };
}

static sf_Status solve_condition(sf_StrengthCases *cases, const sf_StrengthInput *input, const sf_StrengthAsk *ask,
                                 const sf_LoadLevel *level, int condition, bool scaled, sf_Error *err)
{
    sf_LoadLine line;
    double share, yield_force, modulus = ask->first_order ? INFINITY : cases->state.modulus;
    SF_TRY(sf_strength_line(&line, &share, input, level, condition, scaled, err));
    sf_ElasticCase elastic = { &input->pylon, &line, modulus, cases->state.yield };
    SF_TRY(sf_elastic_yield_force(&yield_force, &elastic, NULL, err));
    sf_Collapse collapse = { .force = NAN };
    sf_CollapseCase beyond = sf_strength_collapse_case(input, ask, &cases->state, &line, yield_force);
    sf_Error why = { 0 };
    sf_Status followed = ask->elastic_only ? SF_OK : sf_collapse_find(&collapse, &beyond, &why);
    if (followed == SF_E_MEMORY)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory in strength");
    if (followed != SF_OK)
        snprintf(cases->lost, sizeof cases->lost, "%.190s", why.text);
    for (int kind = 0; kind < SF_FORCE_COUNT; kind++) {
        sf_StrengthCase *at = &cases->items[cases->count++];
        *at = (sf_StrengthCase){ .level = scaled ? scaled_name : level->level,
                                 .condition = level->conditions[condition].condition,
                                 .kind = kind,
                                 .force = share * sf_load_force(&level->conditions[condition], kind),
                                 .scaled = scaled };
        at->comparison_only = sf_load_level_for_mass(input->levels, input->mass) == NULL;
        at->factor = yield_force / at->force;
        at->collapse_factor = collapse.force / at->force;
        at->mechanism = collapse.mechanism;
        at->collapse_station = input->pylon.stations[collapse.station].height;
        snprintf(at->name, sizeof at->name, "%s-%s-%s", at->level, at->condition, sf_force_kind_word(kind));
        fill_case(at, input, &line, modulus);
    }
    return SF_OK;
}

static void mark_governing(sf_StrengthCases *cases)
{
    for (size_t i = 0; i < cases->count; i++) {
        sf_StrengthCase *at = &cases->items[i];
        at->governs = true;
        for (size_t k = 0; k < cases->count; k++)
            if (k != i && strcmp(cases->items[k].level, at->level) == 0 &&
                (cases->items[k].factor < at->factor || (cases->items[k].factor == at->factor && k < i)))
                at->governs = false;
    }
}

sf_Status sf_strength_cases_solve(sf_StrengthCases *cases, const sf_StrengthInput *input, const sf_StrengthAsk *ask,
                                  double temperature_c, sf_Error *err)
{
    cases->count = 0;
    cases->lost[0] = '\0';
    SF_TRY(sf_card_at(&cases->state, input->card, temperature_c, err));
    bool scale = input->mass < input->levels->levels[0].mass_limit;
    if (ask->level && strcmp(ask->level, scaled_name) == 0 && !scale)
        return SF_FAIL(err, SF_E_INPUT, "level", "P3-scaled is for less than %g kg; this person weighs %g kg with load",
                       input->levels->levels[0].mass_limit, input->mass);
    for (size_t i = 0; i < input->levels->level_count; i++) {
        const sf_LoadLevel *level = &input->levels->levels[i];
        for (int scaled = 0; scaled < (i == 0 && scale ? 2 : 1); scaled++) {
            if (ask->level && strcmp(ask->level, scaled ? scaled_name : level->level) != 0)
                continue;
            for (int condition = 0; condition < SF_CONDITION_COUNT; condition++) {
                double done = (double)i + (double)condition / SF_CONDITION_COUNT;
                SF_TRY(sf_progress_tell(done / (double)input->levels->level_count, level->level, err));
                SF_TRY(solve_condition(cases, input, ask, level, condition, scaled, err));
            }
        }
    }
    if (cases->count == 0)
        return SF_FAIL(
            err, SF_E_INPUT, "level",
            "the level '%.20s' is not held: choose P3, P4 or P5 (or P3-scaled below 60 kg); forces of %s are not "
            "known to this program",
            ask->level, input->levels->not_held);
    mark_governing(cases);
    return SF_OK;
}

const sf_StrengthCase *sf_strength_case_find(const sf_StrengthCases *cases, const char *level, const char *condition,
                                             sf_ForceKind kind)
{
    for (size_t i = 0; i < cases->count; i++) {
        const sf_StrengthCase *at = &cases->items[i];
        if (strcmp(at->level, level) == 0 && strcmp(at->condition, condition) == 0 && at->kind == kind)
            return at;
    }
    return NULL;
}

const sf_StrengthCase *sf_strength_case_governing(const sf_StrengthCases *cases, const char *level)
{
    for (size_t i = 0; i < cases->count; i++)
        if (cases->items[i].governs && strcmp(cases->items[i].level, level) == 0)
            return &cases->items[i];
    return NULL;
}

sf_Status sf_strength_along(sf_Actions *actions, sf_Peak *peaks, const sf_StrengthInput *input,
                            const sf_StrengthAsk *ask, const sf_StrengthCases *cases, const sf_StrengthCase *at,
                            sf_Error *err)
{
    const sf_LoadLevel *level = at->scaled ? &input->levels->levels[0] : sf_load_level_find(input->levels, at->level);
    int condition = strcmp(at->condition, "II") == 0;
    double share, modulus = ask->first_order ? INFINITY : cases->state.modulus;
    sf_LoadLine line;
    SF_TRY(sf_strength_line(&line, &share, input, level, condition, at->scaled, err));
    if (!sf_beam_actions(actions, &input->pylon, &line, at->force, modulus, NULL))
        return SF_FAIL(err, SF_E_CONVERGE, NULL, "the force of %s lies at or above the pylon's elastic critical force",
                       at->name);
    for (size_t i = 0; i < input->pylon.station_count; i++)
        peaks[i] = sf_station_peak(&input->pylon, i, &actions[i]);
    return SF_OK;
}
