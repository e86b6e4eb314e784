// SPDX-License-Identifier: GPL-3.0-or-later
#include "growth/knee_paths.h"

#include "base/alloc.h"
#include "num/cholesky.h"

#include <math.h>
#include <stdlib.h>

static const double LONGEST_STEP = 0.5;  ///< years; the share hardly bends within
static const double SAME_AGE = 1e-9;     ///< years
static const double PIVOT_FLOOR = 1e-12; ///< of the diagonal: reading errors keep pivots far above

/// The change between two readings of one kind.
typedef struct Change {
    size_t from, to; ///< grid places
    size_t from_reading, to_reading;
    double value, from_sd, to_sd;
} Change;

/// Everything on one rising grid of ages.
typedef struct Work {
    size_t grid, changes, level_place;
    double age[SF_PATHS_MAX_NODES];
    size_t node_place[SF_KNEE_MAX_NODES];
    Change change[SF_KNEE_MAX_READINGS];
    double *gain;       ///< mean growth below the knee since the first age, grid
    double *covariance; ///< of it, grid x grid
    double *system;     ///< changes x changes
    double *cross;      ///< changes
    double *residual;   ///< changes
    sf_StaturePaths stature;
} Work;

sf_Status sf_growth_model_builtin(sf_GrowthModel *model, sf_Error *err)
{
    SF_TRY(sf_stature_reference_builtin(&model->reference, err));
    SF_TRY(sf_z_correlation_builtin(&model->correlation, err));
    return sf_shank_share_builtin(&model->share, err);
}

static int by_age(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static size_t place_of(const Work *w, double age)
{
    size_t i = 0;
    while (i + 1 < w->grid && w->age[i] < age - SAME_AGE)
        i++;
    return i;
}

/// All ages of readings and wanted ages, with steps of at most LONGEST_STEP between.
static sf_Status make_grid(Work *w, const sf_KneeReading *knees, size_t knee_count, const double *ages, size_t nodes,
                           sf_Error *err)
{
    double raw[SF_KNEE_MAX_READINGS + SF_KNEE_MAX_NODES];
    size_t n = 0;
    for (size_t i = 0; i < knee_count; i++)
        raw[n++] = knees[i].age;
    for (size_t i = 0; i < nodes; i++)
        raw[n++] = ages[i];
    qsort(raw, n, sizeof *raw, by_age);
    for (size_t i = 0; i < n; i++) {
        if (w->grid > 0 && raw[i] - w->age[w->grid - 1] < SAME_AGE)
            continue;
        double start = w->grid > 0 ? w->age[w->grid - 1] : raw[i];
        size_t steps = (size_t)fmax(ceil((raw[i] - start) / LONGEST_STEP), 1);
        if (w->grid + steps > SF_PATHS_MAX_NODES)
            return SF_FAIL(err, SF_E_LIMIT, "person.knee_height_history",
                           "readings and forecast span too many years: leave out the oldest readings");
        for (size_t k = 1; k <= steps; k++)
            w->age[w->grid++] = start + (raw[i] - start) * (double)k / (double)steps;
    }
    for (size_t i = 0; i < nodes; i++)
        w->node_place[i] = place_of(w, ages[i]);
    return SF_OK;
}

/// The newest reading among those of the level, or among the seated; `count` when there is none.
static size_t newest(const sf_KneeReading *knees, size_t count, bool seated)
{
    size_t best = count;
    for (size_t i = 0; i < count; i++) {
        if ((knees[i].kind == SF_KNEE_SEATED) != seated)
            continue;
        if (best == count || knees[i].age > knees[best].age + SAME_AGE ||
            (fabs(knees[i].age - knees[best].age) <= SAME_AGE && knees[i].kind == SF_KNEE_BLOCK))
            best = i;
    }
    return best;
}

static void list_changes(Work *w, const sf_KneeReading *knees, size_t count, bool seated)
{
    size_t base = newest(knees, count, seated);
    double factor = seated ? SF_PLATEAU_OF_SEATED_KNEE : 1;
    for (size_t i = 0; i < count; i++) {
        if (i == base || (knees[i].kind == SF_KNEE_SEATED) != seated)
            continue;
        w->change[w->changes++] = (Change){ .from = place_of(w, knees[base].age),
                                            .to = place_of(w, knees[i].age),
                                            .from_reading = base,
                                            .to_reading = i,
                                            .value = factor * (knees[i].height - knees[base].height),
                                            .from_sd = factor * knees[base].sd,
                                            .to_sd = factor * knees[i].sd };
    }
}

/// Mean and covariance of the growth below the knee since the first grid age, within strand `s`.
static void gain_of_strand(Work *w, const sf_GrowthModel *model, sf_Sex sex, size_t s)
{
    size_t g = w->grid;
    double rate = exp(w->stature.tempo[s]);
    const double *h = w->stature.mean + s * g, *k = w->stature.covariance + s * g * g;
    double share[SF_PATHS_MAX_NODES] = { 0 };
    w->gain[0] = 0;
    for (size_t i = 1; i < g; i++) {
        share[i] = sf_shank_share_below_knee(&model->share, sex, rate * (w->age[i - 1] + w->age[i]) / 2);
        w->gain[i] = w->gain[i - 1] + share[i] * (h[i] - h[i - 1]);
    }
    for (size_t i = 0; i < g; i++)
        w->covariance[i * g] = w->covariance[i] = 0;
    for (size_t i = 1; i < g; i++) {
        double row = 0;
        for (size_t j = 1; j < g; j++) {
            double step = k[i * g + j] - k[(i - 1) * g + j] - k[i * g + j - 1] + k[(i - 1) * g + j - 1];
            row += share[i] * share[j] * step;
            w->covariance[i * g + j] = w->covariance[(i - 1) * g + j] + row;
        }
    }
    for (size_t i = 1; i < g; i++)
        for (size_t j = 1; j < g; j++) {
            double a = w->age[i] - w->age[0], b = w->age[j] - w->age[0];
            w->covariance[i * g + j] +=
                SF_KNEE_RATE_SD * SF_KNEE_RATE_SD * a * b + SF_KNEE_WANDER * SF_KNEE_WANDER * fmin(a, b);
        }
}

/// Covariance of the growth a1 to a2 with the growth b1 to b2 (grid places).
static double between(const Work *w, size_t a1, size_t a2, size_t b1, size_t b2)
{
    const double *c = w->covariance;
    size_t g = w->grid;
    return c[a2 * g + b2] - c[a2 * g + b1] - c[a1 * g + b2] + c[a1 * g + b1];
}

/// Conditions strand `s` on the changes and writes its weight, misfit, means and variances.
static sf_Status condition(sf_KneePaths *paths, Work *w, size_t s, sf_Error *err)
{
    size_t n = w->changes;
    for (size_t i = 0; i < n; i++) {
        const Change *p = &w->change[i];
        w->residual[i] = p->value - (w->gain[p->to] - w->gain[p->from]);
        for (size_t j = 0; j <= i; j++) {
            const Change *q = &w->change[j];
            double v = between(w, p->from, p->to, q->from, q->to);
            v += p->from_reading == q->from_reading ? p->from_sd * p->from_sd : 0;
            w->system[i * n + j] = v + (i == j ? p->to_sd * p->to_sd : 0);
        }
    }
    SF_TRY(sf_cholesky_factor(w->system, n, PIVOT_FLOOR, err));
    sf_cholesky_forward(w->system, n, w->residual);
    double misfit = w->stature.misfit[s];
    for (size_t i = 0; i < n; i++)
        misfit += w->residual[i] * w->residual[i];
    paths->misfit[s] = misfit;
    paths->log_weight[s] = w->stature.log_weight[s] - sf_cholesky_half_log_det(w->system, n);
    for (size_t m = 0; m < paths->nodes; m++) {
        size_t to = w->node_place[m];
        double mean = w->gain[to] - w->gain[w->level_place];
        double variance = between(w, w->level_place, to, w->level_place, to);
        for (size_t i = 0; i < n; i++)
            w->cross[i] = between(w, w->change[i].from, w->change[i].to, w->level_place, to);
        sf_cholesky_forward(w->system, n, w->cross);
        for (size_t i = 0; i < n; i++) {
            mean += w->cross[i] * w->residual[i];
            variance -= w->cross[i] * w->cross[i];
        }
        paths->mean[s * paths->nodes + m] = mean + (paths->has_level ? paths->level.height : 0);
        paths->variance[s * paths->nodes + m] = fmax(variance, 0);
    }
    return SF_OK;
}

static sf_Status allocate(sf_KneePaths *paths, Work *w, size_t nodes, size_t strands, sf_Error *err)
{
    size_t g = w->grid, n = w->changes;
    paths->log_weight = sf_alloc(strands * (2 + 2 * nodes) + 1, sizeof(double));
    w->gain = sf_alloc(g + g * g + n * n + 2 * n + 1, sizeof(double));
    if (!paths->log_weight || !w->gain)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory for a forecast of the knee height");
    paths->nodes = nodes;
    paths->strands = strands;
    paths->misfit = paths->log_weight + strands;
    paths->mean = paths->misfit + strands;
    paths->variance = paths->mean + strands * nodes;
    w->covariance = w->gain + g;
    w->system = w->covariance + g * g;
    w->cross = w->system + n * n;
    w->residual = w->cross + n;
    return SF_OK;
}

sf_Status sf_knee_paths_create(sf_KneePaths *paths, const sf_GrowthModel *model, sf_Sex sex,
                               const sf_StatureReading *statures, size_t stature_count, const sf_KneeReading *knees,
                               size_t knee_count, const double *ages, size_t nodes, sf_Error *err)
{
    *paths = (sf_KneePaths){ .tail_scales = model->correlation.tail_scales };
    if (knee_count > SF_KNEE_MAX_READINGS || nodes > SF_KNEE_MAX_NODES || nodes < 1)
        return SF_FAIL(err, SF_E_LIMIT, "person.knee_height_history", "more than %d readings or %d dates",
                       SF_KNEE_MAX_READINGS, SF_KNEE_MAX_NODES);
    Work *w = sf_alloc(1, sizeof *w);
    if (!w)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory for a forecast of the knee height");
    sf_Status status;
    SF_TRY_DONE(make_grid(w, knees, knee_count, ages, nodes, err));
    size_t level = newest(knees, knee_count, false);
    paths->has_level = level < knee_count;
    w->level_place = paths->has_level ? place_of(w, knees[level].age) : w->node_place[0];
    if (paths->has_level)
        paths->level = knees[level];
    list_changes(w, knees, knee_count, false);
    list_changes(w, knees, knee_count, true);
    SF_TRY_DONE(sf_stature_paths_create(&w->stature, &model->reference, &model->correlation, sex, statures,
                                        stature_count, w->age, w->grid, err));
    SF_TRY_DONE(allocate(paths, w, nodes, w->stature.strands, err));
    paths->evidence = stature_count + w->changes;
    for (size_t i = 0; i < paths->tail_scales; i++)
        paths->tail_scale[i] = model->correlation.tail_scale[i];
    for (size_t s = 0; s < paths->strands; s++) {
        gain_of_strand(w, model, sex, s);
        SF_TRY_DONE(condition(paths, w, s, err));
    }
done:
    sf_stature_paths_free(&w->stature);
    sf_free(w->gain);
    sf_free(w);
    if (status != SF_OK)
        sf_knee_paths_free(paths);
    return status;
}

void sf_knee_paths_free(sf_KneePaths *paths)
{
    sf_free(paths->log_weight);
    *paths = (sf_KneePaths){ 0 };
}

sf_Status sf_knee_paths_at(const sf_KneePaths *paths, size_t node, double extra_sd, sf_Mixture *mixture, sf_Error *err)
{
    SF_TRY(sf_mixture_create(mixture, paths->strands * paths->tail_scales, err));
    double fixed = extra_sd * extra_sd + (paths->has_level ? paths->level.sd * paths->level.sd : 0);
    size_t i = 0;
    for (size_t s = 0; s < paths->strands; s++) {
        double variance = paths->variance[s * paths->nodes + node];
        for (size_t k = 0; k < paths->tail_scales; k++, i++) {
            double c = paths->tail_scale[k];
            mixture->weight[i] =
                paths->log_weight[s] - (double)paths->evidence * log(c) - paths->misfit[s] / (2 * c * c);
            mixture->mean[i] = paths->mean[s * paths->nodes + node];
            mixture->sd[i] = sqrt(c * c * variance + fixed);
        }
    }
    sf_mixture_normalise(mixture);
    return SF_OK;
}
