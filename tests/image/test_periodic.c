// SPDX-License-Identifier: GPL-3.0-or-later
// The filters along a closed curve against plain, slow versions of the same and against closed forms.
#include "harness/tap.h"

#include "base/units.h"
#include "image/periodic.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

enum { MOST = 3600 };

#define EDGE_NUMBERS TAP_TOLERANCE("normal equations of a parabola in doubles", 1e-9, 1e-10)

static uint64_t dice = 88172645463325252u;

static double next(void)
{
    dice ^= dice << 13, dice ^= dice >> 7, dice ^= dice << 17; // Marsaglia 2003, xorshift
    return (double)(dice >> 11) / 9007199254740992.0;
}

static void fill(double *x, size_t n)
{
    for (size_t i = 0; i < n; i++)
        x[i] = sin(2 * SF_PI * (double)i / (double)n) + 0.3 * next() + (next() < 0.02 ? 5 : 0);
}

static int by_size(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static double slow_median(const double *x, size_t n, size_t k, size_t half)
{
    static double window[MOST];
    for (size_t i = 0; i <= 2 * half; i++)
        window[i] = x[(k + n + i - half) % n];
    qsort(window, 2 * half + 1, sizeof *window, by_size);
    return window[half];
}

TAP_CASE(running_median_equals_a_sorted_window)
{
    static double x[MOST], got[MOST], scratch[MOST];
    static const size_t sizes[][2] = { { 1, 1 },  { 5, 1 },    { 7, 7 },     { 8, 3 },      { 10, 4 },
                                       { 25, 9 }, { 360, 21 }, { 720, 511 }, { 2160, 100 }, { 3600, 401 } };
    for (size_t s = 0; s < sizeof sizes / sizeof *sizes; s++) {
        size_t n = sizes[s][0], window = sizes[s][1], half = (window | 1) / 2, wrong = 0;
        fill(x, n);
        x[n / 2] = x[0]; // equal values
        memcpy(got, x, n * sizeof *x);
        sf_periodic_median(got, n, window, scratch);
        for (size_t k = 0; k < n; k++)
            wrong += got[k] != slow_median(x, n, k, half);
        TAP_TRUE(wrong == 0, "(n %zu, window %zu: %zu differ)", n, window, wrong);
    }
}

TAP_CASE(a_window_beyond_the_curve_is_the_whole_curve)
{
    double x[5] = { 3, 1, 2, 5, 4 }, scratch[5];
    sf_periodic_median(x, 5, 99, scratch);
    for (int k = 0; k < 5; k++)
        TAP_NEAR(x[k], 3, TAP_EXACT, TAP_CLOSED_FORM);
    double even[4] = { 1, 2, 3, 100 };
    sf_periodic_median(even, 4, 99, scratch);
    for (int k = 0; k < 4; k++)
        TAP_TRUE(even[k] == 2 || even[k] == 3, "(a middle value of an even curve: %g)", even[k]);
}

TAP_CASE(gaps_are_bridged_by_straight_lines)
{
    enum { N = 12 };
    double x[N];
    bool flagged[N] = { false };
    for (int i = 0; i < N; i++)
        x[i] = 10.0 * i;
    // One gap inside, one over the seam of the array.
    flagged[4] = flagged[5] = flagged[6] = flagged[10] = flagged[11] = flagged[0] = true;
    x[4] = x[5] = x[6] = x[10] = x[11] = x[0] = NAN;
    sf_periodic_bridge(x, flagged, N);
    TAP_NEAR(x[4], 40, TAP_ROUNDING, TAP_CLOSED_FORM);
    TAP_NEAR(x[6], 60, TAP_ROUNDING, TAP_CLOSED_FORM);
    TAP_NEAR(x[10], 90 - 20, TAP_ROUNDING, TAP_CLOSED_FORM); // from 90 down to 10 in four steps
    TAP_NEAR(x[11], 50, TAP_ROUNDING, TAP_CLOSED_FORM);
    TAP_NEAR(x[0], 30, TAP_ROUNDING, TAP_CLOSED_FORM);
    TAP_NEAR(x[1], 10, TAP_EXACT, TAP_CLOSED_FORM);
}

TAP_CASE(nothing_or_one_left_to_bridge_from)
{
    double x[4] = { 1, 2, 3, 4 };
    bool all[4] = { true, true, true, true }, one[4] = { true, true, false, true };
    sf_periodic_bridge(x, all, 4);
    TAP_TRUE(x[0] == 1 && x[3] == 4, "(unchanged)");
    sf_periodic_bridge(x, one, 4);
    for (int k = 0; k < 4; k++)
        TAP_NEAR(x[k], 3, TAP_ROUNDING, TAP_CLOSED_FORM);
}

/// The parabola about entry k by plain Gaussian elimination on the normal equations of u = offset / half.
static double slow_parabola(const double *x, const bool *flagged, size_t n, size_t k, size_t half)
{
    double m[3][4] = { { 0 } };
    for (size_t i = 0; i <= 2 * half; i++) {
        size_t at = (k + n + i - half) % n;
        double u = ((double)i - (double)half) / (double)half, powers[3] = { 1, u, u * u };
        for (int r = 0; r < 3 && !flagged[at]; r++) {
            for (int c = 0; c < 3; c++)
                m[r][c] += powers[r] * powers[c];
            m[r][3] += powers[r] * x[at];
        }
    }
    for (int p = 2; p > 0; p--) // from the last unknown up, so that the constant is left
        for (int r = 0; r < p; r++)
            for (int c = 0; c < 4; c++)
                if (c != p)
                    m[r][c] -= m[r][p] * m[p][c] / m[p][p];
    return m[0][3] / m[0][0];
}

TAP_CASE(parabola_equals_plain_elimination)
{
    static double x[720], got[720];
    static bool flagged[720];
    fill(x, 720);
    for (size_t i = 0; i < 720; i++)
        flagged[i] = i % 17 == 3;
    TAP_OK(sf_periodic_parabola(x, flagged, 720, 12, false, got, NULL));
    for (size_t k = 0; k < 720; k++)
        if (!TAP_NEAR(got[k], slow_parabola(x, flagged, 720, k, 12), EDGE_NUMBERS, TAP_CLOSED_FORM))
            return;
}

TAP_CASE(parabola_goes_through_parabolas_and_widens_over_gaps)
{
    enum { N = 400 };
    static double x[N], got[N];
    static bool flagged[N];
    for (int i = 0; i < N; i++) {
        x[i] = 7 - 0.02 * (i - 200) + 0.003 * (i - 200) * (i - 200);
        flagged[i] = i >= 195 && i <= 214; // wider than the window
    }
    for (int robust = 0; robust < 2; robust++) {
        TAP_OK(sf_periodic_parabola(x, flagged, N, 6, robust, got, NULL));
        for (int i = 60; i < N - 60; i++) // clear of where the parabola does not close
            if (!TAP_NEAR(got[i], x[i], EDGE_NUMBERS, TAP_CLOSED_FORM))
                return;
    }
}

TAP_CASE(robust_parabola_sheds_a_stray)
{
    enum { N = 360 };
    static double x[N], plain[N], robust[N];
    static bool flagged[N];
    for (int i = 0; i < N; i++)
        x[i] = 20 + cos(2 * SF_PI * i / N);
    double true_value = x[100];
    x[100] += 1;
    TAP_OK(sf_periodic_parabola(x, flagged, N, 10, false, plain, NULL));
    TAP_OK(sf_periodic_parabola(x, flagged, N, 10, true, robust, NULL));
    // The middle weight of a parabola over 2 h + 1 points is 3 (3 h^2 + 3 h - 1) / ((2 h - 1) (2 h + 1) (2 h + 3)).
    TAP_NEAR(plain[100] - true_value, 3 * 329.0 / (19 * 21 * 23),
             TAP_TOLERANCE("a cosine is not quite a parabola", 0, 1e-4),
             TAP_SOURCE("Savitzky and Golay 1964, smoothing weights of a quadratic"));
    TAP_TRUE(fabs(robust[100] - true_value) < 0.02 * fabs(plain[100] - true_value), "(%.2g against %.2g)",
             robust[100] - true_value, plain[100] - true_value);
}

TAP_CASE(too_few_good_entries_leave_the_value)
{
    double x[12], got[12];
    bool flagged[12];
    for (int i = 0; i < 12; i++) {
        x[i] = i;
        flagged[i] = i % 3 != 0; // four good ones: no parabola is fixed
    }
    TAP_OK(sf_periodic_parabola(x, flagged, 12, 2, true, got, NULL));
    for (int i = 0; i < 12; i++)
        TAP_NEAR(got[i], x[i], TAP_EXACT, TAP_CLOSED_FORM);
}

static sf_Status smooth(void *context)
{
    (void)context;
    static double x[360], got[360];
    static bool flagged[360];
    fill(x, 360);
    return sf_periodic_parabola(x, flagged, 360, 10, true, got, NULL);
}

TAP_CASE(out_of_memory)
{
    tap_every_allocation(smooth, NULL, 10, "moving parabola");
}

TAP_MAIN(TAP_RUN(running_median_equals_a_sorted_window), TAP_RUN(a_window_beyond_the_curve_is_the_whole_curve),
         TAP_RUN(gaps_are_bridged_by_straight_lines), TAP_RUN(nothing_or_one_left_to_bridge_from),
         TAP_RUN(parabola_equals_plain_elimination), TAP_RUN(parabola_goes_through_parabolas_and_widens_over_gaps),
         TAP_RUN(robust_parabola_sheds_a_stray), TAP_RUN(too_few_good_entries_leave_the_value), TAP_RUN(out_of_memory))
