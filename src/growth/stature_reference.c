// SPDX-License-Identifier: GPL-3.0-or-later
#include "growth/stature_reference.h"

#include "base/csv.h"
#include "growth/builtin.h"

#include <math.h>

static const double CM = 0.01;
static const double MONTHS = 12.0;
static const double LEAST_POWER_BASE = 1e-6; ///< keeps 1 + L S z above nothing

static sf_Status take_row(sf_StatureReference *out, const sf_Csv *csv, const size_t column[5], size_t row,
                          sf_Error *err)
{
    double cell[5];
    for (int i = 0; i < 5; i++)
        SF_TRY(sf_csv_number(csv, row, column[i], &cell[i], err));
    if (cell[0] != 1 && cell[0] != 2)
        return SF_FAIL(err, SF_E_INPUT, csv->name, "line %zu: Sex is 1 for male or 2 for female", csv->lines[row]);
    if (!(cell[3] > 0) || !(cell[4] > 0))
        return SF_FAIL(err, SF_E_INPUT, csv->name, "line %zu: M and S must be above 0", csv->lines[row]);
    int sex = cell[0] == 1 ? SF_SEX_MALE : SF_SEX_FEMALE;
    size_t n = out->rows[sex];
    if (n == SF_REFERENCE_MAX_ROWS)
        return SF_FAIL(err, SF_E_LIMIT, csv->name, "more than %d rows for one sex", SF_REFERENCE_MAX_ROWS);
    out->age[sex][n] = cell[1] / MONTHS;
    out->l[sex][n] = cell[2];
    out->m[sex][n] = cell[3] * CM;
    out->s[sex][n] = cell[4];
    if (n > 0 && !(out->age[sex][n] > out->age[sex][n - 1]))
        return SF_FAIL(err, SF_E_INPUT, csv->name, "line %zu: ages must rise within a sex", csv->lines[row]);
    out->rows[sex]++;
    return SF_OK;
}

sf_Status sf_stature_reference_read(sf_StatureReference *out, const char *name, const char *text, size_t size,
                                    sf_Error *err)
{
    static const char *const titles[] = { "Sex", "Agemos", "L", "M", "S" };
    *out = (sf_StatureReference){ 0 };
    sf_Csv csv = { 0 };
    size_t column[5];
    sf_Status status;
    SF_TRY_DONE(sf_csv_read(&csv, name, text, size, err));
    for (int i = 0; i < 5; i++)
        SF_TRY_DONE(sf_csv_column(&csv, titles[i], &column[i], err));
    for (size_t row = 0; row < csv.rows; row++)
        SF_TRY_DONE(take_row(out, &csv, column, row, err));
    if (out->rows[SF_SEX_MALE] < 2 || out->rows[SF_SEX_FEMALE] < 2)
        status = SF_FAIL(err, SF_E_INPUT, name, "at least two rows for each sex are needed");
done:
    sf_csv_free(&csv);
    return status;
}

sf_Status sf_stature_reference_builtin(sf_StatureReference *out, sf_Error *err)
{
    return sf_stature_reference_read(out, "the stature reference", (const char *)sf_growth_lms_data,
                                     sf_growth_lms_data_size, err);
}

double sf_stature_reference_first_age(const sf_StatureReference *reference, sf_Sex sex)
{
    return reference->age[sex][0];
}

double sf_stature_reference_last_age(const sf_StatureReference *reference, sf_Sex sex)
{
    return reference->age[sex][reference->rows[sex] - 1];
}

sf_Lms sf_stature_reference_at(const sf_StatureReference *reference, sf_Sex sex, double age)
{
    const double *ages = reference->age[sex];
    size_t low = 0, high = reference->rows[sex] - 1;
    if (!(age > ages[0]))
        high = low;
    else if (age >= ages[high])
        low = high;
    while (high - low > 1) {
        size_t middle = (low + high) / 2;
        if (ages[middle] <= age)
            low = middle;
        else
            high = middle;
    }
    double share = high == low ? 0 : (age - ages[low]) / (ages[high] - ages[low]);
    const double *l = reference->l[sex], *m = reference->m[sex], *s = reference->s[sex];
    return (sf_Lms){ l[low] + share * (l[high] - l[low]), m[low] + share * (m[high] - m[low]),
                     s[low] + share * (s[high] - s[low]) };
}

double sf_lms_z(sf_Lms lms, double stature)
{
    double log_ratio = log(stature / lms.m);
    if (fabs(lms.l) < SF_REFERENCE_L_ZERO)
        return log_ratio / lms.s;
    return expm1(lms.l * log_ratio) / (lms.l * lms.s);
}

double sf_lms_stature(sf_Lms lms, double z)
{
    if (fabs(lms.l) < SF_REFERENCE_L_ZERO)
        return lms.m * exp(lms.s * z);
    return lms.m * exp(log(fmax(1 + lms.l * lms.s * z, LEAST_POWER_BASE)) / lms.l);
}

double sf_lms_slope(sf_Lms lms, double stature)
{
    return pow(stature / lms.m, lms.l - 1) / (lms.m * lms.s);
}
