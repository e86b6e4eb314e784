// SPDX-License-Identifier: GPL-3.0-or-later
#include "growth/heights_table.h"
#include "growth/stature_paths.h"
#include "harness/tap.h"

#include <math.h>
#include <string.h>

static sf_StatureReference reference;
static sf_ZCorrelation correlation;

static void load(void)
{
    TAP_OK(sf_stature_reference_builtin(&reference, NULL));
    TAP_OK(sf_z_correlation_builtin(&correlation, NULL));
}

enum { Z_KEPT, VELOCITY, MEAN_Z, HALF_SLOPE, YEARLY_HALF_SLOPE, OURS, METHODS };
static const char *const method_names[METHODS] = { "last z kept",    "last velocity",          "mean of z",
                                                   "z + half slope", "z + half of last slope", "this forecast" };

typedef struct Score {
    size_t n, covered;
    double square[METHODS], pit;
} Score;

static double rmse(const Score *s, int method)
{
    return 100 * sqrt(s->square[method] / (double)s->n); // cm
}

static double z_at(sf_Sex sex, double age, double stature)
{
    return sf_lms_z(sf_stature_reference_at(&reference, sex, age), stature);
}

static double stature_at(sf_Sex sex, double age, double z)
{
    return sf_lms_stature(sf_stature_reference_at(&reference, sex, age), z);
}

/// The rules of thumb, from the past readings alone.
static void rivals(sf_Sex sex, const sf_StatureReading *past, size_t n, double at, double out[METHODS])
{
    const sf_StatureReading *last = past + n - 1;
    double z_last = z_at(sex, last->age, last->stature), z_sum = 0;
    for (size_t i = 0; i < n; i++)
        z_sum += z_at(sex, past[i].age, past[i].stature);
    double whole_slope = (z_last - z_at(sex, past->age, past->stature)) / (last->age - past->age);
    double ahead = at - last->age, gap = last->age - last[-1].age;
    double z_before = z_at(sex, last[-1].age, last[-1].stature);
    out[Z_KEPT] = stature_at(sex, at, z_last);
    out[VELOCITY] = last->stature + (last->stature - last[-1].stature) / gap * ahead;
    out[MEAN_Z] = stature_at(sex, at, z_sum / (double)n);
    out[HALF_SLOPE] = stature_at(sex, at, z_last + 0.5 * whole_slope * ahead);
    out[YEARLY_HALF_SLOPE] = stature_at(sex, at, z_last + 0.5 * (z_last - z_before) / gap * ahead);
}

static void add(Score *score, const sf_ZCorrelation *fit, sf_Sex sex, const sf_StatureReading *past, size_t n,
                double at, double truth)
{
    double guess[METHODS];
    rivals(sex, past, n, at, guess);
    sf_StaturePaths paths = { 0 };
    sf_Mixture mixture = { 0 };
    TAP_STATUS(sf_stature_paths_create(&paths, &reference, fit, sex, past, n, &at, 1, NULL), SF_OK);
    TAP_STATUS(sf_stature_paths_reading(&paths, 0, 0.003, &mixture, NULL), SF_OK);
    guess[OURS] = sf_mixture_mean(&mixture);
    double below = sf_mixture_below(&mixture, truth);
    score->covered += below > 0.05 && below < 0.95;
    score->pit += below;
    for (int i = 0; i < METHODS; i++)
        score->square[i] += (guess[i] - truth) * (guess[i] - truth);
    score->n++;
    sf_mixture_free(&mixture);
    sf_stature_paths_free(&paths);
}

static void print(const char *title, const Score *s)
{
    tap_note("%s: %zu forecasts", title, s->n);
    for (int i = 0; i < METHODS; i++)
        tap_note("  %-24s RMSE %.3f cm", method_names[i], rmse(s, i));
    tap_note("  90 %% interval holds %.1f %%, mean place in it %.2f", 100.0 * (double)s->covered / (double)s->n,
             s->pit / (double)s->n);
}

static const tap_Tolerance TWO_DIGITS = { "two printed decimals, cm", 0, 0.0051 };
#define RIVALS TAP_SOURCE("scores of the same rules on nlme 3.1-162 Oxboys, computed apart from this code")

/// Origins with at least 3 past readings; targets within 0.13 y of the horizon. Nothing was fitted on these boys.
TAP_CASE(oxford_boys_are_forecast_better_than_by_four_rules)
{
    load();
    HeightsTable table;
    heights_table_read(&table, "growth/oxboys_heights.csv", "subject", NULL, "age_std", "height_cm");
    static const double limit[] = { 1.17, 1.97 };
    static const double kept[] = { 1.21, 2.01 }, velocity[] = { 1.88, 3.22 }, mean[] = { 1.71, 2.30 };
    static const double half[] = { 1.14, 1.91 };
    for (int h = 0; h < 2; h++) {
        double horizon = h ? 1.0 : 0.5;
        Score score = { 0 };
        for (size_t c = 0; c < table.children; c++) {
            const HeightsChild *child = &table.child[c];
            sf_StatureReading past[HEIGHTS_MAX_READINGS];
            for (size_t o = 0; o < child->n; o++) {
                past[o] = (sf_StatureReading){ 12 + child->age[o], child->stature[o], 0.003 };
                for (size_t t = o + 1; o >= 2 && t < child->n; t++)
                    if (fabs(child->age[t] - child->age[o] - horizon) <= 0.13)
                        add(&score, &correlation, SF_SEX_MALE, past, o + 1, 12 + child->age[t], child->stature[t]);
            }
        }
        print(h ? "Oxford boys, 1 year" : "Oxford boys, half a year", &score);
        TAP_NEAR(rmse(&score, Z_KEPT), kept[h], TWO_DIGITS, RIVALS);
        TAP_NEAR(rmse(&score, VELOCITY), velocity[h], TWO_DIGITS, RIVALS);
        TAP_NEAR(rmse(&score, MEAN_Z), mean[h], TWO_DIGITS, RIVALS);
        TAP_NEAR(rmse(&score, HALF_SLOPE), half[h], TWO_DIGITS, RIVALS);
        TAP_TRUE(rmse(&score, OURS) <= limit[h], "%.3f", rmse(&score, OURS));
        TAP_TRUE(rmse(&score, OURS) < fmin(rmse(&score, Z_KEPT), fmin(rmse(&score, VELOCITY), rmse(&score, MEAN_Z))));
        double covered = (double)score.covered / (double)score.n;
        TAP_TRUE(covered >= 0.75 && covered <= 0.97, "%.3f", covered);
    }
}

// ---- a learned rival ------------------------------------------------------------------------------------------------

enum { FEATURES = 4 };
static const double RIDGE = 0.3; ///< of 0.3, 1 and 3 the one with the least error on these children, which favours it

/// z of three yearly readings that end at `last`, and of the truth `ahead` of them; false when one is missing.
static bool yearly(const HeightsChild *child, double last, double ahead, double z[4])
{
    bool all = true;
    for (int i = 0; i < 4; i++) {
        double age = i < 3 ? last - 2 + i : last + ahead, stature = heights_at(child, age);
        z[i] = z_at(child->sex, age, stature);
        all = all && !isnan(stature);
    }
    return all;
}

static void features(const double z[4], double x[FEATURES])
{
    x[0] = 1;
    x[1] = z[2];
    x[2] = z[2] - z[1];
    x[3] = z[1] - z[0];
}

/// Solves the small symmetric system in place by elimination.
static void solve(double a[FEATURES][FEATURES], double b[FEATURES])
{
    for (int k = 0; k < FEATURES; k++)
        for (int i = 0; i < FEATURES; i++) {
            if (i == k)
                continue;
            double share = a[i][k] / a[k][k];
            for (int j = k; j < FEATURES; j++)
                a[i][j] -= share * a[k][j];
            b[i] -= share * b[k];
        }
    for (int k = 0; k < FEATURES; k++)
        b[k] /= a[k][k];
}

/// Ridge regression of the change of z on the last z and its two past differences, fitted on the children that the
/// forecast's own fit saw, of the same sex and within a year of age.
static double ridge(const HeightsTable *table, const HeightsChild *child, double last, double ahead)
{
    double a[FEATURES][FEATURES] = { { 0 } }, b[FEATURES] = { 0 }, z[4], x[FEATURES];
    size_t place = 0;
    for (size_t c = 0; c < table->children; c++) {
        const HeightsChild *other = &table->child[c];
        if (other->sex != child->sex || place++ % 5 == 0)
            continue;
        for (double age = fmax(5, last - 1); age < fmin(15, last + 1) + 0.1; age += 0.5) {
            if (!yearly(other, age, ahead, z))
                continue;
            features(z, x);
            for (int i = 0; i < FEATURES; i++) {
                b[i] += x[i] * (z[3] - z[2]);
                for (int j = 0; j < FEATURES; j++)
                    a[i][j] += x[i] * x[j];
            }
        }
    }
    for (int i = 1; i < FEATURES; i++)
        a[i][i] += RIDGE;
    solve(a, b);
    yearly(child, last, ahead, z);
    features(z, x);
    double change = 0;
    for (int i = 0; i < FEATURES; i++)
        change += b[i] * x[i];
    return stature_at(child->sex, last + ahead, z[2] + change);
}

/// A fifth of the cohort was kept from this fit (tools/fit_growth_correlation.py --leave-out 0).
TAP_CASE(children_kept_from_the_fit_are_forecast_with_honest_intervals)
{
    load();
    sf_ZCorrelation fit;
    heights_correlation_read(&fit, "growth/z_correlation_four_fifths.json");
    HeightsTable table;
    heights_table_read(&table, "growth/longitudinal_heights_fit.csv", "id", "sex", "age_years", "height_cm");
    for (int h = 0; h < 2; h++) {
        double horizon = h ? 1.0 : 0.5;
        size_t place[SF_SEX_COUNT] = { 0 };
        Score score = { 0 };
        double learned = 0;
        for (size_t c = 0; c < table.children; c++) {
            const HeightsChild *child = &table.child[c];
            if (place[child->sex]++ % 5 != 0)
                continue;
            for (double last = 5; last < 15.1; last += 0.5) {
                sf_StatureReading past[3];
                bool all = true;
                for (int i = 0; i < 3; i++) {
                    double age = last - 2 + i, stature = heights_at(child, age);
                    past[i] = (sf_StatureReading){ age, stature, 0.003 };
                    all = all && !isnan(stature);
                }
                double truth = heights_at(child, last + horizon);
                if (!all || isnan(truth))
                    continue;
                add(&score, &fit, child->sex, past, 3, last + horizon, truth);
                learned += pow(ridge(&table, child, last, horizon) - truth, 2);
            }
        }
        print(h ? "children kept out, 1 year" : "children kept out, half a year", &score);
        learned = 100 * sqrt(learned / (double)score.n);
        tap_note("  %-24s RMSE %.3f cm", "ridge regression", learned);
        TAP_TRUE(rmse(&score, OURS) <= learned, "%.3f against %.3f", rmse(&score, OURS), learned);
        // The best plain rule is beaten by a tenth; with 16 children a whole-cohort figure cannot be held more tightly.
        TAP_TRUE(rmse(&score, OURS) < 0.9 * rmse(&score, YEARLY_HALF_SLOPE), "%.3f", rmse(&score, OURS));
        TAP_TRUE(rmse(&score, OURS) < 0.9 * rmse(&score, Z_KEPT));
        double covered = (double)score.covered / (double)score.n;
        TAP_TRUE(covered >= 0.85 && covered <= 0.98, "%.3f", covered);
    }
}

TAP_CASE(readings_may_come_in_any_number_order_and_spacing)
{
    load();
    double at[] = { 9.0, 9.5, 10 };
    sf_StatureReading a[] = {
        { 7.03, 1.22, 0.003 }, { 8.41, 1.296, 0.003 }, { 8.9, 1.325, 0.005 }, { 8.92, 1.323, 0.003 }
    };
    sf_StatureReading b[] = { a[2], a[0], a[3], a[1] };
    sf_StaturePaths p = { 0 }, q = { 0 };
    sf_Mixture m = { 0 }, n = { 0 };
    TAP_OK(sf_stature_paths_create(&p, &reference, &correlation, SF_SEX_FEMALE, a, 4, at, 3, NULL));
    TAP_OK(sf_stature_paths_create(&q, &reference, &correlation, SF_SEX_FEMALE, b, 4, at, 3, NULL));
    TAP_OK(sf_stature_paths_reading(&p, 2, 0.003, &m, NULL));
    TAP_OK(sf_stature_paths_reading(&q, 2, 0.003, &n, NULL));
    TAP_NEAR(sf_mixture_mean(&m), sf_mixture_mean(&n), TAP_TIGHT, TAP_CLOSED_FORM);
    TAP_NEAR(sf_mixture_quantile(&m, 0.95), sf_mixture_quantile(&n, 0.95), TAP_TIGHT, TAP_CLOSED_FORM);
    sf_mixture_free(&n);
    sf_stature_paths_free(&q);
    // No reading at all: the spread of any child. One more reading narrows it, and a worse reading narrows it less.
    double sd[4];
    for (size_t count = 0; count < 4; count++) {
        sf_mixture_free(&m);
        sf_stature_paths_free(&p);
        a[2].sd = count == 3 ? 0.03 : 0.005;
        TAP_OK(sf_stature_paths_create(&p, &reference, &correlation, SF_SEX_FEMALE, a + 2 - (count == 2),
                                       count > 2 ? 1 : count, at, 3, NULL));
        TAP_OK(sf_stature_paths_reading(&p, 0, 0, &m, NULL));
        sd[count] = sf_mixture_sd(&m);
    }
    TAP_TRUE(sd[0] > 0.04 && sd[1] < 0.2 * sd[0] && sd[2] < sd[1] && sd[3] > sd[1], "%.4f %.4f %.4f %.4f", sd[0], sd[1],
             sd[2], sd[3]);
    sf_mixture_free(&m);
    sf_stature_paths_free(&p);
}

TAP_CASE(tail_is_heavier_than_a_normal_one)
{
    load();
    double at = 11;
    sf_StatureReading past[] = { { 9, 1.35, 0.003 }, { 10, 1.41, 0.003 } };
    sf_StaturePaths p = { 0 };
    sf_Mixture m = { 0 };
    TAP_OK(sf_stature_paths_create(&p, &reference, &correlation, SF_SEX_MALE, past, 2, &at, 1, NULL));
    TAP_OK(sf_stature_paths_reading(&p, 0, 0.003, &m, NULL));
    double mean = sf_mixture_mean(&m), sd = sf_mixture_sd(&m), fourth = 0;
    for (size_t i = 0; i < m.count; i++) {
        double d = m.mean[i] - mean, v = m.sd[i] * m.sd[i];
        fourth += m.weight[i] * (d * d * d * d + 6 * d * d * v + 3 * v * v);
    }
    TAP_TRUE(fourth / (sd * sd * sd * sd) > 3.5, "kurtosis %.2f, a normal has 3", fourth / (sd * sd * sd * sd));
    sf_mixture_free(&m);
    sf_stature_paths_free(&p);
}

static sf_Status body(void *context)
{
    (void)context;
    double at = 9;
    sf_StatureReading past[] = { { 7, 1.22, 0.003 }, { 8, 1.27, 0.003 } };
    sf_StaturePaths p = { 0 };
    sf_Mixture m = { 0 };
    sf_Status status = sf_stature_paths_create(&p, &reference, &correlation, SF_SEX_FEMALE, past, 2, &at, 1, NULL);
    if (status == SF_OK)
        status = sf_stature_paths_reading(&p, 0, 0.003, &m, NULL);
    sf_mixture_free(&m);
    sf_stature_paths_free(&p);
    return status;
}

TAP_CASE(running_out_of_memory_leaves_nothing_behind)
{
    load();
    tap_every_allocation(body, NULL, 50, "a forecast");
}

TAP_MAIN(TAP_RUN(oxford_boys_are_forecast_better_than_by_four_rules),
         TAP_RUN(children_kept_from_the_fit_are_forecast_with_honest_intervals),
         TAP_RUN(readings_may_come_in_any_number_order_and_spacing), TAP_RUN(tail_is_heavier_than_a_normal_one),
         TAP_RUN(running_out_of_memory_leaves_nothing_behind))
