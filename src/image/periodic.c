// SPDX-License-Identifier: GPL-3.0-or-later
#include "image/periodic.h"

#include "base/alloc.h"

#include <math.h>
#include <string.h>

double sf_small_median(double *x, size_t n)
{
    for (size_t i = 1; i < n; i++) {
        double v = x[i];
        size_t at = i;
        for (; at > 0 && x[at - 1] > v; at--)
            x[at] = x[at - 1];
        x[at] = v;
    }
    return x[n / 2];
}

// Place of the first entry of sorted[0..count) that is not below v.
static size_t lower_bound(const double *sorted, size_t count, double v)
{
    size_t low = 0;
    while (count > 0) {
        size_t half = count / 2;
        if (sorted[low + half] < v) {
            low += half + 1;
            count -= half + 1;
        } else {
            count = half;
        }
    }
    return low;
}

void sf_periodic_median(double *x, size_t n, size_t window, double *scratch)
{
    enum { MOST = 512 };
    double sorted[MOST];
    window |= 1;
    if (window > MOST - 1)
        window = MOST - 1;
    if (window > n)
        window = n | 1;
    if (window > n)
        window = n > 1 ? n - 1 + (n & 1) : 1;
    size_t half = window / 2, count = 0;
    memcpy(scratch, x, n * sizeof *x);
    for (size_t i = 0; i < window; i++) {
        double v = scratch[(i + n - half) % n];
        size_t at = lower_bound(sorted, count, v);
        memmove(sorted + at + 1, sorted + at, (count - at) * sizeof *sorted);
        sorted[at] = v;
        count++;
    }
    for (size_t k = 0; k < n; k++) {
        x[k] = sorted[count / 2];
        double leaves = scratch[(k + n - half) % n], enters = scratch[(k + half + 1) % n];
        size_t at = lower_bound(sorted, count, leaves);
        memmove(sorted + at, sorted + at + 1, (count - at - 1) * sizeof *sorted);
        at = lower_bound(sorted, count - 1, enters);
        memmove(sorted + at + 1, sorted + at, (count - 1 - at) * sizeof *sorted);
        sorted[at] = enters;
    }
}

void sf_periodic_bridge(double *x, const bool *flagged, size_t n)
{
    size_t start = 0;
    while (start < n && flagged[start])
        start++;
    if (start == n)
        return;
    for (size_t i = 1; i <= n;) {
        size_t k = (start + i) % n;
        if (!flagged[k]) {
            i++;
            continue;
        }
        size_t gap = 1;
        while (flagged[(start + i + gap) % n])
            gap++;
        double before = x[(start + i - 1) % n], after = x[(start + i + gap) % n];
        for (size_t g = 0; g < gap; g++) {
            double t = (double)(g + 1) / (double)(gap + 1);
            x[(start + i + g) % n] = before * (1 - t) + after * t;
        }
        i += gap;
    }
}

static const double FAR_OFF = 3.5; // mean distances; normal noise rarely goes beyond

// Sums of a weighted parabola fit about the middle entry.
typedef struct Sums {
    double s0, s1, s2, s3, s4, t0, t1, t2;
} Sums;

static void add(Sums *s, double u, double weight, double value)
{
    double u2 = u * u;
    s->s0 += weight;
    s->s1 += weight * u;
    s->s2 += weight * u2;
    s->s3 += weight * u2 * u;
    s->s4 += weight * u2 * u2;
    s->t0 += weight * value;
    s->t1 += weight * value * u;
    s->t2 += weight * value * u2;
}

// Coefficients c0 + c1 u + c2 u^2 by Cramer's rule; false when the points do not fix a parabola.
static bool solve(const Sums *s, double c[3])
{
    double m00 = s->s2 * s->s4 - s->s3 * s->s3, m01 = s->s1 * s->s4 - s->s3 * s->s2;
    double m02 = s->s1 * s->s3 - s->s2 * s->s2;
    double det = s->s0 * m00 - s->s1 * m01 + s->s2 * m02;
    if (!(fabs(det) > 1e-9 * s->s0 * s->s2 * s->s4))
        return false;
    double m11 = s->s0 * s->s4 - s->s2 * s->s2, m12 = s->s0 * s->s3 - s->s1 * s->s2;
    double m22 = s->s0 * s->s2 - s->s1 * s->s1;
    c[0] = (s->t0 * m00 - s->t1 * m01 + s->t2 * m02) / det;
    c[1] = (-s->t0 * m01 + s->t1 * m11 - s->t2 * m12) / det;
    c[2] = (s->t0 * m02 - s->t1 * m12 + s->t2 * m22) / det;
    return true;
}

// Fits the window about entry k. `weights` (NULL: all one) has 2 half + 1 entries.
static bool fit_window(const double *x, const bool *flagged, size_t n, size_t k, size_t half, const double *weights,
                       double c[3], size_t *used)
{
    Sums sums = { 0 };
    *used = 0;
    double middle = x[k];
    size_t at = (k + n - half) % n;
    for (size_t i = 0; i <= 2 * half; i++, at = at + 1 == n ? 0 : at + 1) {
        if (flagged[at])
            continue;
        add(&sums, ((double)i - (double)half) / (double)half, weights ? weights[i] : 1, x[at] - middle);
        (*used)++;
    }
    if (*used < 5 || !solve(&sums, c))
        return false;
    c[0] += middle;
    return true;
}

// Tukey weights of the window's entries about a first fit, scaled by their mean absolute distance. False when none lies
// far off, so that weighing would change nothing of note.
static bool weigh(const double *x, const bool *flagged, size_t n, size_t k, size_t half, const double c[3],
                  double *weights)
{
    double sum = 0, most = 0;
    size_t used = 0;
    size_t at = (k + n - half) % n;
    for (size_t i = 0; i <= 2 * half; i++, at = at + 1 == n ? 0 : at + 1) {
        double u = ((double)i - (double)half) / (double)half;
        weights[i] = fabs(x[at] - c[0] - c[1] * u - c[2] * u * u);
        if (!flagged[at]) {
            sum += weights[i];
            most = fmax(most, weights[i]);
            used++;
        }
    }
    double mean = sum / (double)used, limit = 4 * mean + 1e-12;
    if (most < FAR_OFF * mean)
        return false;
    for (size_t i = 0; i <= 2 * half; i++) {
        double r = weights[i] / limit;
        weights[i] = r < 1 ? (1 - r * r) * (1 - r * r) : 0;
    }
    return true;
}

sf_Status sf_periodic_parabola(const double *x, const bool *flagged, size_t n, size_t half, bool robust, double *out,
                               sf_Error *err)
{
    size_t widest = n / 2 - 1;
    double *weights = sf_alloc(2 * widest + 1, sizeof *weights);
    if (!weights)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory while smoothing an edge");
    for (size_t k = 0; k < n; k++) {
        double c[3];
        size_t used, h = half < widest ? half : widest;
        while (!fit_window(x, flagged, n, k, h, NULL, c, &used) && h < widest)
            h = 2 * h < widest ? 2 * h : widest;
        if (used < 5) {
            out[k] = x[k];
            continue;
        }
        if (robust) {
            double again[3];
            if (weigh(x, flagged, n, k, h, c, weights) && fit_window(x, flagged, n, k, h, weights, again, &used))
                memcpy(c, again, sizeof again);
        }
        out[k] = c[0];
    }
    sf_free(weights);
    return SF_OK;
}
