// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/alloc.h"
#include "base/csv.h"
#include "base/file.h"
#include "growth/stature_reference.h"
#include "harness/tap.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const double CM = 0.01;

/// Standard normal quantile by bisection on erfc: independent of the code under test.
static double normal_quantile(double share)
{
    double low = -9, high = 9;
    for (int i = 0; i < 200; i++) {
        double middle = (low + high) / 2;
        if (0.5 * erfc(-middle / sqrt(2)) < share)
            low = middle;
        else
            high = middle;
    }
    return (low + high) / 2;
}

TAP_CASE(published_centiles_come_back_on_every_row)
{
    static const char *const titles[] = { "P3", "P5", "P10", "P25", "P50", "P75", "P90", "P95", "P97" };
    static const double shares[] = { .03, .05, .10, .25, .50, .75, .90, .95, .97 };
    char path[600];
    snprintf(path, sizeof path, "%s/data/growth/cdc_stature_for_age_lms.csv", getenv("TAP_ROOT"));
    unsigned char *data = NULL;
    size_t size = 0, column[9], sex, months;
    sf_Csv csv = { 0 };
    sf_StatureReference reference;
    TAP_OK(sf_stature_reference_builtin(&reference, NULL));
    TAP_OK(sf_file_read(path, 1 << 20, &data, &size, NULL));
    TAP_OK(sf_csv_read(&csv, "centiles", (const char *)data, size, NULL));
    TAP_OK(sf_csv_column(&csv, "Sex", &sex, NULL));
    TAP_OK(sf_csv_column(&csv, "Agemos", &months, NULL));
    double worst = 0, worst_back = 0;
    for (int c = 0; c < 9; c++) {
        TAP_OK(sf_csv_column(&csv, titles[c], &column[c], NULL));
        double z = normal_quantile(shares[c]);
        for (size_t row = 0; row < csv.rows; row++) {
            double s, age, cm;
            TAP_STATUS(sf_csv_number(&csv, row, sex, &s, NULL) | sf_csv_number(&csv, row, months, &age, NULL) |
                           sf_csv_number(&csv, row, column[c], &cm, NULL),
                       SF_OK);
            sf_Lms lms = sf_stature_reference_at(&reference, s == 1 ? SF_SEX_MALE : SF_SEX_FEMALE, age / 12);
            worst = fmax(worst, fabs(sf_lms_stature(lms, z) / CM - cm));
            worst_back = fmax(worst_back, fabs(sf_lms_z(lms, cm * CM) - z));
        }
    }
    TAP_TRUE(csv.rows == 436);
    TAP_NEAR(worst, 0, TAP_TOLERANCE("0.05 cm on every published centile", 0, 0.05),
             TAP_SOURCE("CDC 2000 growth charts, statage.csv, Kuczmarski et al. 2002, centile columns"));
    TAP_NEAR(worst, 0, TAP_TOLERANCE("printed digits", 0, 1e-5),
             TAP_SOURCE("CDC 2000 growth charts, statage.csv, Kuczmarski et al. 2002, centile columns"));
    TAP_NEAR(worst_back, 0, TAP_TOLERANCE("printed digits as z", 0, 1e-6), TAP_CLOSED_FORM);
    sf_csv_free(&csv);
    sf_free(data);
}

TAP_CASE(where_the_power_vanishes_the_logarithm_takes_over_without_a_step)
{
    sf_Lms a = { 1e-9, 1.2, 0.04 }, b = { 1e-5, 1.2, 0.04 }, c = { -1e-5, 1.2, 0.04 };
    TAP_NEAR(sf_lms_z(a, 1.3), log(1.3 / 1.2) / 0.04, TAP_TIGHT, TAP_CLOSED_FORM);
    TAP_NEAR(sf_lms_z(b, 1.3), sf_lms_z(a, 1.3), TAP_TOLERANCE("first order in L", 1e-5, 0), TAP_CLOSED_FORM);
    TAP_NEAR(sf_lms_z(c, 1.3), sf_lms_z(a, 1.3), TAP_TOLERANCE("first order in L", 1e-5, 0), TAP_CLOSED_FORM);
    TAP_NEAR(sf_lms_stature(b, sf_lms_z(b, 1.3)), 1.3, TAP_TIGHT, TAP_CLOSED_FORM);
    double step = 1e-6;
    TAP_NEAR(sf_lms_slope(b, 1.3), (sf_lms_z(b, 1.3 + step) - sf_lms_z(b, 1.3 - step)) / (2 * step),
             TAP_TOLERANCE("central difference", 1e-6, 0), TAP_CLOSED_FORM);
}

TAP_CASE(ages_between_rows_are_linear_and_ends_are_held)
{
    sf_StatureReference r;
    TAP_OK(sf_stature_reference_builtin(&r, NULL));
    sf_Lms a = sf_stature_reference_at(&r, SF_SEX_FEMALE, 100.5 / 12),
           b = sf_stature_reference_at(&r, SF_SEX_FEMALE, 101.5 / 12);
    TAP_NEAR(sf_stature_reference_at(&r, SF_SEX_FEMALE, 101.0 / 12).m, (a.m + b.m) / 2, TAP_TIGHT, TAP_CLOSED_FORM);
    TAP_NEAR(sf_stature_reference_at(&r, SF_SEX_MALE, 0).m, r.m[SF_SEX_MALE][0], TAP_EXACT, TAP_CLOSED_FORM);
    TAP_NEAR(sf_stature_reference_at(&r, SF_SEX_MALE, 60).m, r.m[SF_SEX_MALE][r.rows[SF_SEX_MALE] - 1], TAP_EXACT,
             TAP_CLOSED_FORM);
    TAP_NEAR(sf_stature_reference_first_age(&r, SF_SEX_MALE), 2, TAP_EXACT, TAP_SOURCE("CDC 2000: 24 to 240 months"));
    TAP_NEAR(sf_stature_reference_last_age(&r, SF_SEX_FEMALE), 20, TAP_EXACT, TAP_SOURCE("CDC 2000: 24 to 240 months"));
}

TAP_CASE(bad_tables_are_refused_with_the_line)
{
    static const char head[] = "Sex,Agemos,L,M,S\n";
    static const char *const bad[][2] = { { "1,24,1,86,0.04\n1,23,1,87,0.04\n", "rise" },
                                          { "3,24,1,86,0.04\n", "Sex" },
                                          { "1,24,1,-86,0.04\n", "above 0" },
                                          { "1,24,1,86,0.04\n1,25,1,87,0.04\n", "two rows" },
                                          { "1,24,1,86\n", "line 2" } };
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        char text[200];
        sf_Error err = { 0 };
        sf_StatureReference r;
        snprintf(text, sizeof text, "%s%s", head, bad[i][0]);
        TAP_TRUE(sf_stature_reference_read(&r, "table", text, strlen(text), &err) != SF_OK);
        TAP_HOLDS(err.text, bad[i][1]);
    }
}

TAP_MAIN(TAP_RUN(published_centiles_come_back_on_every_row),
         TAP_RUN(where_the_power_vanishes_the_logarithm_takes_over_without_a_step),
         TAP_RUN(ages_between_rows_are_linear_and_ends_are_held), TAP_RUN(bad_tables_are_refused_with_the_line))
