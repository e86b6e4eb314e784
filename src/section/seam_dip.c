// SPDX-License-Identifier: GPL-3.0-or-later
#include "section/seam_dip.h"

#include "base/alloc.h"
#include "base/units.h"
#include "num/lsq.h"
#include "num/stats.h"

#include <string.h>

enum {
    N = SF_WALL_STATIONS,
    WAVES = 5,      // constant and the first two harmonics
    ROUNDS = 10,    // of reweighting at most
    NEAR_SIDE = 30, // stations: 15 degrees, beyond the skirts of a groove
    FAR_SIDE = 80,  // 40 degrees
    SMOOTH = 2,     // stations either side that are averaged while searching
    REACH = 26,     // 13 degrees: how far from its bottom a dip is followed
};

static const double STATION = 2 * SF_PI / N;
static const double TRIM = 4.685;             // Tukey's biweight at 95 % efficiency (Holland and Welsch 1977)
static const double SETTLED = 0.01;           // relative change of the spread at which reweighting stops
static const double LEAST_SPREAD = 2e-6;      // m: keeps the weights defined on a perfect ring
static const double WIDEST_DIP = 24 * SF_DEG; // at half depth; broader is an uneven drape, not a groove (judgement)
static const double NARROW_SHARE = 0.75;      // of the threshold that must remain above a parabola through both sides

static size_t wrap(long k)
{
    return (size_t)((k % N + N) % N);
}

static void wave_row(double row[WAVES], size_t k)
{
    double t = STATION * (double)k;
    row[0] = 1;
    row[1] = cos(t);
    row[2] = sin(t);
    row[3] = cos(2 * t);
    row[4] = sin(2 * t);
}

static double without_waves(const double *row, double wall, const double waves[WAVES])
{
    for (size_t j = 0; j < WAVES; j++)
        wall -= waves[j] * row[j];
    return wall;
}

// Iteratively reweighted least squares; leaves wall minus waves in `rest`.
static sf_Status take_waves_off(const double wall[N], double rest[N], double waves[WAVES], sf_Error *err)
{
    double *block = sf_alloc((size_t)N * (2 * WAVES + 3), sizeof *block);
    if (!block)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory while looking for the seam");
    double *rows = block, *matrix = rows + N * WAVES, *right = matrix + N * WAVES, *weight = right + N;
    double *spread = weight + N, before = INFINITY;
    sf_Status status = SF_OK;
    for (size_t k = 0; k < N; k++) {
        wave_row(&rows[k * WAVES], k);
        weight[k] = 1;
    }
    for (int round = 0; round < ROUNDS; round++) {
        for (size_t k = 0; k < N; k++) {
            for (size_t j = 0; j < WAVES; j++)
                matrix[k * WAVES + j] = rows[k * WAVES + j] * weight[k];
            right[k] = wall[k] * weight[k];
        }
        SF_TRY_DONE(sf_lsq_solve(matrix, right, N, WAVES, NULL, err));
        memcpy(waves, right, WAVES * sizeof *waves);
        for (size_t k = 0; k < N; k++)
            rest[k] = spread[k] = without_waves(&rows[k * WAVES], wall[k], waves);
        double scale = TRIM * fmax(sf_stats_mad_sd(spread, N), LEAST_SPREAD);
        if (fabs(scale - before) < SETTLED * scale)
            break;
        before = scale;
        for (size_t k = 0; k < N; k++) {
            double u = rest[k] / scale;
            weight[k] = fabs(u) < 1 ? 1 - u * u : 0; // square root of Tukey's weight, as it multiplies rows
        }
    }
done:
    sf_free(block);
    return status;
}

// A parabola through the wall 15-40 degrees either side of `centre`: value, slope and curvature per station, by least
// squares; even and odd parts separate as the places lie evenly on both sides.
typedef struct Parabola {
    double value, slope, bend;
} Parabola;

static Parabola beside(const double rest[N], long centre)
{
    double n = 0, s2 = 0, s4 = 0, sum = 0, sum2 = 0, odd = 0;
    for (long j = NEAR_SIDE; j <= FAR_SIDE; j++) {
        double x = (double)j, right = rest[wrap(centre + j)], left = rest[wrap(centre - j)];
        n += 1;
        s2 += x * x;
        s4 += x * x * x * x;
        sum += (right + left) / 2;
        sum2 += x * x * (right + left) / 2;
        odd += x * (right - left) / 2;
    }
    double det = n * s4 - s2 * s2;
    return (Parabola){ (s4 * sum - s2 * sum2) / det, odd / s2, (n * sum2 - s2 * sum) / det };
}

static long deepest(const double rest[N])
{
    double best = -INFINITY;
    long place = 0;
    for (long k = 0; k < N; k++) {
        double mean = 0;
        for (long j = -SMOOTH; j <= SMOOTH; j++)
            mean += rest[wrap(k + j)] / (2 * SMOOTH + 1);
        double depth = beside(rest, k).value - mean;
        if (depth > best) {
            best = depth;
            place = k;
        }
    }
    return place;
}

// How far the dip's profile stays above `level` on one side of its bottom, in stations with the last step interpolated.
static double edge_of(const double *profile, long bottom, int step, double level)
{
    for (long j = bottom; j > 0 && j < 2 * REACH; j += step)
        if (profile[j + step] < level)
            return (double)(j - bottom) + step * (profile[j] - level) / (profile[j] - profile[j + step]);
    return step < 0 ? -(double)bottom : (double)(2 * REACH - bottom);
}

// Depth, width and place to a fraction of a station: the centroid of the part deeper than 0.3 of the depth.
static void follow(sf_SeamDip *dip, const double rest[N], long start)
{
    double place = (double)start;
    for (int round = 0; round < 3; round++) {
        long centre = lround(place);
        Parabola base = beside(rest, centre);
        double profile[2 * REACH + 1];
        long bottom = REACH;
        for (long j = -REACH; j <= REACH; j++) {
            double x = (double)j;
            profile[j + REACH] = base.value + base.slope * x + base.bend * x * x - rest[wrap(centre + j)];
            if (profile[j + REACH] > profile[bottom])
                bottom = j + REACH;
        }
        dip->depth = profile[bottom];
        double left = edge_of(profile, bottom, -1, dip->depth / 2), right = edge_of(profile, bottom, 1, dip->depth / 2);
        dip->width = (right - left) * STATION;
        double low = 0.3 * dip->depth, mass = 0, moment = 0;
        for (long j = bottom; j >= 0 && profile[j] > low; j--) {
            mass += profile[j] - low;
            moment += (profile[j] - low) * (double)(j - REACH);
        }
        for (long j = bottom + 1; j <= 2 * REACH && profile[j] > low; j++) {
            mass += profile[j] - low;
            moment += (profile[j] - low) * (double)(j - REACH);
        }
        if (!(mass > 0))
            break;
        place = (double)centre + moment / mass;
    }
    dip->angle = place * STATION;
}

static double least_near(const double rest[N], long centre, long reach)
{
    double least = INFINITY;
    for (long j = -reach; j <= reach; j++)
        least = fmin(least, rest[wrap(centre + j)]);
    return least;
}

static double median_beside(const double rest[N], long centre)
{
    double sides[2 * (FAR_SIDE - NEAR_SIDE + 1)];
    size_t n = 0;
    for (long j = NEAR_SIDE; j <= FAR_SIDE; j++) {
        sides[n++] = rest[wrap(centre + j)];
        sides[n++] = rest[wrap(centre - j)];
    }
    return sf_stats_median(sides, n);
}

static double full_turn(double angle)
{
    angle = fmod(angle, 2 * SF_PI);
    if (angle < 0)
        angle += 2 * SF_PI;
    return angle >= 2 * SF_PI ? 0 : angle;
}

sf_Status sf_seam_dip_find(sf_SeamDip *dip, const double wall[SF_WALL_STATIONS], double threshold, sf_Error *err)
{
    double rest[N], waves[WAVES];
    *dip = (sf_SeamDip){ 0 };
    SF_TRY(take_waves_off(wall, rest, waves, err));
    dip->eccentricity = hypot(waves[1], waves[2]);
    dip->thick_angle = full_turn(atan2(waves[2], waves[1]));
    follow(dip, rest, deepest(rest));
    long centre = lround(dip->angle / STATION);
    dip->angle = full_turn(dip->angle);
    double below = median_beside(rest, centre) - least_near(rest, centre, 24);
    dip->counts = below >= threshold && dip->depth >= NARROW_SHARE * threshold && dip->width <= WIDEST_DIP;
    return SF_OK;
}
