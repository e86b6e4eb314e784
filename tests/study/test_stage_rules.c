// SPDX-License-Identifier: GPL-3.0-or-later
// The rules of the stages against the practice of the trade (rows of docs/theory/stages.md), and as properties over
// courses in any order. All people, limbs and readings are invented.
#include "base/alloc.h"
#include "harness/tap.h"
#include "study/limb_course.h"

#include <stdio.h>
#include <string.h>

static bool any_grave(const sf_LimbState *state)
{
    for (size_t i = 0; i < state->flag_count; i++)
        if (state->flags[i].grave)
            return true;
    return false;
}

TAP_CASE(the_usual_way_leads_home)
{
    Course c;
    course_begin(&c, COURSE_LIMB);
    for (size_t i = 0; i < c.table->stage_count && !c.table->stages[i].shop; i++) {
        const char *name = c.table->stages[i].name;
        if (strcmp(name, "follow-up") == 0)
            break;
        Course once;
        course_begin(&once, COURSE_LIMB);
        course_through(&once, name);
        TAP_TRUE(strcmp(course_status(&once, name), "done") == 0, "%s is %s", name, course_status(&once, name));
        TAP_TRUE(!any_grave(once.state) || i < 4, "nothing speaks against it after %s", name);
        TAP_TRUE(once.state->out_of_order_count == 0, "%zu out of order after %s", once.state->out_of_order_count,
                 name);
        TAP_TRUE(once.state->may_go_home == (strcmp(name, "release") == 0), "home after %s", name);
        course_end(&once);
    }
    course_through(&c, "release");
    const sf_LimbState *state = course_state(&c, 1);
    TAP_TEXT(state->next_action, "Nothing to do before the next inspection");
    TAP_TEXT(course_status(&c, "follow-up"), "open");
    course_end(&c);
}

TAP_CASE(an_empty_limb_starts_with_the_plan)
{
    Course c;
    course_begin(&c, COURSE_LIMB);
    const sf_LimbState *state = course_state(&c, 0);
    TAP_HOLDS(state->next_action, "Plan:");
    TAP_TEXT(course_status(&c, "standing"), "shut");
    TAP_TRUE(!course_weight(&c));
    TAP_TRUE(sf_limb_state_stage(c.state, "shop") == NULL, "the shop's stage is not one of a limb");
    course_end(&c);
}

// ---- ring -------------------------------------------------------------------------------------------------------

TAP_CASE(a_rejected_ring_shuts_every_stage_that_loads)
{
    static const char *const bad[][2] = {
        { "ring", "{'ring_number':'R2','decision':'reject'}" },
        { "ring", "{'ring_number':'R2','decision':'measure-again'}" },
        { "ring", "{'ring_number':'R2','decision':'measure-again','squeeze_settles':true}" },
        { "ring", "{'ring_number':'R2','decision':'accept','decided':'reject'}" },
        { "ring", "{'ring_number':'R1','decision':'reject'}" },
        { "squeeze-proof", "{'ring_number':'R1','passed':false,'load_n':300,'seam':'under-load-line'}" },
        { "squeeze-proof", "{'ring_number':'R9','passed':false,'load_n':300,'seam':'beside'}" },
    };
    static const char *const stages[] = { "ring",   "foot",   "standing",  "trials",
                                          "settle", "fasten", "check-out", "release" };
    for (size_t b = 0; b < sizeof bad / sizeof *bad; b++)
        for (size_t s = 0; s < sizeof stages / sizeof *stages; s++)
            for (int who = LICENSED; who <= READER; who++) {
                Course c;
                course_begin(&c, COURSE_LIMB);
                course_through(&c, stages[s]);
                course_say(&c, (Who)who, bad[b][0], bad[b][1]);
                TAP_TRUE(!course_weight(&c), "%s %s after %s", bad[b][0], bad[b][1], stages[s]);
                course_end(&c);
            }
}

TAP_CASE(a_reject_is_not_measured_away)
{
    Course c;
    course_begin(&c, COURSE_LIMB);
    course_through(&c, "foot");
    int64_t ring = course_say(&c, PROSTHETIST, "ring", "{'ring_number':'R1','decision':'reject'}");
    course_say(&c, LICENSED, "ring", "{'ring_number':'R1','decision':'accept'}");
    course_say(&c, LICENSED, "ring", "{'ring_number':'R2','decision':'accept'}");
    course_say(&c, LICENSED, "squeeze-proof", "{'ring_number':'R1','passed':true,'load_n':400,'seam':'both'}");
    TAP_TRUE(!course_weight(&c), "measured again, still rejected");
    TAP_TRUE(sf_limb_state_flagged(c.state, "ring-rejected"));
    course_withdraw(&c, PROSTHETIST, ring);
    TAP_TRUE(!course_weight(&c), "an unlicensed withdrawal does not count");
    TAP_TRUE(sf_limb_state_flagged(c.state, "withdrawal-not-valid"));
    course_withdraw(&c, LICENSED, ring);
    TAP_TEXT(course_status(&c, "standing"), "open");
    TAP_TRUE(sf_limb_state_flagged(c.state, "withdrawn"), "and stays visible");
    course_end(&c);
}

TAP_CASE(a_new_forming_needs_everything_anew)
{
    Course c;
    course_begin(&c, COURSE_LIMB);
    course_through(&c, "release");
    course_say(&c, PROSTHETIST, "ring", "{'ring_number':'R1','decision':'reject'}");
    course_say(&c, TECHNICIAN, "forming",
               "{'sheet_lot':'L2','sheet_mm':8,'oven_c':195,'vacuum_s':90,'model':'dry','by':'invented technician'}");
    TAP_TRUE(!course_weight(&c), "the old ring says nothing of the new pylon");
    TAP_TEXT(course_status(&c, "ring"), "again");
    course_say(&c, PROSTHETIST, "ring", "{'ring_number':'R2','decision':'accept'}");
    TAP_TRUE(!course_weight(&c), "its squeeze proof is missing");
    course_say(&c, TECHNICIAN, "squeeze-proof", "{'ring_number':'R2','passed':true,'load_n':400,'seam':'both'}");
    TAP_TRUE(c.table != NULL && course_state(&c, 0)->fit_to_load, "the new ring is sound");
    TAP_TRUE(!c.state->may_go_home && !c.state->may_walk);
    course_end(&c);
}

TAP_CASE(measure_again_ends_with_the_proof_or_a_new_measurement)
{
    Course c;
    course_begin(&c, COURSE_LIMB);
    course_through(&c, "form");
    course_say(&c, PROSTHETIST, "ring", "{'ring_number':'R1','decision':'measure-again','squeeze_settles':true}");
    TAP_TRUE(!course_state(&c, 0)->fit_to_load);
    course_say(&c, TECHNICIAN, "squeeze-proof", "{'ring_number':'R7','passed':true,'load_n':400,'seam':'both'}");
    TAP_TRUE(!course_state(&c, 0)->fit_to_load, "the proof of another ring says nothing");
    course_say(&c, TECHNICIAN, "squeeze-proof", "{'ring_number':'R1','passed':true,'load_n':400,'seam':'both'}");
    TAP_TRUE(course_state(&c, 0)->fit_to_load, "accept with a limit");
    TAP_TRUE(sf_limb_state_flagged(c.state, "accepted-with-limit"));
    course_say(&c, PROSTHETIST, "ring", "{'ring_number':'R3','decision':'measure-again'}");
    course_say(&c, TECHNICIAN, "squeeze-proof", "{'ring_number':'R3','passed':true,'load_n':400,'seam':'both'}");
    TAP_TRUE(!course_state(&c, 0)->fit_to_load, "a proof does not mend a bad picture");
    int64_t again = course_say(&c, TECHNICIAN, "ring", "{'ring_number':'R3','decision':'accept'}");
    TAP_TRUE(!course_state(&c, 0)->fit_to_load, "a technician's accept waits for a signature");
    course_sign(&c, TECHNICIAN, again);
    TAP_TRUE(!course_state(&c, 0)->fit_to_load, "and a technician's signature is none");
    course_sign(&c, PROSTHETIST, again);
    TAP_TRUE(course_state(&c, 0)->fit_to_load);
    course_end(&c);
}

TAP_CASE(a_proof_is_required_for_a_new_process)
{
    Course c;
    course_begin(&c, COURSE_LIMB);
    course_through(&c, "form");
    course_say(&c, PROSTHETIST, "ring", "{'ring_number':'R1','decision':'accept'}");
    TAP_TRUE(!course_weight(&c));
    TAP_TRUE(sf_limb_state_flagged(c.state, "proof-missing"));
    c.around.proof_held = true;
    TAP_TRUE(course_state(&c, 0)->fit_to_load, "lot, oven setting and person are proved on another limb");
    course_say(&c, PROSTHETIST, "ring", "{'ring_number':'R1','decision':'accept','proof_required':true}");
    TAP_TRUE(!course_weight(&c), "this ring itself asks for one");
    course_end(&c);
}

// ---- parts ------------------------------------------------------------------------------------------------------

TAP_CASE(mass_and_activity_of_the_parts_are_hard_gates)
{
    const struct {
        CourseLimb limb;
        bool shut;
    } cases[] = {
        { COURSE_LIMB, false },
        { { 100, 0, 100, 100, 125, "moderate", "moderate", "sound", "1981-03-01", "shuttle-lock", "clamp" }, false },
        { { 100.5, 0, 100, 125, 125, "moderate", "moderate", "sound", "1981-03-01", "shuttle-lock", "clamp" }, true },
        { { 100.5, 0, 125, 100, 125, "moderate", "moderate", "sound", "1981-03-01", "shuttle-lock", "clamp" }, true },
        { { 100.5, 0, 125, 125, 100, "moderate", "moderate", "sound", "1981-03-01", "shuttle-lock", "clamp" }, true },
        { { 90, 15, 100, 100, 125, "moderate", "moderate", "sound", "1981-03-01", "shuttle-lock", "clamp" }, true },
        { { 78, 0, 100, 100, 125, "high", "moderate", "sound", "1981-03-01", "shuttle-lock", "clamp" }, true },
        { { 78, 0, 100, 100, 125, "low", "moderate", "sound", "1981-03-01", "shuttle-lock", "clamp" }, false },
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        Course c;
        course_begin(&c, cases[i].limb);
        course_through(&c, "release");
        TAP_TRUE(course_weight(&c) == !cases[i].shut, "case %zu", i);
        TAP_TRUE(c.state->out_of_order_count == 0, "today's mass says nothing about what was right then");
        if (cases[i].shut) {
            course_say(&c, LICENSED, "release", "{'against_advice':true,'reason':'the person asks for it'}");
            TAP_TRUE(!course_weight(&c), "no release against advice opens it, case %zu", i);
        }
        course_end(&c);
    }
}

TAP_CASE(a_heavier_person_at_follow_up_shuts_what_was_open)
{
    Course c;
    course_begin(&c, COURSE_LIMB);
    course_through(&c, "release");
    TAP_TRUE(course_state(&c, 0)->may_go_home);
    CourseLimb heavier = COURSE_LIMB;
    heavier.mass = 104;
    course_limb(&c, heavier);
    TAP_TRUE(!course_weight(&c));
    TAP_TRUE(sf_limb_state_flagged(c.state, "parts-mass") && sf_limb_state_flagged(c.state, "heavy"));
    course_end(&c);
}

// ---- changes ----------------------------------------------------------------------------------------------------

TAP_CASE(every_change_returns_to_standing_and_check_out)
{
    for (size_t i = 0; i < COURSE_CHANGES; i++) {
        Course c;
        course_begin(&c, COURSE_LIMB);
        course_through(&c, "release");
        int64_t change = course_say(&c, TECHNICIAN, course_changes[i][0], course_changes[i][1]);
        TAP_TRUE(strcmp(course_status(&c, "standing"), "again") == 0, "%s: standing %s", course_changes[i][0],
                 course_status(&c, "standing"));
        TAP_TRUE(strcmp(course_status(&c, "check-out"), "again") == 0, "%s: check-out %s", course_changes[i][0],
                 course_status(&c, "check-out"));
        TAP_TRUE(!c.state->may_go_home && !c.state->may_walk, "%s", course_changes[i][0]);
        TAP_TRUE(strcmp(course_status(&c, "settle"), "done") == 0, "the alignment stays settled after %s",
                 course_changes[i][0]);
        course_withdraw(&c, PROSTHETIST, change);
        bool licensed_only = strcmp(course_changes[i][0], "permanent-fixing") == 0;
        TAP_TRUE(course_state(&c, 0)->may_go_home == !licensed_only, "%s withdrawn", course_changes[i][0]);
        course_end(&c);
    }
}

TAP_CASE(a_change_is_mended_by_standing_and_check_out)
{
    Course c;
    course_begin(&c, COURSE_LIMB);
    course_through(&c, "release");
    course_say(&c, TECHNICIAN, "shoe-change", "{'heel_mm':30}");
    course_say(&c, PROSTHETIST, "check-out",
               "{'toe_out_deg':6,'walked':true,'sat':true,'donned_doffed':true,'minutes':15,'skin':'clear'}");
    TAP_TRUE(!course_state(&c, 0)->may_go_home, "check-out before standing does not count");
    course_say(&c, TECHNICIAN, "standing",
               "{'sock_ply':3,'pelvis_level':true,'heels_apart_mm':150,'sole_flat':true,'pressure':'borne'}");
    TAP_TRUE(!course_state(&c, 0)->may_go_home, "nor does standing alone");
    course_say(&c, PROSTHETIST, "check-out",
               "{'toe_out_deg':6,'walked':true,'sat':true,'donned_doffed':true,'minutes':15,'skin':'clear'}");
    TAP_TRUE(course_state(&c, 0)->may_go_home);
    TAP_TEXT(course_status(&c, "release"), "done");
    course_end(&c);
}

TAP_CASE(standing_and_check_out_ask_what_they_must)
{
    static const char *const standings[] = {
        "{'sock_ply':3,'pelvis_level':false,'heels_apart_mm':120,'sole_flat':true,'pressure':'even'}",
        "{'sock_ply':3,'pelvis_level':true,'heels_apart_mm':151,'sole_flat':true,'pressure':'even'}",
        "{'sock_ply':3,'pelvis_level':true,'heels_apart_mm':120,'sole_flat':false,'pressure':'even'}",
        "{'sock_ply':3,'pelvis_level':true,'heels_apart_mm':120,'sole_flat':true,'pressure':'not-borne'}",
    };
    static const char *const check_outs[] = {
        "{'toe_out_deg':6,'walked':false,'sat':true,'donned_doffed':true,'minutes':15,'skin':'clear'}",
        "{'toe_out_deg':6,'walked':true,'sat':false,'donned_doffed':true,'minutes':15,'skin':'clear'}",
        "{'toe_out_deg':6,'walked':true,'sat':true,'donned_doffed':false,'minutes':15,'skin':'clear'}",
        "{'toe_out_deg':6,'walked':true,'sat':true,'donned_doffed':true,'minutes':9,'skin':'clear'}",
        "{'toe_out_deg':6,'walked':true,'sat':true,'donned_doffed':true,'minutes':15,'skin':'stays'}",
        "{'toe_out_deg':8.5,'walked':true,'sat':true,'donned_doffed':true,'minutes':15,'skin':'clear'}",
        "{'toe_out_deg':3.5,'walked':true,'sat':true,'donned_doffed':true,'minutes':15,'skin':'clear'}",
    };
    for (size_t i = 0; i < sizeof standings / sizeof *standings; i++) {
        Course c;
        course_begin(&c, COURSE_LIMB);
        course_through(&c, "standing");
        course_say(&c, PROSTHETIST, "standing", standings[i]);
        TAP_TRUE(!course_state(&c, 0)->may_walk && strcmp(course_status(&c, "trials"), "shut") == 0, "%s",
                 standings[i]);
        course_end(&c);
    }
    for (size_t i = 0; i < sizeof check_outs / sizeof *check_outs; i++) {
        Course c;
        course_begin(&c, COURSE_LIMB);
        course_through(&c, "release");
        course_say(&c, PROSTHETIST, "check-out", check_outs[i]);
        TAP_TRUE(!course_state(&c, 0)->may_go_home, "%s", check_outs[i]);
        course_end(&c);
    }
}

// ---- walking ----------------------------------------------------------------------------------------------------

TAP_CASE(before_each_walk_the_holding_screw_is_looked_at)
{
    Course c;
    course_begin(&c, COURSE_LIMB);
    course_through(&c, "trials");
    TAP_TRUE(!course_state(&c, 0)->may_walk && c.state->before_walk, "a look is owed after each walk");
    course_say(&c, PROSTHETIST, "walk", "{'support':'bars','skin':'clear','pain':0}");
    course_state(&c, 0);
    TAP_TRUE(sf_limb_state_flagged(c.state, "walked-without-look"));
    TAP_TEXT(course_status(&c, "trials"), "shut");
    course_say(&c, TECHNICIAN, "holding-screw-look", "{'torque_nm':3.2,'witness':'broken'}");
    TAP_TRUE(!course_state(&c, 0)->may_walk, "a broken mark");
    course_say(&c, TECHNICIAN, "holding-screw-look", "{'torque_nm':2.5,'witness':'unbroken'}");
    TAP_TRUE(!course_state(&c, 0)->may_walk, "a loose screw");
    course_say(&c, TECHNICIAN, "holding-screw-look", "{'witness':'unbroken'}");
    TAP_TRUE(!course_state(&c, 0)->may_walk, "no torque");
    course_say(&c, TECHNICIAN, "holding-screw", "{'torque_nm':3.2,'mark_drawn':false}");
    TAP_TRUE(!course_state(&c, 0)->may_walk, "no mark");
    course_say(&c, TECHNICIAN, "holding-screw", "{'torque_nm':3.2,'mark_drawn':true}");
    TAP_TRUE(course_state(&c, 0)->may_walk, "tightened, mark drawn anew");
    course_say(&c, PROSTHETIST, "walk",
               "{'support':'bars','skin':'clear','pain':0,'witness':'unbroken','holding_torque_nm':3.1}");
    TAP_TEXT(course_status(&c, "trials"), "done");
    course_end(&c);
}

TAP_CASE(unassisted_walks_without_fixing_are_flagged)
{
    static const struct {
        const char *body;
        bool flagged;
    } walks[] = { { "{'support':'bars','skin':'clear','pain':0}", false },
                  { "{'support':'stick','skin':'clear','pain':0}", true },
                  { "{'support':'free','skin':'clear','pain':0}", true },
                  { "{'support':'free','assistant':false,'skin':'clear','pain':0}", true },
                  { "{'support':'free','assistant':true,'skin':'clear','pain':0}", false } };
    for (size_t i = 0; i < sizeof walks / sizeof *walks; i++)
        for (int fixed = 0; fixed < 2; fixed++) {
            Course c;
            course_begin(&c, COURSE_LIMB);
            course_through(&c, fixed ? "fasten" : "standing");
            course_say(&c, PROSTHETIST, "walk", walks[i].body);
            course_say(&c, TECHNICIAN, "permanent-fixing", "{'fixing':'pinch-band','torque_nm':5}");
            course_state(&c, 0);
            TAP_TRUE(sf_limb_state_flagged(c.state, "unassisted-without-fixing") == (walks[i].flagged && !fixed),
                     "%s, fixing %s", walks[i].body, fixed ? "in" : "not in");
            course_end(&c);
        }
}

TAP_CASE(skin_and_pain_stop_the_walking)
{
    static const struct {
        const char *first, *second;
        bool stops;
    } walks[] = {
        { "{'support':'bars','skin':'fades','pain':1}", "{'support':'bars','skin':'clear','pain':2}", false },
        { "{'support':'bars','skin':'clear','pain':0}", "{'support':'bars','skin':'clear','pain':1}", true },
        { "{'support':'bars','skin':'clear','pain':1}", "{'support':'bars','skin':'clear','pain':3}", true },
        { "{'support':'bars','skin':'clear','pain':3}", "{'support':'bars','skin':'clear','pain':4}", true },
        { "{'support':'bars','skin':'clear','pain':1}", "{'support':'bars','skin':'stays','pain':1}", true },
        { "{'support':'bars','skin':'clear','insensate':true}", "{'support':'bars','skin':'broken','insensate':true}",
          true },
    };
    for (size_t i = 0; i < sizeof walks / sizeof *walks; i++) {
        Course c;
        course_begin(&c, COURSE_LIMB);
        course_through(&c, "standing");
        course_say(&c, PROSTHETIST, "walk", walks[i].first);
        course_say(&c, TECHNICIAN, "holding-screw-look", "{'torque_nm':3.2,'witness':'unbroken'}");
        course_say(&c, PROSTHETIST, "walk", walks[i].second);
        course_say(&c, TECHNICIAN, "holding-screw-look", "{'torque_nm':3.2,'witness':'unbroken'}");
        TAP_TRUE(course_state(&c, 0)->may_walk == !walks[i].stops, "walks %zu", i);
        course_say(&c, PROSTHETIST, "fit-corrected", "{'done':'pad moved','skin':'clear'}");
        TAP_TRUE(course_state(&c, 0)->may_walk, "walks %zu, fit corrected", i);
        course_end(&c);
    }
}

// ---- out of order and release -----------------------------------------------------------------------------------

TAP_CASE(an_early_permanent_screw_keeps_release_shut)
{
    static const char *const early[] = { "foot", "standing", "trials" };
    for (size_t i = 0; i < sizeof early / sizeof *early; i++) {
        Course c;
        char body[200];
        course_begin(&c, COURSE_LIMB);
        course_through(&c, early[i]);
        int64_t screw = course_say(&c, TECHNICIAN, "permanent-fixing",
                                   "{'fixing':'through-screws','torque_nm':5,'holes':[{'angle_deg':270,'height_mm':122,"
                                   "'diameter_mm':6}]}");
        TAP_TRUE(course_state(&c, 0)->out_of_order_count == 1 && c.state->out_of_order[0] == screw);
        TAP_TRUE(sf_limb_state_flagged(c.state, "early-permanent-fixing"));
        course_between(&c, "foot", "release"); // standing again: a hole was drilled
        TAP_TRUE(!course_state(&c, 0)->may_go_home, "early after %s", early[i]);
        snprintf(body, sizeof body,
                 "{'about':%d,'decision':'leave','reason':'hole away from the seam, edge distance kept'}", (int)screw);
        course_say(&c, PROSTHETIST, "out-of-order-decision", body);
        course_say(&c, LICENSED, "release", "{}");
        TAP_TRUE(!course_state(&c, 0)->may_go_home, "without a licence it is no decision");
        course_say(&c, LICENSED, "out-of-order-decision", body);
        TAP_TRUE(!course_state(&c, 0)->may_go_home, "the release came before the decision");
        course_say(&c, LICENSED, "release", "{}");
        TAP_TRUE(course_state(&c, 0)->may_go_home, "decided, then released");
        TAP_TRUE(sf_limb_state_flagged(c.state, "out-of-order-decided"), "the reason stays");
        TAP_TRUE(sf_limb_state_flagged(c.state, "early-permanent-fixing"), "and so does the mark");
        course_end(&c);
    }
}

TAP_CASE(a_hole_stays_out_of_order_when_the_screw_is_taken_out)
{
    Course c;
    course_begin(&c, COURSE_LIMB);
    course_through(&c, "standing");
    course_say(&c, TECHNICIAN, "permanent-fixing", "{'fixing':'through-screws','torque_nm':5}");
    course_say(&c, TECHNICIAN, "fixing-removed", "{'reason':'too early'}");
    course_between(&c, "foot", "release");
    TAP_TRUE(!course_state(&c, 0)->may_go_home);
    TAP_TRUE(strstr(sf_limb_state_stage(c.state, "release")->why_shut, "out of order") != NULL);
    course_end(&c);
}

TAP_CASE(no_home_without_fixing_and_check_out)
{
    static const char *const without[] = { "trials", "settle", "fasten" };
    for (size_t i = 0; i < sizeof without / sizeof *without; i++) {
        Course c;
        course_begin(&c, COURSE_LIMB);
        course_through(&c, without[i]);
        course_say(&c, LICENSED, "release", "{'against_advice':true,'reason':'the person lives far away'}");
        TAP_TRUE(!course_state(&c, 0)->may_go_home, "released after %s", without[i]);
        TAP_TRUE(sf_limb_state_flagged(c.state, "released-too-early"));
        course_say(&c, TECHNICIAN, "permanent-fixing", "{'fixing':'pinch-band','torque_nm':5}");
        course_say(&c, PROSTHETIST, "check-out",
                   "{'toe_out_deg':6,'walked':true,'sat':true,'donned_doffed':true,'minutes':15,'skin':'clear'}");
        TAP_TRUE(!course_state(&c, 0)->may_go_home, "a release does not ripen: it is given anew");
        course_end(&c);
    }
}

TAP_CASE(release_against_advice_is_for_a_licensed_prosthetist_with_a_reason)
{
    static const struct {
        Who who;
        const char *body;
        bool counts;
    } releases[] = {
        { LICENSED, "{}", false },
        { LICENSED, "{'against_advice':true}", false },
        { LICENSED, "{'against_advice':true,'reason':'short'}", false },
        { PROSTHETIST, "{'against_advice':true,'reason':'the person asks for it today'}", false },
        { TECHNICIAN, "{'against_advice':true,'reason':'the person asks for it today'}", false },
        { LOCKED_OUT, "{'against_advice':true,'reason':'the person asks for it today'}", false },
        { LICENSED, "{'against_advice':true,'reason':'the person asks for it today'}", true },
    };
    for (size_t i = 0; i < sizeof releases / sizeof *releases; i++) {
        Course c;
        course_begin(&c, COURSE_LIMB);
        course_through(&c, "check-out"); // not weighed, no delivery, no statement
        int64_t release = course_say(&c, releases[i].who, "release", releases[i].body);
        TAP_TRUE(course_state(&c, 0)->may_go_home == releases[i].counts, "release %zu", i);
        TAP_TRUE(sf_limb_state_flagged(c.state, "released-against-advice") == (i > 0), "visible, release %zu", i);
        course_withdraw(&c, LICENSED, release);
        TAP_TRUE(!course_state(&c, 0)->may_go_home);
        TAP_TRUE(sf_limb_state_flagged(c.state, "released-against-advice") == (i > 0), "for ever, release %zu", i);
        course_end(&c);
    }
}

TAP_CASE(signing_waits_while_locked_out)
{
    Course c;
    course_begin(&c, COURSE_LIMB);
    course_through(&c, "trials");
    int64_t settled = course_say(&c, LOCKED_OUT, "settled", "{'toe_out_deg':6}");
    TAP_TEXT(course_status(&c, "settle"), "open");
    TAP_TRUE(sf_limb_state_flagged(c.state, "signature-waits"));
    course_sign(&c, LICENSED, settled);
    TAP_TEXT(course_status(&c, "settle"), "done");
    course_end(&c);
}

// ---- people -----------------------------------------------------------------------------------------------------

TAP_CASE(two_prosthetic_sides)
{
    Course c;
    CourseLimb two = COURSE_LIMB;
    two.other_side = "prosthetic";
    course_begin(&c, two);
    course_through(&c, "foot");
    TAP_TRUE(course_state(&c, 0)->fit_to_load && !c.state->may_be_loaded, "the other limb was not looked at");
    c.around.other_may_be_loaded = -1;
    course_say(&c, PROSTHETIST, "other-side-look", "{'fit_to_load':true}");
    TAP_TRUE(!course_state(&c, 0)->may_be_loaded, "its own record shuts it");
    c.around.other_may_be_loaded = 0;
    TAP_TRUE(course_state(&c, 0)->may_be_loaded, "looked at by a prosthetist");
    course_say(&c, PROSTHETIST, "standing",
               "{'sock_ply':3,'pelvis_level':true,'heels_apart_mm':120,'sole_flat':true,'pressure':'even'}");
    TAP_TEXT(course_status(&c, "standing"), "open");
    course_say(&c, PROSTHETIST, "standing",
               "{'sock_ply':3,'height_agreed':true,'heels_apart_mm':120,'sole_flat':true,'pressure':'even'}");
    TAP_TEXT(course_status(&c, "standing"), "done");
    c.around.other_may_be_loaded = -1;
    TAP_TRUE(!course_weight(&c) || c.state->fit_to_load, "fit itself, but not to be stood on");
    TAP_TRUE(!c.state->may_be_loaded && !c.state->may_walk);
    course_end(&c);
}

TAP_CASE(a_crack_takes_the_limb_off_today)
{
    static const char *const found[][2] = {
        { "crack", "{'where':'hole'}" },
        { "inspection", "{'body_mass_kg':78,'whitening':false,'crack':true,'creak':false,'bolt':'tight'}" },
    };
    static const char *const when[] = { "form", "standing", "release" };
    for (size_t i = 0; i < 2; i++)
        for (size_t k = 0; k < 3; k++) {
            Course c;
            course_begin(&c, COURSE_LIMB);
            course_through(&c, when[k]);
            int64_t crack = course_say(&c, READER, found[i][0], found[i][1]);
            TAP_TRUE(!course_weight(&c) && c.state->out_of_use, "%s after %s", found[i][0], when[k]);
            TAP_HOLDS(c.state->next_action, "Out of use");
            course_withdraw(&c, PROSTHETIST, crack);
            TAP_TRUE(course_state(&c, 0)->out_of_use, "not withdrawn without a licence");
            course_say(&c, PROSTHETIST, "crack-judged", "{'finding':'no-crack','reason':'a scratch in the surface'}");
            TAP_TRUE(course_state(&c, 0)->out_of_use, "not judged without a licence");
            course_say(&c, LICENSED, "crack-judged", "{'finding':'no-crack','reason':'a scratch in the surface'}");
            TAP_TRUE(!course_state(&c, 0)->out_of_use && !c.state->may_go_home, "standing and check-out again");
            TAP_TRUE(sf_limb_state_flagged(c.state, "crack-judged"));
            course_say(&c, READER, found[i][0], found[i][1]);
            course_say(&c, TECHNICIAN, "crack-judged", "{'finding':'cracked','reason':'it goes through the wall'}");
            course_say(&c, LICENSED, "crack-judged", "{'finding':'no-crack','reason':'a scratch in the surface'}");
            TAP_TRUE(course_state(&c, 0)->out_of_use, "once judged cracked it stays off");
            course_end(&c);
        }
}

TAP_CASE(quarantine_and_retirement)
{
    Course c;
    course_begin(&c, COURSE_LIMB);
    course_through(&c, "release");
    course_say(&c, TECHNICIAN, "quarantine", "{'reason':'sheet lot under recall'}");
    TAP_TRUE(!course_weight(&c) && c.state->out_of_use);
    course_say(&c, TECHNICIAN, "quarantine-lifted", "{'reason':'lot found in order'}");
    TAP_TRUE(course_state(&c, 0)->out_of_use);
    course_say(&c, LICENSED, "quarantine-lifted", "{'reason':'lot found in order'}");
    TAP_TRUE(!course_state(&c, 0)->out_of_use && !c.state->may_go_home);
    course_say(&c, TECHNICIAN, "retired", "{'reason':'outgrown'}");
    TAP_TRUE(!course_weight(&c) && c.state->due_count == 0, "nothing is due on a retired limb");
    course_end(&c);
}

// ---- follow-up --------------------------------------------------------------------------------------------------

static const char look[] = "{'body_mass_kg':78,'whitening':false,'crack':false,'creak':false,'bolt':'tight'}";

static const char *due_after(const char *birth, const double *days, size_t count, double now)
{
    static char text[12];
    Course c;
    CourseLimb limb = COURSE_LIMB;
    limb.birth_date = birth;
    course_begin(&c, limb);
    course_through(&c, "check-out");
    course_through(&c, "release");
    c.minutes = 10 * 1440; // 15 January
    course_say(&c, LICENSED, "release", "{}");
    for (size_t i = 0; i < count; i++) {
        c.minutes = (10 + (long)days[i]) * 1440;
        course_say(&c, PROSTHETIST, "inspection", look);
    }
    c.minutes = (10 + (long)now) * 1440;
    const sf_LimbState *state = course_state(&c, 0);
    text[0] = '\0';
    for (size_t i = 0; i < state->due_count; i++)
        if (strcmp(state->dues[i].what, "inspection") == 0)
            snprintf(text, sizeof text, "%s%s", state->dues[i].date, state->dues[i].overdue ? "!" : "");
    course_end(&c);
    return text;
}

TAP_CASE(inspections_are_due_by_rule)
{
    const char *adult = "1981-03-01", *child = "2016-05-14";
    TAP_TEXT(due_after(adult, NULL, 0, 1), "2026-01-29");
    TAP_TEXT(due_after(adult, NULL, 0, 16), "2026-01-29!");
    TAP_TEXT(due_after(adult, (double[]){ 14 }, 1, 15), "2026-04-15");
    TAP_TEXT(due_after(adult, (double[]){ 5 }, 1, 6), "2026-01-29"); // too early to count for two weeks
    TAP_TEXT(due_after(adult, (double[]){ 14, 90 }, 2, 91), "2026-10-15");
    TAP_TEXT(due_after(child, (double[]){ 14, 90 }, 2, 91), "2026-07-15");
    TAP_TEXT(due_after(adult, (double[]){ 100 }, 1, 101), "2026-10-25"); // late: both dates at once, then from that day
    TAP_TEXT(due_after("2009-01-01", (double[]){ 14, 90 }, 2, 91), "2026-07-15");
    TAP_TEXT(due_after("2008-01-01", (double[]){ 14, 90 }, 2, 91), "2026-10-15"); // grown up
}

TAP_CASE(late_notes_take_their_place_in_time)
{
    Course c;
    course_begin(&c, COURSE_LIMB);
    course_through(&c, "release");
    TAP_TRUE(course_state(&c, 0)->may_go_home);
    size_t late = c.count;
    course_say(&c, TECHNICIAN, "spacer-change", "{'spacers':[{'thickness_mm':6}]}");
    memcpy(c.times[late], c.times[10], sizeof c.times[late]); // it happened long before check-out
    TAP_TRUE(course_state(&c, 0)->may_go_home, "a change before standing needs nothing again");
    course_end(&c);
}

// ---- the table itself -------------------------------------------------------------------------------------------

TAP_CASE(damaged_tables_are_refused_in_words)
{
    static const char *const texts[] = {
        "{}",
        "{\"format\":\"standfast-stages/1\",\"stages\":[],\"facts\":[]}",
        "{\"format\":\"standfast-stages/1\",\"stages\":[{\"stage\":\"a\",\"needs\":[{\"text\":\"x\",\"for\":\"open\","
        "\"stage\":\"a\"}]}],\"facts\":[{\"kind\":\"b\"}]}",
        "[1",
    };
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        sf_StageTable *table = NULL;
        sf_Error err;
        TAP_TRUE(sf_stage_table_parse(&table, "shop.json", texts[i], strlen(texts[i]), &err) != SF_OK);
        TAP_TRUE(!table && strlen(err.text) > 20, "%s", err.text);
    }
}

static sf_Status load_once(void *context)
{
    static const char text[] =
        "{\"format\":\"standfast-stages/1\",\"judgements\":{\"toe_out_kept_deg\":2,\"pain_stops\":4,"
        "\"holding_torque_share\":0.9,\"withdraw_within_h\":24,\"heavy_kg\":100,\"follow_up\":{\"first_days\":14,"
        "\"second_months\":3,\"then_months\":6,\"child_months\":3,\"child_below_years\":18,\"early_share\":0.25}},"
        "\"stages\":[{\"stage\":\"a\",\"row\":\"1\",\"title\":\"A\",\"asks\":\"?\",\"undoing\":\"-\",\"closed_by\":"
        "\"b\","
        "\"needs\":[{\"text\":\"x\",\"for\":\"done\",\"fact\":\"b\"}]}],\"facts\":[{\"kind\":\"b\",\"title\":\"B\","
        "\"stage\":\"a\",\"fields\":[{\"field\":\"c\",\"label\":\"C\",\"type\":\"flag\"}]}]}";
    (void)context;
    sf_StageTable *table = NULL;
    sf_Error err;
    sf_Status status = sf_stage_table_parse(&table, "small", text, sizeof text - 1, &err);
    sf_stage_table_destroy(&table);
    return status;
}

static sf_Status state_once(void *context)
{
    Course *c = context;
    sf_LimbState *state = NULL;
    sf_Error err;
    sf_Status status = sf_limb_state_make(&state, c->table, sf_doc_root(c->limb), c->facts, c->count, NULL,
                                          "2026-03-01T10:00:00.000Z", &err);
    sf_limb_state_destroy(&state);
    return status;
}

TAP_CASE(memory_that_runs_out_leaves_nothing)
{
    tap_every_allocation(load_once, NULL, 2000, "table");
    Course c;
    course_begin(&c, COURSE_LIMB);
    course_through(&c, "standing");
    tap_every_allocation(state_once, &c, 1000, "state");
    course_end(&c);
}

TAP_MAIN(TAP_RUN(the_usual_way_leads_home), TAP_RUN(an_empty_limb_starts_with_the_plan),
         TAP_RUN(a_rejected_ring_shuts_every_stage_that_loads), TAP_RUN(a_reject_is_not_measured_away),
         TAP_RUN(a_new_forming_needs_everything_anew), TAP_RUN(measure_again_ends_with_the_proof_or_a_new_measurement),
         TAP_RUN(a_proof_is_required_for_a_new_process), TAP_RUN(mass_and_activity_of_the_parts_are_hard_gates),
         TAP_RUN(a_heavier_person_at_follow_up_shuts_what_was_open),
         TAP_RUN(every_change_returns_to_standing_and_check_out), TAP_RUN(a_change_is_mended_by_standing_and_check_out),
         TAP_RUN(standing_and_check_out_ask_what_they_must), TAP_RUN(before_each_walk_the_holding_screw_is_looked_at),
         TAP_RUN(unassisted_walks_without_fixing_are_flagged), TAP_RUN(skin_and_pain_stop_the_walking),
         TAP_RUN(an_early_permanent_screw_keeps_release_shut),
         TAP_RUN(a_hole_stays_out_of_order_when_the_screw_is_taken_out), TAP_RUN(no_home_without_fixing_and_check_out),
         TAP_RUN(release_against_advice_is_for_a_licensed_prosthetist_with_a_reason),
         TAP_RUN(signing_waits_while_locked_out), TAP_RUN(two_prosthetic_sides),
         TAP_RUN(a_crack_takes_the_limb_off_today), TAP_RUN(quarantine_and_retirement),
         TAP_RUN(inspections_are_due_by_rule), TAP_RUN(late_notes_take_their_place_in_time),
         TAP_RUN(damaged_tables_are_refused_in_words), TAP_RUN(memory_that_runs_out_leaves_nothing))
