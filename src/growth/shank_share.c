// SPDX-License-Identifier: GPL-3.0-or-later
#include "growth/shank_share.h"

#include "base/csv.h"
#include "growth/builtin.h"

static const double HALF_YEAR = 0.5;

static sf_Status take_row(sf_ShankShare *out, const sf_Csv *csv, const size_t column[3], size_t row, sf_Error *err)
{
    double cell[3];
    for (int i = 0; i < 3; i++)
        SF_TRY(sf_csv_number(csv, row, column[i], &cell[i], err));
    if ((cell[0] != 1 && cell[0] != 2) || !(cell[2] >= 0 && cell[2] < 1))
        return SF_FAIL(err, SF_E_INPUT, csv->name, "line %zu: sex is 1 or 2 and a share lies in [0, 1)",
                       csv->lines[row]);
    int sex = cell[0] == 1 ? SF_SEX_MALE : SF_SEX_FEMALE;
    size_t n = out->rows[sex];
    if (n == SF_SHARE_MAX_ROWS)
        return SF_FAIL(err, SF_E_LIMIT, csv->name, "more than %d rows for one sex", SF_SHARE_MAX_ROWS);
    out->age[sex][n] = cell[1] + HALF_YEAR;
    out->tibia[sex][n] = cell[2];
    if (n > 0 && !(out->age[sex][n] > out->age[sex][n - 1]))
        return SF_FAIL(err, SF_E_INPUT, csv->name, "line %zu: ages must rise within a sex", csv->lines[row]);
    out->rows[sex]++;
    return SF_OK;
}

sf_Status sf_shank_share_read(sf_ShankShare *out, const char *name, const char *text, size_t size, sf_Error *err)
{
    static const char *const titles[] = { "sex", "age_from_years", "share" };
    *out = (sf_ShankShare){ 0 };
    sf_Csv csv = { 0 };
    size_t column[3];
    sf_Status status;
    SF_TRY_DONE(sf_csv_read(&csv, name, text, size, err));
    for (int i = 0; i < 3; i++)
        SF_TRY_DONE(sf_csv_column(&csv, titles[i], &column[i], err));
    for (size_t row = 0; row < csv.rows; row++)
        SF_TRY_DONE(take_row(out, &csv, column, row, err));
    if (out->rows[SF_SEX_MALE] < 1 || out->rows[SF_SEX_FEMALE] < 1)
        status = SF_FAIL(err, SF_E_INPUT, name, "at least one row for each sex is needed");
done:
    sf_csv_free(&csv);
    return status;
}

sf_Status sf_shank_share_builtin(sf_ShankShare *out, sf_Error *err)
{
    return sf_shank_share_read(out, "the tibia's share of growth", (const char *)sf_growth_share_data,
                               sf_growth_share_data_size, err);
}

double sf_shank_share_tibia(const sf_ShankShare *share, sf_Sex sex, double age)
{
    const double *ages = share->age[sex], *tibia = share->tibia[sex];
    size_t last = share->rows[sex] - 1;
    if (!(age > ages[0]))
        return tibia[0];
    for (size_t i = 0; i < last; i++)
        if (age < ages[i + 1])
            return tibia[i] + (tibia[i + 1] - tibia[i]) * (age - ages[i]) / (ages[i + 1] - ages[i]);
    return tibia[last];
}

double sf_shank_share_below_knee(const sf_ShankShare *share, sf_Sex sex, double age)
{
    return sf_shank_share_tibia(share, sex, age) + SF_ANKLE_SHARE;
}
