// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/alloc.h"
#include "base/units.h"
#include "harness/tap.h"
#include "material/card.h"
#include "material/load_level.h"

#include <math.h>
#include <string.h>

TAP_CASE(cards_hold_published_figures_with_range_and_source)
{
    sf_Card *card = NULL;
    TAP_OK(sf_card_builtin(&card, "pp-homopolymer", NULL));
    TAP_TRUE(card->modulus.low <= 1140e6 && card->modulus.high >= 1550e6 && card->modulus.value == 1400e6);
    TAP_NEAR(card->yield.value, 32e6, TAP_ROUNDING, TAP_SOURCE("semi-finished sheet data sheet, ISO 527"));
    TAP_NEAR(card->yield.high, 37e6, TAP_ROUNDING, TAP_SOURCE("Modern Plastics Encyclopedia 1999, tensile yield"));
    sf_card_destroy(&card);
    TAP_OK(sf_card_builtin(&card, "pp-copolymer", NULL));
    TAP_TRUE(card->yield.low <= 22e6 && card->yield.high >= 31e6);
    TAP_TRUE(card->seam_factor.confidence == SF_CONFIDENCE_JUDGEMENT, "the seam factor says that it has no source");
    sf_MaterialState at;
    TAP_OK(sf_card_at(&at, card, 23, NULL));
    TAP_NEAR(at.shear_modulus, 1000e6 / 2.84, TAP_ROUNDING, TAP_CLOSED_FORM);
    sf_card_destroy(&card);
}

TAP_CASE(hotter_is_never_stiffer_or_stronger_and_the_law_has_ends)
{
    for (size_t i = 0; sf_card_builtin_name(i); i++) {
        sf_Card *card = NULL;
        sf_MaterialState at, before = { 0, INFINITY, INFINITY, INFINITY, INFINITY };
        TAP_OK(sf_card_builtin(&card, sf_card_builtin_name(i), NULL));
        bool falls = true;
        for (int t = 0; t <= 100; t++) {
            TAP_OK(sf_card_at(&at, card, 0.5 * t, NULL));
            falls = falls && at.modulus <= before.modulus && at.yield <= before.yield;
            before = at;
        }
        TAP_TRUE(falls, "%s", card->name);
        sf_Error err = { 0 };
        TAP_STATUS(sf_card_at(&at, card, 50.5, &err), SF_E_RANGE);
        TAP_HOLDS(err.text, "choose a temperature from 0 to 50 C");
        TAP_STATUS(sf_card_at(&at, card, NAN, NULL), SF_E_RANGE);
        sf_card_destroy(&card);
    }
}

TAP_CASE(creep_and_fatigue_laws_return_their_anchors)
{
    sf_Card *card = NULL;
    TAP_OK(sf_card_builtin(&card, "pp-copolymer", NULL));
    TAP_NEAR(sf_card_creep_ratio(card, 1000) / sf_card_creep_ratio(card, 1.0 / 60), 1300.0 / 400,
             TAP_TOLERANCE("three digits of the fit", 2e-3, 0),
             TAP_SOURCE("block copolymer pipe sheet (1300 MPa, 1 min); sheet data sheet (400 MPa at 1000 h)"));
    // Pipe creep ratio of ISO 9967: 3 from first minutes to two years; our law must be of that size.
    double two_years = sf_card_creep_ratio(card, 17520) / sf_card_creep_ratio(card, 0.05);
    TAP_NEAR(two_years, 3, TAP_TOLERANCE("another product, another convention", 0.9, 0),
             TAP_SOURCE("block copolymer pipe sheet, ISO 9967"));
    TAP_NEAR(sf_card_fatigue_stress(card, 1e6), 13e6, TAP_ROUNDING, TAP_MEMORY);
    TAP_NEAR(sf_card_fatigue_stress(card, 1e7), 11e6, TAP_TOLERANCE("two digits", 0.05, 0), TAP_MEMORY);
    TAP_NEAR(sf_card_fatigue_stress(card, 1e5), 16e6, TAP_TOLERANCE("two digits", 0.05, 0), TAP_MEMORY);
    sf_card_destroy(&card);
}

TAP_CASE(a_card_that_contradicts_itself_is_refused)
{
    sf_Card *card = NULL;
    sf_Error err = { 0 };
    TAP_STATUS(sf_card_builtin(&card, "steel", &err), SF_E_INPUT);
    TAP_HOLDS(err.text, "'pp-copolymer' or 'pp-homopolymer'");
    static const char text[] =
        "{\"format\": \"standfast-material/1\", \"name\": \"x\", \"title\": \"x\", \"valid\": \"x\","
        "\"modulus_mpa\": {\"value\": 900, \"low\": 1000, \"high\": 1100, \"confidence\": \"hearsay\", \"source\": "
        "\"x\"},"
        "\"temperature\": {\"points\": [{\"temperature_c\": 0, \"modulus_factor\": 1, \"yield_factor\": 1},"
        "{\"temperature_c\": 50, \"modulus_factor\": 1.1, \"yield_factor\": 1}], \"confidence\": \"judgement\","
        "\"source\": \"x\"}}";
    TAP_STATUS(sf_card_parse(&card, "card.json", text, strlen(text), &err), SF_E_INPUT);
    TAP_HOLDS(err.text, "modulus_mpa must have low <= value <= high");
    TAP_HOLDS(err.text, "modulus_mpa.confidence is 'hearsay'");
    TAP_HOLDS(err.text, "temperature.points[1] must not be stiffer");
    TAP_HOLDS(err.text, "yield_mpa is missing");
}

TAP_CASE(top_and_bottom_offsets_follow_from_knee_and_ankle)
{
    sf_LoadLevels *levels = NULL;
    TAP_OK(sf_load_levels_create(&levels, NULL));
    for (size_t i = 0; i < levels->level_count; i++)
        for (size_t c = 0; c < 2; c++) {
            const sf_LoadCondition *at = &levels->levels[i].conditions[c];
            const sf_LineOffsets *both[] = { &at->forward, &at->outward };
            for (size_t k = 0; k < 2; k++) {
                double slope = (both[k]->knee - both[k]->ankle) / (levels->height.knee - levels->height.ankle);
                double top = both[k]->ankle + slope * (levels->height.top - levels->height.ankle);
                double bottom = both[k]->ankle + slope * (levels->height.bottom - levels->height.ankle);
                TAP_NEAR(top, both[k]->top, TAP_TOLERANCE("1 mm", 0, 1e-3),
                         TAP_SOURCE("GOST R ISO 10328-4-98, table 5, T"));
                TAP_NEAR(bottom, both[k]->bottom, TAP_TOLERANCE("1 mm", 0, 1e-3),
                         TAP_SOURCE("GOST R ISO 10328-4-98, table 5, B"));
            }
            const sf_LevelForces *f = &at->force;
            TAP_NEAR(f->ultimate_lower, 1.5 * f->proof, TAP_TOLERANCE("rounding to 1 N", 0, 1),
                     TAP_SOURCE("GOST R ISO 10328-4-98, table 6: ratio that holds in every row"));
            TAP_NEAR(f->ultimate_upper, 2.0 * f->proof, TAP_TOLERANCE("rounding to 1 N", 0, 1),
                     TAP_SOURCE("GOST R ISO 10328-4-98, table 6: ratio that holds in every row"));
        }
    TAP_NEAR(levels->levels[2].conditions[1].force.ultimate_upper, 4025, TAP_EXACT,
             TAP_SOURCE("Current, Kogler, Barth, Prosthet Orthot Int 1999: A100, condition II, 4025 N"));
    TAP_TEXT(sf_load_level_for_mass(levels, 60)->level, "P3");
    TAP_TEXT(sf_load_level_for_mass(levels, 60.1)->level, "P4");
    TAP_TEXT(sf_load_level_for_mass(levels, 100)->level, "P5");
    TAP_TRUE(sf_load_level_for_mass(levels, 100.5) == NULL && sf_load_level_find(levels, "P6") == NULL);
    sf_load_levels_destroy(&levels);
}

static sf_Status read_all(void *context)
{
    (void)context;
    sf_Card *card = NULL;
    sf_LoadLevels *levels = NULL;
    sf_Status status;
    SF_TRY_DONE(sf_card_builtin(&card, "pp-copolymer", NULL));
    SF_TRY_DONE(sf_load_levels_create(&levels, NULL));
done:
    sf_card_destroy(&card);
    sf_load_levels_destroy(&levels);
    return status;
}

TAP_CASE(every_failed_allocation_is_survived)
{
    tap_every_allocation(read_all, NULL, 3000, "cards and levels");
}

TAP_MAIN(TAP_RUN(cards_hold_published_figures_with_range_and_source),
         TAP_RUN(hotter_is_never_stiffer_or_stronger_and_the_law_has_ends),
         TAP_RUN(creep_and_fatigue_laws_return_their_anchors), TAP_RUN(a_card_that_contradicts_itself_is_refused),
         TAP_RUN(top_and_bottom_offsets_follow_from_knee_and_ankle), TAP_RUN(every_failed_allocation_is_survived))
