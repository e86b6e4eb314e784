// SPDX-License-Identifier: GPL-3.0-or-later
#include "growth/stature_paths.h"

#include "base/alloc.h"
#include "num/cholesky.h"

#include <math.h>

static const double TEMPO_REACH = 2.5;   ///< tempo steps spread over so many standard deviations either way
static const double PIVOT_FLOOR = 1e-14; ///< of the diagonal: reading errors keep pivots far above

/// One set of readings and nodes seen on one clock.
typedef struct Clock {
    size_t n, m;      ///< readings, nodes
    double *tau_n;    ///< own ages of the readings
    double *tau_m;    ///< own ages of the nodes
    double *off;      ///< z of each reading less the mean
    double *slope;    ///< dz/dh of each reading
    double *k_nn;     ///< n x n
    double *k_mn;     ///< m x n
    double *k_mm;     ///< m x m
    double *factor_l; ///< n x n scratch
    double *a;        ///< n scratch
    double *q;        ///< m x n scratch
    double *node_slope;
} Clock;

static sf_Status clock_create(Clock *c, size_t n, size_t m, sf_Error *err)
{
    size_t total = 4 * n + 2 * m + 2 * n * n + 2 * m * n + m * m;
    double *block = sf_alloc(total + 1, sizeof(double));
    if (!block)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory for a growth forecast of %zu readings", n);
    *c = (Clock){ .n = n, .m = m };
    double **parts[] = { &c->tau_n, &c->off,      &c->slope, &c->a, &c->tau_m, &c->node_slope,
                         &c->k_nn,  &c->factor_l, &c->k_mn,  &c->q, &c->k_mm };
    size_t sizes[] = { n, n, n, n, m, m, n * n, n * n, m * n, m * n, m * m };
    for (size_t i = 0; i < sizeof sizes / sizeof *sizes; i++) {
        *parts[i] = block;
        block += sizes[i];
    }
    return SF_OK;
}

static void clock_free(Clock *c)
{
    sf_free(c->tau_n); // the block's start
}

static void clock_set(Clock *c, const sf_StatureReference *reference, const sf_ZCorrelation *correlation, sf_Sex sex,
                      const sf_StatureReading *readings, const double *ages, double tempo)
{
    double rate = exp(tempo);
    for (size_t i = 0; i < c->n; i++) {
        c->tau_n[i] = readings[i].age * rate;
        sf_Lms lms = sf_stature_reference_at(reference, sex, c->tau_n[i]);
        c->off[i] = sf_lms_z(lms, readings[i].stature) - sf_z_correlation_mean(correlation, sex, c->tau_n[i]);
        c->slope[i] = sf_lms_slope(lms, readings[i].stature);
        for (size_t j = 0; j <= i; j++)
            c->k_nn[i * c->n + j] = sf_z_correlation_covariance(correlation, sex, c->tau_n[i], c->tau_n[j]);
    }
    for (size_t i = 0; i < c->m; i++) {
        c->tau_m[i] = ages[i] * rate;
        for (size_t j = 0; j < c->n; j++)
            c->k_mn[i * c->n + j] = sf_z_correlation_covariance(correlation, sex, c->tau_m[i], c->tau_n[j]);
        for (size_t j = 0; j <= i; j++)
            c->k_mm[i * c->m + j] = c->k_mm[j * c->m + i] =
                sf_z_correlation_covariance(correlation, sex, c->tau_m[i], c->tau_m[j]);
    }
}

/// Conditions one clock on the readings with their errors times `factor` and fills strand number `s`.
static sf_Status condition(sf_StaturePaths *paths, size_t s, Clock *c, const sf_StatureReference *reference,
                           const sf_ZCorrelation *correlation, sf_Sex sex, const sf_StatureReading *readings,
                           double factor, double log_prior, sf_Error *err)
{
    size_t n = c->n, m = c->m;
    double log_weight = log_prior, misfit = 0;
    for (size_t i = 0; i < n; i++) {
        for (size_t j = 0; j <= i; j++)
            c->factor_l[i * n + j] = c->k_nn[i * n + j];
        double error = c->slope[i] * fmax(readings[i].sd * factor, SF_READING_FLOOR);
        c->factor_l[i * n + i] += error * error;
        c->a[i] = c->off[i];
        log_weight += log(c->slope[i]); // densities of statures, not of z: clocks must be comparable
    }
    SF_TRY(sf_cholesky_factor(c->factor_l, n, PIVOT_FLOOR, err));
    sf_cholesky_forward(c->factor_l, n, c->a);
    for (size_t i = 0; i < n; i++)
        misfit += c->a[i] * c->a[i];
    paths->log_weight[s] = log_weight - sf_cholesky_half_log_det(c->factor_l, n);
    paths->misfit[s] = misfit;
    double *mean = paths->mean + s * m, *covariance = paths->covariance + s * m * m;
    for (size_t i = 0; i < m; i++) {
        double *q = c->q + i * n, z = sf_z_correlation_mean(correlation, sex, c->tau_m[i]);
        for (size_t j = 0; j < n; j++)
            q[j] = c->k_mn[i * n + j];
        sf_cholesky_forward(c->factor_l, n, q);
        for (size_t j = 0; j < n; j++)
            z += q[j] * c->a[j];
        sf_Lms lms = sf_stature_reference_at(reference, sex, c->tau_m[i]);
        mean[i] = sf_lms_stature(lms, z);
        c->node_slope[i] = sf_lms_slope(lms, mean[i]);
        for (size_t j = 0; j <= i; j++) {
            double value = c->k_mm[i * m + j];
            for (size_t k = 0; k < n; k++)
                value -= q[k] * c->q[j * n + k];
            covariance[i * m + j] = covariance[j * m + i] = value / (c->node_slope[i] * c->node_slope[j]);
        }
    }
    return SF_OK;
}

static sf_Status paths_allocate(sf_StaturePaths *p, size_t nodes, size_t strands, sf_Error *err)
{
    size_t total = nodes + strands * (4 + nodes + nodes * nodes);
    p->age = sf_alloc(total + 1, sizeof(double));
    if (!p->age)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory for a growth forecast of %zu dates", nodes);
    p->nodes = nodes;
    p->strands = strands;
    p->log_weight = p->age + nodes;
    p->misfit = p->log_weight + strands;
    p->tempo = p->misfit + strands;
    p->factor = p->tempo + strands;
    p->mean = p->factor + strands;
    p->covariance = p->mean + strands * nodes;
    return SF_OK;
}

sf_Status sf_stature_paths_create(sf_StaturePaths *paths, const sf_StatureReference *reference,
                                  const sf_ZCorrelation *correlation, sf_Sex sex, const sf_StatureReading *readings,
                                  size_t count, const double *ages, size_t nodes, sf_Error *err)
{
    *paths = (sf_StaturePaths){ .readings = count, .tail_scales = correlation->tail_scales };
    if (count > SF_PATHS_MAX_READINGS || nodes > SF_PATHS_MAX_NODES)
        return SF_FAIL(err, SF_E_LIMIT, "person.stature_history", "more than %d readings or %d dates",
                       SF_PATHS_MAX_READINGS, SF_PATHS_MAX_NODES);
    Clock clock = { 0 };
    sf_Status status;
    SF_TRY_DONE(paths_allocate(paths, nodes, correlation->tempo_steps * correlation->reading_factors, err));
    SF_TRY_DONE(clock_create(&clock, count, nodes, err));
    for (size_t i = 0; i < nodes; i++)
        paths->age[i] = ages[i];
    for (size_t i = 0; i < correlation->tail_scales; i++)
        paths->tail_scale[i] = correlation->tail_scale[i];
    size_t s = 0, half = correlation->tempo_steps / 2;
    for (size_t i = 0; i < correlation->tempo_steps; i++) {
        double u = half ? TEMPO_REACH * ((double)i / (double)half - 1) : 0;
        double tempo = u * correlation->tempo_sd;
        clock_set(&clock, reference, correlation, sex, readings, ages, tempo);
        for (size_t j = 0; j < correlation->reading_factors; j++, s++) {
            paths->tempo[s] = tempo;
            paths->factor[s] = correlation->reading_factor[j];
            double log_prior = -u * u / 2 + log(correlation->reading_weight[j]);
            SF_TRY_DONE(
                condition(paths, s, &clock, reference, correlation, sex, readings, paths->factor[s], log_prior, err));
        }
    }
done:
    clock_free(&clock);
    if (status != SF_OK)
        sf_stature_paths_free(paths);
    return status;
}

void sf_stature_paths_free(sf_StaturePaths *paths)
{
    sf_free(paths->age);
    *paths = (sf_StaturePaths){ 0 };
}

sf_Status sf_stature_paths_reading(const sf_StaturePaths *paths, size_t node, double reading_sd, sf_Mixture *mixture,
                                   sf_Error *err)
{
    SF_TRY(sf_mixture_create(mixture, paths->strands * paths->tail_scales, err));
    size_t m = paths->nodes, i = 0;
    for (size_t s = 0; s < paths->strands; s++) {
        double variance = paths->covariance[(s * m + node) * m + node];
        double error = reading_sd > 0 ? fmax(reading_sd * paths->factor[s], SF_READING_FLOOR) : 0;
        double sd = sqrt(fmax(variance, 0) + error * error);
        for (size_t k = 0; k < paths->tail_scales; k++, i++) {
            double c = paths->tail_scale[k];
            mixture->weight[i] =
                paths->log_weight[s] - (double)paths->readings * log(c) - paths->misfit[s] / (2 * c * c);
            mixture->mean[i] = paths->mean[s * m + node];
            mixture->sd[i] = c * sd;
        }
    }
    sf_mixture_normalise(mixture);
    return SF_OK;
}
