// SPDX-License-Identifier: GPL-3.0-or-later
// How high the sound side's tibial plateau will stand, from stature and from readings of the knee itself
// (docs/theory/growth.md, 3). Ages in years by the calendar, heights in m.
#pragma once

#include "growth/shank_share.h"
#include "growth/stature_paths.h"

#include <stdbool.h>

enum { SF_KNEE_MAX_READINGS = 60, SF_KNEE_MAX_NODES = 150 };

/// Spread of a child's own rate about the share's, m per year (judgement: the share is good to 0.02 of 6 cm a year, and
/// children's proportions differ).
#define SF_KNEE_RATE_SD 0.0015
/// Random walk about that rate, m per root year (judgement; docs/theory/growth.md, 3).
#define SF_KNEE_WANDER 0.002
/// Errors of readings, one standard deviation, m (judgement).
#define SF_KNEE_READING_SD      0.003
#define SF_BLOCK_READING_SD     0.003
#define SF_PROSTHESIS_HEIGHT_SD 0.002

typedef enum sf_KneeKind {
    SF_KNEE_PLATEAU, ///< medial tibial plateau to floor
    SF_KNEE_SEATED,  ///< top of the bent knee to floor: counts for its change only
    SF_KNEE_BLOCK    ///< prosthesis height plus the block that levelled the pelvis
} sf_KneeKind;

typedef struct sf_KneeReading {
    double age, height, sd;
    sf_KneeKind kind;
} sf_KneeReading;

/// Distribution of the knee height at the wanted ages; built and weighted like sf_StaturePaths.
typedef struct sf_KneePaths {
    size_t nodes, strands, tail_scales, evidence; ///< evidence: how many readings the misfit counts
    double *log_weight, *misfit;                  ///< of each strand
    double *mean;                                 ///< strands x nodes
    double *variance;                             ///< strands x nodes, m^2, at tail scale 1, level's error left out
    double tail_scale[SF_Z_MAX_TAIL_SCALES];
    sf_KneeReading level; ///< the newest reading of the level
    bool has_level;       ///< false: mean is the gain since the first wanted age
} sf_KneePaths;

typedef struct sf_GrowthModel {
    sf_StatureReference reference;
    sf_ZCorrelation correlation;
    sf_ShankShare share;
} sf_GrowthModel;

/// Loads the three built-in tables.
sf_Status sf_growth_model_builtin(sf_GrowthModel *model, sf_Error *err) SF_MUST_USE;

/// Level: the newest plateau or block reading (on one day the block, which is the more direct); all others speak
/// about rate and clock by their differences. `ages` rise and hold the wanted ages. SF_E_MEMORY, SF_E_LIMIT,
/// SF_E_SINGULAR. Free with sf_knee_paths_free.
sf_Status sf_knee_paths_create(sf_KneePaths *paths, const sf_GrowthModel *model, sf_Sex sex,
                               const sf_StatureReading *statures, size_t stature_count, const sf_KneeReading *knees,
                               size_t knee_count, const double *ages, size_t nodes, sf_Error *err) SF_MUST_USE;

/// Frees and empties; safe to call twice.
void sf_knee_paths_free(sf_KneePaths *paths);

/// Distribution of the knee height at a node, with an error of `extra_sd` beside the level's own (a reading's, the
/// prosthesis's). Created here, freed by the caller. SF_E_MEMORY.
sf_Status sf_knee_paths_at(const sf_KneePaths *paths, size_t node, double extra_sd, sf_Mixture *mixture,
                           sf_Error *err) SF_MUST_USE;
