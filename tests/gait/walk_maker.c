// SPDX-License-Identifier: GPL-3.0-or-later
#include "gait/walk_maker.h"

#include "base/alloc.h"
#include "base/units.h"

#include <math.h>

double walk_uniform(uint64_t *state)
{
    *state ^= *state >> 12;
    *state ^= *state << 25;
    *state ^= *state >> 27;
    return ((double)((*state * 0x2545F4914F6CDD1DULL) >> 11) + 0.5) * 0x1p-53;
}

double walk_normal(uint64_t *state)
{
    double r = sqrt(-2 * log(walk_uniform(state)));
    return r * cos(2 * SF_PI * walk_uniform(state));
}

void walk_table(sf_Text *text, uint64_t *state, WalkTruth truth, int contacts)
{
    sf_text_add(text, "time_s,side\n");
    double t = 1;
    for (int i = 0; i < contacts; i++) {
        int side = i % 2;
        t += (side ? truth.right : truth.left) + truth.step_sd * walk_normal(state);
        if (walk_uniform(state) < truth.missed)
            continue;
        sf_text_format(text, "%.6f,%c\n", t, side ? 'R' : 'L');
        if (walk_uniform(state) < truth.doubled)
            sf_text_format(text, "%.6f,%c\n", t + 0.03 + 0.05 * walk_uniform(state), side ? 'R' : 'L');
    }
}

void walk_acceleration(sf_Text *text, uint64_t *state, WalkTruth truth, int contacts, double rate, int side)
{
    double *contact = sf_alloc((size_t)contacts, sizeof *contact), t = 1;
    if (!contact)
        return;
    for (int i = 0; i < contacts; i++) {
        t += (i % 2 ? truth.right : truth.left) + truth.step_sd * walk_normal(state);
        contact[i] = t;
    }
    sf_text_add(text, "time_s,ax,ay,az\n");
    int first = 0;
    for (double at = 0; at < t + 1; at += (0.9 + 0.2 * walk_uniform(state)) / rate) {
        double up = SF_GRAVITY + 0.3 * sin(2 * SF_PI * 0.11 * at);
        while (first < contacts && contact[first] < at - 1)
            first++;
        for (int i = first; i < contacts && contact[i] < at + 1; i++) {
            double x = (at - contact[i]) / 0.05;
            if (side < 0 || i % 2 == side)
                up += 5 * exp(-0.5 * x * x);
        }
        sf_text_format(text, "%.5f,%.4f,%.4f,%.4f\n", at, 0.2 * walk_normal(state), 0.2 * walk_normal(state),
                       up + 0.2 * walk_normal(state));
    }
    sf_free(contact);
}
