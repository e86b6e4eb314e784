// SPDX-License-Identifier: GPL-3.0-or-later
// What a child's stature will be, given all readings with their errors (docs/theory/growth.md). The answer is a bundle
// of strands: each holds one tempo and one size of reading error, is normal within, and carries a weight; a tail scale
// common to all spreads of a strand makes the whole heavy-tailed. Ages in years by the calendar, statures in m.
#pragma once

#include "growth/mixture.h"
#include "growth/z_correlation.h"

enum { SF_PATHS_MAX_READINGS = 400, SF_PATHS_MAX_NODES = 400 };

/// Half of the rounding of a stature reading, m: the least error a reading can have.
#define SF_READING_FLOOR 0.0003

typedef struct sf_StatureReading {
    double age, stature, sd; ///< years, m, m (stated error, one standard deviation)
} sf_StatureReading;

typedef struct sf_StaturePaths {
    size_t nodes, readings, strands, tail_scales;
    double *age;        ///< of each node
    double *log_weight; ///< of each strand, at tail scale 1, without the misfit
    double *misfit;     ///< squared Mahalanobis distance of the readings
    double *tempo;      ///< b: the strand's clock runs exp(b) times the calendar
    double *factor;     ///< true over stated error of a reading
    double *mean;       ///< strands x nodes
    double *covariance; ///< strands x nodes x nodes, m^2, at tail scale 1
    double tail_scale[SF_Z_MAX_TAIL_SCALES];
} sf_StaturePaths;

/// Conditions on `count` readings (0 allowed: what is known of any child), any spacing and order, and gives the stature
/// at `nodes` ages. Ages lie within the reference; the caller sees to it. SF_E_MEMORY, SF_E_LIMIT, SF_E_SINGULAR.
/// Free with sf_stature_paths_free.
sf_Status sf_stature_paths_create(sf_StaturePaths *paths, const sf_StatureReference *reference,
                                  const sf_ZCorrelation *correlation, sf_Sex sex, const sf_StatureReading *readings,
                                  size_t count, const double *ages, size_t nodes, sf_Error *err) SF_MUST_USE;

/// Frees and empties; safe to call twice.
void sf_stature_paths_free(sf_StaturePaths *paths);

/// The distribution of a further reading at a node, taken with the stated error `reading_sd`; 0 gives the stature
/// itself. `mixture` is created here and freed by the caller. SF_E_MEMORY.
sf_Status sf_stature_paths_reading(const sf_StaturePaths *paths, size_t node, double reading_sd, sf_Mixture *mixture,
                                   sf_Error *err) SF_MUST_USE;
