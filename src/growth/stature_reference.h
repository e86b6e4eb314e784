// SPDX-License-Identifier: GPL-3.0-or-later
// Stature for age as a reference gives it: L, M and S by age and sex (Cole's LMS method). Statures in m, ages in years.
#pragma once

#include "base/status.h"

#include <stddef.h>

typedef enum sf_Sex { SF_SEX_MALE = 0, SF_SEX_FEMALE = 1, SF_SEX_COUNT } sf_Sex;

enum { SF_REFERENCE_MAX_ROWS = 400 };

/// Below this |L| the power form loses its digits and the logarithmic form stands in.
#define SF_REFERENCE_L_ZERO 1e-6

typedef struct sf_StatureReference {
    size_t rows[SF_SEX_COUNT];
    double age[SF_SEX_COUNT][SF_REFERENCE_MAX_ROWS]; ///< years, rising
    double l[SF_SEX_COUNT][SF_REFERENCE_MAX_ROWS];
    double m[SF_SEX_COUNT][SF_REFERENCE_MAX_ROWS]; ///< median, m
    double s[SF_SEX_COUNT][SF_REFERENCE_MAX_ROWS];
} sf_StatureReference;

typedef struct sf_Lms {
    double l, m, s; ///< power, median in m, coefficient of variation
} sf_Lms;

/// Reads a table with the columns Sex (1 male, 2 female), Agemos (months), L, M (cm), S; ages must rise within a sex.
/// SF_E_PARSE, SF_E_INPUT.
sf_Status sf_stature_reference_read(sf_StatureReference *out, const char *name, const char *text, size_t size,
                                    sf_Error *err) SF_MUST_USE;

/// The table that the program carries: CDC 2000, data/growth/cdc_stature_for_age_lms.csv, 2 to 20 years.
sf_Status sf_stature_reference_builtin(sf_StatureReference *out, sf_Error *err) SF_MUST_USE;

/// First and last age of the table, years.
double sf_stature_reference_first_age(const sf_StatureReference *reference, sf_Sex sex);
double sf_stature_reference_last_age(const sf_StatureReference *reference, sf_Sex sex);

/// L, M and S at an age, linear between rows, held at the ends.
sf_Lms sf_stature_reference_at(const sf_StatureReference *reference, sf_Sex sex, double age);

/// z = ((h/M)^L - 1) / (L S); ln(h/M)/S where L is nothing.
double sf_lms_z(sf_Lms lms, double stature);

/// The stature of a z-score, m; the inverse of sf_lms_z. A z so low that no stature belongs to it gives the lowest one.
double sf_lms_stature(sf_Lms lms, double z);

/// dz/dh at a stature, 1/m.
double sf_lms_slope(sf_Lms lms, double stature);
