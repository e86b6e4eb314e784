// SPDX-License-Identifier: GPL-3.0-or-later
// What happens at each visit to the invented shop.
#include "study/demo_shop_inside.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum {
    PLAN,
    MODEL,
    FORM,
    RING,
    FORM_AGAIN,
    RING_AGAIN,
    CUT,
    WALK,
    SETTLE,
    RELEASE,
    FIRST_LOOK,
    SECOND_LOOK,
    THIRD_LOOK,
    FOURTH_LOOK,
    LATE,
    VISITS
};

static const int days_after[VISITS] = {
    [PLAN] = 0,        [MODEL] = 5,         [FORM] = 9,         [RING] = 10,         [FORM_AGAIN] = 12,
    [RING_AGAIN] = 13, [CUT] = 14,          [WALK] = 15,        [SETTLE] = 20,       [RELEASE] = 21,
    [FIRST_LOOK] = 35, [SECOND_LOOK] = 112, [THIRD_LOOK] = 203, [FOURTH_LOOK] = 294, [LATE] = 0
};

static bool stays_on_bench(const DemoLimb *l, int visit)
{
    switch (l->person->twist) {
    case DEMO_REJECTED: return visit >= FORM_AGAIN;
    case DEMO_SQUEEZE_WANTED:
    case DEMO_UNSIGNED: return visit > RING;
    case DEMO_TOO_HEAVY: return visit > CUT;
    case DEMO_PAINFUL: return visit > WALK;
    case DEMO_EARLY_SCREW:
    case DEMO_AT_FASTEN: return visit > SETTLE;
    case DEMO_AT_SET_UP: return visit > MODEL;
    case DEMO_AT_FOOT:
    case DEMO_AT_STANDING: return visit > CUT;
    case DEMO_AT_TRIALS: return visit > WALK;
    case DEMO_AT_CHECK_OUT:
    case DEMO_AT_RELEASE: return visit > RELEASE;
    default: return false;
    }
}

bool demo_visit_day(const DemoLimb *l, int visit, int *after)
{
    DemoTwist twist = l->person->twist;
    if (visit >= VISITS)
        return false;
    *after = days_after[visit];
    if (visit == THIRD_LOOK && !l->child)
        *after = 112 + 184; // 6 months later; children after 3
    bool again = visit == FORM_AGAIN || visit == RING_AGAIN, gone = twist == DEMO_CRACK || twist == DEMO_OUTGROWN;
    bool late = twist == DEMO_RECALLED || twist == DEMO_FELL || twist == DEMO_SPACER;
    if (stays_on_bench(l, visit) || (again && twist != DEMO_FORMED_AGAIN) || (visit > SECOND_LOOK && gone) ||
        (visit > RELEASE && twist == DEMO_OVERDUE) || (visit == FOURTH_LOOK && !l->child))
        *after = -1;
    if (visit == LATE)
        *after = late ? l->person->started - 6 : -1;
    return true;
}

static sf_Status plan(Demo *d, DemoLimb *l)
{
    const char *word = l->person->twist == DEMO_VOLUME ? "with-reservation" : "suitable";
    SF_TRY(demo_say(d, l, DEMO_PROSTHETIST, "candidacy",
                    "{'decision':'%s','growing':%s,'can_return':true,'reason':'%s'}", word, l->child ? "true" : "false",
                    l->person->twist == DEMO_VOLUME ? "limb volume still changes: invented reservation" : "invented"));
    return demo_say(d, l, DEMO_TECHNICIAN, "cast", "{'number':'C-%03d','by':'%s'}", 101 + l->number,
                    demo_staff_name(DEMO_TECHNICIAN));
}

static sf_Status model(Demo *d, DemoLimb *l)
{
    SF_TRY(
        demo_say(d, l, DEMO_TECHNICIAN, "model",
                 "{'number':'M-%03d','knee_line':true,'posterior_midline':true,'outward_midline':true,'dryness':'dry'}",
                 101 + l->number));
    SF_TRY(demo_say(d, l, DEMO_PROSTHETIST, "check-socket", "{'walked':true,'seen':'fits, walks level'}"));
    if (l->person->twist == DEMO_AT_SET_UP)
        return SF_OK;
    return demo_say(d, l, DEMO_PROSTHETIST, "alignment-frozen",
                    "{'flexion_deg':5,'adduction_deg':5,'travel_left':'toe-out 20 degrees either way, 10 mm shifts'}");
}

static sf_Status form(Demo *d, DemoLimb *l)
{
    char lot[16];
    DemoWho by = demo_former(l);
    double drift = demo_drift(d, d->day);
    bool wet = l->person->twist == DEMO_REJECTED || (l->person->twist == DEMO_FORMED_AGAIN && !l->measured_again);
    demo_lot(l, lot);
    SF_TRY(demo_say(
        d, l, by, "forming",
        "{'sheet_lot':'%s','sheet_mm':%g,'oven_c':195,'vacuum_s':%.0f,'model':'%s','by':'%s','read_by':'II, II'}", lot,
        l->child ? 6.35 : 8.0, 92 + 3 * demo_dice(l->number, 7) - 22 * drift, wet ? "damp" : "dry",
        demo_staff_name(by)));
    SF_TRY(demo_say(d, l, by, "alignment-as-formed", "{'flexion_deg':%.1f,'adduction_deg':%.1f}",
                    5 + 0.6 * demo_dice(l->number, 8), 5 + 0.5 * demo_dice(l->number, 9)));
    SF_TRY(demo_say(d, l, by, "break-out", "{'harm':false}"));
    if (strcmp(l->person->suspension, "shuttle-lock") == 0)
        SF_TRY(demo_say(d, l, by, "lock", "{'pull_n':500,'held':true,'max_user_mass_kg':125}"));
    return demo_say(d, l, by, "trim-lines", "{'edges_finished':true}");
}

static sf_Status ring(Demo *d, DemoLimb *l)
{
    int number = l->measured_again ? 2 : 1;
    DemoTwist twist = l->person->twist;
    SF_TRY(demo_ring(d, l, twist == DEMO_UNSIGNED ? DEMO_TECHNICIAN : DEMO_PROSTHETIST));
    if (twist == DEMO_SQUEEZE_WANTED || twist == DEMO_UNSIGNED)
        return SF_OK;
    SF_TRY(demo_say(d, l, DEMO_TECHNICIAN, "lamp-look", "{'finding':'%s'}",
                    twist == DEMO_REJECTED ? "line-seen" : "clear"));
    if (twist == DEMO_REJECTED || (twist == DEMO_FORMED_AGAIN && !l->measured_again))
        return SF_OK;
    return demo_say(d, l, DEMO_TECHNICIAN, "squeeze-proof",
                    "{'ring_number':'R%d','passed':true,'load_n':%.0f,'closing_mm':1.4,'seam':'under-load-line'}",
                    number, l->child ? 260 : 420 + 15 * demo_dice(l->number, 10));
}

static sf_Status again(Demo *d, DemoLimb *l, int visit)
{
    l->measured_again = true;
    return visit == FORM_AGAIN ? form(d, l) : ring(d, l);
}

static sf_Status cut(Demo *d, DemoLimb *l)
{
    SF_TRY(
        demo_say(d, l, DEMO_TECHNICIAN, "cut", "{'cut_height_mm':%g,'left_long_mm':8,'read_by':'II, II'}", l->cut_mm));
    if (l->person->twist == DEMO_AT_FOOT)
        return SF_OK;
    SF_TRY(demo_say(d, l, DEMO_TECHNICIAN, "foot-set",
                    "{'toe_out_deg':4,'foot_forward_mm':-4,'foot_outset_mm':0,'dorsiflexion_deg':0,'eversion_deg':0,"
                    "'foot_bolt_torque_nm':%d}",
                    l->child ? 18 : 30));
    return demo_say(d, l, DEMO_TECHNICIAN, "holding-screw", "{'torque_nm':3.2,'mark_drawn':true}");
}

static sf_Status stand(Demo *d, DemoLimb *l)
{
    bool two = strcmp(l->person->other, "prosthetic") == 0;
    return demo_say(
        d, l, DEMO_PROSTHETIST, "standing",
        "{'sock_ply':%d,'blocks_mm':%d,'pelvis_level':%s,'height_agreed':%s,'heels_apart_mm':%d,'sole_flat':true,"
        "'lean_sagittal_deg':%.1f,'lean_coronal_deg':0.5,'pistoning_mm':%d,'pressure':'even','donned_straight':true}",
        2 + l->number % 3, l->number % 4, two ? "false" : "true", two ? "true" : "false", 110 + l->number % 5 * 8,
        0.5 * demo_dice(l->number, 11), 2 + l->number % 3);
}

// Three walks: the foot comes forward, then outward; signs grow weaker.
static sf_Status walk(Demo *d, DemoLimb *l, int n)
{
    static const char *const signs[] = {
        "{'sign':'drop-off','phase':'terminal-stance','strength':2},{'sign':'lateral-thrust','phase':'mid-stance','"
        "strength':1}",
        "{'sign':'lateral-thrust','phase':'mid-stance','strength':2}",
        "{'sign':'lateral-thrust','phase':'mid-stance','strength':1}",
    };
    static const int forward[] = { -4, 0, 0 }, outset[] = { 0, 0, 4 };
    DemoTwist twist = l->person->twist;
    bool hurts = twist == DEMO_PAINFUL && n == 1, alone = twist == DEMO_UNASSISTED && n == 2;
    return demo_say(
        d, l, DEMO_PROSTHETIST, "walk",
        "{'settings':{'toe_out_deg':4,'foot_forward_mm':%d,'foot_outset_mm':%d,'dorsiflexion_deg':0,'eversion_deg':0},"
        "'settings_after':{'toe_out_deg':4,'foot_forward_mm':%d,'foot_outset_mm':%d,'dorsiflexion_deg':0,"
        "'eversion_deg':0},'observations':[%s],'support':'%s','assistant':%s,'witness':'unbroken',"
        "'holding_torque_nm':3.2,'sock_ply':%d,'minutes_since_donning':%d,'skin':'%s','pain':%d,'comfort':%d,"
        "'insensate':false}",
        forward[n], outset[n], forward[n], outset[n], signs[n],
        alone   ? "stick"
        : n < 2 ? "bars"
                : "stick",
        alone   ? "false"
        : n < 2 ? "false"
                : "true",
        2 + l->number % 3, 15 + 20 * n,
        hurts    ? "stays"
        : n == 0 ? "clear"
                 : "fades",
        hurts ? 5 : 1, hurts ? 3 : 6 + n);
}

static sf_Status look_at_screw(Demo *d, DemoLimb *l)
{
    return demo_say(d, l, DEMO_TECHNICIAN, "holding-screw-look", "{'torque_nm':3.2,'witness':'unbroken'}");
}

static sf_Status drill(Demo *d, DemoLimb *l, double seam_distance_deg)
{
    double height = l->cut_mm + 14;
    if (!l->screws)
        return demo_say(d, l, DEMO_TECHNICIAN, "permanent-fixing", "{'fixing':'pinch-band','torque_nm':5}");
    return demo_say(d, l, DEMO_TECHNICIAN, "permanent-fixing",
                    "{'fixing':'through-screws','torque_nm':5,'holes':[{'angle_deg':%g,'height_mm':%g,'diameter_mm':6},"
                    "{'angle_deg':%g,'height_mm':%g,'diameter_mm':6}],'read_by':'II, II'}",
                    270 - seam_distance_deg, height, 90 - seam_distance_deg, height);
}

static sf_Status trials(Demo *d, DemoLimb *l)
{
    SF_TRY(stand(d, l));
    SF_TRY(look_at_screw(d, l));
    if (l->person->twist == DEMO_AT_TRIALS)
        return SF_OK;
    SF_TRY(walk(d, l, 0));
    SF_TRY(demo_say(d, l, DEMO_PROSTHETIST, "advice-taken",
                    "{'advice':'foot forward 4 mm','choice':'foot forward 4 mm','reason':'drop-off seen'}"));
    if (l->person->twist == DEMO_EARLY_SCREW)
        return drill(d, l, 8);
    SF_TRY(look_at_screw(d, l));
    SF_TRY(walk(d, l, 1));
    if (l->person->twist == DEMO_PAINFUL)
        return SF_OK;
    return demo_say(d, l, DEMO_PROSTHETIST, "advice-taken", "{'advice':'foot outset 4 mm','choice':'%s'}",
                    l->number % 4 == 1 ? "toe-out 2 degrees less first" : "foot outset 4 mm");
}

static sf_Status settle(Demo *d, DemoLimb *l)
{
    if (l->person->twist == DEMO_EARLY_SCREW)
        SF_TRY(stand(d, l));
    else
        SF_TRY(look_at_screw(d, l));
    SF_TRY(walk(d, l, 2));
    return demo_say(d, l, DEMO_LICENSED, "settled",
                    "{'toe_out_deg':4,'foot_forward_mm':0,'foot_outset_mm':4,'dorsiflexion_deg':0,'eversion_deg':0,"
                    "'sock_ply':%d,'reason':'invented'}",
                    2 + l->number % 3);
}

static sf_Status check_out(Demo *d, DemoLimb *l)
{
    return demo_say(
        d, l, DEMO_PROSTHETIST, "check-out",
        "{'toe_out_deg':%.1f,'length_difference_mm':%d,'walked':true,'sat':true,'donned_doffed':true,'minutes':15,"
        "'skin':'%s','sock_ply':%d}",
        4 + 0.8 * demo_dice(l->number, 12), -(l->number % 3), l->number % 4 ? "clear" : "fades", 2 + l->number % 3);
}

static sf_Status release(Demo *d, DemoLimb *l)
{
    bool against = l->person->twist == DEMO_AGAINST_ADVICE;
    SF_TRY(drill(d, l, 60));
    SF_TRY(demo_say(d, l, DEMO_TECHNICIAN, "holding-screw-end", "{'state':'%s','dent_mm':%.1f}",
                    l->number % 2 ? "removed" : "left", 0.4 + 0.1 * demo_dice(l->number, 13)));
    if (l->person->twist == DEMO_AT_CHECK_OUT)
        return SF_OK;
    SF_TRY(check_out(d, l));
    if (l->person->twist == DEMO_AT_RELEASE)
        return SF_OK;
    if (!against) {
        SF_TRY(demo_say(d, l, DEMO_TECHNICIAN, "finish", "{'mass_g':%d,'cover':'foam','cover_mass_g':150}",
                        (l->child ? 980 : 1800) + 3 * l->number));
        SF_TRY(demo_say(d, l, DEMO_PROSTHETIST, "statement",
                        "{'care_sheet':true,'custom_made_statement':true,'shoe_heel_mm':%d}", l->child ? 15 : 20));
    }
    SF_TRY(demo_say(d, l, DEMO_PROSTHETIST, "delivery",
                    "{'wear_in_h':2,'donning_taught':true,'stop_signs_told':true,'telephone_given':true}"));
    if (against)
        return demo_say(d, l, DEMO_LICENSED, "release",
                        "{'against_advice':true,'reason':'leaves for a far town today; weighing and papers follow by "
                        "post (invented)'}");
    return demo_say(d, l, DEMO_LICENSED, "release", "{}");
}

static sf_Status grow(Demo *d, DemoLimb *l, int months)
{
    char text[200];
    double years = months / 12.0, stature = l->person->stature + 58 * years,
           knee = round(0.274 * l->person->stature) + 19 * years;
    int year, month, day;
    if (!l->child || sscanf(sf_transaction_time(d->transaction), "%d-%d-%d", &year, &month, &day) != 3)
        return SF_OK;
    snprintf(text, sizeof text,
             "{'date':'%04d-%02d-%02d','stature_mm':%.0f,'knee_height_mm':%.0f,'block_mm':%.0f,"
             "'landmark':'medial-tibial-plateau'}",
             year, month, day, stature, knee, 19 * years);
    return demo_say(d, l, DEMO_PROSTHETIST, "growth-reading", "%s", text);
}

static sf_Status inspect(Demo *d, DemoLimb *l, int visit)
{
    DemoTwist twist = l->person->twist;
    int months = visit == FIRST_LOOK ? 1 : visit == SECOND_LOOK ? 4 : visit == THIRD_LOOK ? 7 : 10;
    bool cracked = twist == DEMO_CRACK && visit == SECOND_LOOK, gained = twist == DEMO_GAINED && visit >= SECOND_LOOK;
    double mass = l->person->mass + (gained ? 12 : 0) + (l->child ? 0.25 * months : 0);
    SF_TRY(demo_say(
        d, l, DEMO_PROSTHETIST, "inspection",
        "{'body_mass_kg':%.1f,'whitening':%s,'crack':%s,'creak':false,'bolt':'tight','toe_out_deg':%.1f,'sock_ply':%d,"
        "'pistoning_mm':%d,'foot_worn':%s,'skin':'clear','seen':'%s'}",
        mass, cracked || l->number % 11 == 5 ? "true" : "false", cracked ? "true" : "false",
        4 + 0.8 * demo_dice(l->number, 14), 2 + l->number % 3 + (visit > FIRST_LOOK), 2 + l->number % 4,
        visit >= THIRD_LOOK ? "true" : "false", cracked ? "a crack from the screw hole, 4 mm long" : "nothing new"));
    SF_TRY(grow(d, l, months));
    if (cracked)
        return demo_say(d, l, DEMO_LICENSED, "crack-judged",
                        "{'finding':'cracked','reason':'it goes through the wall beside the screw hole (invented)'}");
    if (twist == DEMO_OUTGROWN && visit == SECOND_LOOK)
        return demo_say(d, l, DEMO_LICENSED, "retired", "{'reason':'outgrown: a new limb is begun (invented)'}");
    return SF_OK;
}

static sf_Status late(Demo *d, DemoLimb *l)
{
    switch (l->person->twist) {
    case DEMO_RECALLED:
        return demo_say(d, l, DEMO_LICENSED, "quarantine",
                        "{'reason':'the sheet maker recalls a part of this lot (invented)'}");
    case DEMO_FELL:
        return demo_say(
            d, l, DEMO_READER, "incident",
            "{'what':'fell on a wet step; the limb held (invented)','harm':'fall','done':'limb kept in the shop'}");
    case DEMO_SPACER:
        return demo_say(
            d, l, DEMO_TECHNICIAN, "spacer-change",
            "{'spacers':[{'thickness_mm':6,'material':'polyamide'},{'thickness_mm':9,'material':'polyamide'}]}");
    default: return SF_OK;
    }
}

sf_Status demo_visit(Demo *d, DemoLimb *l, int visit)
{
    switch (visit) {
    case PLAN: return plan(d, l);
    case MODEL: return model(d, l);
    case FORM: return form(d, l);
    case RING: return ring(d, l);
    case FORM_AGAIN:
    case RING_AGAIN: return again(d, l, visit);
    case CUT: return cut(d, l);
    case WALK: return trials(d, l);
    case SETTLE: return settle(d, l);
    case RELEASE: return release(d, l);
    case LATE: return late(d, l);
    default: return inspect(d, l, visit);
    }
}
