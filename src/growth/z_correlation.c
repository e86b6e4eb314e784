// SPDX-License-Identifier: GPL-3.0-or-later
#include "growth/z_correlation.h"

#include "base/doc.h"
#include "growth/builtin.h"

#include <math.h>

/// Reads an array of exactly `count` numbers; notes a problem otherwise.
static void take_row(sf_DocNode node, double low, double high, size_t count, double *out)
{
    if (sf_doc_length(node) != count)
        sf_doc_problem(node, "must hold %zu numbers", count);
    for (size_t i = 0; i < count; i++)
        if (!sf_doc_number(sf_doc_item(node, i), low, high, &out[i]))
            sf_doc_need(sf_doc_item(node, i), "the growth forecast needs it");
}

static double take(sf_DocNode object, const char *key, double low, double high)
{
    double value = low;
    if (!sf_doc_number(sf_doc_member(object, key), low, high, &value))
        sf_doc_need(sf_doc_member(object, key), "the growth forecast needs it");
    return value;
}

static void take_sex(sf_ZCorrelation *out, sf_DocNode node, int sex, double width)
{
    double sd[SF_Z_MAX_AGES] = { 0 };
    take_row(sf_doc_member(node, "mean_z"), -5, 5, out->ages, out->mean[sex]);
    take_row(sf_doc_member(node, "sd_z"), 0, 5, out->ages, sd);
    sf_DocNode rows = sf_doc_member(node, "correlation");
    for (size_t i = 0; i < out->ages; i++) {
        take_row(sf_doc_item(rows, i), -1, 1, out->ages, out->covariance[sex][i]);
        for (size_t j = 0; j < out->ages; j++)
            out->covariance[sex][i][j] *= sd[i] * sd[j] * width * width;
    }
}

static void take_all(sf_ZCorrelation *out, sf_DocNode root)
{
    sf_DocNode ages = sf_doc_member(root, "ages_years"), factors = sf_doc_member(root, "reading_factors");
    sf_DocNode scales = sf_doc_member(root, "tail_scales");
    out->ages = sf_doc_length(ages);
    out->reading_factors = sf_doc_length(factors);
    out->tail_scales = sf_doc_length(scales);
    out->tempo_steps = (size_t)take(root, "tempo_steps", 1, SF_Z_MAX_TEMPO_STEPS);
    if (out->ages < 2 || out->ages > SF_Z_MAX_AGES || out->reading_factors < 1 ||
        out->reading_factors > SF_Z_MAX_READING_FACTORS || out->tail_scales < 1 ||
        out->tail_scales > SF_Z_MAX_TAIL_SCALES) {
        sf_doc_problem(root, "2 to %d ages, 1 to %d reading factors and 1 to %d tail scales are needed", SF_Z_MAX_AGES,
                       SF_Z_MAX_READING_FACTORS, SF_Z_MAX_TAIL_SCALES);
        return;
    }
    take_row(ages, 0, 30, out->ages, out->age);
    for (size_t i = 1; i < out->ages; i++)
        if (!(out->age[i] > out->age[i - 1]))
            sf_doc_problem(sf_doc_item(ages, i), "ages must rise");
    take_row(factors, 0.01, 10, out->reading_factors, out->reading_factor);
    take_row(sf_doc_member(root, "reading_weights"), 0, 1, out->reading_factors, out->reading_weight);
    take_row(scales, 0.1, 20, out->tail_scales, out->tail_scale);
    out->tempo_sd = take(root, "tempo_sd", 0, 0.3);
    double width = take(root, "width_factor", 0.5, 3);
    take_sex(out, sf_doc_member(root, "male"), SF_SEX_MALE, width);
    take_sex(out, sf_doc_member(root, "female"), SF_SEX_FEMALE, width);
}

sf_Status sf_z_correlation_read(sf_ZCorrelation *out, const char *name, const char *text, size_t size, sf_Error *err)
{
    *out = (sf_ZCorrelation){ 0 };
    sf_Doc *doc = NULL;
    SF_TRY(sf_doc_parse(&doc, name, text, size, err));
    take_all(out, sf_doc_root(doc));
    sf_Status status = sf_doc_verdict(doc, err);
    sf_doc_destroy(&doc);
    return status;
}

sf_Status sf_z_correlation_builtin(sf_ZCorrelation *out, sf_Error *err)
{
    return sf_z_correlation_read(out, "the correlation of z over the ages", (const char *)sf_growth_correlation_data,
                                 sf_growth_correlation_data_size, err);
}

/// The fitted age at or below `age`, and how far `age` lies towards the next (0 to 1).
static size_t place(const sf_ZCorrelation *z, double age, double *share)
{
    size_t i = 0;
    while (i + 2 < z->ages && age >= z->age[i + 1])
        i++;
    *share = fmin(fmax((age - z->age[i]) / (z->age[i + 1] - z->age[i]), 0), 1);
    return i;
}

double sf_z_correlation_mean(const sf_ZCorrelation *z, sf_Sex sex, double age)
{
    double t;
    size_t i = place(z, age, &t);
    return (1 - t) * z->mean[sex][i] + t * z->mean[sex][i + 1];
}

double sf_z_correlation_covariance(const sf_ZCorrelation *z, sf_Sex sex, double age_1, double age_2)
{
    double t, u;
    size_t i = place(z, age_1, &t), j = place(z, age_2, &u);
    const double(*k)[SF_Z_MAX_AGES] = z->covariance[sex];
    return (1 - t) * ((1 - u) * k[i][j] + u * k[i][j + 1]) + t * ((1 - u) * k[i + 1][j] + u * k[i + 1][j + 1]);
}
