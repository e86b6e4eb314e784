// SPDX-License-Identifier: GPL-3.0-or-later
#include "gait/acceleration.h"
#include "gait/steps.h"
#include "gait/walk_maker.h"
#include "harness/tap.h"

#include <math.h>
#include <string.h>

static const WalkTruth LIMP = { .left = 0.56, .right = 0.64, .step_sd = 0.015 };

static sf_StepReport walk_of(double rate, sf_SensorPlace place, int side, sf_FootSide first, uint64_t seed,
                             size_t *found)
{
    enum { CONTACTS = 160 };
    sf_Text text = sf_text_make(8u << 20);
    uint64_t state = seed;
    walk_acceleration(&text, &state, LIMP, CONTACTS, rate, side);
    sf_Acceleration a;
    sf_FootfallList list = { 0 };
    sf_StepReport report = { 0 };
    sf_Error err = { 0 };
    if (TAP_TRUE(sf_acceleration_read(&a, "walk", sf_text_string(&text), text.length, &err) == SF_OK, "%s", err.text)) {
        TAP_NEAR(a.recorded_rate, rate, TAP_TOLERANCE("jittered sample times", 0.02, 0), TAP_INVENTED);
        if (TAP_TRUE(sf_acceleration_footfalls(&list, &a, place, first, &err) == SF_OK, "%s", err.text))
            TAP_OK(sf_steps_analyse(&report, &list, 1, &err));
    }
    *found = list.count;
    sf_footfall_free(&list);
    sf_acceleration_free(&a);
    sf_text_free(&text);
    return report;
}

#define OF_MEDIAN TAP_TOLERANCE("four standard errors of a median over 79 steps, and 2 ms", 0, 0.0105)

TAP_CASE(a_limp_at_the_waist_gives_both_step_times_at_every_rate)
{
    static const double rates[] = { 50, 100, 128, 200 };
    for (size_t i = 0; i < sizeof rates / sizeof *rates; i++) {
        size_t found;
        sf_StepReport r = walk_of(rates[i], SF_SENSOR_WAIST, -1, SF_FOOT_LEFT, 40 + i, &found);
        TAP_TRUE(found >= 156 && found <= 164, "%zu contacts at %g Hz", found, rates[i]);
        TAP_NEAR(r.groups[0].step_time[SF_FOOT_LEFT], LIMP.left, OF_MEDIAN, TAP_INVENTED);
        TAP_NEAR(r.groups[0].step_time[SF_FOOT_RIGHT], LIMP.right, OF_MEDIAN, TAP_INVENTED);
        // Timing noise adds to the variation, it must not swamp it.
        TAP_NEAR(r.groups[0].cv[0], sqrt(2) * LIMP.step_sd / 1.2,
                 TAP_TOLERANCE("78 strides and 5 ms of timing noise", 0.4, 0), TAP_CLOSED_FORM);
        sf_steps_free(&r);
    }
}

TAP_CASE(told_the_other_first_side_the_sides_change_places)
{
    size_t found;
    sf_StepReport r = walk_of(100, SF_SENSOR_WAIST, -1, SF_FOOT_RIGHT, 9, &found);
    TAP_NEAR(r.groups[0].step_time[SF_FOOT_RIGHT], LIMP.left, OF_MEDIAN, TAP_INVENTED);
    sf_steps_free(&r);
}

TAP_CASE(a_sensor_on_the_shank_gives_strides_of_its_side_only)
{
    size_t found;
    sf_StepReport r = walk_of(100, SF_SENSOR_SHANK, 1, SF_FOOT_RIGHT, 12, &found);
    const sf_StepGroup *g = &r.groups[0];
    TAP_TRUE(found >= 78 && found <= 82, "%zu contacts", found);
    TAP_TRUE(g->one_sided && g->steps == 0 && isnan(g->step_time[0]) && isnan(g->step_time[1]) && g->missed == 0);
    TAP_NEAR(g->stride_time[SF_FOOT_RIGHT], 1.2, OF_MEDIAN, TAP_INVENTED);
    TAP_TRUE(isfinite(g->cv[SF_FOOT_RIGHT]) && isnan(g->cv[SF_FOOT_LEFT]));
    sf_steps_free(&r);
}

static void refuse(const char *table, const char *said)
{
    sf_Acceleration a;
    sf_Error err = { 0 };
    TAP_TRUE(sf_acceleration_read(&a, "a.csv", table, strlen(table), &err) != SF_OK);
    TAP_HOLDS(err.text, said);
    sf_acceleration_free(&a);
}

TAP_CASE(bad_recordings_are_refused)
{
    refuse("time_s,ax,ay\n0,1,1\n", "az");
    refuse("time_s,ax,ay,az\n0,0,0,9.8\n0.01,0,0,9.8\n0.005,0,0,9.8\n", "line 4");
    refuse("time_s,ax,ay,az\n0,0,0,9.8\n2,0,0,9.8\n", "missing");
    refuse("time_s,ax,ay,az\n0,0,0,9.8\n0.01,0,0,9.8\n", "s of walking are needed");
    refuse("time_s,ax,ay,az\n0,0,0,9800\n0.01,0,0,9800\n", "m/s^2");
    // Standing still: noise only.
    sf_Text text = sf_text_make(1 << 20);
    uint64_t state = 2;
    sf_text_add(&text, "time_s,ax,ay,az\n");
    for (int i = 0; i < 2000; i++)
        sf_text_format(&text, "%.3f,%.4f,%.4f,%.4f\n", i * 0.01, 0.02 * walk_normal(&state), 0.02 * walk_normal(&state),
                       9.81 + 0.02 * walk_normal(&state));
    sf_Acceleration a;
    sf_FootfallList list;
    sf_Error err = { 0 };
    TAP_OK(sf_acceleration_read(&a, "still", sf_text_string(&text), text.length, &err));
    TAP_STATUS(sf_acceleration_footfalls(&list, &a, SF_SENSOR_WAIST, SF_FOOT_LEFT, &err), SF_E_INPUT);
    TAP_HOLDS(err.text, "no regular steps");
    sf_acceleration_free(&a);
    sf_text_free(&text);
}

TAP_MAIN(TAP_RUN(a_limp_at_the_waist_gives_both_step_times_at_every_rate),
         TAP_RUN(told_the_other_first_side_the_sides_change_places),
         TAP_RUN(a_sensor_on_the_shank_gives_strides_of_its_side_only), TAP_RUN(bad_recordings_are_refused))
