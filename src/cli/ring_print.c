// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/ring_print.h"

#include <stdio.h>

// As many decimals as the doubt leaves meaning, at most three.
static int decimals(double doubt)
{
    return !(doubt > 0) ? 3 : doubt >= 20 ? 0 : doubt >= 2 ? 1 : doubt >= 0.2 ? 2 : 3;
}

void sf_ring_print_figures(const sf_RingFinding *f)
{
    for (size_t i = 0; i < f->figures.count; i++) {
        const sf_Figure *figure = &f->figures.items[i];
        if (isnan(figure->value)) {
            printf("  %-28s %12s        %s\n", figure->label, "-", figure->missing);
            continue;
        }
        double doubt = hypot(figure->edge, figure->scale);
        printf("  %-28s %12.*f %-4s", figure->label, decimals(doubt), figure->value, figure->unit);
        if (doubt > 0)
            printf("  +- %.*f", decimals(doubt), doubt);
        printf("\n");
    }
    for (size_t i = 0; i < f->scan.outline.void_count; i++) {
        sf_Point centre = sf_polygon_centroid(&f->scan.outline.voids[i]);
        printf("  void at x %.2f, y %.2f mm, %.3f mm2\n", centre.x * 1e3, centre.y * 1e3,
               sf_polygon_area(&f->scan.outline.voids[i]) * 1e6);
    }
}

void sf_ring_print_decision(const sf_RingFinding *f)
{
    const sf_RingDecision *d = &f->decision;
    printf("\n  %s\n", d->words);
    for (size_t i = 0; i < d->reason_count; i++)
        printf("  - [%s] %s\n", sf_verdict_word(d->reasons[i].verdict), d->reasons[i].text);
    for (size_t i = 0; i < d->cause_count; i++)
        printf("  %s cause: %s\n", d->causes[i].likelihood, d->causes[i].text);
    for (size_t i = 0; i < d->sharpen_count; i++)
        printf("  would sharpen this: %s\n", d->sharpen[i]);
    if (!d->body_weight)
        printf("  No body weight on this limb, not even between bars.\n");
    printf("\n%s\n", sf_safety_sentence());
}

void sf_ring_print_repeats(const sf_RingFinding *findings, size_t count)
{
    printf("\n  over %zu pictures, standard deviation:\n", count);
    for (size_t i = 0; i < findings[0].figures.count; i++) {
        const sf_Figure *figure = &findings[0].figures.items[i];
        double sd = sf_ring_repeat_sd(findings, count, i);
        if (!isnan(sd))
            printf("  %-28s %12.4f %s\n", figure->label, sd, figure->unit);
    }
}
