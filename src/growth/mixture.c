// SPDX-License-Identifier: GPL-3.0-or-later
#include "growth/mixture.h"

#include "base/alloc.h"

#include <math.h>

enum { QUANTILE_STEPS = 60 };
static const double QUANTILE_RELATIVE = 1e-9; ///< of the bracket; far below any reading
static const double BRACKET_SDS = 12.0;       ///< a normal part has nothing beyond
static const double SD_FLOOR = 1e-12;         ///< keeps a part without spread computable

sf_Status sf_mixture_create(sf_Mixture *mixture, size_t count, sf_Error *err)
{
    *mixture = (sf_Mixture){ .count = count, .weight = sf_alloc(3 * count, sizeof(double)) };
    if (!mixture->weight) {
        mixture->count = 0;
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory for a distribution of %zu parts", count);
    }
    mixture->mean = mixture->weight + count;
    mixture->sd = mixture->mean + count;
    return SF_OK;
}

void sf_mixture_free(sf_Mixture *mixture)
{
    sf_free(mixture->weight);
    *mixture = (sf_Mixture){ 0 };
}

void sf_mixture_normalise(sf_Mixture *mixture)
{
    double most = -INFINITY, sum = 0;
    for (size_t i = 0; i < mixture->count; i++)
        most = fmax(most, mixture->weight[i]);
    for (size_t i = 0; i < mixture->count; i++)
        sum += mixture->weight[i] = exp(mixture->weight[i] - most);
    for (size_t i = 0; i < mixture->count; i++)
        mixture->weight[i] /= sum;
}

double sf_mixture_mean(const sf_Mixture *mixture)
{
    double sum = 0;
    for (size_t i = 0; i < mixture->count; i++)
        sum += mixture->weight[i] * mixture->mean[i];
    return sum;
}

double sf_mixture_sd(const sf_Mixture *mixture)
{
    double mean = sf_mixture_mean(mixture), sum = 0;
    for (size_t i = 0; i < mixture->count; i++) {
        double off = mixture->mean[i] - mean;
        sum += mixture->weight[i] * (off * off + mixture->sd[i] * mixture->sd[i]);
    }
    return sqrt(sum);
}

double sf_mixture_below(const sf_Mixture *mixture, double x)
{
    double sum = 0;
    for (size_t i = 0; i < mixture->count; i++)
        sum += mixture->weight[i] * 0.5 * erfc((mixture->mean[i] - x) / (fmax(mixture->sd[i], SD_FLOOR) * sqrt(2.0)));
    return sum;
}

double sf_mixture_quantile(const sf_Mixture *mixture, double share)
{
    double low = INFINITY, high = -INFINITY;
    for (size_t i = 0; i < mixture->count; i++) {
        low = fmin(low, mixture->mean[i] - BRACKET_SDS * mixture->sd[i]);
        high = fmax(high, mixture->mean[i] + BRACKET_SDS * mixture->sd[i]);
    }
    double enough = QUANTILE_RELATIVE * (high - low);
    for (int step = 0; step < QUANTILE_STEPS && high - low > enough; step++) {
        double middle = (low + high) / 2;
        if (sf_mixture_below(mixture, middle) < share)
            low = middle;
        else
            high = middle;
    }
    return (low + high) / 2;
}
