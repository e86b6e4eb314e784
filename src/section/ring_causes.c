// SPDX-License-Identifier: GPL-3.0-or-later
#include "section/ring_causes.h"

#include "base/units.h"

#include <stdarg.h>
#include <stdio.h>

// Weights from 0 to 1 are judgement: a measure at its accept limit weighs one half, what the forming record says adds
// or takes off. They rank what to look at first and decide nothing.
static const double LISTED = 0.25, POSSIBLE = 0.4, LIKELY = 0.7;
static const double RECORD = 0.25; // what one entry of the forming record adds

static double clip(double x)
{
    return x < 0 || isnan(x) ? 0 : x > 1 ? 1 : x;
}

SF_PRINTF(4, 5)
static void add(sf_RingDecision *decision, const char *code, double weight, const char *format, ...)
{
    weight = clip(weight);
    if (weight < LISTED || decision->cause_count == SF_MAX_CAUSES)
        return;
    size_t at = decision->cause_count++;
    for (; at > 0 && decision->causes[at - 1].weight < weight; at--)
        decision->causes[at] = decision->causes[at - 1];
    sf_Cause *cause = &decision->causes[at];
    *cause = (sf_Cause){ .code = code, .weight = weight };
    cause->likelihood = weight >= LIKELY ? "likely" : weight >= POSSIBLE ? "possible" : "less likely";
    va_list args;
    va_start(args, format);
    vsnprintf(cause->text, sizeof cause->text, format, args);
    va_end(args);
}

static double moisture_entry(sf_Model model)
{
    switch (model) {
    case SF_MODEL_WET: return RECORD;
    case SF_MODEL_DAMP: return RECORD / 2;
    case SF_MODEL_DRY: return -RECORD;
    case SF_MODEL_UNKNOWN: break;
    }
    return 0;
}

// Groove and unjoined seam: the sheet's edges were chilled or held apart while they met.
static void rank_seam(sf_RingDecision *decision, const sf_RingMeasure *m, const sf_RingContext *c,
                      const sf_RingLimits *l)
{
    double groove = isnan(m->wall.groove_share) ? 0 : 0.5 * m->wall.groove_share / l->groove.accept;
    double line = isnan(m->wall.unjoined_share) ? 0 : 0.5 * m->wall.unjoined_share / l->unjoined.accept;
    double seen = clip(fmax(groove, line));
    if (seen < LISTED)
        return;
    const char *sign = line > groove ? "an unjoined line at the seam" : "a groove along the seam";
    double vacuum = isnan(c->vacuum_s) ? 0 : c->vacuum_s < l->causes.short_vacuum_s ? RECORD : -RECORD;
    add(decision, "moisture", seen + moisture_entry(c->model),
        "Moisture on the model: %s. Steam keeps the sheet's edges apart; form on a dry model.", sign);
    add(decision, "late-vacuum", seen + vacuum - 0.01, // behind moisture where nothing tells them apart
        "Vacuum late or short: %s. The edges were cooling when they met; draw the vacuum at once and keep it.", sign);
}

static void rank_wall(sf_RingDecision *decision, const sf_RingMeasure *m, const sf_RingContext *c,
                      const sf_RingLimits *l)
{
    double share = m->wall.eccentricity / m->wall.median;
    add(decision, "off-centre", 0.5 * share / l->causes.eccentric,
        "Model off centre in the sheet, or an uneven drape: one side is %.1f mm thicker than the other.",
        2 * m->wall.eccentricity / SF_MM);
    if (isnan(c->nominal_wall))
        return;
    // Thin all round: the median wall, which an off-centre ring keeps.
    double thinned = (1 - m->wall.median / c->nominal_wall) / (1 - l->wall_off_seam.accept);
    if (thinned <= 0)
        return;
    double oven = isnan(c->oven_c) ? 0 : c->oven_c > l->causes.hot_c ? RECORD : -RECORD;
    add(decision, "over-heating", 0.6 * thinned + oven,
        "Over-heating or too much stretch: the wall is %.0f %% thinner than expected all round.",
        100 * (1 - m->wall.median / c->nominal_wall));
}

void sf_ring_causes_rank(sf_RingDecision *decision, const sf_RingMeasure *measure, const sf_RingContext *context,
                         const sf_RingLimits *limits)
{
    decision->cause_count = 0;
    rank_seam(decision, measure, context, limits);
    rank_wall(decision, measure, context, limits);
    double share = measure->section.void_area / measure->section.area;
    if (share > 0)
        add(decision, "trapped-air", 0.4 + 0.3 * share / limits->voids.accept,
            "Air or moisture trapped in the wall: %.2f mm\u00b2 of voids. Dry the sheet and drape without folds.",
            measure->section.void_area / SF_MM2);
}
