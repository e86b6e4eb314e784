// SPDX-License-Identifier: GPL-3.0-or-later
#include "align/chain.h"
#include "base/units.h"
#include "harness/tap.h"

#include <math.h>
#include <stdint.h>

#define INVERSE TAP_TOLERANCE("inverse of a chain: 1e-9 rad and m", 0, 1e-9)
#define ANGLE   TAP_TOLERANCE("a thousandth of a degree", 0, 1e-3 * SF_DEG)

static const sf_ChainSide SIDES[] = { SF_CHAIN_LEFT, SF_CHAIN_RIGHT };

static sf_Chain chain_of(sf_ChainSide side)
{
    return (sf_Chain){ .side = side,
                       .socket_height = 0.290,
                       .cut_height = 0.110,
                       .heel_height = 0.020,
                       .ankle_height = 0.093,
                       .socket_flexion = 5 * SF_DEG,
                       .socket_adduction = 4 * SF_DEG };
}

static sf_Settings set(double toe, double forward, double outset, double dorsi, double ever)
{
    return (sf_Settings){ { toe * SF_DEG, forward * SF_MM, outset * SF_MM, dorsi * SF_DEG, ever * SF_DEG } };
}

// xorshift64*; the same chains on every machine.
static double uniform(uint64_t *state, double low, double high)
{
    *state ^= *state >> 12;
    *state ^= *state << 25;
    *state ^= *state >> 27;
    return low + (high - low) * (double)((*state * 0x2545F4914F6CDD1DULL) >> 11) * 0x1p-53;
}

TAP_CASE(at_zero_the_pylon_stands_plumb_over_the_ankle)
{
    for (int i = 0; i < 2; i++) {
        sf_Chain chain = chain_of(SIDES[i]);
        sf_Settings zero = set(0, 0, 0, 0, 0);
        sf_Pose pose = sf_chain_pose(&chain, &zero);
        TAP_NEAR(pose.socket_f, 0, TAP_ROUNDING, TAP_CLOSED_FORM);
        TAP_NEAR(pose.socket_o, 0, TAP_ROUNDING, TAP_CLOSED_FORM);
        TAP_NEAR(pose.height, 0.290, TAP_ROUNDING, TAP_INVENTED);
        TAP_NEAR(pose.socket_flexion, 5 * SF_DEG, TAP_ROUNDING, TAP_INVENTED);
        TAP_NEAR(pose.socket_adduction, 4 * SF_DEG, TAP_ROUNDING, TAP_INVENTED);
        TAP_NEAR(pose.sole_sagittal, 0, TAP_ROUNDING, TAP_CLOSED_FORM);
        TAP_NEAR(pose.toe_out, 0, TAP_ROUNDING, TAP_CLOSED_FORM);
    }
}

// A left-handed frame used as a right-handed one would turn the right foot inward here.
TAP_CASE(settings_move_the_socket_the_way_their_words_say_on_both_sides)
{
    for (int i = 0; i < 2; i++) {
        sf_Chain chain = chain_of(SIDES[i]);
        sf_Settings s = set(0, 8, 0, 0, 0);
        TAP_NEAR(sf_chain_pose(&chain, &s).socket_f, -0.008, TAP_ROUNDING, TAP_CLOSED_FORM);
        s = set(0, 0, 10, 0, 0);
        TAP_NEAR(sf_chain_pose(&chain, &s).socket_o, -0.010, TAP_ROUNDING, TAP_CLOSED_FORM);
        s = set(7, 0, 0, 0, 0);
        TAP_NEAR(sf_chain_pose(&chain, &s).toe_out, 7 * SF_DEG, TAP_ROUNDING, TAP_CLOSED_FORM);
        s = set(0, 0, 0, 3, 0);
        sf_Pose pose = sf_chain_pose(&chain, &s);
        TAP_NEAR(pose.socket_f, 0.180 * sin(3 * SF_DEG), TAP_ROUNDING, TAP_CLOSED_FORM);
        TAP_NEAR(pose.socket_flexion, 8 * SF_DEG, TAP_ROUNDING, TAP_CLOSED_FORM);
        TAP_NEAR(pose.sole_sagittal, 3 * SF_DEG, TAP_ROUNDING, TAP_CLOSED_FORM);
        s = set(0, 0, 0, 0, 3);
        pose = sf_chain_pose(&chain, &s);
        TAP_NEAR(pose.socket_o, 0.180 * sin(3 * SF_DEG),
                 TAP_TOLERANCE("a flexed socket turns its heading as it leans", 1e-4, 0),
                 TAP_SOURCE("everted clamp, sole flat again: the pylon's top leans outward (r x F, docs/theory)"));
        TAP_TRUE(pose.socket_adduction > 6.9 * SF_DEG && pose.socket_adduction < 7.1 * SF_DEG);
        TAP_NEAR(pose.sole_coronal, 3 * SF_DEG, TAP_ROUNDING, TAP_CLOSED_FORM);
    }
}

TAP_CASE(a_tilt_moves_the_socket_in_proportion_to_its_height_over_the_clamp)
{
    sf_Settings s = set(0, 0, 0, 0, -1), zero = set(0, 0, 0, 0, 0);
    const double per_degree_mm[] = { 2.62, 3.49, 4.36, 5.24, 6.11 };
    for (int i = 0; i < 5; i++) {
        sf_Chain chain = chain_of(SF_CHAIN_RIGHT);
        chain.socket_height = chain.cut_height + 0.150 + 0.050 * i;
        double moved = sf_chain_pose(&chain, &zero).socket_o - sf_chain_pose(&chain, &s).socket_o;
        TAP_NEAR(moved / SF_MM, per_degree_mm[i], TAP_TOLERANCE("two printed decimals", 0, 0.006), TAP_CLOSED_FORM);
    }
}

// Turning about a plumb line instead of the pylon leaves the sole flat: the easy version fails this.
TAP_CASE(toe_out_under_a_leaning_pylon_tilts_the_sole)
{
    for (int i = 0; i < 2; i++) {
        sf_Chain chain = chain_of(SIDES[i]);
        sf_Settings before = set(0, 0, 0, 5, 0), after = set(10, 0, 0, 5, 0);
        sf_SoleChange c = sf_chain_sole_change(&chain, &before, &after);
        double L = 5 * SF_DEG, t = 10 * SF_DEG;
        TAP_NEAR(c.coronal, L * sin(t), TAP_TOLERANCE("second order of the lean", 5e-3, 0), TAP_CLOSED_FORM);
        TAP_NEAR(hypot(c.coronal, c.sagittal), 2 * L * sin(t / 2), TAP_TOLERANCE("second order", 5e-3, 0),
                 TAP_CLOSED_FORM);
        sf_Settings plumb_before = set(0, 0, 0, 0, 0), plumb_after = set(10, 0, 0, 0, 0);
        c = sf_chain_sole_change(&chain, &plumb_before, &plumb_after);
        TAP_NEAR(hypot(c.coronal, c.sagittal), 0, TAP_ROUNDING, TAP_CLOSED_FORM);
        double moved = sf_chain_pose(&chain, &after).sole_coronal - sf_chain_pose(&chain, &before).sole_coronal;
        TAP_NEAR(moved, L * sin(t), TAP_TOLERANCE("second order", 5e-3, 0), TAP_CLOSED_FORM);
    }
}

TAP_CASE(the_named_tilts_put_the_sole_flat_again_under_the_held_socket)
{
    uint64_t state = 11;
    for (int i = 0; i < 200; i++) {
        sf_Chain chain = chain_of(SIDES[i % 2]);
        chain.shoe_tilt = uniform(&state, -6, 6) * SF_DEG;
        sf_Settings before = set(uniform(&state, -20, 20), 3, -4, uniform(&state, -10, 10), uniform(&state, -10, 10));
        sf_Settings after = before;
        after.value[SF_SETTING_TOE_OUT] += uniform(&state, -20, 20) * SF_DEG;
        sf_SoleChange c = sf_chain_sole_change(&chain, &before, &after);
        TAP_TRUE(c.undone_by_tilt);
        after.value[SF_SETTING_DORSIFLEXION] = c.dorsiflexion;
        after.value[SF_SETTING_EVERSION] = c.eversion;
        c = sf_chain_sole_change(&chain, &before, &after);
        TAP_NEAR(hypot(c.sagittal, c.coronal), 0, TAP_TOLERANCE("rounding", 0, 1e-13), TAP_CLOSED_FORM);
        sf_Pose a = sf_chain_pose(&chain, &before), b = sf_chain_pose(&chain, &after);
        // The pylon stands as it stood; only the foot has turned under it.
        TAP_NEAR(cos(a.socket_flexion) * cos(a.socket_adduction), cos(b.socket_flexion) * cos(b.socket_adduction),
                 TAP_TOLERANCE("rounding", 0, 1e-12), TAP_CLOSED_FORM);
    }
}

// The heading of the foot on the floor is not the clamp's reading once the pylon leans.
TAP_CASE(toe_out_on_the_floor_differs_from_the_setting_when_the_pylon_leans)
{
    for (int i = 0; i < 2; i++) {
        sf_Chain chain = chain_of(SIDES[i]);
        sf_Settings s = set(10, 0, 0, 8, 8);
        double toe = sf_chain_pose(&chain, &s).toe_out;
        TAP_TRUE(fabs(toe - 10 * SF_DEG) > 0.1 * SF_DEG, "toe-out on the floor %.3f deg", toe / SF_DEG);
        TAP_TRUE(fabs(toe - 10 * SF_DEG) < 2 * SF_DEG);
    }
}

TAP_CASE(a_higher_shoe_heel_leans_all_forward)
{
    double tilt = sf_chain_shoe_tilt(0.020, 0.010, 0.170 / 0.65);
    TAP_NEAR(tilt / SF_DEG, 3.4, TAP_TOLERANCE("one printed decimal", 0, 0.05), TAP_CLOSED_FORM);
    for (int i = 0; i < 2; i++) {
        sf_Chain chain = chain_of(SIDES[i]);
        chain.shoe_tilt = tilt;
        sf_Settings zero = set(0, 0, 0, 0, 0);
        sf_Pose pose = sf_chain_pose(&chain, &zero);
        TAP_NEAR(pose.socket_flexion, 5 * SF_DEG + tilt, TAP_ROUNDING, TAP_CLOSED_FORM);
        TAP_NEAR(pose.socket_f, (0.290 - 0.093) * sin(tilt), TAP_ROUNDING, TAP_CLOSED_FORM);
        TAP_NEAR(pose.sole_sagittal, tilt, TAP_ROUNDING, TAP_CLOSED_FORM);
        // Plantarflexion by the same angle brings the pylon back to plumb.
        sf_Settings mend = set(0, 0, 0, -tilt / SF_DEG, 0);
        pose = sf_chain_pose(&chain, &mend);
        TAP_NEAR(pose.socket_flexion, 5 * SF_DEG, TAP_ROUNDING, TAP_CLOSED_FORM);
        TAP_NEAR(pose.sole_sagittal, 0, TAP_ROUNDING, TAP_CLOSED_FORM);
    }
}

TAP_CASE(left_and_right_give_the_same_numbers)
{
    uint64_t state = 5;
    for (int i = 0; i < 500; i++) {
        sf_Chain left = chain_of(SF_CHAIN_LEFT), right = chain_of(SF_CHAIN_RIGHT);
        left.shoe_tilt = right.shoe_tilt = uniform(&state, -6, 6) * SF_DEG;
        left.socket_offset_o = right.socket_offset_o = 0.004;
        sf_Settings s = set(uniform(&state, -20, 20), uniform(&state, -20, 20), uniform(&state, -20, 20),
                            uniform(&state, -20, 20), uniform(&state, -20, 20));
        sf_Pose a = sf_chain_pose(&left, &s), b = sf_chain_pose(&right, &s);
        TAP_NEAR(a.socket_f, b.socket_f, TAP_ROUNDING, TAP_CLOSED_FORM);
        TAP_NEAR(a.socket_o, b.socket_o, TAP_ROUNDING, TAP_CLOSED_FORM);
        TAP_NEAR(a.socket_adduction, b.socket_adduction, TAP_ROUNDING, TAP_CLOSED_FORM);
        TAP_NEAR(a.sole_coronal, b.sole_coronal, TAP_ROUNDING, TAP_CLOSED_FORM);
        TAP_NEAR(a.toe_out, b.toe_out, TAP_ROUNDING, TAP_CLOSED_FORM);
    }
}

TAP_CASE(ten_thousand_random_chains_come_back_from_their_pose)
{
    uint64_t state = 20260101;
    double worst_angle = 0, worst_length = 0;
    for (int i = 0; i < 10000; i++) {
        sf_Chain chain = { .side = SIDES[i % 2],
                           .cut_height = uniform(&state, 0.06, 0.2),
                           .heel_height = uniform(&state, 0, 0.05),
                           .ankle_height = uniform(&state, 0.05, 0.12),
                           .socket_flexion = uniform(&state, -20, 20) * SF_DEG,
                           .socket_adduction = uniform(&state, -20, 20) * SF_DEG,
                           .shoe_tilt = uniform(&state, -20, 20) * SF_DEG,
                           .socket_offset_f = uniform(&state, -0.02, 0.02),
                           .socket_offset_o = uniform(&state, -0.02, 0.02) };
        chain.socket_height = chain.cut_height + uniform(&state, 0.05, 0.4);
        sf_Settings s = set(uniform(&state, -40, 40), uniform(&state, -40, 40), uniform(&state, -40, 40),
                            uniform(&state, -20, 20), uniform(&state, -20, 20));
        sf_Pose pose = sf_chain_pose(&chain, &s);
        sf_Settings back = sf_chain_settings(&chain, &pose);
        for (int k = 0; k < SF_SETTING_COUNT; k++) {
            double off = fabs(back.value[k] - s.value[k]);
            double *worst = k == SF_SETTING_FOOT_FORWARD || k == SF_SETTING_FOOT_OUTSET ? &worst_length : &worst_angle;
            *worst = fmax(*worst, off);
        }
    }
    tap_note("worst inverse error %.2e rad, %.2e m", worst_angle, worst_length);
    TAP_NEAR(worst_angle, 0, INVERSE, TAP_CLOSED_FORM);
    TAP_NEAR(worst_length, 0, INVERSE, TAP_CLOSED_FORM);
}

TAP_CASE(contradicting_heights_and_wild_tilts_are_refused_with_a_sentence)
{
    sf_Chain chain = chain_of(SF_CHAIN_LEFT);
    sf_Settings s = set(0, 0, 0, 0, 0);
    sf_Error err = { 0 };
    TAP_OK(sf_chain_check(&chain, &s, &err));
    s.value[SF_SETTING_EVERSION] = 61 * SF_DEG;
    TAP_STATUS(sf_chain_check(&chain, &s, &err), SF_E_RANGE);
    TAP_HOLDS(err.text, "eversion_deg");
    s = set(0, 0, 0, 0, 0);
    chain.socket_height = 0.1;
    TAP_STATUS(sf_chain_check(&chain, &s, &err), SF_E_RANGE);
    TAP_HOLDS(err.text, "socket.distal_end_height_mm");
    chain = chain_of(SF_CHAIN_LEFT);
    chain.heel_height = 0.12;
    TAP_STATUS(sf_chain_check(&chain, &s, &err), SF_E_RANGE);
    TAP_HOLDS(err.text, "shoe.heel_mm");
}

TAP_CASE(settings_are_found_by_name_with_and_without_their_unit)
{
    TAP_TRUE(sf_setting_find("foot_outset_mm") == SF_SETTING_FOOT_OUTSET);
    TAP_TRUE(sf_setting_find("foot_outset") == SF_SETTING_FOOT_OUTSET);
    TAP_TRUE(sf_setting_find("foot_outset_deg") == SF_SETTING_COUNT);
    TAP_TRUE(sf_setting_find("foot") == SF_SETTING_COUNT);
    sf_Travel travel = { .known = true, .moves = { true }, .low = { -20 * SF_DEG }, .high = { 20 * SF_DEG } };
    TAP_TRUE(sf_travel_reaches(&travel, SF_SETTING_TOE_OUT, 20.0 * SF_DEG));
    TAP_TRUE(!sf_travel_reaches(&travel, SF_SETTING_TOE_OUT, 20.1 * SF_DEG));
    TAP_TRUE(!sf_travel_reaches(&travel, SF_SETTING_EVERSION, 0));
}

TAP_MAIN(TAP_RUN(at_zero_the_pylon_stands_plumb_over_the_ankle),
         TAP_RUN(settings_move_the_socket_the_way_their_words_say_on_both_sides),
         TAP_RUN(a_tilt_moves_the_socket_in_proportion_to_its_height_over_the_clamp),
         TAP_RUN(toe_out_under_a_leaning_pylon_tilts_the_sole),
         TAP_RUN(the_named_tilts_put_the_sole_flat_again_under_the_held_socket),
         TAP_RUN(toe_out_on_the_floor_differs_from_the_setting_when_the_pylon_leans),
         TAP_RUN(a_higher_shoe_heel_leans_all_forward), TAP_RUN(left_and_right_give_the_same_numbers),
         TAP_RUN(ten_thousand_random_chains_come_back_from_their_pose),
         TAP_RUN(contradicting_heights_and_wild_tilts_are_refused_with_a_sentence),
         TAP_RUN(settings_are_found_by_name_with_and_without_their_unit))
