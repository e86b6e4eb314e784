// SPDX-License-Identifier: GPL-3.0-or-later
#include "align/advice.h"

#include "base/alloc.h"
#include "base/units.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

const double SF_ADVICE_COVERAGE = 0.90;

// Judgement values, reasons in docs/theory/advice.md.
static const double SLIP_DEG = 0.5, SLIP_MM = 0.5;
static const double PAIN_STOPS = 4, PAIN_RISE = 2;
static const double MOST_MM = 12, MOST_TILT_DEG = 5, MOST_TURN_DEG = 8;
static const double GAIN_IN_ORDER = 0.3, GAIN_LEAST = 0.01;
static const double TILT_HANDICAP = 0.1; // a shift is asked for before a tilt that would do about as well
static const double SETTLED_CHANCE = 0.98;
static const double SURE_DIRECTION = 0.9;
static const double LACKING_CHANCE = 0.8;
static const double SLIPPED_WEIGHT = 0.3, UNSEEN_WEIGHT = 0.85, PAINFUL_WEIGHT = 0.5;
static const double NO_GAIN_MARGIN = 0.02;
enum { MOST_REVERSALS = 2, NO_GAIN_TRIALS = 3, LACKING_TRIALS = 4 };

sf_Plane sf_advice_plane(sf_Setting setting)
{
    if (setting == SF_SETTING_TOE_OUT)
        return SF_PLANE_ROTATION;
    return setting == SF_SETTING_FOOT_OUTSET || setting == SF_SETTING_EVERSION ? SF_PLANE_CORONAL : SF_PLANE_SAGITTAL;
}

// Millimetres that one degree of tilt at the clamp moves the socket over the foot.
static double mm_per_degree(const sf_TrialSet *set)
{
    return set->socket_over_clamp / SF_MM * SF_DEG;
}

static double in_unit(const sf_Settings *s, sf_Setting setting)
{
    return s->value[setting] / sf_setting_factor(setting);
}

sf_Place sf_advice_place(const sf_TrialSet *set, const sf_Settings *start, const sf_Settings *s)
{
    double d[SF_SETTING_COUNT];
    for (int i = 0; i < SF_SETTING_COUNT; i++)
        d[i] = in_unit(s, (sf_Setting)i) - in_unit(start, (sf_Setting)i);
    double k = mm_per_degree(set);
    return (sf_Place){ .sagittal = d[SF_SETTING_FOOT_FORWARD] - k * d[SF_SETTING_DORSIFLEXION],
                       .coronal = d[SF_SETTING_FOOT_OUTSET] - k * d[SF_SETTING_EVERSION],
                       .toe_out = d[SF_SETTING_TOE_OUT] };
}

static sf_Place place_after(const sf_TrialSet *set, sf_Place now, sf_Setting setting, double change)
{
    sf_Settings zero = { 0 }, step = { 0 };
    step.value[setting] = change * sf_setting_factor(setting);
    sf_Place d = sf_advice_place(set, &zero, &step);
    return (sf_Place){ now.sagittal + d.sagittal, now.coronal + d.coronal, now.toe_out + d.toe_out };
}

bool sf_trial_slipped(const sf_Trial *trial)
{
    for (int i = 0; i < SF_SETTING_COUNT; i++) {
        double moved = fabs(in_unit(&trial->after, (sf_Setting)i) - in_unit(&trial->settings, (sf_Setting)i));
        bool length = sf_setting_factor((sf_Setting)i) == SF_MM;
        if (moved > (length ? SLIP_MM : SLIP_DEG))
            return true;
    }
    return trial->witness_broken;
}

void sf_advice_levels(const sf_SignTable *table, const sf_Trial *trial, int level[SF_EFFECT_COUNT])
{
    memset(level, 0, SF_EFFECT_COUNT * sizeof *level);
    for (size_t i = 0; i < trial->sign_count; i++) {
        int direction = 0;
        sf_Effect effect = sf_sign_effect(table, trial->signs[i].sign, trial->signs[i].phase, &direction);
        if (effect != SF_EFFECT_COUNT && abs(level[effect]) < trial->signs[i].strength)
            level[effect] = direction * trial->signs[i].strength;
    }
}

// Which effects a trial says something about with any sign, so that the rest counts as "not seen".
static void take_in(sf_Belief *belief, const sf_TrialSet *set, const sf_SignTable *table, const sf_Trial *trial,
                    double trust)
{
    const sf_Settings *start = &set->trials[0].settings;
    sf_Place a = sf_advice_place(set, start, &trial->settings), b = sf_advice_place(set, start, &trial->after);
    sf_Place at = { (a.sagittal + b.sagittal) / 2, (a.coronal + b.coronal) / 2, (a.toe_out + b.toe_out) / 2 };
    bool seen[SF_EFFECT_COUNT] = { false };
    for (size_t i = 0; i < trial->sign_count; i++) {
        int direction = 0;
        sf_Effect effect = sf_sign_effect(table, trial->signs[i].sign, trial->signs[i].phase, &direction);
        if (effect == SF_EFFECT_COUNT)
            continue;
        // Two names for one thing are not two findings.
        double weight = table->signs[trial->signs[i].sign].weight * (seen[effect] ? 0.5 : 1);
        seen[effect] = true;
        sf_belief_see(belief, at, effect, direction * trial->signs[i].strength, trust * weight);
    }
    for (int e = 0; e < SF_EFFECT_COUNT; e++)
        if (!seen[e])
            sf_belief_see(belief, at, (sf_Effect)e, 0, trust * UNSEEN_WEIGHT);
}

// ---- moves that are open ----------------------------------------------------------------------------------------

typedef struct Moves {
    int turns[SF_SETTING_COUNT]; // how often the setting has gone to and fro
    double last[SF_SETTING_COUNT];
} Moves;

static Moves moves_until(const sf_TrialSet *set, size_t trial)
{
    Moves m = { 0 };
    for (size_t i = 1; i <= trial; i++)
        for (int s = 0; s < SF_SETTING_COUNT; s++) {
            double step = set->trials[i].settings.value[s] - set->trials[i - 1].after.value[s];
            if (fabs(step) < 1e-9)
                continue;
            if (step * m.last[s] < 0)
                m.turns[s]++;
            m.last[s] = step;
        }
    return m;
}

static double worth_at(const sf_Belief *b, sf_Plane plane, sf_Place at)
{
    return plane == SF_PLANE_SAGITTAL ? sf_belief_sagittal_worth(b, at.sagittal)
                                      : sf_belief_coronal_worth(b, at.coronal, at.toe_out);
}

static double chance_at(const sf_Belief *b, sf_Plane plane, sf_Place at)
{
    if (plane == SF_PLANE_SAGITTAL)
        return sf_belief_sagittal(b, at.sagittal);
    return plane == SF_PLANE_ROTATION ? sf_belief_toe(b, at.toe_out) : sf_belief_coronal(b, at.coronal, at.toe_out);
}

static double largest_step(sf_Setting setting)
{
    if (setting == SF_SETTING_TOE_OUT)
        return MOST_TURN_DEG;
    return sf_setting_factor(setting) == SF_MM ? MOST_MM : MOST_TILT_DEG;
}

// The best whole step of a setting; false when none is open.
static bool best_step(const sf_Belief *b, const sf_TrialSet *set, const sf_Trial *trial, const Moves *moves,
                      sf_Setting setting, sf_Proposal *best)
{
    sf_Plane plane = sf_advice_plane(setting);
    sf_Place now = sf_advice_place(set, &set->trials[0].settings, &trial->after);
    double from = in_unit(&trial->after, setting), base = worth_at(b, plane, now), most = largest_step(setting);
    bool found = false;
    for (double step = -most; step <= most; step++) {
        if (step == 0 || !sf_travel_reaches(&set->travel, setting, (from + step) * sf_setting_factor(setting)) ||
            (moves->turns[setting] >= MOST_REVERSALS && step * moves->last[setting] < 0))
            continue;
        sf_Place at = place_after(set, now, setting, step);
        double gain = worth_at(b, plane, at) - base;
        // Of steps that do alike the smaller one is asked for.
        if (found && gain < best->gain + 1e-6 + (fabs(step) > fabs(best->change) ? 1e-3 : 0))
            continue;
        found = true;
        *best = (sf_Proposal){ .setting = setting, .change = step, .from = from, .to = from + step, .gain = gain };
    }
    if (found) {
        best->chance_before = chance_at(b, plane, now);
        best->chance_after = chance_at(b, plane, place_after(set, now, setting, best->change));
    }
    return found;
}

// ---- what the last walk says ------------------------------------------------------------------------------------

static sf_StopSkin stop_for(const sf_TrialSet *set, size_t n)
{
    const sf_Trial *t = &set->trials[n];
    if (t->skin == SF_SKIN_STAYS || t->skin == SF_SKIN_BROKEN)
        return SF_STOP_SKIN;
    if (!isfinite(t->pain))
        return SF_STOP_NONE;
    double before = NAN;
    for (size_t i = 0; i < n; i++)
        if (isfinite(set->trials[i].pain))
            before = set->trials[i].pain;
    bool risen = t->pain >= before + PAIN_RISE || (before == 0 && t->pain > 0);
    return t->pain >= PAIN_STOPS || risen ? SF_STOP_PAIN : SF_STOP_NONE;
}

static bool check_comes_first(const sf_TrialSet *set, const sf_SignTable *table, const sf_Trial *trial)
{
    for (size_t i = 0; i < trial->sign_count; i++) {
        const sf_Sign *sign = &table->signs[trial->signs[i].sign];
        for (size_t k = 0; k < sign->check_count && sign->first; k++)
            if (table->checks[sign->checks[k]].before_alignment && !set->excluded[sign->checks[k]])
                return true;
    }
    return false;
}

// +1: the outer border carries, the clamp should be everted; -1: the inner one.
static int sole_ask(const sf_SignTable *table, const sf_Trial *trial, int *strength)
{
    int ask = 0;
    for (size_t i = 0; i < trial->sign_count; i++) {
        int off = table->signs[trial->signs[i].sign].sole;
        if (off) {
            ask = -off;
            *strength = trial->signs[i].strength;
        }
    }
    return ask;
}

// Which way the coronal signs of a walk point: + too far out.
static int coronal_lean(const int level[SF_EFFECT_COUNT])
{
    return level[SF_EFFECT_CORONAL_EARLY] + level[SF_EFFECT_CORONAL_LATE];
}

static bool opposed(int a, int b)
{
    return a * b < 0;
}

// Whether walks contradict one another: a foot found too far one way stood no farther that way than one found too
// little.
static void note_contradictions(const sf_TrialSet *set, const sf_SignTable *table, size_t n, sf_Suggestion *s)
{
    double least_over[SF_PLANE_COUNT], most_under[SF_PLANE_COUNT];
    for (int p = 0; p < SF_PLANE_COUNT; p++) {
        least_over[p] = INFINITY;
        most_under[p] = -INFINITY;
    }
    for (size_t i = 0; i <= n; i++) {
        int level[SF_EFFECT_COUNT];
        sf_advice_levels(table, &set->trials[i], level);
        sf_Place at = sf_advice_place(set, &set->trials[0].settings, &set->trials[i].settings);
        const double place[SF_PLANE_COUNT] = { at.sagittal, at.toe_out, at.coronal };
        for (int e = 0; e < SF_EFFECT_COUNT; e++) {
            sf_Plane p = e <= SF_EFFECT_SAGITTAL_LATE ? SF_PLANE_SAGITTAL
                         : e == SF_EFFECT_TOE_OUT     ? SF_PLANE_ROTATION
                                                      : SF_PLANE_CORONAL;
            if (level[e] > 0)
                least_over[p] = fmin(least_over[p], place[p]);
            if (level[e] < 0)
                most_under[p] = fmax(most_under[p], place[p]);
        }
    }
    for (int p = 0; p < SF_PLANE_COUNT; p++)
        s->contradiction[p] = most_under[p] >= least_over[p];
}

// A plane in which a sign was seen and whose best open step leaves it most likely outside the zone.
static void note_lacking(const sf_Belief *b, const sf_TrialSet *set, const sf_SignTable *table, size_t n,
                         sf_Suggestion *s)
{
    bool seen[SF_PLANE_COUNT] = { false };
    for (size_t i = 0; i <= n; i++) {
        int level[SF_EFFECT_COUNT];
        sf_advice_levels(table, &set->trials[i], level);
        seen[SF_PLANE_SAGITTAL] |= level[SF_EFFECT_SAGITTAL_EARLY] || level[SF_EFFECT_SAGITTAL_LATE];
        seen[SF_PLANE_CORONAL] |= level[SF_EFFECT_CORONAL_EARLY] || level[SF_EFFECT_CORONAL_LATE];
    }
    const sf_Settings *now = &set->trials[n].after;
    sf_Place at = sf_advice_place(set, &set->trials[0].settings, now);
    for (int p = SF_PLANE_SAGITTAL; p <= SF_PLANE_CORONAL; p += SF_PLANE_CORONAL) {
        sf_Setting shift = p == SF_PLANE_SAGITTAL ? SF_SETTING_FOOT_FORWARD : SF_SETTING_FOOT_OUTSET;
        sf_Setting tilt = p == SF_PLANE_SAGITTAL ? SF_SETTING_DORSIFLEXION : SF_SETTING_EVERSION;
        bool can_tilt = set->travel.moves[tilt] && !(p == SF_PLANE_CORONAL && s->edge_conflict);
        if (!seen[p] || !set->travel.known || set->travel.moves[shift] || can_tilt)
            continue;
        double inside = chance_at(b, (sf_Plane)p, at);
        for (double turn = -MOST_TURN_DEG; turn <= MOST_TURN_DEG && p == SF_PLANE_CORONAL; turn++)
            inside = fmax(inside, sf_belief_coronal_and_toe(b, at.coronal, at.toe_out + turn));
        double low, high;
        if (p == SF_PLANE_SAGITTAL)
            sf_belief_sagittal_bracket(b, 0, &low, &high);
        else
            sf_belief_coronal_bracket(b, 0, &low, &high);
        s->lacking[p] = 1 - inside >= LACKING_CHANCE;
        s->lacking_change[p] = low - (p == SF_PLANE_SAGITTAL ? at.sagittal : at.coronal);
    }
}

// ---- the choice -------------------------------------------------------------------------------------------------

typedef struct Choice {
    sf_Proposal step[SF_PLANE_COUNT];
    bool open[SF_PLANE_COUNT];
} Choice;

static void keep_other(sf_Suggestion *s, sf_Proposal p)
{
    if (s->other_count < SF_ADVICE_MOST_OTHERS)
        s->others[s->other_count++] = p;
}

// The best step in each plane: a shift before a tilt that does about as well.
static Choice best_steps(const sf_Belief *b, const sf_TrialSet *set, size_t n, sf_Suggestion *s)
{
    Moves moves = moves_until(set, n);
    Choice c = { 0 };
    static const sf_Setting ORDER[] = { SF_SETTING_FOOT_FORWARD, SF_SETTING_DORSIFLEXION, SF_SETTING_TOE_OUT,
                                        SF_SETTING_FOOT_OUTSET, SF_SETTING_EVERSION };
    for (size_t i = 0; i < sizeof ORDER / sizeof *ORDER; i++) {
        sf_Setting setting = ORDER[i];
        sf_Plane plane = sf_advice_plane(setting);
        sf_Proposal p;
        if (set->travel.known && !set->travel.moves[setting])
            continue;
        if (setting == SF_SETTING_EVERSION && s->edge_conflict)
            continue;
        if (!best_step(b, set, &set->trials[n], &moves, setting, &p))
            continue;
        if (c.open[plane] && p.gain < c.step[plane].gain + TILT_HANDICAP) {
            keep_other(s, p);
            continue;
        }
        if (c.open[plane])
            keep_other(s, c.step[plane]);
        c.step[plane] = p;
        c.open[plane] = true;
    }
    return c;
}

// Sagittal, rotation, coronal; the first that is worth while, else the best of small ones.
static bool choose(const Choice *c, const bool held[SF_PLANE_COUNT], sf_Plane *plane)
{
    for (int p = 0; p < SF_PLANE_COUNT; p++)
        if (c->open[p] && !held[p] && c->step[p].gain >= GAIN_IN_ORDER) {
            *plane = (sf_Plane)p;
            return true;
        }
    double best = GAIN_LEAST;
    bool found = false;
    for (int p = 0; p < SF_PLANE_COUNT; p++)
        if (c->open[p] && !held[p] && c->step[p].gain >= best) {
            best = c->step[p].gain;
            *plane = (sf_Plane)p;
            found = true;
        }
    return found;
}

static bool settled(const sf_Suggestion *s, const int level[SF_EFFECT_COUNT], int sole)
{
    double all = 1;
    for (int p = 0; p < SF_PLANE_COUNT; p++)
        all *= s->chance[p];
    for (int e = 0; e < SF_EFFECT_COUNT; e++)
        if (level[e])
            return false;
    return sole == 0 && all >= SETTLED_CHANCE;
}

static double score(const sf_Suggestion *s)
{
    return s->chance[SF_PLANE_SAGITTAL] + s->chance[SF_PLANE_ROTATION] + s->chance[SF_PLANE_CORONAL];
}

static int total_strength(const sf_SignTable *table, const sf_Trial *trial)
{
    int level[SF_EFFECT_COUNT], sum = 0;
    sf_advice_levels(table, trial, level);
    for (int e = 0; e < SF_EFFECT_COUNT; e++)
        sum += abs(level[e]);
    return sum;
}

// Three changes in a row after which neither the signs became less nor the chance of standing right grew.
static bool brought_nothing(const sf_TrialSet *set, const sf_SignTable *table, const sf_Suggestion *said, size_t n)
{
    if (n < NO_GAIN_TRIALS)
        return false;
    size_t start = n - NO_GAIN_TRIALS;
    int before = total_strength(table, &set->trials[start]);
    for (size_t i = start; i < n; i++)
        if (said[i].kind != SF_ADVICE_CHANGE || total_strength(table, &set->trials[i + 1]) < before ||
            score(&said[i + 1]) > score(&said[start]) + NO_GAIN_MARGIN)
            return false;
    return total_strength(table, &set->trials[n]) > 0;
}

// One to two degrees put a border of the sole level; none is open when the clamp cannot tilt or thrust asks otherwise.
static bool sole_step(const sf_Belief *b, const sf_TrialSet *set, size_t n, int ask, int strength, sf_Proposal *p)
{
    double from = in_unit(&set->trials[n].after, SF_SETTING_EVERSION), step = ask * (strength > 1 ? 2 : 1);
    Moves moves = moves_until(set, n);
    if (!sf_travel_reaches(&set->travel, SF_SETTING_EVERSION, (from + step) * SF_DEG) ||
        (moves.turns[SF_SETTING_EVERSION] >= MOST_REVERSALS && step * moves.last[SF_SETTING_EVERSION] < 0))
        return false;
    sf_Place now = sf_advice_place(set, &set->trials[0].settings, &set->trials[n].after);
    *p = (sf_Proposal){ .setting = SF_SETTING_EVERSION, .change = step, .from = from, .to = from + step };
    p->chance_before = chance_at(b, SF_PLANE_CORONAL, now);
    p->chance_after = chance_at(b, SF_PLANE_CORONAL, place_after(set, now, SF_SETTING_EVERSION, step));
    return true;
}

// Heel and toe signs of the last walk ask opposite moves, and earlier walks do not tell which of them to believe.
static bool sagittal_is_open_question(const sf_Belief *b, const sf_Place *now)
{
    double low, high;
    sf_belief_sagittal_bracket(b, 2 * SURE_DIRECTION - 1, &low, &high);
    return low <= now->sagittal && now->sagittal <= high;
}

// A motion is lacking, and every other plane is either named too or most likely in order; or enough was walked.
static bool lacking_is_clear(const sf_Suggestion *s, size_t n)
{
    bool any = false, all = true;
    for (int p = 0; p < SF_PLANE_COUNT; p++) {
        any |= s->lacking[p];
        all &= s->lacking[p] || s->chance[p] >= LACKING_CHANCE;
    }
    return any && (all || n + 1 >= LACKING_TRIALS);
}

static void decide(const sf_Belief *b, const sf_TrialSet *set, const sf_SignTable *table, size_t n, sf_Suggestion *said)
{
    sf_Suggestion *s = &said[n];
    const sf_Trial *trial = &set->trials[n];
    sf_Place now = sf_advice_place(set, &set->trials[0].settings, &trial->after);
    int level[SF_EFFECT_COUNT], strength = 0;
    sf_advice_levels(table, trial, level);
    int sole = sole_ask(table, trial, &strength);
    for (int p = 0; p < SF_PLANE_COUNT; p++)
        s->chance[p] = chance_at(b, (sf_Plane)p, now);
    s->slipped = sf_trial_slipped(trial);
    s->heel_toe_conflict = opposed(level[SF_EFFECT_SAGITTAL_EARLY], level[SF_EFFECT_SAGITTAL_LATE]);
    // Everting takes towards varus: with the outer border loaded it may not be asked for under a lateral thrust.
    s->edge_conflict = sole != 0 && sole * coronal_lean(level) < 0;
    note_contradictions(set, table, n, s);
    note_lacking(b, set, table, n, s);
    s->stop_for = stop_for(set, n);
    if (s->stop_for != SF_STOP_NONE) {
        s->kind = SF_ADVICE_FIT_FIRST;
        return;
    }
    if (check_comes_first(set, table, trial)) {
        s->kind = SF_ADVICE_CHECK_FIRST;
        return;
    }
    if (brought_nothing(set, table, said, n)) {
        s->kind = SF_ADVICE_NO_GAIN;
        return;
    }
    if (settled(s, level, sole)) {
        s->kind = SF_ADVICE_SETTLED;
        return;
    }
    Choice c = best_steps(b, set, n, s);
    const bool held[SF_PLANE_COUNT] = { [SF_PLANE_SAGITTAL] =
                                            s->heel_toe_conflict && sagittal_is_open_question(b, &now) };
    bool found = choose(&c, held, &s->plane);
    if (sole != 0 && !s->edge_conflict && (!found || c.step[s->plane].gain < GAIN_IN_ORDER)) {
        sf_Proposal p;
        if (sole_step(b, set, n, sole, strength, &p)) {
            s->kind = SF_ADVICE_CHANGE;
            s->first = p;
            s->plane = SF_PLANE_CORONAL;
            s->for_sole = true;
            s->toward = sole;
            return;
        }
    }
    for (int p = 0; p < SF_PLANE_COUNT; p++)
        if (c.open[p] && !(found && p == (int)s->plane))
            keep_other(s, c.step[p]);
    if (found) {
        s->kind = SF_ADVICE_CHANGE;
        s->first = c.step[s->plane];
        sf_Place after = place_after(set, now, s->first.setting, s->first.change);
        double move = after.sagittal - now.sagittal + after.coronal - now.coronal + after.toe_out - now.toe_out;
        s->toward = move > 0 ? 1 : -1;
        return;
    }
    s->kind = lacking_is_clear(s, n) ? SF_ADVICE_LACKING : SF_ADVICE_WALK_AGAIN;
}

static void fill_brackets(sf_Advice *advice, const sf_Belief *b, const sf_TrialSet *set)
{
    const sf_Settings *now = &set->trials[set->count - 1].after;
    sf_Place at = sf_advice_place(set, &set->trials[0].settings, now);
    double k = mm_per_degree(set), low[SF_PLANE_COUNT], high[SF_PLANE_COUNT];
    sf_belief_sagittal_bracket(b, SF_ADVICE_COVERAGE, &low[SF_PLANE_SAGITTAL], &high[SF_PLANE_SAGITTAL]);
    sf_belief_toe_bracket(b, SF_ADVICE_COVERAGE, &low[SF_PLANE_ROTATION], &high[SF_PLANE_ROTATION]);
    sf_belief_coronal_bracket(b, SF_ADVICE_COVERAGE, &low[SF_PLANE_CORONAL], &high[SF_PLANE_CORONAL]);
    const double place[SF_PLANE_COUNT] = { at.sagittal, at.toe_out, at.coronal };
    for (int i = 0; i < SF_SETTING_COUNT; i++) {
        sf_Plane p = sf_advice_plane((sf_Setting)i);
        bool tilt = i == SF_SETTING_DORSIFLEXION || i == SF_SETTING_EVERSION;
        double a = low[p] - place[p], c = high[p] - place[p], value = in_unit(now, (sf_Setting)i);
        sf_Bracket *bracket = &advice->brackets[i];
        // A tilt moves the foot's place the other way.
        *bracket = tilt ? (sf_Bracket){ value - c / k, value - a / k, value, false }
                        : (sf_Bracket){ value + a, value + c, value, false };
        bracket->contradiction = advice->said[set->count - 1].contradiction[p];
        advice->resolution[i] = p == SF_PLANE_ROTATION ? SF_BELIEF_ZONE_DEG
                                : tilt                 ? SF_BELIEF_ZONE_MM / k
                                                       : SF_BELIEF_ZONE_MM;
    }
}

sf_Status sf_advice_make(sf_Advice *advice, const sf_TrialSet *set, const sf_SignTable *table, sf_Error *err)
{
    *advice = (sf_Advice){ 0 };
    sf_Belief *belief = sf_alloc(1, sizeof *belief);
    advice->said = sf_alloc(set->count, sizeof *advice->said);
    if (!belief || !advice->said) {
        sf_free(belief);
        sf_advice_free(advice);
        return SF_FAIL(err, SF_E_MEMORY, "", "out of memory while working through the trials");
    }
    advice->count = set->count;
    sf_belief_start(belief, set->foot_length);
    for (size_t n = 0; n < set->count; n++) {
        const sf_Trial *trial = &set->trials[n];
        double trust = sf_trial_slipped(trial) ? SLIPPED_WEIGHT : 1;
        if (stop_for(set, n) != SF_STOP_NONE)
            trust *= PAINFUL_WEIGHT;
        take_in(belief, set, table, trial, trust);
        decide(belief, set, table, n, advice->said);
    }
    fill_brackets(advice, belief, set);
    sf_free(belief);
    return SF_OK;
}

void sf_advice_free(sf_Advice *advice)
{
    sf_free(advice->said);
    *advice = (sf_Advice){ 0 };
}
