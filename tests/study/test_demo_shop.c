// SPDX-License-Identifier: GPL-3.0-or-later
// The invented shop, seeded once into a real store: that it shows what it is meant to show. Everything is invented.
#define _POSIX_C_SOURCE 200809L
#include "base/alloc.h"
#include "harness/tap.h"
#include "limb/limb.h"
#include "study/demo_shop.h"
#include "study/limb_case.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

static const char TODAY[] = "2026-11-25";
static const double SECONDS = 10; // of one processor's time

static char folder[] = "/tmp/standfast-demo-XXXXXX", place[64];
static sf_DemoShop shop;

static sf_Store *opened(void)
{
    sf_Store *store = NULL;
    sf_Error err;
    TAP_OK(sf_store_open(&store, place, NULL, SF_STORE_EXISTING, &err));
    return store;
}

TAP_CASE(seeding_is_quick)
{
    sf_Store *store = NULL;
    sf_Error err;
    TAP_TRUE(mkdtemp(folder) != NULL);
    snprintf(place, sizeof place, "%s/shop.sqlite", folder);
    TAP_OK(sf_store_open(&store, place, NULL, SF_STORE_MAKE, &err));
    clock_t start = clock();
    sf_Status status = sf_demo_shop_seed(store, TODAY, &shop, &err);
    double took = (double)(clock() - start) / CLOCKS_PER_SEC;
    TAP_TRUE(status == SF_OK, "%s", status == SF_OK ? "" : err.text);
#if !defined(__SANITIZE_ADDRESS__)
    TAP_TRUE(took < SECONDS, "%.1f s of one processor", took);
#endif
    tap_note("%zu limbs, %zu facts, %zu rings in %.1f s of one processor", shop.limbs, shop.facts, shop.rings, took);
    TAP_TRUE(shop.limbs >= 40 && shop.limbs <= 50);
    sf_store_close(&store);
}

TAP_CASE(a_store_with_people_is_left_alone)
{
    sf_Store *store = opened();
    sf_Error err;
    sf_DemoShop again;
    TAP_STATUS(sf_demo_shop_seed(store, TODAY, &again, &err), SF_E_INPUT);
    TAP_HOLDS(err.text, "store of its own");
    sf_store_close(&store);
}

// ---- what it shows ----------------------------------------------------------------------------------------------

typedef struct Seen {
    size_t limbs, children, against, early, rings, again, rejected, walks, two_sided;
    size_t stages[SF_STAGE_MOST], orders, grave_home;
    double early_wall, late_wall;
    size_t early_count, late_count;
} Seen;

static const char BEFORE_DRIFT[] = "2026-07-20";

static void see_fact(Seen *seen, const sf_StageFact *fact)
{
    double wall;
    const char *decision = "";
    sf_DocNode result = sf_doc_member(fact->body, "result");
    seen->walks += strcmp(fact->kind, "walk") == 0;
    if (strcmp(fact->kind, "ring") != 0)
        return;
    seen->rings++;
    sf_doc_text(sf_doc_member(fact->body, "decision"), 40, &decision);
    seen->rejected += strcmp(decision, "reject") == 0;
    seen->again += strcmp(decision, "measure-again") == 0;
    if (!sf_doc_number(sf_doc_member(result, "wall_median_mm"), 0, 20, &wall) || wall < 5) // adults only
        return;
    bool late = strcmp(fact->happened_at, BEFORE_DRIFT) > 0;
    seen->late_wall += late ? wall : 0;
    seen->early_wall += late ? 0 : wall;
    seen->late_count += late;
    seen->early_count += !late;
}

static void see_limb(Seen *seen, const sf_StageTable *table, const sf_LimbCase *c)
{
    sf_Limb *limb = NULL;
    sf_Error err;
    sf_Status status = sf_limb_parse(&limb, "document", c->text, strlen(c->text), &err);
    TAP_TRUE(status == SF_OK, "limb %d: %s", (int)c->row.id, status == SF_OK ? "" : err.text);
    seen->limbs++;
    seen->children += strstr(c->row.head.label, "child") != NULL;
    seen->two_sided += limb && limb->data.person.other_side == SF_LIMB_OTHER_PROSTHETIC;
    seen->against += sf_limb_state_flagged(c->state, "released-against-advice");
    seen->early += sf_limb_state_flagged(c->state, "early-permanent-fixing");
    seen->orders += c->state->out_of_order_count;
    size_t stage = sf_stage_find(table, c->row.head.stage);
    if (stage < SF_STAGE_MOST)
        seen->stages[stage]++;
    for (size_t i = 0; i < c->count; i++) {
        size_t kind = sf_stage_kind_find(table, c->facts[i].kind);
        see_fact(seen, &c->facts[i]);
        TAP_TRUE(kind != SIZE_MAX, "%s", c->facts[i].kind);
        sf_stage_body_check(&table->kinds[kind], c->facts[i].body);
        TAP_TRUE(sf_doc_problem_count(c->bodies[i]) == 0, "%s", c->facts[i].kind);
    }
    for (size_t i = 0; i < c->state->flag_count; i++)
        seen->grave_home += c->state->flags[i].grave && c->state->may_go_home && !c->state->flags[i].kept &&
                            strcmp(c->state->flags[i].code, "follow-up-overdue") != 0;
    sf_limb_destroy(&limb);
}

TAP_CASE(it_shows_a_year_at_all_stages)
{
    sf_Store *store = opened();
    sf_Transaction *t = NULL;
    sf_StageTable *table = NULL;
    sf_Error err;
    sf_LimbRow *rows;
    size_t count = 0;
    const char *next;
    Seen seen = { 0 };
    sf_LimbAsk ask = { .count = 200 };
    TAP_OK(sf_stage_table_load(&table, &err));
    TAP_OK(sf_transaction_read(&t, store, &err));
    TAP_OK(sf_limb_record_list(t, &ask, &rows, &count, &next, &err));
    for (size_t i = 0; i < count; i++) {
        sf_LimbCase *c = NULL;
        TAP_OK(sf_limb_case_open(&c, t, table, rows[i].id, &err));
        see_limb(&seen, table, c);
        sf_limb_case_close(&c);
    }
    for (size_t s = 1; s < table->stage_count && !table->stages[s].shop; s++)
        TAP_TRUE(seen.stages[s] > 0 || strcmp(table->stages[s].name, "settle") == 0, "none waits at '%s'",
                 table->stages[s].name);
    TAP_TRUE(seen.limbs == shop.limbs && seen.rings == shop.rings && seen.rings >= 40);
    TAP_TRUE(seen.children >= 8 && seen.two_sided == 2);
    TAP_TRUE(seen.against == 1, "%zu released against advice", seen.against);
    TAP_TRUE(seen.early == 1, "%zu early screws", seen.early);
    TAP_TRUE(seen.orders == 1, "%zu facts out of order", seen.orders);
    TAP_TRUE(seen.rejected >= 2 && seen.again >= 1 && seen.walks > 80);
    TAP_TRUE(seen.grave_home == 0, "nothing grave is at home");
    double early = seen.early_wall / (double)seen.early_count, late = seen.late_wall / (double)seen.late_count;
    TAP_TRUE(late < early - 0.2, "the wall drifts from %.2f to %.2f mm", early, late);
    sf_transaction_end(&t);
    sf_stage_table_destroy(&table);
    sf_store_close(&store);
}

TAP_CASE(it_is_taken_away)
{
    char command[100];
    snprintf(command, sizeof command, "rm -r '%s'", folder);
    TAP_TRUE(system(command) == 0);
}

TAP_MAIN(TAP_RUN(seeding_is_quick), TAP_RUN(a_store_with_people_is_left_alone), TAP_RUN(it_shows_a_year_at_all_stages),
         TAP_RUN(it_is_taken_away))
