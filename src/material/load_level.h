// SPDX-License-Identifier: GPL-3.0-or-later
// The static and cyclic levels that serve as yardsticks: forces and line offsets (docs/theory/load-line.md). SI.
#pragma once

#include "base/shape.h"

enum { SF_LEVEL_COUNT = 3, SF_CONDITION_COUNT = 2, SF_FORCE_COUNT = 4 };

typedef enum sf_ForceKind {
    SF_FORCE_PROOF = 0,
    SF_FORCE_ULTIMATE_LOWER,
    SF_FORCE_ULTIMATE_UPPER,
    SF_FORCE_CYCLIC
} sf_ForceKind;

typedef struct sf_LevelForces {
    bool there;
    double proof, ultimate_lower, ultimate_upper, cyclic, cyclic_least;
} sf_LevelForces;

typedef struct sf_LineOffsets {
    bool there;
    double top, knee, ankle, bottom;
} sf_LineOffsets;

typedef struct sf_LoadCondition {
    bool there;
    const char *condition; ///< "I" or "II"
    sf_LevelForces force;
    sf_LineOffsets forward, outward;
} sf_LoadCondition;

typedef struct sf_LoadLevel {
    bool there;
    const char *level, *name_1996;
    double mass_limit;
    sf_LoadCondition *conditions; ///< SF_CONDITION_COUNT of them, I first
    size_t condition_count;
} sf_LoadLevel;

typedef struct sf_LevelHeights {
    bool there;
    double top, knee, ankle, bottom;
} sf_LevelHeights;

typedef struct sf_LoadLevels {
    bool there;
    const char *edition, *force_source, *offset_source, *not_held;
    sf_LevelHeights height;
    double cyclic_cycles;
    sf_LoadLevel *levels; ///< SF_LEVEL_COUNT of them, lightest first
    size_t level_count;
    sf_Arena *arena; ///< not a field of the file
} sf_LoadLevels;

/// Reads the levels that come with the program. SF_E_MEMORY; SF_E_INPUT when the data is broken. Free with
/// sf_load_levels_destroy.
sf_Status sf_load_levels_create(sf_LoadLevels **levels, sf_Error *err) SF_MUST_USE;

/// Frees and nulls; NULL and pointer to NULL are allowed.
void sf_load_levels_destroy(sf_LoadLevels **levels);

/// The level of that name, NULL when it is not held.
const sf_LoadLevel *sf_load_level_find(const sf_LoadLevels *levels, const char *name);

/// The lightest level whose mass limit holds `mass` (kg), NULL above the heaviest.
const sf_LoadLevel *sf_load_level_for_mass(const sf_LoadLevels *levels, double mass);

/// The force of a kind, N.
double sf_load_force(const sf_LoadCondition *condition, sf_ForceKind kind);

/// The word for a kind: "proof", "ultimate-lower", "ultimate-upper", "cyclic".
const char *sf_force_kind_word(sf_ForceKind kind);
