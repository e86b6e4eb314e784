// SPDX-License-Identifier: GPL-3.0-or-later
// How a child's z-score of stature hangs together over the ages, as fitted on a cohort (docs/theory/growth.md).
// Ages here are those of the child's own clock, which runs exp(b) times as fast as the calendar.
#pragma once

#include "growth/stature_reference.h"

enum { SF_Z_MAX_AGES = 40, SF_Z_MAX_TAIL_SCALES = 16, SF_Z_MAX_READING_FACTORS = 8, SF_Z_MAX_TEMPO_STEPS = 31 };

typedef struct sf_ZCorrelation {
    size_t ages;
    double age[SF_Z_MAX_AGES]; ///< years, rising
    double mean[SF_SEX_COUNT][SF_Z_MAX_AGES];
    double covariance[SF_SEX_COUNT][SF_Z_MAX_AGES][SF_Z_MAX_AGES]; ///< width factor included
    double tempo_sd;                                               ///< of b
    size_t tempo_steps;                                            ///< odd; spread over 2.5 tempo_sd either way
    size_t tail_scales;
    double tail_scale[SF_Z_MAX_TAIL_SCALES]; ///< equally likely factors on all spreads: a Student tail in steps
    size_t reading_factors;
    double reading_factor[SF_Z_MAX_READING_FACTORS]; ///< true over stated error of a reading
    double reading_weight[SF_Z_MAX_READING_FACTORS]; ///< sum 1
} sf_ZCorrelation;

/// Reads the JSON that tools/fit_growth_correlation.py writes. SF_E_PARSE, SF_E_INPUT.
sf_Status sf_z_correlation_read(sf_ZCorrelation *out, const char *name, const char *text, size_t size,
                                sf_Error *err) SF_MUST_USE;

/// The fit that the program carries: data/growth/z_correlation.json.
sf_Status sf_z_correlation_builtin(sf_ZCorrelation *out, sf_Error *err) SF_MUST_USE;

/// Mean z at an age, linear between the fitted ages, held at the ends.
double sf_z_correlation_mean(const sf_ZCorrelation *z, sf_Sex sex, double age);

/// Covariance of z at two ages, linear in both, held at the ends (so it stays positive semidefinite).
double sf_z_correlation_covariance(const sf_ZCorrelation *z, sf_Sex sex, double age_1, double age_2);
