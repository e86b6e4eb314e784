// SPDX-License-Identifier: GPL-3.0-or-later
// The rules of the stages as properties over courses of facts in any order, by anyone. Everything here is invented.
#include "base/alloc.h"
#include "harness/tap.h"
#include "study/limb_course.h"

#include <string.h>

static unsigned next_random(unsigned *seed)
{
    *seed = *seed * 1664525u + 1013904223u;
    return *seed >> 8;
}

// Says a fact of the usual way once more.
static void say_usual(Course *c, Who who, const sf_StageFact *fact)
{
    char *text = NULL;
    sf_Json *json = sf_json_from_node(fact->body);
    TAP_OK(sf_json_text(json, 15, &text, NULL));
    course_say(c, who, fact->kind, text);
    sf_free(text);
    sf_json_destroy(&json);
}

static void say_odd(Course *c, unsigned *seed, Who who)
{
    static const char *const odd[][2] = {
        { "crack", "{'where':'seam'}" },
        { "quarantine", "{'reason':'a fall'}" },
        { "quarantine-lifted", "{'reason':'looked at, in order'}" },
        { "crack-judged", "{'finding':'no-crack','reason':'a scratch in the surface'}" },
        { "release", "{'against_advice':true,'reason':'the person asks for it'}" },
        { "ring", "{'ring_number':'R1','decision':'accept'}" },
        { "ring", "{'ring_number':'R2','decision':'accept-with-limit'}" },
        { "squeeze-proof", "{'ring_number':'R1','passed':true,'load_n':400,'seam':'both'}" },
    };
    size_t odd_count = sizeof odd / sizeof *odd, change_count = COURSE_CHANGES;
    size_t k = next_random(seed) % (odd_count + change_count);
    if (k < odd_count)
        course_say(c, who, odd[k][0], odd[k][1]);
    else
        course_say(c, who, course_changes[k - odd_count][0], course_changes[k - odd_count][1]);
}

// Facts of the usual way and every unusual one, by anyone: `strays` in 10 are not the next of the usual way. After a
// rejected ring nothing is formed anew and no licensed prosthetist withdraws a ring.
static void wild_course(Course *c, unsigned seed, unsigned strays, bool rejected)
{
    Course source;
    course_begin(&source, COURSE_LIMB);
    course_through(&source, "release");
    size_t total = source.count + next_random(&seed) % 50,
           at = 6 + next_random(&seed) % (total - 6); // once it is formed
    for (size_t i = 0; i < total; i++) {
        bool stray = next_random(&seed) % 10 < strays;
        Who who = stray && next_random(&seed) % 3 == 0 ? (Who)(next_random(&seed) % WHO_COUNT) : LICENSED;
        if (rejected && i == at)
            course_say(c, (Who)(next_random(&seed) % WHO_COUNT), "ring", "{'ring_number':'R1','decision':'reject'}");
        const sf_StageFact *usual = &source.facts[stray ? next_random(&seed) % source.count : i % source.count];
        bool formed = strcmp(usual->kind, "forming") == 0 && i > 5;
        if (!stray || next_random(&seed) % 2) {
            if (!(formed && (rejected || !stray)))
                say_usual(c, who, usual);
        } else {
            say_odd(c, &seed, who);
        }
        if (stray && next_random(&seed) % 4 == 0 && c->count > 1) {
            int64_t fact = 1 + (int64_t)(next_random(&seed) % c->count);
            bool ring = strcmp(c->facts[fact - 1].kind, "ring") == 0;
            course_withdraw(c, ring && rejected ? PROSTHETIST : who, fact);
        }
    }
    course_end(&source);
}

TAP_CASE(no_order_of_facts_opens_a_loading_stage_after_a_rejected_ring)
{
    int open = 0;
    for (unsigned seed = 1; seed <= 400; seed++) {
        Course c;
        course_begin(&c, COURSE_LIMB);
        wild_course(&c, seed, seed % 10, true);
        if (course_weight(&c)) {
            open++;
            tap_note("seed %u", seed);
        }
        course_end(&c);
    }
    TAP_TRUE(open == 0, "%d of 400 courses", open);
}

// What must hold for a limb that may go home, told by counting places only.
static bool home_is_earned(const Course *c)
{
    size_t fixing = 0, check = 0, change = 0, standing = 0, release = 0;
    for (size_t i = 0; i < c->count; i++) {
        const sf_StageFact *f = &c->facts[i];
        bool gone = false;
        for (size_t k = 0; k < c->count; k++)
            gone = gone || c->facts[k].withdraws == f->id;
        if (gone) // whether it held or not: look at the limb without it, which only asks for less
            continue;
        fixing = strcmp(f->kind, "permanent-fixing") == 0 ? i + 1 : fixing;
        check = strcmp(f->kind, "check-out") == 0 ? i + 1 : check;
        standing = strcmp(f->kind, "standing") == 0 ? i + 1 : standing;
        release = strcmp(f->kind, "release") == 0 && f->licensed && f->signs ? i + 1 : release;
        for (size_t k = 0; k < 6; k++)
            change = strcmp(f->kind, course_changes[k][0]) == 0 ? i + 1 : change;
        if (strcmp(f->kind, "forming") == 0 || strcmp(f->kind, "fixing-removed") == 0 || strcmp(f->kind, "cut") == 0)
            fixing = 0;
    }
    return fixing && release && check > change && standing > change && check > fixing;
}

TAP_CASE(no_order_of_facts_sends_a_limb_home_without_fixing_and_check_out)
{
    int wrong = 0, home = 0;
    for (unsigned seed = 1; seed <= 400; seed++) {
        Course c;
        course_begin(&c, COURSE_LIMB);
        wild_course(&c, seed * 7919, seed % 4, false);
        bool may = course_state(&c, 0)->may_go_home;
        home += may;
        if (may && !home_is_earned(&c)) {
            wrong++;
            tap_note("seed %u", seed);
        }
        course_end(&c);
    }
    TAP_TRUE(wrong == 0, "%d of 400 courses", wrong);
    TAP_TRUE(home > 20 && home < 380, "%d of 400 courses end with a limb that may go home", home);
}

TAP_CASE(the_order_of_writing_down_does_not_matter)
{
    int different = 0;
    for (unsigned seed = 1; seed <= 100; seed++) {
        Course c;
        course_begin(&c, COURSE_LIMB);
        wild_course(&c, seed * 31, seed % 10, seed % 2);
        sf_Json *json = sf_limb_state_json(course_state(&c, 0));
        char *before = NULL, *after = NULL;
        TAP_OK(sf_json_text(json, 12, &before, NULL));
        sf_json_destroy(&json);
        unsigned random = seed;
        for (size_t i = c.count; i > 1; i--) { // the same facts, handed over in another order
            size_t k = next_random(&random) % i;
            sf_StageFact keep = c.facts[i - 1];
            c.facts[i - 1] = c.facts[k];
            c.facts[k] = keep;
        }
        json = sf_limb_state_json(course_state(&c, 0));
        TAP_OK(sf_json_text(json, 12, &after, NULL));
        sf_json_destroy(&json);
        different += strcmp(before, after) != 0;
        sf_free(before);
        sf_free(after);
        course_end(&c);
    }
    TAP_TRUE(different == 0, "%d of 100 courses", different);
}

TAP_MAIN(TAP_RUN(no_order_of_facts_opens_a_loading_stage_after_a_rejected_ring),
         TAP_RUN(no_order_of_facts_sends_a_limb_home_without_fixing_and_check_out),
         TAP_RUN(the_order_of_writing_down_does_not_matter))
