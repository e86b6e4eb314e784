// SPDX-License-Identifier: GPL-3.0-or-later
#include "image/halo.h"

#include "base/alloc.h"
#include "base/units.h"
#include "num/lsq.h"

#include <math.h>
#include <stdbool.h>

// Tried leak lengths. One that is no longer than LEAST_BLURS of the blur cannot be told from it.
static const double SHORTEST_LEAK = 0.10 * SF_MM, LONGEST_LEAK = 0.70 * SF_MM, LEAK_RATIO = 1.25;
static const double LEAST_BLURS = 2.0;
static const double MOST_SHIFT = 0.6; // of the blur: a true edge farther from one half is a bad fit

enum { LEVELS = 4, COLUMNS = 6, STEPS = 4 };

// exp(-x/L) on the face side (x > 0) of an edge at 0, spread by a Gaussian of standard deviation s.
static double leaked(double x, double s, double leak)
{
    double power = 0.5 * s * s / (leak * leak) - x / leak;
    return power > 50 ? 0 : 0.5 * exp(power) * erfc((s / leak - x / s) / sqrt(2));
}

// The four level functions at distance x: ground, step, leak on the face, leak on the ground.
static void levels_at(double x, double s, double leak, double f[LEVELS])
{
    f[0] = 1;
    f[1] = 0.5 * erfc(-x / (s * sqrt(2)));
    f[2] = -leaked(x, s, leak);
    f[3] = leaked(-x, s, leak);
}

static double combine(const double c[LEVELS], const double f[LEVELS])
{
    return c[0] * f[0] + c[1] * f[1] + c[2] * f[2] + c[3] * f[3];
}

// One linearised least-squares step for the levels, the place and the spread.
static sf_Status step(const sf_EdgeProfile *p, double leak, double *place, double *blur, double c[LEVELS], double *a,
                      double *b, double *misfit, sf_Error *err)
{
    const double h = 1e-3 * *blur;
    for (size_t i = 0; i < p->count; i++) {
        double x = ((double)i - (double)p->middle) * p->step - *place;
        double *row = a + i * COLUMNS, ahead[LEVELS], behind[LEVELS], wider[LEVELS], narrower[LEVELS];
        levels_at(x, *blur, leak, row);
        levels_at(x - h, *blur, leak, ahead);
        levels_at(x + h, *blur, leak, behind);
        levels_at(x, *blur + h, leak, wider);
        levels_at(x, *blur - h, leak, narrower);
        row[4] = (combine(c, ahead) - combine(c, behind)) / (2 * h) * *blur;
        row[5] = (combine(c, wider) - combine(c, narrower)) / (2 * h) * *blur;
        b[i] = p->light[i];
    }
    SF_TRY(sf_lsq_solve(a, b, p->count, COLUMNS, misfit, err));
    for (int k = 0; k < LEVELS; k++)
        c[k] = b[k];
    double change = fmax(-0.5, fmin(0.5, b[4])), spread = fmax(-0.3, fmin(0.3, b[5]));
    *place += change * *blur;
    *blur *= 1 + spread;
    return SF_OK;
}

sf_Status sf_halo_fit(const sf_EdgeProfile *profile, double blur, sf_EdgeModel *model, sf_Error *err)
{
    *model = (sf_EdgeModel){ 0.5, blur, 0, INFINITY };
    double reach = (double)profile->middle * profile->step;
    double *a = sf_alloc(profile->count * COLUMNS, sizeof *a), *b = sf_alloc(profile->count, sizeof *b);
    sf_Status status = SF_OK;
    if (!a || !b) {
        status = SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory while measuring the ring");
        goto done;
    }
    for (double leak = fmax(SHORTEST_LEAK, LEAST_BLURS * blur); leak <= LONGEST_LEAK && leak < reach / 1.5;
         leak *= LEAK_RATIO) {
        double c[LEVELS] = { 0, 1, 0, 0 }, place = 0, spread = blur, misfit = INFINITY;
        bool held = true;
        for (int i = 0; i < STEPS && held; i++) {
            status = step(profile, leak, &place, &spread, c, a, b, &misfit, err);
            if (status == SF_E_MEMORY)
                goto done;
            held = status == SF_OK && fabs(place) < MOST_SHIFT * blur && spread > 0.4 * blur && spread < 2 * blur;
        }
        status = SF_OK;
        if (!held || !(misfit < model->misfit))
            continue;
        double f[LEVELS];
        levels_at(0, spread, leak, f);
        *model = (sf_EdgeModel){ combine(c, f), spread, leak, misfit };
    }
done:
    sf_free(a);
    sf_free(b);
    return status;
}
