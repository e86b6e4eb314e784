// SPDX-License-Identifier: GPL-3.0-or-later
#include "strength/band_draw.h"

#include "base/units.h"

#include <math.h>

const sf_Draw sf_draw_still = { { 1, 1, 1, 0, 0, 0, 0, 0, 0, 0 }, 0 };

// SplitMix64 (Steele, Lea and Flood 2014): a counter and a mixer, so that any draw can be had by itself.
static double next_share(uint64_t *state)
{
    uint64_t z = *state += 0x9E3779B97F4A7C15u;
    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9u;
    z = (z ^ (z >> 27)) * 0x94D049BB133111EBu;
    z ^= z >> 31;
    return ((double)(z >> 11) + 0.5) * 0x1p-53; // in (0, 1)
}

static double from_triangle(const sf_Range *r, double share)
{
    double whole = r->high - r->low, rise = r->value - r->low;
    if (!(whole > 0))
        return r->value;
    return share * whole < rise ? r->low + sqrt(share * whole * rise)
                                : r->high - sqrt((1 - share) * whole * (r->high - r->value));
}

static double triangle_sd(const sf_Range *r)
{
    double a = r->low, b = r->value, c = r->high;
    return sqrt(fmax(a * a + b * b + c * c - a * b - a * c - b * c, 0) / 18);
}

// Two normal deviates (Box and Muller).
static void next_normals(uint64_t *state, double *one, double *two)
{
    double r = sqrt(-2 * log(next_share(state))), a = 2 * SF_PI * next_share(state);
    *one = r * cos(a);
    *two = r * sin(a);
}

void sf_draws_make(sf_Draw *draws, size_t count, const sf_DoubtSizes *d, uint64_t seed)
{
    for (size_t i = 0; i < count; i++) {
        uint64_t state = seed * 0xD1342543DE82EF95u + (uint64_t)i * 0x2545F4914F6CDD1Du;
        double *x = draws[i].of, a, b, both, scale;
        x[SF_DOUBT_YIELD] = from_triangle(&d->yield, next_share(&state)) / d->yield.value;
        x[SF_DOUBT_MODULUS] = from_triangle(&d->modulus, next_share(&state)) / d->modulus.value;
        x[SF_DOUBT_STRAIN_LIMIT] = from_triangle(&d->strain_limit, next_share(&state)) / d->strain_limit.value;
        x[SF_DOUBT_TOP_WALL] = from_triangle(&d->top_inner, next_share(&state));
        next_normals(&state, &a, &b);
        next_normals(&state, &both, &scale);
        x[SF_DOUBT_OUTER_EDGE] = a * d->outer_bias + both * d->both_bias + scale * d->scale * d->outer_radius;
        x[SF_DOUBT_INNER_EDGE] = b * d->inner_bias + both * d->both_bias + scale * d->scale * d->inner_radius;
        next_normals(&state, &a, &b);
        x[SF_DOUBT_ANKLE_FORWARD] = a * d->offset;
        x[SF_DOUBT_ANKLE_OUTWARD] = b * d->offset;
        next_normals(&state, &a, &b);
        x[SF_DOUBT_KNEE_FORWARD] = a * d->offset;
        x[SF_DOUBT_KNEE_OUTWARD] = b * d->offset;
        next_normals(&state, &draws[i].fatigue, &b);
    }
}

void sf_doubt_spread(double spread[SF_DOUBT_COUNT], const sf_DoubtSizes *d)
{
    spread[SF_DOUBT_YIELD] = triangle_sd(&d->yield) / d->yield.value;
    spread[SF_DOUBT_MODULUS] = triangle_sd(&d->modulus) / d->modulus.value;
    spread[SF_DOUBT_STRAIN_LIMIT] = triangle_sd(&d->strain_limit) / d->strain_limit.value;
    spread[SF_DOUBT_OUTER_EDGE] = hypot(hypot(d->outer_bias, d->both_bias), d->scale * d->outer_radius);
    spread[SF_DOUBT_INNER_EDGE] = hypot(hypot(d->inner_bias, d->both_bias), d->scale * d->inner_radius);
    spread[SF_DOUBT_TOP_WALL] = triangle_sd(&d->top_inner);
    for (int i = SF_DOUBT_ANKLE_FORWARD; i <= SF_DOUBT_KNEE_OUTWARD; i++)
        spread[i] = d->offset;
}
