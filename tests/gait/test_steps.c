// SPDX-License-Identifier: GPL-3.0-or-later
#include "gait/steps.h"
#include "gait/walk_maker.h"
#include "harness/tap.h"
#include "num/chi_square.h"

#include <math.h>
#include <string.h>
#include <time.h>

#define MICRO TAP_TOLERANCE("six decimals of a written time", 0, 2e-6)

static sf_StepReport analyse(const char *table, size_t drop)
{
    sf_FootfallList list;
    sf_StepReport report = { 0 };
    sf_Error err = { 0 };
    if (TAP_TRUE(sf_footfall_read(&list, "walk", table, strlen(table), &err) == SF_OK, "%s", err.text))
        TAP_OK(sf_steps_analyse(&report, &list, drop, &err));
    sf_footfall_free(&list);
    return report;
}

// Left: 0.50 0.52 0.54 0.56 0.58, right: 0.61 0.63 0.65 0.67; the ends are long and must not count.
TAP_CASE(medians_of_a_written_walk_are_exact_and_its_ends_do_not_count)
{
    static const double steps[] = { 0.9, 0.50, 0.61, 0.58, 0.63, 0.52, 0.67, 0.56, 0.65, 0.54, 0.95 };
    sf_Text text = sf_text_make(4096);
    sf_text_add(&text, "time_s,side\n");
    double t = 2;
    sf_text_format(&text, "%.6f,L\n", t);
    for (int i = 0; i < 11; i++) {
        t += steps[i];
        sf_text_format(&text, "%.6f,%c\n", t, i % 2 ? 'L' : 'R');
    }
    sf_StepReport r = analyse(sf_text_string(&text), 1);
    const sf_StepGroup *g = &r.groups[0];
    TAP_TRUE(r.group_count == 1 && g->passes == 1 && g->steps == 9 && g->steps_of[0] == 5 && g->steps_of[1] == 4);
    TAP_NEAR(g->step_time[SF_FOOT_LEFT], 0.54, MICRO, TAP_CLOSED_FORM);
    TAP_NEAR(g->step_time[SF_FOOT_RIGHT], 0.64, MICRO, TAP_CLOSED_FORM);
    TAP_TRUE(isnan(g->cv[0]) && isnan(g->cv[1]), "a handful of strides gives no variation");
    TAP_TRUE(r.gap_count == 0 && isnan(g->stance_time[0]));
    sf_steps_free(&r);
    sf_text_free(&text);
}

TAP_CASE(same_side_twice_is_a_gap_and_never_a_step)
{
    sf_StepReport r = analyse("time_s,side\n0,L\n0.6,R\n1.1,L\n1.7,R\n2.8,R\n3.3,L\n3.9,R\n4.4,L\n5.0,R\n", 1);
    const sf_StepGroup *g = &r.groups[0];
    TAP_TRUE(g->missed == 1 && r.gap_count == 1 && r.gaps[0].kind == SF_GAP_MISSED_STEP && r.gaps[0].index == 4);
    TAP_NEAR(r.gaps[0].length, 1.1, MICRO, TAP_CLOSED_FORM);
    TAP_TRUE(g->steps == 5, "%zu steps", g->steps);
    TAP_NEAR(g->step_time[SF_FOOT_RIGHT], 0.6, MICRO, TAP_CLOSED_FORM);
    TAP_NEAR(g->step_time[SF_FOOT_LEFT], 0.5, MICRO, TAP_CLOSED_FORM);
    // The right foot's stride over the missed left contact is a whole one.
    TAP_NEAR(g->stride_time[SF_FOOT_RIGHT], 1.1, MICRO, TAP_CLOSED_FORM);
    sf_steps_free(&r);
}

TAP_CASE(a_double_contact_is_dropped_and_counted)
{
    sf_StepReport r = analyse("time_s,side\n0,L\n0.6,R\n1.1,L\n1.14,L\n1.7,R\n2.2,L\n2.8,R\n3.3,L\n", 1);
    const sf_StepGroup *g = &r.groups[0];
    TAP_TRUE(g->doubles == 1 && g->missed == 0 && r.gap_count == 1 && r.gaps[0].kind == SF_GAP_DOUBLE_CONTACT);
    TAP_NEAR(g->step_time[SF_FOOT_RIGHT], 0.6, MICRO, TAP_CLOSED_FORM);
    sf_steps_free(&r);
    // At 0.3 of the median step it is no double contact but a missed step.
    r = analyse("time_s,side\n0,L\n0.6,R\n1.1,L\n1.28,L\n1.7,R\n2.2,L\n2.8,R\n3.3,L\n", 1);
    TAP_TRUE(r.groups[0].doubles == 0 && r.groups[0].missed == 1);
    sf_steps_free(&r);
}

// Told footfall by footfall, so that a picture can show it: ends, a double contact, a missed step, a pause.
TAP_CASE(what_became_of_every_footfall_is_told)
{
    sf_StepReport r = analyse("time_s,side\n0,L\n0.6,R\n1.1,L\n1.14,L\n1.7,R\n2.2,L\n2.8,R\n3.9,R\n4.4,L\n5,R\n5.5,L\n"
                              "12,R\n12.5,L\n",
                              1);
    static const sf_ContactUse wanted[] = { SF_CONTACT_FIRST, SF_CONTACT_END,  SF_CONTACT_STEP, SF_CONTACT_DOUBLE,
                                            SF_CONTACT_STEP,  SF_CONTACT_STEP, SF_CONTACT_STEP, SF_CONTACT_MISSED,
                                            SF_CONTACT_STEP,  SF_CONTACT_STEP, SF_CONTACT_END,  SF_CONTACT_FIRST,
                                            SF_CONTACT_END };
    for (size_t i = 0; i < sizeof wanted / sizeof *wanted; i++)
        TAP_TRUE(r.use[i] == wanted[i], "footfall %zu: %d, not %d", i, r.use[i], wanted[i]);
    TAP_NEAR(r.length[4], 0.6, TAP_ROUNDING, TAP_INVENTED); // from the contact that was kept, not from the double one
    TAP_NEAR(r.length[7], 1.1, TAP_ROUNDING, TAP_INVENTED);
    TAP_TRUE(isnan(r.length[0]) && isnan(r.length[3]) && isnan(r.length[11]));
    sf_steps_free(&r);
}

TAP_CASE(passes_add_up_and_supports_stay_apart)
{
    sf_StepReport r =
        analyse("time_s,side,pass,support\n0,L,a,bars\n0.7,R,a,bars\n1.4,L,a,bars\n2.1,R,a,bars\n2.8,L,a,bars\n"
                "10,R,b,bars\n10.7,L,b,bars\n11.4,R,b,bars\n12.1,L,b,bars\n12.8,R,b,bars\n"
                "20,L,c,free\n20.5,R,c,free\n21,L,c,free\n21.5,R,c,free\n22,L,c,free\n",
                1);
    TAP_TRUE(r.group_count == 2 && r.groups[0].support == SF_WALK_BARS && r.groups[1].support == SF_WALK_FREE);
    TAP_TRUE(r.groups[0].passes == 2 && r.groups[0].steps == 4 && r.groups[1].passes == 1 && r.groups[1].steps == 2);
    TAP_NEAR(r.groups[0].step_time[0], 0.7, MICRO, TAP_INVENTED);
    TAP_NEAR(r.groups[1].step_time[0], 0.5, MICRO, TAP_INVENTED);
    TAP_TRUE(r.gap_count == 0, "the time between passes is no gap");
    sf_steps_free(&r);
}

TAP_CASE(a_turn_breaks_the_walk_and_the_steps_beside_it_are_dropped)
{
    sf_StepReport r = analyse("time_s,side\n0,L\n0.5,R\n1,L\n1.5,R\n2,L\n5,R\n5.5,L\n6,R\n6.5,L\n7,R\n", 1);
    TAP_TRUE(r.groups[0].pauses == 1 && r.groups[0].steps == 4, "%zu steps", r.groups[0].steps);
    sf_steps_free(&r);
}

TAP_CASE(stance_time_comes_from_toe_off)
{
    sf_StepReport r =
        analyse("time_s,side,toe_off_s\n0,L,0.7\n0.5,R,1.3\n1,L,1.72\n1.5,R,2.3\n2,L,2.7\n2.5,R,3.3\n3,L,\n", 1);
    TAP_NEAR(r.groups[0].stance_time[SF_FOOT_LEFT], 0.71, MICRO, TAP_CLOSED_FORM);
    TAP_NEAR(r.groups[0].stance_time[SF_FOOT_RIGHT], 0.8, MICRO, TAP_CLOSED_FORM);
    sf_steps_free(&r);
}

TAP_CASE(bad_tables_are_refused_with_the_line)
{
    static const struct {
        const char *table, *said;
    } BAD[] = {
        { "time_s,side\n0,L\n1,R\n0.5,L\n", "line 4" },
        { "time_s,side\n0,L\n1,R\n1,L\n", "same as" },
        { "time_s,side\n0,L\n1,left\n", "line 3" },
        { "time_s,side\n0,L\nx,R\n", "line 3" },
        { "time_s,foot\n0,L\n", "foot" },
        { "time_s,side,support\n0,L,crutch\n", "bars, stick or free" },
        { "time_s,side,pass,support\n0,L,a,bars\n1,R,a,free\n", "support changes" },
        { "time_s,side,toe_off_s\n1,L,0.5\n", "toe-off" },
    };
    for (size_t i = 0; i < sizeof BAD / sizeof *BAD; i++) {
        sf_FootfallList list;
        sf_Error err = { 0 };
        TAP_TRUE(sf_footfall_read(&list, "walk.csv", BAD[i].table, strlen(BAD[i].table), &err) != SF_OK, "%zu", i);
        TAP_HOLDS(err.text, BAD[i].said);
        TAP_TRUE(list.items == NULL);
    }
    sf_FootfallList one;
    sf_StepReport r;
    TAP_OK(sf_footfall_read(&one, "w", "time_s,side\n0,L\n", 16, NULL));
    TAP_STATUS(sf_steps_analyse(&r, &one, 1, NULL), SF_E_INPUT);
    sf_footfall_free(&one);
}

#define CHI_TABLE TAP_SOURCE("NIST/SEMATECH e-Handbook, 1.3.6.7.4, critical values of the chi-square distribution")

TAP_CASE(chi_square_quantiles_match_the_printed_table)
{
    TAP_NEAR(sf_chi_square_quantile(0.975, 19), 32.852, TAP_TOLERANCE("three printed decimals", 0, 6e-4), CHI_TABLE);
    TAP_NEAR(sf_chi_square_quantile(0.025, 19), 8.907, TAP_TOLERANCE("three printed decimals", 0, 6e-4), CHI_TABLE);
    TAP_NEAR(sf_chi_square_quantile(0.975, 100), 129.561, TAP_TOLERANCE("three printed decimals", 0, 6e-4), CHI_TABLE);
    TAP_NEAR(sf_chi_square_quantile(0.025, 100), 74.222, TAP_TOLERANCE("three printed decimals", 0, 6e-4), CHI_TABLE);
    // The cube that takes over for many degrees joins the exact values.
    TAP_NEAR(sf_chi_square_quantile(0.025, 5000), sf_chi_square_quantile(0.025, 4999.999),
             TAP_TOLERANCE("join of two methods", 1e-6, 0), TAP_CLOSED_FORM);
}

// Vangel's interval must hold the true variation in 95 of 100 samples; a normal one about it does not at 20 strides.
TAP_CASE(the_interval_of_the_variation_covers_the_truth)
{
    enum { SAMPLES = 4000, N = 20 };
    uint64_t state = 77;
    int inside = 0;
    for (int s = 0; s < SAMPLES; s++) {
        double sum = 0, squares = 0, low, high;
        for (int i = 0; i < N; i++) {
            double x = 1 + 0.05 * walk_normal(&state);
            sum += x;
            squares += x * x;
        }
        double mean = sum / N, cv = sqrt((squares - N * mean * mean) / (N - 1)) / mean;
        sf_cv_interval(cv, N, 0.95, &low, &high);
        inside += low <= 0.05 && 0.05 <= high;
    }
    TAP_NEAR((double)inside / SAMPLES, 0.95, TAP_TOLERANCE("three standard errors of 4,000 samples", 0, 0.0104),
             TAP_SOURCE("Vangel 1996, The American Statistician 50:21"));
}

// Stride = two independent steps: its variation is sqrt(2) step_sd over the sum of the means.
TAP_CASE(walks_with_missed_and_double_contacts_give_back_their_truth)
{
    const WalkTruth truth = { .left = 0.55, .right = 0.60, .step_sd = 0.012, .missed = 0.05, .doubled = 0.02 };
    double cv = sqrt(2) * truth.step_sd / (truth.left + truth.right);
    int covered = 0;
    size_t missed = 0, doubles = 0;
    enum { WALKS = 40 };
    for (int k = 0; k < WALKS; k++) {
        uint64_t state = 1000 + (uint64_t)k;
        sf_Text text = sf_text_make(1 << 20);
        walk_table(&text, &state, truth, 400);
        sf_StepReport r = analyse(sf_text_string(&text), 1);
        const sf_StepGroup *g = &r.groups[0];
        TAP_NEAR(g->step_time[0], truth.left, TAP_TOLERANCE("four standard errors of a median", 0, 0.0046),
                 TAP_INVENTED);
        TAP_NEAR(g->step_time[1], truth.right, TAP_TOLERANCE("four standard errors of a median", 0, 0.0046),
                 TAP_INVENTED);
        TAP_NEAR(g->cv[0], cv, TAP_TOLERANCE("four standard errors of a variation", 0.23, 0), TAP_CLOSED_FORM);
        covered += g->cv_low[0] <= cv && cv <= g->cv_high[0];
        missed += g->missed;
        doubles += g->doubles;
        sf_steps_free(&r);
        sf_text_free(&text);
    }
    // Of 16,000 contacts 800 were missed and about 300 doubled; two in a row missed show as one gap.
    TAP_NEAR((double)missed, 760, TAP_TOLERANCE("four standard errors of a count", 0, 120), TAP_CLOSED_FORM);
    TAP_NEAR((double)doubles, 304, TAP_TOLERANCE("four standard errors of a count", 0, 70), TAP_CLOSED_FORM);
    TAP_TRUE(covered >= WALKS * 85 / 100, "the interval held the truth in %d of %d walks", covered, WALKS);
}

TAP_CASE(one_slow_step_is_named_and_does_not_widen_the_variation)
{
    uint64_t state = 5;
    sf_Text text = sf_text_make(1 << 20);
    sf_text_add(&text, "time_s,side\n");
    double t = 0;
    for (int i = 0; i < 121; i++) {
        t += 0.6 + 0.01 * walk_normal(&state) + (i == 61 ? 0.25 : 0);
        sf_text_format(&text, "%.6f,%c\n", t, i % 2 ? 'R' : 'L');
    }
    sf_StepReport r = analyse(sf_text_string(&text), 1);
    TAP_TRUE(r.odd_count >= 1);
    TAP_TRUE(r.use[61] == SF_CONTACT_ODD);
    bool named = false;
    for (size_t i = 0; i < r.odd_count; i++)
        named |= r.odd[i].index == 61 && r.odd[i].side == SF_FOOT_RIGHT && r.odd[i].robust_z > 10;
    TAP_TRUE(named);
    TAP_TRUE(r.groups[0].odd_strides_of[0] >= 1 && r.groups[0].odd_strides_of[1] >= 1);
    TAP_NEAR(r.groups[0].cv[1], sqrt(2) * 0.01 / 1.2, TAP_TOLERANCE("59 strides", 0.35, 0), TAP_CLOSED_FORM);
    sf_steps_free(&r);
    sf_text_free(&text);
}

TAP_CASE(a_million_footfalls_take_under_a_second)
{
    enum { MANY = 1000000 };
    uint64_t state = 3;
    sf_Text text = sf_text_make(64u << 20);
    walk_table(&text, &state, (WalkTruth){ 0.55, 0.60, 0.012, 0.05, 0.02 }, MANY);
    clock_t start = clock();
    sf_StepReport r = analyse(sf_text_string(&text), 1);
    double seconds = (double)(clock() - start) / CLOCKS_PER_SEC;
    tap_note("%d footfalls: %.2f s of processor time", MANY, seconds);
    TAP_NEAR(r.groups[0].step_time[0], 0.55, TAP_TOLERANCE("four standard errors", 0, 1e-4), TAP_INVENTED);
#ifndef __SANITIZE_ADDRESS__
    TAP_TRUE(seconds < 1, "%.2f s", seconds);
#endif
    sf_steps_free(&r);
    sf_text_free(&text);
}

static sf_Status read_and_analyse(void *context)
{
    const char *text = context;
    sf_FootfallList list = { 0 };
    sf_StepReport report = { 0 };
    sf_Status status;
    SF_TRY_DONE(sf_footfall_read(&list, "w", text, strlen(text), NULL));
    SF_TRY_DONE(sf_steps_analyse(&report, &list, 1, NULL));
done:
    sf_footfall_free(&list);
    sf_steps_free(&report);
    return status;
}

TAP_CASE(counting_survives_every_failed_allocation)
{
    char text[] = "time_s,side\n0,L\n0.6,R\n1.1,L\n1.14,L\n1.7,R\n2.8,R\n3.3,L\n3.9,R\n6,L\n";
    tap_every_allocation(read_and_analyse, text, 500, "footfalls to steps");
}

TAP_MAIN(TAP_RUN(medians_of_a_written_walk_are_exact_and_its_ends_do_not_count),
         TAP_RUN(same_side_twice_is_a_gap_and_never_a_step), TAP_RUN(a_double_contact_is_dropped_and_counted),
         TAP_RUN(what_became_of_every_footfall_is_told), TAP_RUN(passes_add_up_and_supports_stay_apart),
         TAP_RUN(a_turn_breaks_the_walk_and_the_steps_beside_it_are_dropped), TAP_RUN(stance_time_comes_from_toe_off),
         TAP_RUN(bad_tables_are_refused_with_the_line), TAP_RUN(chi_square_quantiles_match_the_printed_table),
         TAP_RUN(the_interval_of_the_variation_covers_the_truth),
         TAP_RUN(walks_with_missed_and_double_contacts_give_back_their_truth),
         TAP_RUN(one_slow_step_is_named_and_does_not_widen_the_variation),
         TAP_RUN(a_million_footfalls_take_under_a_second), TAP_RUN(counting_survives_every_failed_allocation))
