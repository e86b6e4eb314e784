// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/units.h"
#include "growth/length.h"
#include "harness/tap.h"

#include <math.h>

static const tap_Tolerance DRAWS = { "4 standard errors of a million draws", 0.02, 5e-6 };

static unsigned long long dice_state = 42;

static double dice(void)
{
    dice_state = dice_state * 6364136223846793005ull + 1442695040888963407ull;
    return ((double)(dice_state >> 11) + 0.5) / 9007199254740992.0;
}

static double normal(void)
{
    return sqrt(-2 * log(dice())) * cos(2 * SF_PI * dice());
}

static sf_LengthPlan plan(void)
{
    return (sf_LengthPlan){ .sound_knee_height = 0.480,
                            .shoe_heel = 0.020,
                            .shoe_sole = 0.010,
                            .foot_build_height = 0.075,
                            .foot_compression = 0.003,
                            .foot_heel_height = 0.010,
                            .foot_length = 0.260,
                            .spacers = 0.006,
                            .adapter_build_height = 0.012,
                            .leave_long = SF_LENGTH_LEAVE_LONG };
}

TAP_CASE(heights_add_up_from_the_floor)
{
    sf_LengthPlan p = plan();
    sf_CutLine line = sf_length_cut_line(&p);
    TAP_NEAR(line.knee_level, 0.500, TAP_ROUNDING, TAP_CLOSED_FORM);
    TAP_NEAR(line.cut_height, 0.110, TAP_ROUNDING, TAP_CLOSED_FORM);
    TAP_NEAR(line.below_knee, 0.390, TAP_ROUNDING, TAP_CLOSED_FORM);
    TAP_NEAR(line.first_below_knee, 0.398, TAP_ROUNDING, TAP_CLOSED_FORM);
    p.target_difference = -0.004;
    p.foot_recess = 0.005;
    line = sf_length_cut_line(&p);
    TAP_NEAR(line.knee_level, 0.496, TAP_ROUNDING, TAP_CLOSED_FORM);
    TAP_NEAR(line.cut_height, 0.105, TAP_ROUNDING, TAP_CLOSED_FORM);
}

TAP_CASE(a_leaning_pylon_is_longer_than_its_height)
{
    sf_LengthPlan p = plan();
    p.dorsiflexion = 5 * SF_DEG;
    TAP_NEAR(sf_length_cut_line(&p).below_knee, 0.390 / cos(5 * SF_DEG), TAP_TIGHT, TAP_CLOSED_FORM);
    p.eversion = -4 * SF_DEG; // tangents of a line's slope in two planes add as vectors
    double lean = atan(hypot(tan(5 * SF_DEG), tan(4 * SF_DEG)));
    TAP_NEAR(sf_length_cut_line(&p).lean, lean, TAP_TIGHT, TAP_CLOSED_FORM);
    p = plan();
    p.shoe_heel = 0.030; // 10 mm more rise than the foot was built for
    p.foot_length = 0.170 / SF_LENGTH_RISE_BASE;
    TAP_NEAR(sf_length_cut_line(&p).lean / SF_DEG, 3.4, TAP_TOLERANCE("two printed digits", 0.015, 0), TAP_PRACTICE);
}

TAP_CASE(chance_and_shortfall_agree_with_drawing_the_budget)
{
    enum { DRAWN = 1000000 };
    double sd = sf_length_sd(sf_length_errors, SF_LENGTH_ERRORS), sum2 = 0, fall = 0;
    int shorter = 0;
    for (int i = 0; i < DRAWN; i++) {
        double e = 0.001;
        for (int k = 0; k < SF_LENGTH_ERRORS; k++)
            e += sf_length_errors[k].sd * normal();
        sum2 += (e - 0.001) * (e - 0.001);
        if (e < -SF_LENGTH_SHORT_LIMIT) {
            shorter++;
            fall -= e;
        }
    }
    TAP_NEAR(sqrt(sum2 / DRAWN), sd, DRAWS, TAP_CLOSED_FORM);
    TAP_NEAR((double)shorter / DRAWN, sf_length_chance_short(0.001, sd, SF_LENGTH_SHORT_LIMIT), DRAWS, TAP_CLOSED_FORM);
    TAP_NEAR(fall / shorter, sf_length_mean_shortfall(0.001, sd, SF_LENGTH_SHORT_LIMIT), DRAWS, TAP_CLOSED_FORM);
    TAP_NEAR(sf_length_chance_short(0, 1, 1.6448536269514722), 0.05, TAP_TIGHT,
             TAP_SOURCE("NIST/SEMATECH e-Handbook 1.3.6.7.1, normal distribution"));
    TAP_TRUE(sf_length_sd(sf_length_trim_errors, sf_length_trim_error_count) < 0.6 * sd);
}

TAP_MAIN(TAP_RUN(heights_add_up_from_the_floor), TAP_RUN(a_leaning_pylon_is_longer_than_its_height),
         TAP_RUN(chance_and_shortfall_agree_with_drawing_the_budget))
