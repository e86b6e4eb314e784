// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/parts_study.h"

#include "base/alloc.h"
#include "base/units.h"
#include "growth/length.h"
#include "study/adapter_travel.h"
#include "study/clamp_holes.h"
#include "study/figures.h"
#include "study/growth_plan.h"
#include "study/growth_strength.h"
#include "study/mass_study.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { MOST_PAIRS = 900, MOST_GATES = 8, GATE_TEXT = 160 };

static const double GRAM = 1e-3;
static const double OTHER_SIZE = 0.0015; ///< m: more play or squeeze than this is another pylon size (judgement)
static const double EQUAL = 1e-9;

typedef struct Gate {
    const char *gate, *part;
    double value, limit;                 ///< in `unit`; NaN: not known
    const char *value_word, *limit_word; ///< in place of the numbers where not NULL
    const char *unit;
    int open; ///< 1, 0, or -1: not known
    char text[GATE_TEXT];
} Gate;

typedef struct Pair {
    const char *foot_name, *adapter_name;
    const sf_LimbFoot *foot;
    const sf_LimbAdapter *adapter;
    bool fitted;
    double cut, usable, tilt, play_shank, play_rim, into_foot, limb_mass, inertia;
    sf_GrowthStrength strength;
    Gate gates[MOST_GATES];
    size_t gate_count, place;
    int open;
} Pair;

/// The limb with the pair under it. Lists stay those of the document; only what differs is changed.
typedef struct Trial {
    sf_Limb limb;
    sf_LimbRing expected; ///< stands in when the document has no ring
} Trial;

typedef struct Work {
    sf_Result *result;
    const sf_Limb *limb;
    Pair *pairs;
    size_t count;
    double outer, inner; ///< of the pylon at the cut, diameters, NaN: not known
    bool no_factor_said, expected_said;
} Work;

static double or_zero(double value)
{
    return isfinite(value) ? value : 0;
}

// ---- gates ----------------------------------------------------------------------------------------------------------

static Gate *add_gate(Pair *pair, const char *gate, const char *part, const char *unit, int open)
{
    Gate *g = &pair->gates[pair->gate_count++];
    *g = (Gate){ .gate = gate, .part = part, .unit = unit, .value = NAN, .limit = NAN, .open = open };
    return g;
}

static void gate_mass(Pair *pair, const char *part, double mass, double limit)
{
    Gate *g = add_gate(pair, "body-mass", part, "kg", isfinite(limit) && mass <= limit * (1 + EQUAL));
    g->value = mass;
    g->limit = limit;
    if (!isfinite(limit))
        snprintf(g->text, sizeof g->text, "the %s's greatest body mass is not entered", part);
    else
        snprintf(g->text, sizeof g->text, "%.0f kg with what is carried, the %s's limit is %.0f kg", mass, part, limit);
}

static void gate_activity(Pair *pair, const char *part, sf_LimbActivity person, sf_LimbActivity limit)
{
    static const char *const words[] = { NULL, "low", "moderate", "high" };
    Gate *g = add_gate(pair, "activity", part, "activity", person && limit && person <= limit);
    g->value_word = words[person];
    g->limit_word = words[limit];
    if (!person)
        snprintf(g->text, sizeof g->text, "the person's activity is not entered (person.activity)");
    else if (!limit)
        snprintf(g->text, sizeof g->text, "the %s's activity class is not entered", part);
    else
        snprintf(g->text, sizeof g->text, "activity %s, the %s is for %s at most", words[person], part, words[limit]);
}

static void gate_grip(Pair *pair)
{
    double depth = pair->adapter->depth;
    Gate *g = add_gate(pair, "grip", "adapter", "mm", isfinite(depth) && pair->usable >= depth - EQUAL);
    g->value = pair->usable / SF_MM;
    g->limit = depth / SF_MM;
    if (!isfinite(depth))
        snprintf(g->text, sizeof g->text, "the adapter's depth is not entered");
    else
        snprintf(g->text, sizeof g->text, "%.1f mm of cylinder for a grip of %.1f mm", pair->usable / SF_MM,
                 depth / SF_MM);
}

static void gate_fit(Pair *pair)
{
    double shank = pair->play_shank, rim = pair->play_rim;
    double worst = isfinite(shank) && (!isfinite(rim) || fabs(shank) > fabs(rim)) ? shank : rim;
    Gate *g = add_gate(pair, "fit", "pylon", "mm", isfinite(worst) ? fabs(worst) <= OTHER_SIZE : -1);
    g->value = worst / SF_MM;
    g->limit = OTHER_SIZE / SF_MM;
    if (!isfinite(worst))
        snprintf(g->text, sizeof g->text, "pylon, shank or rim is not known");
    else
        snprintf(g->text, sizeof g->text, "%.1f mm %s %s on the diameter: %s", fabs(worst) / SF_MM,
                 worst < 0 ? "squeeze" : "play", worst == shank ? "on the shank" : "in the rim",
                 g->open ? "how much it takes is the maker's to say" : "made for another pylon size");
}

static void judge(Pair *pair, const sf_LimbPerson *person)
{
    double mass = person->body_mass + or_zero(person->habitual_load);
    gate_mass(pair, "foot", mass, pair->foot->max_user_mass);
    gate_mass(pair, "adapter", mass, pair->adapter->max_user_mass);
    gate_activity(pair, "foot", person->activity, pair->foot->activity);
    gate_activity(pair, "adapter", person->activity, pair->adapter->activity);
    gate_grip(pair);
    gate_fit(pair);
    pair->open = 1;
    for (size_t i = 0; i < pair->gate_count; i++)
        if (pair->gates[i].open == 0)
            pair->open = 0;
        else if (pair->gates[i].open < 0 && pair->open == 1)
            pair->open = -1;
}

// ---- one pair -------------------------------------------------------------------------------------------------------

/// The limb standing on the pair.
static void make_trial(Trial *trial, const Work *w, const Pair *pair)
{
    trial->limb = *w->limb;
    sf_LimbData *d = &trial->limb.data;
    d->foot = *pair->foot;
    d->adapter = *pair->adapter;
    d->foot.there = d->adapter.there = true;
    d->pylon.there = true;
    d->pylon.cut_height = pair->cut;
    double wall = d->pylon.expected_wall, shank = pair->adapter->shank;
    if (d->pylon.ring_count > 0 || !isfinite(wall) || !isfinite(shank))
        return;
    trial->expected = (sf_LimbRing){ .there = true,
                                     .height = pair->cut,
                                     .inner_diameter = shank,
                                     .outer_diameter = shank + 2 * wall,
                                     .dpi = NAN,
                                     .posterior = NAN,
                                     .offset = { NAN, NAN },
                                     .groove_depth = NAN,
                                     .groove_width = NAN,
                                     .seam = NAN,
                                     .unjoined_depth = NAN };
    d->pylon.rings = &trial->expected;
    d->pylon.ring_count = 1;
}

static sf_Status weigh(Pair *pair, const sf_Limb *limb, sf_Error *err)
{
    sf_MassAsk ask = { .weighed = NAN };
    sf_Result scratch = { 0 };
    sf_Figures figures;
    sf_Error why = { 0 };
    SF_TRY(sf_result_begin(&scratch, err));
    sf_Status status = sf_mass_study(&scratch, limb, &ask, &why);
    SF_TRY(sf_figures_take(&figures, &scratch, status, &why, err));
    bool complete = sf_figures_flag(&figures, "complete");
    pair->limb_mass = complete ? sf_figures_number(&figures, "limb.mass_kg") : NAN;
    pair->inertia = complete ? sf_figures_number(&figures, "limb.inertia_about_knee_kgm2") : NAN;
    sf_figures_free(&figures);
    return SF_OK;
}

static sf_Status solve(Work *w, Pair *pair, sf_Error *err)
{
    Trial trial;
    sf_Error why = { 0 };
    pair->strength.factor = NAN;
    pair->limb_mass = pair->inertia = NAN;
    if (!(pair->usable > 0))
        return SF_OK;
    make_trial(&trial, w, pair);
    if (trial.limb.data.pylon.rings == &trial.expected && !w->expected_said) {
        w->expected_said = true;
        sf_result_assume(w->result,
                         "no ring yet: the pylon is a tube of the expected wall, %.1f mm, on each adapter's "
                         "shank (pylon.rings)",
                         trial.limb.data.pylon.expected_wall / SF_MM);
    }
    SF_TRY(weigh(pair, &trial.limb, err));
    sf_Status status = sf_growth_strength(&pair->strength, &trial.limb, 0, 1, &why);
    if (status == SF_E_MEMORY)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "%s", why.text);
    if (status != SF_OK) {
        pair->strength.factor = NAN;
        if (!w->no_factor_said)
            sf_result_note(w->result, "pairs[].elastic_factor: %.900s", why.text);
        w->no_factor_said = true;
    }
    return SF_OK;
}

// Where the pylon is cut to stand on this foot and adapter; NaN: something of it is not entered.
static double cut_on(const sf_Limb *limb, const sf_LimbFoot *f, const sf_LimbAdapter *a)
{
    return limb->data.shoe.heel + f->build_height - or_zero(f->compression) - or_zero(f->recess) +
           sf_growth_spacers_now(limb) + a->build_height;
}

sf_Status sf_parts_put(sf_Limb *limb, const sf_PartsList *list, const char *foot, const char *adapter, sf_Error *err)
{
    sf_LimbData *d = &limb->data;
    bool found_foot = !foot, found_adapter = !adapter;
    for (size_t i = 0; foot && i < list->foot_count && !found_foot; i++)
        if ((found_foot = strcmp(list->feet[i].name, foot) == 0)) {
            d->foot = list->feet[i].foot;
            d->foot.there = true;
        }
    for (size_t i = 0; adapter && i < list->adapter_count && !found_adapter; i++)
        if ((found_adapter = strcmp(list->adapters[i].name, adapter) == 0)) {
            d->adapter = list->adapters[i].adapter;
            d->adapter.there = true;
        }
    if (!found_foot || !found_adapter)
        return SF_FAIL(err, SF_E_MISSING, found_foot ? "adapter" : "foot", "'%.80s' is not in the list of parts",
                       found_foot ? adapter : foot);
    double cut = cut_on(limb, &d->foot, &d->adapter), was = d->pylon.cut_height;
    if (!isfinite(cut) || (!foot && !adapter))
        return SF_OK;
    for (size_t i = 0; i < d->pylon.ring_count; i++)
        if (fabs(d->pylon.rings[i].height - was) < EQUAL)
            d->pylon.rings[i].height = cut;
    d->pylon.there = true;
    d->pylon.cut_height = cut;
    return SF_OK;
}

static sf_Status measure(Work *w, Pair *pair, sf_Error *err)
{
    const sf_LimbData *d = &w->limb->data;
    const sf_LimbFoot *f = pair->foot;
    const sf_LimbAdapter *a = pair->adapter;
    double spacers = sf_growth_spacers_now(w->limb), recess = or_zero(f->recess);
    pair->cut = cut_on(w->limb, f, a);
    pair->usable = d->pylon.top_height - pair->cut;
    pair->tilt = atan((d->shoe.heel - d->shoe.sole - f->heel_height) / (SF_LENGTH_RISE_BASE * f->length));
    pair->play_shank = w->inner - a->shank;
    pair->play_rim = a->rim - w->outer;
    pair->into_foot = a->foot_bolt.length - a->build_height - spacers + recess;
    judge(pair, &d->person);
    return solve(w, pair, err);
}

// ---- output ---------------------------------------------------------------------------------------------------------

static void set_maybe(sf_Json *json, const char *key, int answer)
{
    if (answer < 0)
        sf_json_set_null(json, key);
    else
        sf_json_set_flag(json, key, answer);
}

static sf_Json *gates_json(const Pair *pair)
{
    sf_Json *list = sf_json_array();
    for (size_t i = 0; i < pair->gate_count; i++) {
        const Gate *g = &pair->gates[i];
        sf_Json *one = sf_json_object();
        bool words = strcmp(g->gate, "activity") == 0;
        sf_json_set_text(one, "gate", g->gate);
        sf_json_set_text(one, "part", g->part);
        if (words) {
            sf_json_set_text(one, "value", g->value_word);
            sf_json_set_text(one, "limit", g->limit_word);
        } else {
            sf_json_set_number(one, "value", g->value);
            sf_json_set_number(one, "limit", g->limit);
        }
        sf_json_set_text(one, "unit", g->unit);
        set_maybe(one, "open", g->open);
        sf_json_set_text(one, "text", g->text);
        sf_json_add(list, one);
    }
    return list;
}

static sf_Json *travel_json(const Pair *pair, const sf_LimbAlignment *alignment)
{
    sf_Settings zero = { { 0 } }, now = sf_adapter_settings(alignment, &zero);
    sf_Travel travel = sf_adapter_travel(pair->adapter);
    sf_Json *list = sf_json_array();
    for (int i = 0; i < SF_SETTING_COUNT; i++) {
        sf_Setting s = (sf_Setting)i;
        double unit = sf_setting_factor(s);
        sf_Json *one = sf_json_object();
        sf_json_set_text(one, "setting", sf_setting_key(s));
        sf_json_set_text(one, "unit", sf_setting_unit(s));
        sf_json_set_number(one, "now", now.value[i] / unit);
        if (travel.known && travel.moves[i]) {
            sf_Json *left = sf_json_array();
            sf_json_add_number(left, (travel.low[i] - now.value[i]) / unit);
            sf_json_add_number(left, (travel.high[i] - now.value[i]) / unit);
            sf_json_set(one, "left", left);
        } else {
            sf_json_set_null(one, "left");
        }
        sf_json_add(list, one);
    }
    return list;
}

static sf_Json *bolt_json(const Pair *pair, double spacers)
{
    const sf_LimbAdapter *a = pair->adapter;
    const sf_LimbFootBolt *b = &a->foot_bolt;
    sf_Json *json = sf_json_object();
    sf_json_set_number(json, "into_foot_mm", pair->into_foot / SF_MM);
    sf_json_set_number(json, "least_mm", b->thread / SF_MM);
    sf_json_set_number(json, "most_mm", b->thread_depth / SF_MM);
    double used = a->build_height + spacers - or_zero(pair->foot->recess);
    sf_Json *range = sf_json_array();
    sf_json_add_number(range, (used + b->thread) / SF_MM);
    sf_json_add_number(range, (used + b->thread_depth) / SF_MM);
    sf_json_set(json, "lengths_that_hold_mm", range);
    bool known = isfinite(pair->into_foot) && isfinite(b->thread) && isfinite(b->thread_depth);
    set_maybe(json, "holds",
              !known ? -1 : pair->into_foot >= b->thread - EQUAL && pair->into_foot <= b->thread_depth + EQUAL);
    return json;
}

static sf_Json *pair_json(const Pair *pair, size_t rank, const sf_Limb *limb)
{
    const sf_LimbAdapter *a = pair->adapter;
    bool solved = isfinite(pair->strength.factor);
    sf_Json *json = sf_json_object();
    sf_json_set_whole(json, "rank", (int64_t)rank);
    sf_json_set_text(json, "foot", pair->foot_name);
    sf_json_set_text(json, "adapter", pair->adapter_name);
    sf_json_set_flag(json, "fitted", pair->fitted);
    set_maybe(json, "open", pair->open);
    sf_json_set_number(json, "cut_height_mm", pair->cut / SF_MM);
    sf_json_set_number(json, "usable_cylinder_mm", pair->usable / SF_MM);
    sf_json_set_number(json, "engagement_mm", isfinite(a->depth) ? fmax(fmin(a->depth, pair->usable), 0) / SF_MM : NAN);
    sf_json_set_number(json, "engagement_wanted_mm", a->depth / SF_MM);
    sf_json_set_number(json, "cylinder_left_mm", (pair->usable - a->depth) / SF_MM);
    sf_json_set_number(json, "play_shank_mm", pair->play_shank / SF_MM);
    sf_json_set_number(json, "play_rim_mm", pair->play_rim / SF_MM);
    sf_json_set_number(json, "shoe_tilt_deg", pair->tilt / SF_DEG);
    sf_json_set(json, "travel_left", travel_json(pair, &limb->data.alignment));
    sf_json_set(json, "bolt", bolt_json(pair, sf_growth_spacers_now(limb)));
    sf_json_set_number(json, "foot_and_adapter_mass_g", (pair->foot->mass + a->mass) / GRAM);
    sf_json_set_number(json, "limb_mass_kg", pair->limb_mass);
    sf_json_set_number(json, "inertia_about_knee_kgm2", pair->inertia);
    sf_json_set_number(json, "elastic_factor", pair->strength.factor);
    sf_json_set_text(json, "level", solved ? pair->strength.level : NULL);
    sf_json_set_text(json, "governing_case", solved ? pair->strength.governing : NULL);
    double most = isfinite(pair->foot->max_user_mass) && isfinite(a->max_user_mass)
                      ? fmin(pair->foot->max_user_mass, a->max_user_mass)
                      : NAN;
    sf_json_set_number(json, "max_user_mass_kg", most);
    sf_json_set(json, "gates", gates_json(pair));
    return json;
}

// ---- order ----------------------------------------------------------------------------------------------------------

static double key_of(const Pair *p, sf_PartsOrder order)
{
    double key = order == SF_PARTS_BY_CYLINDER ? p->usable - p->adapter->depth
                 : order == SF_PARTS_BY_FACTOR ? p->strength.factor
                                               : -(p->foot->mass + p->adapter->mass);
    return isfinite(key) ? key : -INFINITY; // what is not known comes last
}

static int by_keys(const Pair *a, const Pair *b, sf_PartsOrder first)
{
    if ((a->open != 0) != (b->open != 0))
        return a->open != 0 ? -1 : 1;
    for (int i = -1; i <= SF_PARTS_BY_MASS; i++) { // what was asked for, then all of them
        sf_PartsOrder order = i < 0 ? first : (sf_PartsOrder)i;
        double x = key_of(a, order), y = key_of(b, order);
        if (fabs(x - y) > EQUAL && x != y)
            return x > y ? -1 : 1;
    }
    return a->place < b->place ? -1 : a->place > b->place;
}

static int by_cylinder(const void *a, const void *b)
{
    return by_keys(a, b, SF_PARTS_BY_CYLINDER);
}

static int by_factor(const void *a, const void *b)
{
    return by_keys(a, b, SF_PARTS_BY_FACTOR);
}

static int by_mass(const void *a, const void *b)
{
    return by_keys(a, b, SF_PARTS_BY_MASS);
}

// ---- the whole ------------------------------------------------------------------------------------------------------

/// The pylon's outside and bore at the cut, where a ring tells them.
static sf_Status learn_pylon(Work *w, sf_Error *err)
{
    w->outer = w->inner = NAN;
    if (w->limb->data.pylon.ring_count == 0)
        return SF_OK;
    sf_Limb copy = *w->limb;
    if (!isfinite(copy.data.pylon.cut_height))
        copy.data.pylon.cut_height = copy.data.pylon.rings[0].height;
    copy.data.pylon.hole_count = 0;
    copy.data.adapter.depth = 0; // the ring alone is asked for
    copy.data.adapter.there = true;
    sf_Result scratch = { 0 };
    sf_ClampHoles clamp;
    SF_TRY(sf_result_begin(&scratch, err));
    sf_Status status = sf_clamp_holes_read(&clamp, &copy, "parts", &scratch, err);
    sf_result_drop(&scratch);
    SF_TRY(status);
    w->outer = 2 * clamp.zone.radius;
    w->inner = 2 * clamp.inner_radius;
    return SF_OK;
}

static void leave_out(sf_Json *list, const char *part, const char *name, const char *text)
{
    sf_Json *one = sf_json_object();
    sf_json_set_text(one, "part", part);
    sf_json_set_text(one, "name", name);
    sf_json_set_text(one, "text", text);
    sf_json_add(list, one);
}

static void add_pair(Work *w, const sf_PartFoot *foot, const sf_PartAdapter *adapter, bool fitted)
{
    if (!isfinite(foot->foot.build_height) || !isfinite(adapter->adapter.build_height) || w->count == MOST_PAIRS)
        return;
    w->pairs[w->count] = (Pair){ .foot_name = foot->name,
                                 .adapter_name = adapter->name,
                                 .foot = &foot->foot,
                                 .adapter = &adapter->adapter,
                                 .fitted = fitted,
                                 .place = w->count };
    w->count++;
}

/// All pairs of the list, with the document's own parts first.
static sf_Status gather(Work *w, const sf_PartsList *list, sf_PartFoot *own_foot, sf_PartAdapter *own_adapter,
                        sf_Json *left_out, sf_Error *err)
{
    const sf_LimbData *d = &w->limb->data;
    *own_foot = (sf_PartFoot){ d->foot.there, "fitted", d->foot };
    *own_adapter = (sf_PartAdapter){ d->adapter.there, "fitted", d->adapter };
    bool foot = d->foot.there && isfinite(d->foot.build_height);
    bool adapter = d->adapter.there && isfinite(d->adapter.build_height);
    if ((list->foot_count + foot) * (list->adapter_count + adapter) > MOST_PAIRS)
        return SF_FAIL(err, SF_E_LIMIT, "feet", "more than %d pairs of feet and adapters: shorten the list",
                       MOST_PAIRS);
    for (size_t i = 0; i < list->foot_count; i++)
        if (!isfinite(list->feet[i].foot.build_height))
            leave_out(left_out, "foot", list->feet[i].name, "its build height is not entered (build_height_mm)");
    for (size_t i = 0; i < list->adapter_count; i++)
        if (!isfinite(list->adapters[i].adapter.build_height))
            leave_out(left_out, "adapter", list->adapters[i].name, "its build height is not entered (build_height_mm)");
    for (size_t i = foot ? 0 : 1; i <= list->foot_count; i++)
        for (size_t k = adapter ? 0 : 1; k <= list->adapter_count; k++)
            add_pair(w, i ? &list->feet[i - 1] : own_foot, k ? &list->adapters[k - 1] : own_adapter, !i && !k);
    return SF_OK;
}

static sf_Status work(Work *w, const sf_PartsList *list, const sf_PartsAsk *ask, sf_Error *err)
{
    static const char *const orders[] = { "cylinder", "factor", "mass" };
    static int (*const sorts[])(const void *, const void *) = { by_cylinder, by_factor, by_mass };
    sf_PartFoot own_foot;
    sf_PartAdapter own_adapter;
    sf_Json *left_out = sf_json_array(), *json = w->result->json, *pairs = NULL;
    sf_Status status;
    SF_TRY_DONE(learn_pylon(w, err));
    SF_TRY_DONE(gather(w, list, &own_foot, &own_adapter, left_out, err));
    for (size_t i = 0; i < w->count; i++)
        SF_TRY_DONE(measure(w, &w->pairs[i], err));
    if (w->count > 1)
        qsort(w->pairs, w->count, sizeof *w->pairs, sorts[ask->order]);
    sf_json_set_text(json, "order", orders[ask->order]);
    sf_json_set_text(json, "list", list->origin ? list->origin : "the shop's own list");
    const sf_LimbPerson *p = &w->limb->data.person;
    sf_json_set_number(json, "body_mass_kg", p->body_mass + or_zero(p->habitual_load));
    sf_json_set_number(json, "spacers_mm", sf_growth_spacers_now(w->limb) / SF_MM);
    pairs = sf_json_array();
    for (size_t i = 0; i < w->count; i++)
        sf_json_add(pairs, pair_json(&w->pairs[i], i + 1, w->limb));
    sf_json_set(json, "pairs", pairs);
    sf_json_set(json, "left_out", left_out);
    left_out = NULL;
    sf_result_note(w->result, "the order is a way to read the table and chooses nothing: feel, roll-over and price are "
                              "not in it; a limit that is not given keeps its gate shut");
done:
    sf_json_destroy(&left_out);
    return status;
}

sf_Status sf_parts_study(sf_Result *result, const sf_Limb *limb, const sf_PartsAsk *ask, sf_Error *err)
{
    static const char *const needed[] = { "shoe.heel_mm", "pylon.top_height_mm" };
    sf_PartsList starter = { 0 };
    Work w = { .result = result, .limb = limb };
    sf_Status status;
    SF_TRY_DONE(sf_limb_need(limb, needed, 2, "parts", err));
    if (!ask->list) {
        size_t size;
        const char *text = sf_parts_list_starter(&size);
        SF_TRY_DONE(sf_parts_list_parse(&starter, "the starter set", text, size, err));
        sf_result_note(result,
                       "the feet and adapters are the invented starter set: give the shop's own list (--parts)");
    }
    w.pairs = sf_alloc(MOST_PAIRS, sizeof *w.pairs);
    if (!w.pairs) {
        status = SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory for the pairs of parts");
        goto done;
    }
    status = work(&w, ask->list ? ask->list : &starter, ask, err);
done:
    sf_free(w.pairs);
    sf_parts_list_free(&starter);
    return status;
}
