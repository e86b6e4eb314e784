// SPDX-License-Identifier: GPL-3.0-or-later
// Repeated and lasting loads by hand: Miner's rule and Findley's law.
#include "harness/tap.h"
#include "strength/creep.h"
#include "strength/fatigue.h"
#include "strength/tube.h"

static sf_Card card = {
    .fatigue = { .there = true, .stress = 13e6, .cycles = 1e6, .slope = 12, .stress_factor_band = 1.5 },
    .creep = { .there = true, .m = 0.883, .n = 0.2 }
};

TAP_CASE(miners_rule_by_hand)
{
    // 13 MPa are borne 1e6 times; 13 x 2^(1/12) = 13.7731 MPa half as often.
    sf_LoadBlock blocks[] = { { 13e6, 2.5e5 }, { 13.7731e6, 2.5e5 } };
    TAP_NEAR(sf_miner_sum(&card, blocks, 1), 0.25, TAP_TIGHT, TAP_SOURCE("Miner 1945: n / N"));
    TAP_NEAR(sf_miner_sum(&card, blocks, 2), 0.25 + 0.5, TAP_TABLE_4, TAP_SOURCE("Miner 1945: sum of n / N"));
    // All stresses times 0.75^(-1/12) = 1.02426 use the line up.
    TAP_NEAR(1 / sf_miner_utilisation(&card, blocks, 2), 1.02426, TAP_TABLE_4, TAP_CLOSED_FORM);
    // Easy version that fails: adding the utilisations.
    TAP_TRUE(sf_miner_utilisation(&card, blocks, 2) < 1);
    sf_LoadBlock none = { 20e6, 0 };
    TAP_NEAR(sf_miner_sum(&card, &none, 1), 0, TAP_EXACT, TAP_CLOSED_FORM);
}

TAP_CASE(a_tube_in_two_directions_adds_only_where_both_pull)
{
    sf_BeamSection tube = tube_section(50, 40, 0, 0);
    sf_BeamHole hole = { 0.150, 90 * SF_DEG, 6e-3 };
    sf_Pylon pylon = tube_pylon(&tube, 110, 30, 290, &hole, 1);
    sf_Actions front[SF_STATION_MAX], side[SF_STATION_MAX];
    for (size_t i = 0; i < pylon.station_count; i++) {
        front[i] = (sf_Actions){ .moment = { 0, 80 } };
        side[i] = (sf_Actions){ .moment = { 80, 0 } };
    }
    const sf_Actions *alone[] = { front }, *both[] = { front, front }, *crossed[] = { front, side };
    double stress, one = sf_pylon_fatigue(&pylon, &card, alone, 1, 1e6, &stress);
    TAP_NEAR(one, stress / 13e6, TAP_TIGHT, TAP_CLOSED_FORM);
    TAP_TRUE(stress > 80 * 0.025 / tube.jyy, "the hole's net section counts");
    TAP_NEAR(sf_pylon_fatigue(&pylon, &card, both, 2, 1e6, &stress), one * pow(2, 1.0 / 12), TAP_TIGHT,
             TAP_CLOSED_FORM);
    double two = sf_pylon_fatigue(&pylon, &card, crossed, 2, 1e6, &stress);
    TAP_TRUE(two >= one && two < one * 1.01, "%g, alone %g", two, one);
    TAP_NEAR(sf_pylon_fatigue(&pylon, &card, alone, 1, 3e6, &stress), one * pow(3, 1.0 / 12), TAP_TIGHT,
             TAP_SOURCE("Basquin's line"));
    sf_pylon_free(&pylon);
}

TAP_CASE(findleys_law_by_hand)
{
    // 1 + 0.883 x 1000^0.2 = 1 + 0.883 x 3.98107 = 4.51529.
    TAP_NEAR(sf_creep_modulus(&card, 1300e6, 1000), 1300e6 / 4.51529, TAP_TABLE_4, TAP_SOURCE("Findley's power law"));
    TAP_NEAR(sf_preload_kept(&card, 1000), 0.221470, TAP_TABLE_4, TAP_SOURCE("Findley's power law"));
    TAP_NEAR(sf_preload_kept(&card, 1), 1 / 1.883, TAP_TIGHT, TAP_CLOSED_FORM);
}

TAP_CASE(a_standing_tube_tilts_as_a_cantilever)
{
    // A small force far beside a straight tube: an even moment, tilt M L / (E J).
    sf_BeamSection tube = tube_section(50, 40, 0, 0);
    sf_Pylon pylon = tube_pylon(&tube, 110, 30, 290, NULL, 0);
    sf_LoadLine line = { { 0, 1.0 }, { 0, 0 }, 1, 0.08, 0.5 };
    sf_Drift drift;
    TAP_TRUE(sf_standing_drift(&drift, &pylon, &line, 0.1, 500e6, 0.08));
    double tilt = 0.1 * 1.0 * 0.150 / (500e6 * tube.jyy);
    TAP_NEAR(drift.tilt, tilt, TAP_TOLERANCE("second order, small", 1e-3, 0), TAP_CLOSED_FORM);
    TAP_NEAR(drift.shift, tilt * (0.215 - 0.08), TAP_TOLERANCE("second order, small", 1e-3, 0), TAP_CLOSED_FORM);
    sf_Drift softer;
    TAP_TRUE(sf_standing_drift(&softer, &pylon, &line, 0.1, 250e6, 0.08));
    TAP_NEAR(softer.tilt, 2 * drift.tilt, TAP_TOLERANCE("second order, small", 1e-3, 0), TAP_CLOSED_FORM);
    sf_pylon_free(&pylon);
}

TAP_MAIN(TAP_RUN(miners_rule_by_hand), TAP_RUN(a_tube_in_two_directions_adds_only_where_both_pull),
         TAP_RUN(findleys_law_by_hand), TAP_RUN(a_standing_tube_tilts_as_a_cantilever))
