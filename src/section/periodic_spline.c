// SPDX-License-Identifier: GPL-3.0-or-later
#include "section/periodic_spline.h"

#include "base/alloc.h"

#include <math.h>

static double gap(const double *angle, size_t n, double period, size_t i)
{
    return i + 1 < n ? angle[i + 1] - angle[i] : angle[0] + period - angle[n - 1];
}

// Thomas algorithm for a diagonally dominant system; `work` has n places, x holds the right side and becomes the
// answer.
static void solve_tridiagonal(const double *below, const double *middle, const double *above, double *x, double *work,
                              size_t n)
{
    double pivot = middle[0];
    x[0] /= pivot;
    for (size_t i = 1; i < n; i++) {
        work[i] = above[i - 1] / pivot;
        pivot = middle[i] - below[i] * work[i];
        x[i] = (x[i] - below[i] * x[i - 1]) / pivot;
    }
    for (size_t i = n - 1; i-- > 0;)
        x[i] -= work[i + 1] * x[i + 1];
}

sf_Status sf_periodic_spline(const double *angle, const double *value, size_t n, double period, double *second,
                             sf_Error *err)
{
    double *block = sf_alloc(5 * n, sizeof *block);
    if (!block)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory while laying a curve through the readings");
    double *below = block, *middle = block + n, *above = block + 2 * n, *work = block + 3 * n, *corner = block + 4 * n;
    for (size_t i = 0; i < n; i++) {
        size_t before = i > 0 ? i - 1 : n - 1, after = i + 1 < n ? i + 1 : 0;
        double h0 = gap(angle, n, period, before), h1 = gap(angle, n, period, i);
        below[i] = h0 / 6;
        above[i] = h1 / 6;
        middle[i] = (h0 + h1) / 3;
        second[i] = (value[after] - value[i]) / h1 - (value[i] - value[before]) / h0;
    }
    // The two corner entries are taken out by a rank-one change and put back by Sherman-Morrison.
    double top = below[0], bottom = above[n - 1], shift = -middle[0];
    middle[0] -= shift;
    middle[n - 1] -= top * bottom / shift;
    corner[0] = shift;
    corner[n - 1] = bottom;
    solve_tridiagonal(below, middle, above, second, work, n);
    solve_tridiagonal(below, middle, above, corner, work, n);
    double factor = (second[0] + top * second[n - 1] / shift) / (1 + corner[0] + top * corner[n - 1] / shift);
    for (size_t i = 0; i < n; i++)
        second[i] -= factor * corner[i];
    sf_free(block);
    return SF_OK;
}

double sf_periodic_spline_at(const double *angle, const double *value, const double *second, size_t n, double period,
                             double at)
{
    at = angle[0] + fmod(fmod(at - angle[0], period) + period, period);
    size_t low = 0, high = n; // angle[low] <= at < angle[high], with angle[n] one turn on
    while (high - low > 1) {
        size_t middle = (low + high) / 2;
        if (angle[middle] <= at)
            low = middle;
        else
            high = middle;
    }
    size_t next = low + 1 < n ? low + 1 : 0;
    double h = gap(angle, n, period, low), b = (at - angle[low]) / h, a = 1 - b;
    return a * value[low] + b * value[next] +
           ((a * a * a - a) * second[low] + (b * b * b - b) * second[next]) * h * h / 6;
}
