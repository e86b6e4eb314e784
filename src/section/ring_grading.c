// SPDX-License-Identifier: GPL-3.0-or-later
#include "section/ring_grading.h"

#include "base/alloc.h"
#include "base/units.h"

/// A march over one interval may take this many steps: beyond it sizes have gone astray.
enum { MOST_STEPS = 40000 };
/// The march integrates 1 / size in steps of this share of the local size.
static const double STEP_SHARE = 0.2;
/// Across a wall that is thick against its bore, elements grow with the distance from the centre by this factor.
static const double RADIAL_SHARE = 0.5;

// Length of the outer edge per angle, by differences: large where it is seen at a grazing angle or from afar.
static double outer_arc(const sf_RingGrading *g, double angle)
{
    const double step = 1e-3;
    double low = sf_edge_curve_radius(g->outer, angle - step), high = sf_edge_curve_radius(g->outer, angle + step);
    return hypot((high - low) / (2 * step), (high + low) / 2);
}

static double size_along(const sf_RingGrading *g, double angle)
{
    double size = fmin(g->base_angle, sf_edge_curve_width(g->inner, angle));
    size = fmin(size, sf_edge_curve_width(g->outer, angle));
    size = fmin(size, g->base_arc / outer_arc(g, angle));
    for (size_t i = 0; i < g->spot_count; i++) {
        const sf_GradingSpot *spot = &g->spots[i];
        double away = fabs(sf_angle_from(angle - spot->angle, -SF_PI)) * spot->at - spot->radius;
        size = fmin(size, (spot->least_along + g->growth * fmax(away, 0)) / spot->at);
    }
    return size * g->scale;
}

static double size_across(const sf_RingGrading *g, double share)
{
    double size = fmin(g->base_share, RADIAL_SHARE * (g->bore / g->wall + share));
    for (size_t i = 0; i < g->spot_count; i++) {
        const sf_GradingSpot *spot = &g->spots[i];
        if (spot->least_across <= 0)
            continue;
        double away = fabs(share - spot->share) - spot->radius / g->wall;
        size = fmin(size, spot->least_across / g->wall + g->growth * fmax(away, 0));
    }
    return size * g->scale;
}

typedef struct March {
    double *at, *sum; // places and the integral of 1 / size up to them
    size_t count, room;
} March;

static sf_Status march_interval(March *march, const sf_RingGrading *g, bool along, double a, double b, sf_Error *err)
{
    march->count = 0;
    double x = a, sum = 0;
    for (;;) {
        if (march->count == march->room) {
            size_t room = march->room ? 2 * march->room : 256;
            double *at = sf_realloc(march->at, room, sizeof *at);
            if (at)
                march->at = at;
            double *sums = at ? sf_realloc(march->sum, room, sizeof *sums) : NULL;
            if (!sums)
                return SF_FAIL(err, SF_E_MEMORY, "", "out of memory while meshing the ring");
            march->sum = sums;
            march->room = room;
        }
        march->at[march->count] = x;
        march->sum[march->count++] = sum;
        if (x >= b)
            return SF_OK;
        if (march->count > MOST_STEPS)
            return SF_FAIL(err, SF_E_LIMIT, "", "the ring wants more elements than it may have: check the outline");
        double size = along ? size_along(g, x) : size_across(g, x);
        double step = fmin(STEP_SHARE * size, b - x);
        if (b - x - step < STEP_SHARE * STEP_SHARE * size)
            step = b - x;
        double ahead = along ? size_along(g, x + step) : size_across(g, x + step);
        sum += step * 0.5 * (1 / size + 1 / ahead);
        x = step == b - x ? b : x + step;
    }
}

// Adds the breaks of one interval, without its last end.
static sf_Status add_interval(March *march, const sf_RingGrading *g, bool along, double a, double b, double **breaks,
                              size_t *count, sf_Error *err)
{
    SF_TRY(march_interval(march, g, along, a, b, err));
    double total = march->sum[march->count - 1];
    size_t parts = (size_t)ceil(total - 0.05);
    if (parts < 1)
        parts = 1;
    double *more = sf_realloc(*breaks, *count + parts + 1, sizeof *more);
    if (!more)
        return SF_FAIL(err, SF_E_MEMORY, "", "out of memory while meshing the ring");
    *breaks = more;
    size_t k = 0;
    for (size_t p = 0; p < parts; p++) {
        double want = total * (double)p / (double)parts;
        while (k + 2 < march->count && march->sum[k + 1] < want)
            k++;
        double part = (want - march->sum[k]) / (march->sum[k + 1] - march->sum[k]);
        more[(*count)++] = p == 0 ? a : march->at[k] + part * (march->at[k + 1] - march->at[k]);
    }
    return SF_OK;
}

sf_Status sf_ring_grading_breaks(const sf_RingGrading *grading, bool along, const double *fixed, size_t fixed_count,
                                 double **breaks, size_t *count, sf_Error *err)
{
    March march = { 0 };
    double *made = NULL;
    size_t n = 0;
    sf_Status status = SF_OK;
    for (size_t i = 0; i + 1 < fixed_count; i++)
        SF_TRY_DONE(add_interval(&march, grading, along, fixed[i], fixed[i + 1], &made, &n, err));
    made[n] = fixed[fixed_count - 1];
    *breaks = made;
    *count = n;
    made = NULL;
done:
    sf_free(made);
    sf_free(march.at);
    sf_free(march.sum);
    return status;
}
