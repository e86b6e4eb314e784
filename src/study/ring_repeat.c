// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/ring_repeat.h"

#include "num/stats.h"

#include <math.h>
#include <string.h>

enum { MOST = 64 };

size_t sf_ring_repeat_hardest(const sf_RingFinding *findings, size_t count)
{
    size_t hardest = 0;
    for (size_t i = 1; i < count; i++)
        if (findings[i].decision.verdict > findings[hardest].decision.verdict)
            hardest = i;
    return hardest;
}

double sf_ring_repeat_sd(const sf_RingFinding *findings, size_t count, size_t figure)
{
    double values[MOST];
    size_t n = 0;
    const char *key = findings[0].figures.items[figure].key;
    double turn = strcmp(key, "seam_direction_deg") == 0 ? 360 : strcmp(key, "principal_deg") == 0 ? 180 : 0;
    for (size_t i = 0; i < count && n < MOST; i++) {
        double value = findings[i].figures.items[figure].value;
        if (isnan(value))
            continue;
        if (turn > 0 && n > 0)
            value = values[0] + remainder(value - values[0], turn);
        values[n++] = value;
    }
    return sf_stats_sd(values, n);
}

void sf_ring_repeat_result(sf_Result *result, const sf_RingFinding *findings, size_t count)
{
    if (count < 2) {
        sf_result_null(result, "repeatability", "needs several pictures of the same ring.");
        return;
    }
    sf_Json *object = sf_json_object();
    const sf_RingFigures *figures = &findings[0].figures;
    for (size_t i = 0; i < figures->count; i++) {
        if (figures->items[i].part < 0) {
            sf_json_set_number(object, figures->items[i].key, sf_ring_repeat_sd(findings, count, i));
            continue;
        }
        sf_Json *pair = sf_json_array();
        sf_json_add_number(pair, sf_ring_repeat_sd(findings, count, i));
        sf_json_add_number(pair, sf_ring_repeat_sd(findings, count, i + 1));
        sf_json_set(object, figures->items[i++].key, pair);
    }
    sf_json_set(result->json, "repeatability", object);
    sf_result_note(result,
                   "repeatability: standard deviation over %zu pictures. The figures are those of the first picture, "
                   "the decision is the hardest of all. Lay the ring down afresh for each scan, else only the "
                   "scanner's noise is seen.",
                   count);
}
