// SPDX-License-Identifier: GPL-3.0-or-later
// All level cases of one limb, solved: plain structs that results, pictures and reports read.
#pragma once

#include "study/strength_input.h"

enum { SF_CASE_MAX = (SF_LEVEL_COUNT + 1) * SF_CONDITION_COUNT * SF_FORCE_COUNT };

typedef struct sf_StrengthCase {
    char name[40];     ///< "P5-II-proof", "P3-scaled-I-cyclic"
    const char *level; ///< "P5" or "P3-scaled"
    const char *condition;
    sf_ForceKind kind;
    double force;         ///< N
    bool scaled;          ///< outside the standard
    bool comparison_only; ///< the person is heavier than the level allows and no held level fits
    bool balanced;        ///< false: at or above the elastic critical force, no stress exists
    double station;       ///< height of the peak, m
    sf_Actions actions;   ///< there
    sf_Peak peak;
    double normal_stress;                     ///< largest absolute one anywhere, Pa
    double factor;                            ///< to first yield
    double collapse_factor;                   ///< to the end of the path, NaN when it could not be followed
    sf_Mechanism mechanism;                   ///< what ends it
    double collapse_station;                  ///< where, m
    bool banded;                              ///< the two bands below were found
    double elastic_band[2], collapse_band[2]; ///< factors
    bool governs;                             ///< least factor of its level
} sf_StrengthCase;

typedef struct sf_StrengthCases {
    sf_StrengthCase items[SF_CASE_MAX];
    size_t count;
    sf_MaterialState state;
    char lost[200]; ///< why a path to collapse could not be followed, empty when all could
} sf_StrengthCases;

/// What the collapse solver needs for a line: the card's law at the cases' temperature; `yield_force` starts it.
sf_CollapseCase sf_strength_collapse_case(const sf_StrengthInput *input, const sf_StrengthAsk *ask,
                                          const sf_MaterialState *state, const sf_LoadLine *line, double yield_force);

/// The line of a level's condition in this limb; `scaled` takes the mass and length ratios of the scaled P3 into
/// *force_share and the offsets.
sf_Status sf_strength_line(sf_LoadLine *line, double *force_share, const sf_StrengthInput *input,
                           const sf_LoadLevel *level, int condition, bool scaled, sf_Error *err) SF_MUST_USE;

/// Solves all cases at a temperature; a path to collapse that cannot be followed leaves NaN and `lost`. SF_E_RANGE
/// outside the card's temperatures, SF_E_INPUT for a level that is not held, SF_E_CONVERGE.
sf_Status sf_strength_cases_solve(sf_StrengthCases *cases, const sf_StrengthInput *input, const sf_StrengthAsk *ask,
                                  double temperature_c, sf_Error *err) SF_MUST_USE;

/// The case of that level, condition and kind, NULL when it was not asked for.
const sf_StrengthCase *sf_strength_case_find(const sf_StrengthCases *cases, const char *level, const char *condition,
                                             sf_ForceKind kind);

/// The governing case of a level, NULL when the level was not asked for.
const sf_StrengthCase *sf_strength_case_governing(const sf_StrengthCases *cases, const char *level);

/// Actions and the most stressed place of every station of the pylon (room for SF_STATION_MAX each) under the force of
/// a solved case: what a drawing along the height needs. SF_E_CONVERGE when the case has no balance.
sf_Status sf_strength_along(sf_Actions *actions, sf_Peak *peaks, const sf_StrengthInput *input,
                            const sf_StrengthAsk *ask, const sf_StrengthCases *cases, const sf_StrengthCase *at,
                            sf_Error *err) SF_MUST_USE;
