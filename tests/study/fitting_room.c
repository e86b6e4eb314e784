// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/fitting_room.h"

#include "base/units.h"

#include <math.h>
#include <string.h>

// The made-up people and observer. Sizes of the faults, the zone and the observer's errors are the task the advice is
// held to; the rest is chosen here.
static const double FAULT_DEG = 4, FAULT_MM = 8;
static const double ZONE_MM = 4, ZONE_DEG = 3;
static const double MISSED = 0.25, WRONG_WAY = 0.08, STRENGTH_OFF = 0.30;
static const int FAULTS = 3;

typedef struct Person {
    sf_Chain chain;
    double foot_length;
    double right[SF_SETTING_COUNT], now[SF_SETTING_COUNT]; // deg and mm
} Person;

static double uniform(uint64_t *state)
{
    *state ^= *state >> 12;
    *state ^= *state << 25;
    *state ^= *state >> 27;
    return ((double)((*state * 0x2545F4914F6CDD1DULL) >> 11) + 0.5) * 0x1p-53;
}

static double normal(uint64_t *state)
{
    double r = sqrt(-2 * log(uniform(state)));
    return r * cos(2 * SF_PI * uniform(state));
}

static Person person_make(uint64_t *state, int number)
{
    Person p = { .foot_length = 0.22 + 0.06 * uniform(state) };
    p.chain = (sf_Chain){ .side = number % 2 ? SF_CHAIN_LEFT : SF_CHAIN_RIGHT,
                          .cut_height = 0.11,
                          .heel_height = 0.02,
                          .ankle_height = 0.09,
                          .socket_flexion = 5 * SF_DEG,
                          .socket_adduction = 5 * SF_DEG };
    p.chain.socket_height = p.chain.cut_height + 0.15 + 0.10 * uniform(state);
    p.right[SF_SETTING_TOE_OUT] = p.now[SF_SETTING_TOE_OUT] = 6;
    int order[SF_SETTING_COUNT] = { 0, 1, 2, 3, 4 };
    for (int i = 0; i < FAULTS; i++) {
        int k = i + (int)(uniform(state) * (SF_SETTING_COUNT - i));
        int setting = order[k];
        order[k] = order[i];
        bool length = strcmp(sf_setting_unit((sf_Setting)setting), "mm") == 0;
        p.right[setting] += (length ? FAULT_MM : FAULT_DEG) * normal(state);
    }
    return p;
}

static sf_Settings settings_of(const double values[SF_SETTING_COUNT])
{
    sf_Settings s;
    for (int i = 0; i < SF_SETTING_COUNT; i++)
        s.value[i] = values[i] * sf_setting_factor((sf_Setting)i);
    return s;
}

static sf_SocketMoment moment(const Person *p, const sf_Stance *stance, const double values[], double percent)
{
    sf_Settings s = settings_of(values);
    sf_Stand stand = sf_chain_stand(&p->chain, &s);
    sf_Pose pose = sf_chain_pose(&p->chain, &s);
    sf_GroundForce f = sf_stance_force(stance, percent, 1, p->foot_length, pose.toe_out);
    return sf_stance_moment(&p->chain, &stand, &f);
}

// What is wrong, in mm of shift and degrees of toe-out.
static void effects(const Person *p, const sf_Stance *stance, double e[ROOM_EFFECTS])
{
    for (int k = 0; k < 2; k++) {
        double percent = k ? 75 : 30;
        sf_SocketMoment is = moment(p, stance, p->now, percent), right = moment(p, stance, p->right, percent);
        double fz = sf_stance_force(stance, percent, 1, p->foot_length, 0).vertical;
        e[k ? ROOM_SAGITTAL_75 : ROOM_SAGITTAL_30] = (is.sagittal - right.sagittal) / fz / SF_MM;
        e[k ? ROOM_CORONAL_75 : ROOM_CORONAL_30] = (is.coronal - right.coronal) / fz / SF_MM;
    }
    e[ROOM_TOE_OUT] = p->now[SF_SETTING_TOE_OUT] - p->right[SF_SETTING_TOE_OUT];
}

static double zone_of(int effect)
{
    return effect == ROOM_TOE_OUT ? ZONE_DEG : ZONE_MM;
}

static bool in_zone(const double e[ROOM_EFFECTS])
{
    for (int i = 0; i < ROOM_EFFECTS; i++)
        if (fabs(e[i]) > zone_of(i))
            return false;
    return true;
}

// One, two and three zones' worth are strengths 1, 2 and 3. The observer then errs.
static void watch(uint64_t *state, const double e[ROOM_EFFECTS], int seen[ROOM_EFFECTS])
{
    for (int i = 0; i < ROOM_EFFECTS; i++) {
        double missed = uniform(state), wrong = uniform(state), off = uniform(state), up = uniform(state);
        int strength = (int)fmin(3, floor(fabs(e[i]) / zone_of(i)));
        seen[i] = 0;
        if (strength == 0 || missed < MISSED)
            continue;
        if (off < STRENGTH_OFF)
            strength += up < 0.5 ? 1 : -1;
        strength = strength < 1 ? 1 : strength > 3 ? 3 : strength;
        seen[i] = (e[i] > 0) == (wrong >= WRONG_WAY) ? strength : -strength;
    }
}

static int reversals(const RoomWalk *walks, int count)
{
    int most = 0;
    for (int s = 0; s < SF_SETTING_COUNT; s++) {
        int turns = 0;
        double last = 0;
        for (int i = 1; i < count; i++) {
            double step = walks[i].settings[s] - walks[i - 1].settings[s];
            if (step == 0)
                continue;
            if (last * step < 0)
                turns++;
            last = step;
        }
        most = turns > most ? turns : most;
    }
    return most;
}

// With a clamp that only turns: the planes (1 sagittal, 2 coronal) that stay out of the zone at every good toe-out.
static unsigned needed_motions(Person p, const sf_Stance *stance)
{
    unsigned need = 3;
    double right = p.right[SF_SETTING_TOE_OUT];
    for (double toe = right - ZONE_DEG; toe <= right + ZONE_DEG; toe += 0.25) {
        double e[ROOM_EFFECTS];
        p.now[SF_SETTING_TOE_OUT] = toe;
        effects(&p, stance, e);
        if (fabs(e[ROOM_SAGITTAL_30]) <= ZONE_MM && fabs(e[ROOM_SAGITTAL_75]) <= ZONE_MM)
            need &= ~1u;
        if (fabs(e[ROOM_CORONAL_30]) <= ZONE_MM && fabs(e[ROOM_CORONAL_75]) <= ZONE_MM)
            need &= ~2u;
    }
    return need;
}

static unsigned planes_named(unsigned lacking)
{
    unsigned planes = 0;
    if (lacking & (1u << SF_SETTING_FOOT_FORWARD | 1u << SF_SETTING_DORSIFLEXION))
        planes |= 1;
    if (lacking & (1u << SF_SETTING_FOOT_OUTSET | 1u << SF_SETTING_EVERSION))
        planes |= 2;
    return planes;
}

typedef struct Tally {
    int start, changes, stopped_outside, needing, not_needing, wrongly;
    int in_zone[ROOM_MAX_TRIALS + 1], reached[ROOM_MAX_TRIALS + 1], named[ROOM_MAX_TRIALS + 1];
} Tally;

static void run_one(uint64_t *state, const RoomOptions *o, const sf_Stance *stance, RoomAdviser adviser, void *context,
                    int number, Tally *tally, int *most_reversals)
{
    Person p = person_make(state, number);
    RoomWalk walks[ROOM_MAX_TRIALS + 1] = { 0 };
    double e[ROOM_EFFECTS];
    effects(&p, stance, e);
    bool reached = in_zone(e), stopped = false;
    unsigned need = o->rotation_only ? needed_motions(p, stance) : 0, named = 0;
    tally->start += reached;
    tally->needing += need != 0;
    tally->not_needing += need == 0;
    int count = 0;
    for (int n = 1; n <= o->trials; n++) {
        if (!stopped) {
            memcpy(walks[count].settings, p.now, sizeof p.now);
            watch(state, e, walks[count++].seen);
            RoomChange c = adviser(context, walks, count);
            named |= planes_named(c.lacking);
            if (c.stop)
                stopped = true;
            else if (!c.none) {
                p.now[c.setting] += c.change;
                tally->changes++;
            }
            effects(&p, stance, e);
            reached = reached || in_zone(e);
        }
        tally->in_zone[n] += in_zone(e);
        tally->reached[n] += reached;
        tally->named[n] += need != 0 && (named & need) == need;
    }
    memcpy(walks[count].settings, p.now, sizeof p.now);
    int turns = reversals(walks, count + 1);
    *most_reversals = turns > *most_reversals ? turns : *most_reversals;
    tally->stopped_outside += stopped && !in_zone(e);
    tally->wrongly += need == 0 && named != 0;
}

RoomResult room_run(const RoomOptions *o, const sf_Stance *stance, RoomAdviser adviser, void *context)
{
    RoomResult r = { .runs = o->runs, .trials = o->trials };
    Tally t = { 0 };
    for (int i = 0; i < o->runs; i++) {
        // Each run has its own stream, so that every adviser meets the same people.
        uint64_t state = (o->seed * 1000003 + (uint64_t)i + 1) * 0x9E3779B97F4A7C15ULL;
        uniform(&state);
        run_one(&state, o, stance, adviser, context, i, &t, &r.most_reversals);
    }
    for (int n = 0; n <= o->trials; n++) {
        r.in_zone[n] = (double)t.in_zone[n] / o->runs;
        r.reached[n] = (double)t.reached[n] / o->runs;
        r.named[n] = t.needing ? (double)t.named[n] / t.needing : 0;
    }
    r.at_start = (double)t.start / o->runs;
    r.mean_changes = (double)t.changes / o->runs;
    r.stopped_outside = (double)t.stopped_outside / o->runs;
    r.need_other = t.needing;
    r.named_wrongly = t.not_needing ? (double)t.wrongly / t.not_needing : 0;
    return r;
}

// The first sign in the order sagittal, rotation, coronal, and the setting that answers it.
static RoomChange first_sign(const RoomWalk *walk, double mm, double deg, bool graded)
{
    static const struct {
        int effect;
        sf_Setting setting;
    } ORDER[] = { { ROOM_SAGITTAL_30, SF_SETTING_FOOT_FORWARD },
                  { ROOM_SAGITTAL_75, SF_SETTING_FOOT_FORWARD },
                  { ROOM_TOE_OUT, SF_SETTING_TOE_OUT },
                  { ROOM_CORONAL_30, SF_SETTING_FOOT_OUTSET },
                  { ROOM_CORONAL_75, SF_SETTING_FOOT_OUTSET } };
    for (size_t i = 0; i < sizeof ORDER / sizeof *ORDER; i++) {
        int seen = walk->seen[ORDER[i].effect];
        if (seen == 0)
            continue;
        double step = ORDER[i].setting == SF_SETTING_TOE_OUT ? deg : mm;
        return (RoomChange){ ORDER[i].setting, -step * (graded ? seen : seen > 0 ? 1 : -1), false, false, 0 };
    }
    return (RoomChange){ .none = true };
}

RoomChange room_one_step(void *context, const RoomWalk *walks, int count)
{
    (void)context;
    return first_sign(&walks[count - 1], ZONE_MM, ZONE_DEG, false);
}

RoomChange room_graded(void *context, const RoomWalk *walks, int count)
{
    (void)context;
    return first_sign(&walks[count - 1], ZONE_MM * 1.25, ZONE_DEG * 1.25, true);
}
