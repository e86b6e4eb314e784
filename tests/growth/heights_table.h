// SPDX-License-Identifier: GPL-3.0-or-later
// Tables of many children's heights, for the tests.
#pragma once

#include "base/alloc.h"
#include "base/csv.h"
#include "base/file.h"
#include "growth/z_correlation.h"
#include "harness/tap.h"

#include <math.h>
#include <string.h>

enum { HEIGHTS_MAX_READINGS = 60, HEIGHTS_MAX_CHILDREN = 200 };

typedef struct HeightsChild {
    char id[16];
    sf_Sex sex;
    size_t n;
    double age[HEIGHTS_MAX_READINGS], stature[HEIGHTS_MAX_READINGS];
} HeightsChild;

typedef struct HeightsTable {
    size_t children;
    HeightsChild child[HEIGHTS_MAX_CHILDREN];
} HeightsTable;

/// Rows of one child follow one another; without a sex column all are boys.
static inline void heights_table_read(HeightsTable *table, const char *file, const char *id, const char *sex,
                                      const char *age, const char *cm)
{
    unsigned char *data = NULL;
    size_t size = 0, column[4] = { 0 };
    sf_Csv csv = { 0 };
    TAP_OK(sf_file_read(tap_data(file), 1 << 20, &data, &size, NULL));
    TAP_OK(sf_csv_read(&csv, file, (const char *)data, size, NULL));
    TAP_OK(sf_csv_column(&csv, id, &column[0], NULL));
    TAP_OK(sf_csv_column(&csv, age, &column[1], NULL));
    TAP_OK(sf_csv_column(&csv, cm, &column[2], NULL));
    if (sex)
        TAP_OK(sf_csv_column(&csv, sex, &column[3], NULL));
    table->children = 0;
    for (size_t row = 0; row < csv.rows; row++) {
        const char *name = sf_csv_cell(&csv, row, column[0]);
        HeightsChild *child = table->child + table->children - 1;
        if (table->children == 0 || strcmp(name, child->id) != 0) {
            child = &table->child[table->children++];
            *child = (HeightsChild){ .sex = SF_SEX_MALE };
            strncpy(child->id, name, sizeof child->id - 1);
            if (sex && strcmp(sf_csv_cell(&csv, row, column[3]), "2") == 0)
                child->sex = SF_SEX_FEMALE;
        }
        double height;
        TAP_STATUS(sf_csv_number(&csv, row, column[1], &child->age[child->n], NULL), SF_OK);
        TAP_STATUS(sf_csv_number(&csv, row, column[2], &height, NULL), SF_OK);
        child->stature[child->n++] = height * 0.01;
    }
    sf_csv_free(&csv);
    sf_free(data);
}

/// The reading at exactly that age, m, or NaN.
static inline double heights_at(const HeightsChild *child, double age)
{
    for (size_t i = 0; i < child->n; i++)
        if (fabs(child->age[i] - age) < 1e-6)
            return child->stature[i];
    return NAN;
}

static inline void heights_correlation_read(sf_ZCorrelation *fit, const char *file)
{
    unsigned char *data = NULL;
    size_t size = 0;
    TAP_OK(sf_file_read(tap_data(file), 1 << 20, &data, &size, NULL));
    TAP_OK(sf_z_correlation_read(fit, file, (const char *)data, size, NULL));
    sf_free(data);
}
