// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/limb_course.h"

#include "base/date.h"
#include "harness/tap.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

typedef struct Step {
    const char *stage;
    Who who;
    const char *kind, *body;
} Step;

// Invented readings of an ordinary fitting.
static const Step usual[] = {
    { "plan", PROSTHETIST, "candidacy", "{'decision':'suitable'}" },
    { "model", TECHNICIAN, "cast", "{'number':'C1'}" },
    { "model", TECHNICIAN, "model",
      "{'number':'M1','knee_line':true,'posterior_midline':true,'outward_midline':true}" },
    { "set-up", PROSTHETIST, "check-socket", "{'walked':true}" },
    { "set-up", PROSTHETIST, "alignment-frozen", "{'flexion_deg':5,'adduction_deg':5}" },
    { "form", TECHNICIAN, "forming",
      "{'sheet_lot':'L1','sheet_mm':8,'oven_c':195,'vacuum_s':90,'model':'dry','by':'invented technician'}" },
    { "form", TECHNICIAN, "alignment-as-formed", "{'flexion_deg':5,'adduction_deg':5}" },
    { "form", TECHNICIAN, "break-out", "{'harm':false}" },
    { "form", TECHNICIAN, "lock", "{'pull_n':500,'held':true}" },
    { "form", TECHNICIAN, "trim-lines", "{'edges_finished':true}" },
    { "ring", TECHNICIAN, "ring-marked",
      "{'ring_number':'R1','up_arrow':true,'posterior_line':true,'outward_dot':true}" },
    { "ring", PROSTHETIST, "ring", "{'ring_number':'R1','decision':'accept'}" },
    { "ring", TECHNICIAN, "squeeze-proof", "{'ring_number':'R1','passed':true,'load_n':400,'seam':'under-load-line'}" },
    { "ring", TECHNICIAN, "lamp-look", "{'finding':'clear'}" },
    { "cut", TECHNICIAN, "cut", "{'cut_height_mm':110}" },
    { "foot", TECHNICIAN, "foot-set", "{'toe_out_deg':6}" },
    { "foot", TECHNICIAN, "holding-screw", "{'torque_nm':3.2,'mark_drawn':true}" },
    { "standing", PROSTHETIST, "standing",
      "{'sock_ply':3,'pelvis_level':true,'height_agreed':true,'heels_apart_mm':120,'sole_flat':true,'pressure':'even'"
      "}" },
    { "trials", TECHNICIAN, "holding-screw-look", "{'torque_nm':3.2,'witness':'unbroken'}" },
    { "trials", PROSTHETIST, "walk", "{'support':'bars','skin':'clear','pain':0}" },
    { "settle", LICENSED, "settled", "{'toe_out_deg':6}" },
    { "fasten", TECHNICIAN, "permanent-fixing",
      "{'fixing':'through-screws','torque_nm':5,'holes':[{'angle_deg':0,'height_mm':122,'diameter_mm':6}]}" },
    { "fasten", TECHNICIAN, "holding-screw-end", "{'state':'removed','dent_mm':0.4}" },
    { "check-out", PROSTHETIST, "check-out",
      "{'toe_out_deg':6.5,'walked':true,'sat':true,'donned_doffed':true,'minutes':15,'skin':'fades'}" },
    { "release", TECHNICIAN, "finish", "{'mass_g':1500}" },
    { "release", PROSTHETIST, "delivery",
      "{'wear_in_h':2,'donning_taught':true,'stop_signs_told':true,'telephone_given':true}" },
    { "release", PROSTHETIST, "statement", "{'care_sheet':true,'custom_made_statement':true}" },
    { "release", LICENSED, "release", "{}" },
};

static sf_StageTable *table; // read once for all courses, before the cases count their blocks

__attribute__((constructor)) static void load_table(void)
{
    sf_Error err;
    if (sf_stage_table_load(&table, &err) != SF_OK) {
        fprintf(stderr, "%s\n", err.text);
        abort();
    }
}

__attribute__((destructor)) static void drop_table(void)
{
    sf_stage_table_destroy(&table);
}

static sf_Doc *parsed(const char *text)
{
    char json[4000];
    size_t length = strlen(text);
    sf_Doc *doc = NULL;
    for (size_t i = 0; i <= length && i < sizeof json; i++)
        json[i] = text[i] == '\'' ? '"' : text[i];
    sf_Error err;
    if (sf_doc_parse(&doc, "body", json, length, &err) != SF_OK) {
        fprintf(stderr, "%s: %s\n", text, err.text);
        abort();
    }
    return doc;
}

void course_limb(Course *c, CourseLimb l)
{
    char text[1500];
    sf_doc_destroy(&c->limb);
    snprintf(text, sizeof text,
             "{'person':{'body_mass_kg':%g,'habitual_load_kg':%g,'activity':'%s','other_side':'%s','birth_date':'%s',"
             "'contracture_deg':0,'volume':'stable'},'socket':{'suspension':'%s','suspension_max_user_mass_kg':%g},"
             "'adapter':{'max_user_mass_kg':%g,'activity':'%s','build_height_mm':12,'rotation_hold':'%s',"
             "'holding_screw':{'torque_nm':3.2}},'foot':{'max_user_mass_kg':%g,'activity':'%s','build_height_mm':75},"
             "'shoe':{'heel_mm':20}}",
             l.mass, l.carried, l.activity, l.other_side, l.birth_date, l.suspension, l.lock_most, l.adapter_most,
             l.part_activity, l.hold, l.foot_most, l.part_activity);
    c->limb = parsed(text);
}

void course_begin(Course *c, CourseLimb limb)
{
    *c = (Course){ .table = table };
    course_limb(c, limb);
}

void course_end(Course *c)
{
    sf_limb_state_destroy(&c->state);
    for (size_t i = 0; i < c->count; i++)
        sf_doc_destroy(&c->bodies[i]);
    sf_doc_destroy(&c->limb);
}

static void write_time(long minutes, char text[25])
{
    char day[SF_DATE_TEXT];
    sf_Date start = { 2026, 1, 5 };
    sf_date_format(sf_date_from_days(sf_date_days(start) + minutes / 1440), day);
    snprintf(text, 25, "%sT%02u:%02u:00.000Z", day, (unsigned)(minutes % 1440 / 60) % 24U,
             (unsigned)(minutes % 60) % 60U);
}

int64_t course_say(Course *c, Who who, const char *kind, const char *body)
{
    static const char *const roles[] = { "prosthetist", "prosthetist", "technician", "reader", "prosthetist" };
    size_t i = c->count++;
    c->bodies[i] = parsed(body);
    write_time(c->minutes, c->times[i]);
    memcpy(c->recorded[i], c->times[i], sizeof c->times[i]);
    c->minutes += 60;
    c->facts[i] = (sf_StageFact){ .id = (int64_t)i + 1,
                                  .kind = kind,
                                  .happened_at = c->times[i],
                                  .recorded_at = c->recorded[i],
                                  .who = who + 1,
                                  .role = roles[who],
                                  .licensed = who == LICENSED || who == LOCKED_OUT,
                                  .signs = who != LOCKED_OUT,
                                  .body = sf_doc_root(c->bodies[i]) };
    sf_doc_whole(sf_doc_member(c->facts[i].body, "fact"), 0, 100000, &c->facts[i].about);
    sf_doc_whole(sf_doc_member(c->facts[i].body, "about"), 0, 100000, &c->facts[i].about);
    size_t index = sf_stage_kind_find(c->table, kind);
    if (index != SIZE_MAX)
        sf_stage_body_check(&c->table->kinds[index], c->facts[i].body);
    if (sf_doc_problem_count(c->bodies[i]) > 0)
        tap_note("%s: %s %s", kind, sf_doc_problem_path(c->bodies[i], 0), sf_doc_problem_text(c->bodies[i], 0));
    return c->facts[i].id;
}

int64_t course_withdraw(Course *c, Who who, int64_t fact)
{
    char body[100];
    snprintf(body, sizeof body, "{'fact':%d,'reason':'written down for the wrong limb'}", (int)fact);
    int64_t id = course_say(c, who, "withdrawal", body);
    c->facts[c->count - 1].withdraws = fact;
    return id;
}

int64_t course_sign(Course *c, Who who, int64_t fact)
{
    char body[100];
    snprintf(body, sizeof body, "{'fact':%d}", (int)fact);
    return course_say(c, who, "signature", body);
}

void course_through(Course *c, const char *stage)
{
    course_between(c, NULL, stage);
}

void course_between(Course *c, const char *after, const char *stage)
{
    size_t last = sf_stage_find(c->table, stage), first = after ? sf_stage_find(c->table, after) + 1 : 0;
    for (size_t i = 0; i < sizeof usual / sizeof *usual; i++)
        if (sf_stage_find(c->table, usual[i].stage) >= first && sf_stage_find(c->table, usual[i].stage) <= last)
            course_say(c, usual[i].who, usual[i].kind, usual[i].body);
}

const sf_LimbState *course_state(Course *c, double days)
{
    char now[25];
    sf_Error err;
    write_time(c->minutes - 59 + (long)lround(days * 1440), now);
    sf_limb_state_destroy(&c->state);
    if (sf_limb_state_make(&c->state, c->table, sf_doc_root(c->limb), c->facts, c->count, &c->around, now, &err) !=
        SF_OK) {
        fprintf(stderr, "%s\n", err.text);
        abort();
    }
    return c->state;
}

const char *course_status(Course *c, const char *stage)
{
    const sf_StageState *state = sf_limb_state_stage(course_state(c, 0), stage);
    return state ? sf_stage_status_word(state->status) : "?";
}

const char *const course_changes[COURSE_CHANGES][2] = {
    { "spacer-change", "{'spacers':[{'thickness_mm':6}]}" },
    { "foot-change", "{'max_user_mass_kg':100,'activity':'moderate'}" },
    { "shoe-change", "{'heel_mm':30}" },
    { "bolt-change", "{'torque_nm':30}" },
    { "adapter-change", "{'max_user_mass_kg':100,'activity':'moderate'}" },
    { "suspension-change", "{'suspension':'sleeve'}" },
    { "hole", "{'holes':[{'angle_deg':90,'height_mm':130,'diameter_mm':4,'state':'fitted'}]}" },
    { "vent", "{'holes':[{'angle_deg':0,'height_mm':200,'diameter_mm':4}],'edge_rounded':true}" },
    { "cut", "{'cut_height_mm':105,'trim':true}" },
    { "glue", "{'adhesive':'epoxy','where':'spacer to foot'}" },
    { "heat", "{'where':'socket brim','by':'invented prosthetist'}" },
    { "lock", "{'pull_n':500,'held':true}" },
    { "permanent-fixing", "{'fixing':'through-screws','torque_nm':5}" },
    { "fixing-removed", "{'reason':'screw bent'}" },
    { "holding-screw-end", "{'state':'left','dent_mm':0.5}" },
};

bool course_weight(Course *c)
{
    static const char *const loading[] = { "standing", "trials", "check-out", "release", "follow-up" };
    const sf_LimbState *state = course_state(c, 0);
    for (size_t i = 0; i < sizeof loading / sizeof *loading; i++) {
        const sf_StageState *stage = sf_limb_state_stage(state, loading[i]);
        if (stage->status == SF_STAGE_OPEN || stage->status == SF_STAGE_DONE ||
            (stage->status == SF_STAGE_AGAIN && !stage->why_shut))
            return true;
    }
    return state->fit_to_load || state->may_be_loaded || state->may_walk || state->may_go_home;
}
