// SPDX-License-Identifier: GPL-3.0-or-later
// From a limb document to the readings that a growth forecast rests on: which count, which are left out and why.
#pragma once

#include "base/date.h"
#include "growth/knee_paths.h"
#include "limb/limb.h"
#include "study/result.h"

/// Error of a stature reading that states none, m (trained reader, children: Voss 1990, Arch Dis Child 65:1340).
#define SF_STATURE_READING_SD 0.003
/// Entries that should tell the same and differ by more are warned about, m (judgement).
#define SF_GROWTH_DISAGREE 0.005

typedef enum sf_KneeSource {
    SF_KNEE_FROM_NOTHING,
    SF_KNEE_FROM_HISTORY,
    SF_KNEE_FROM_BLOCK,
    SF_KNEE_FROM_FIELD
} sf_KneeSource;

typedef struct sf_GrowthReadings {
    sf_Sex sex;
    sf_Date birth, as_of;
    double age; ///< on the day of asking, years
    sf_StatureReading statures[SF_PATHS_MAX_READINGS];
    size_t stature_count;
    sf_KneeReading knees[SF_KNEE_MAX_READINGS];
    size_t knee_count;
    double prosthesis_height; ///< how high the prosthesis stands, m; NaN: not known
    double prosthesis_sd;     ///< 0 when only blocks tell, which read it and the knee together
    double target;            ///< prosthesis minus sound, m
    bool knee_known;          ///< false: only the difference of both sides is known, not the height itself
    sf_Json *warnings;        ///< an array, owned until it is set into the result
} sf_GrowthReadings;

/// Adds {code, text}.
void sf_study_warn(sf_Json *warnings, const char *code, const char *format, ...) SF_PRINTF(3, 4);

/// Gathers what the document holds up to and including `as_of`; says in `result` what was assumed and left out.
/// SF_E_MISSING for sex and birth date, SF_E_INPUT for dates that contradict, SF_E_MEMORY.
sf_Status sf_growth_gather(sf_GrowthReadings *out, const sf_Limb *limb, const sf_GrowthModel *model, sf_Date as_of,
                           sf_Result *result, sf_Error *err) SF_MUST_USE;

/// Which entry sets the level: the newest, blocks before knee heights of the same day; knee_count when none does.
size_t sf_growth_level(const sf_GrowthReadings *readings);

/// Where the level comes from, for the result.
sf_KneeSource sf_growth_level_source(const sf_GrowthReadings *readings, const sf_Limb *limb);

/// The newest knee height of the history (m), else the field without a date, else NaN. Seated readings do not count.
/// The history wins; a field that differs by more than SF_GROWTH_DISAGREE is warned about.
double sf_limb_sound_knee(const sf_Limb *limb, sf_Json *warnings);
