// SPDX-License-Identifier: GPL-3.0-or-later
// Light that leaks at an edge: profiles made by summing the spread of a sharp edge numerically, the level at the true
// edge against its closed form.
#include "harness/tap.h"

#include "base/units.h"
#include "image/halo.h"

#include <math.h>
#include <stdint.h>

enum { HALF = 120, COUNT = 2 * HALF + 1 };

static const double STEP = 0.25 * SF_INCH / 600; // a quarter pixel of a 600 dpi scan
static const double BLUR = 0.040 * SF_MM;        // about one pixel of it

#define LEVEL TAP_TOLERANCE("level of a fitted edge, share of the contrast", 0, 0.002)
#define NOISY TAP_TOLERANCE("level of a fitted edge in noise of 0.3 % of the contrast", 0, 0.012)

typedef struct Edge {
    double blur, loss, glow, reach; // face 1 - loss exp(-d/reach), ground glow exp(-d/reach)
} Edge;

static double sharp(const Edge *e, double x)
{
    return x > 0 ? 1 - e->loss * exp(-x / e->reach) : e->glow * exp(x / e->reach);
}

/// The sharp edge seen through a Gaussian spread, by the trapezoid rule over +-8 standard deviations; the two sides of
/// the step are summed apart so that the step falls on no interval.
static double seen(const Edge *e, double x)
{
    enum { STEPS = 2000 };
    double sum = 0, reach = 8 * e->blur;
    for (int side = 0; side < 2; side++) {
        double low = side ? fmax(x - reach, 0) : x - reach, high = side ? x + reach : fmin(x + reach, 0);
        if (high <= low)
            continue;
        double h = (high - low) / STEPS;
        for (int i = 0; i <= STEPS; i++) {
            double at = low + i * h, t = (x - at) / e->blur;
            double inside = side ? fmax(at, 1e-30) : fmin(at, 0);
            sum += (i == 0 || i == STEPS ? 0.5 : 1) * h * sharp(e, inside) * exp(-0.5 * t * t);
        }
    }
    return sum / (e->blur * sqrt(2 * SF_PI));
}

/// Level at the true edge: 1/2 + (glow - loss)/2 exp(s^2 / 2 L^2) erfc(s / (L sqrt 2)).
static double level_at_edge(const Edge *e)
{
    double q = e->blur / e->reach;
    return 0.5 + 0.5 * (e->glow - e->loss) * exp(0.5 * q * q) * erfc(q / sqrt(2));
}

/// The profile as the search hands it over: its middle lies where one half is crossed.
static void make(const Edge *e, double *light)
{
    double low = -4 * e->blur, high = 4 * e->blur;
    for (int i = 0; i < 60; i++) {
        double middle = 0.5 * (low + high);
        if (seen(e, middle) < 0.5)
            low = middle;
        else
            high = middle;
    }
    for (int i = 0; i < COUNT; i++)
        light[i] = seen(e, low + (i - HALF) * STEP);
}

static sf_EdgeModel fit(const Edge *e, double noise)
{
    double light[COUNT];
    make(e, light);
    uint64_t dice = 88172645463325252u;
    for (int i = 0; i < COUNT; i++) {
        dice ^= dice << 13, dice ^= dice >> 7, dice ^= dice << 17; // Marsaglia 2003, xorshift
        light[i] += noise * sqrt(12) * ((double)(dice >> 11) / 9007199254740992.0 - 0.5);
    }
    sf_EdgeProfile profile = { light, COUNT, HALF, STEP };
    sf_EdgeModel model;
    TAP_OK(sf_halo_fit(&profile, 1.1 * e->blur, &model, NULL));
    return model;
}

TAP_CASE(symmetric_spread_gives_one_half)
{
    static const Edge edges[] = { { BLUR, 0, 0, 0.2 * SF_MM },
                                  { BLUR, 0.05, 0.05, 0.2 * SF_MM },
                                  { BLUR, 0.10, 0.10, 0.35 * SF_MM },
                                  { 0.7 * BLUR, 0.05, 0.05, 0.12 * SF_MM } };
    for (size_t i = 0; i < sizeof edges / sizeof *edges; i++)
        TAP_NEAR(fit(&edges[i], 0).level, 0.5, LEVEL, TAP_CLOSED_FORM);
}

TAP_CASE(lopsided_leak_moves_the_level_by_the_closed_form)
{
    static const Edge edges[] = { { BLUR, 0.06, 0.016, 0.18 * SF_MM },
                                  { BLUR, 0.02, 0.07, 0.25 * SF_MM },
                                  { BLUR, 0.12, 0.00, 0.30 * SF_MM },
                                  { 0.8 * BLUR, 0.05, 0.02, 0.45 * SF_MM } };
    for (size_t i = 0; i < sizeof edges / sizeof *edges; i++) {
        sf_EdgeModel model = fit(&edges[i], 0);
        double wanted = level_at_edge(&edges[i]);
        TAP_TRUE(fabs(wanted - 0.5) > 0.01, "(the case asks for a shift: %.4f)", wanted);
        TAP_NEAR(model.level, wanted, LEVEL, TAP_CLOSED_FORM);
        TAP_NEAR(model.blur, edges[i].blur, TAP_TOLERANCE("fitted blur", 0.05, 0), TAP_CLOSED_FORM);
        TAP_NEAR(model.leak, edges[i].reach, TAP_TOLERANCE("half a step of the grid of lengths", 0.15, 0),
                 TAP_CLOSED_FORM);
        TAP_TRUE(model.misfit < 0.002, "(misfit %.5f)", model.misfit);
    }
}

/// The closed form itself against the summed profile, so that both stand.
TAP_CASE(closed_form_equals_the_sum)
{
    const Edge e = { BLUR, 0.06, 0.016, 0.18 * SF_MM };
    TAP_NEAR(seen(&e, 0), level_at_edge(&e), TAP_TOLERANCE("trapezoid rule", 0, 1e-6), TAP_CLOSED_FORM);
}

TAP_CASE(noise_moves_the_level_little)
{
    const Edge e = { BLUR, 0.06, 0.016, 0.18 * SF_MM };
    TAP_NEAR(fit(&e, 0.003).level, level_at_edge(&e), NOISY, TAP_CLOSED_FORM);
}

/// A profile too short to tell a leak from the blur, or no edge at all: one half, and no failure.
TAP_CASE(no_fit_means_one_half)
{
    double light[COUNT];
    for (int i = 0; i < COUNT; i++)
        light[i] = 0.3;
    sf_EdgeProfile flat = { light, COUNT, HALF, STEP };
    sf_EdgeModel model;
    TAP_OK(sf_halo_fit(&flat, BLUR, &model, NULL));
    TAP_TRUE(model.level >= 0.0 && model.level <= 1.0, "(level %.3f)", model.level);
    const Edge e = { BLUR, 0.06, 0.016, 0.18 * SF_MM };
    make(&e, light);
    sf_EdgeProfile shortened = { light + HALF - 12, 25, 12, STEP };
    TAP_OK(sf_halo_fit(&shortened, BLUR, &model, NULL));
    TAP_NEAR(model.level, 0.5, TAP_EXACT, TAP_CLOSED_FORM);
}

static sf_Status fit_one(void *context)
{
    sf_EdgeProfile *profile = context;
    sf_EdgeModel model;
    return sf_halo_fit(profile, BLUR, &model, NULL);
}

TAP_CASE(out_of_memory)
{
    static double light[COUNT];
    const Edge e = { BLUR, 0.06, 0.016, 0.18 * SF_MM };
    make(&e, light);
    sf_EdgeProfile profile = { light, COUNT, HALF, STEP };
    tap_every_allocation(fit_one, &profile, 200, "edge model");
}

TAP_MAIN(TAP_RUN(symmetric_spread_gives_one_half), TAP_RUN(closed_form_equals_the_sum),
         TAP_RUN(lopsided_leak_moves_the_level_by_the_closed_form), TAP_RUN(noise_moves_the_level_little),
         TAP_RUN(no_fit_means_one_half), TAP_RUN(out_of_memory))
