// SPDX-License-Identifier: GPL-3.0-or-later
#include "align/belief.h"

#include "base/units.h"

#include <math.h>
#include <stdlib.h>

const double SF_BELIEF_ZONE_MM = 4, SF_BELIEF_ZONE_DEG = 3;

// An observer in a fitting room, in round numbers (judgement; no source gives them): docs/theory/advice.md.
static const double SEEN = 0.75, SEEN_FALSELY = 0.02, RIGHT_WAY = 0.92, STRENGTH_RIGHT = 0.70;
// How sharply signs begin at the edge of the zone, as a share of it.
static const double EDGE = 0.10;
// Faults of a bench alignment before anybody has walked: the share that is right, spreads of the rest.
static const double RIGHT_SHARE = 0.25, RIGHT_SPREAD_MM = 2, SPREAD_MM = 13;
static const double TOE_RIGHT_SHARE = 0.45, TOE_RIGHT_SPREAD = 1, TOE_SPREAD = 4.5;
// Pressure point ahead of the ankle at 30 and 75 % stance, on a foot whose ball lever is 170 mm (data/stance.json).
static const double AHEAD_MM[2] = { 34, 135.25 };
static const double LEVER_SHARE = 0.65, LEVER_MM = 170;
// How much a place just outside the zone is worth, and the zones over which half of that is lost (tuned in the fitting
// room).
static const double EDGE_WORTH = 0.7, HALVES_OVER = 0.3;
static const double LEAST = 1e-9;

static double place_of(int i)
{
    return i - SF_BELIEF_REACH + 0.5;
}

static double toe_of(int j)
{
    return j - SF_BELIEF_TOE_REACH + 0.5;
}

static double bell(double x, double spread)
{
    return exp(-0.5 * (x / spread) * (x / spread)) / spread;
}

static void normalise(double *p, size_t count)
{
    double sum = 0;
    for (size_t i = 0; i < count; i++)
        sum += p[i];
    for (size_t i = 0; i < count; i++)
        p[i] /= sum;
}

static double rising(double x)
{
    return 1 / (1 + exp(-x));
}

// Chance that strength `k` (1..3) is written for an error of `m` zones.
static double strength_chance(double m, int k)
{
    // Share of "one", "two" and "three zones" with soft borders, then the observer's slip to a neighbour.
    double two = rising((m - 2) / (2 * EDGE)), three = rising((m - 3) / (3 * EDGE));
    double is[3] = { 1 - two, two - two * three, two * three };
    double slip = 1 - STRENGTH_RIGHT;
    double written[3] = { is[0] * (STRENGTH_RIGHT + slip / 2) + is[1] * slip / 2, // one level down from one stays one
                          is[0] * slip / 2 + is[1] * STRENGTH_RIGHT + is[2] * slip / 2,
                          is[1] * slip / 2 + is[2] * (STRENGTH_RIGHT + slip / 2) };
    return written[k - 1];
}

// Chance of what was written for an error of `e` zones.
static double chance(double e, int level)
{
    double m = fabs(e);
    double seen = SEEN_FALSELY + (SEEN - SEEN_FALSELY) * rising((m - 1) / EDGE);
    if (level == 0)
        return 1 - seen;
    double right = 0.5 + (RIGHT_WAY - 0.5) * rising((m - 0.5) / EDGE);
    double way = (e > 0) == (level > 0) ? right : 1 - right;
    return fmax(LEAST, seen * way * strength_chance(m, abs(level)));
}

void sf_belief_start(sf_Belief *b, double foot_length)
{
    for (int k = 0; k < 2; k++)
        b->lever[k] = AHEAD_MM[k] * LEVER_SHARE * foot_length * 1000 / LEVER_MM * SF_DEG;
    for (int i = 0; i < SF_BELIEF_PLACES; i++) {
        double x = place_of(i);
        double place = RIGHT_SHARE * bell(x, RIGHT_SPREAD_MM) + (1 - RIGHT_SHARE) * bell(x, SPREAD_MM);
        b->sagittal[i] = place;
        for (int j = 0; j < SF_BELIEF_TOES; j++) {
            double t = toe_of(j);
            b->coronal[i * SF_BELIEF_TOES + j] =
                place * (TOE_RIGHT_SHARE * bell(t, TOE_RIGHT_SPREAD) + (1 - TOE_RIGHT_SHARE) * bell(t, TOE_SPREAD));
        }
    }
    for (int level = 0; level <= 3; level++)
        for (int i = -SF_BELIEF_TABLE_HALF; i <= SF_BELIEF_TABLE_HALF; i++)
            b->chance[level][i + SF_BELIEF_TABLE_HALF] = chance((double)i / SF_BELIEF_TABLE_STEPS, level);
    normalise(b->sagittal, SF_BELIEF_PLACES);
    normalise(b->coronal, SF_BELIEF_PLACES * SF_BELIEF_TOES);
}

// The row of the table that answers for this level, weighted, with errors counted in the sign's own direction.
typedef struct Row {
    double value[2 * SF_BELIEF_TABLE_HALF + 1];
    double direction;
} Row;

static void row_make(Row *row, const sf_Belief *b, int level, double weight)
{
    row->direction = level < 0 ? -1 : 1;
    for (int i = 0; i <= 2 * SF_BELIEF_TABLE_HALF; i++) {
        double p = b->chance[abs(level)][i];
        row->value[i] = weight == 1 ? p : pow(p, weight);
    }
}

static double row_at(const Row *row, double zones)
{
    double at = row->direction * zones * SF_BELIEF_TABLE_STEPS + SF_BELIEF_TABLE_HALF + 0.5;
    int i = at < 0 ? 0 : at > 2 * SF_BELIEF_TABLE_HALF ? 2 * SF_BELIEF_TABLE_HALF : (int)at;
    return row->value[i];
}

void sf_belief_see(sf_Belief *b, sf_Place place, sf_Effect effect, int level, double weight)
{
    Row row;
    row_make(&row, b, level, weight);
    if (effect == SF_EFFECT_SAGITTAL_EARLY || effect == SF_EFFECT_SAGITTAL_LATE) {
        for (int i = 0; i < SF_BELIEF_PLACES; i++)
            b->sagittal[i] *= row_at(&row, (place.sagittal - place_of(i)) / SF_BELIEF_ZONE_MM);
        normalise(b->sagittal, SF_BELIEF_PLACES);
        return;
    }
    double lever = b->lever[effect == SF_EFFECT_CORONAL_LATE];
    for (int i = 0; i < SF_BELIEF_PLACES; i++)
        for (int j = 0; j < SF_BELIEF_TOES; j++) {
            double turn = place.toe_out - toe_of(j);
            double zones = effect == SF_EFFECT_TOE_OUT
                               ? turn / SF_BELIEF_ZONE_DEG
                               : (place.coronal - place_of(i) + lever * turn) / SF_BELIEF_ZONE_MM;
            b->coronal[i * SF_BELIEF_TOES + j] *= row_at(&row, zones);
        }
    normalise(b->coronal, SF_BELIEF_PLACES * SF_BELIEF_TOES);
}

static double inside(double zones)
{
    return fabs(zones) <= 1 ? 1 : 0;
}

// 1 within the zone; outside it less with the distance, and never quite nothing.
static double worth(double zones)
{
    double m = fabs(zones) - 1;
    return m <= 0 ? 1 : EDGE_WORTH / (1 + m / HALVES_OVER);
}

static double sagittal_mean(const sf_Belief *b, double sagittal, double (*value)(double))
{
    double sum = 0;
    for (int i = 0; i < SF_BELIEF_PLACES; i++)
        sum += b->sagittal[i] * value((sagittal - place_of(i)) / SF_BELIEF_ZONE_MM);
    return sum;
}

double sf_belief_sagittal(const sf_Belief *b, double sagittal)
{
    return sagittal_mean(b, sagittal, inside);
}

double sf_belief_sagittal_worth(const sf_Belief *b, double sagittal)
{
    return sagittal_mean(b, sagittal, worth);
}

// Cells that hold next to nothing are passed over: they cannot change what is printed.
static double coronal_mean(const sf_Belief *b, double coronal, double toe_out, double (*value)(double), bool both)
{
    double sum = 0;
    for (int i = 0; i < SF_BELIEF_PLACES; i++)
        for (int j = 0; j < SF_BELIEF_TOES; j++) {
            double p = b->coronal[i * SF_BELIEF_TOES + j];
            if (p < LEAST)
                continue;
            double turn = toe_out - toe_of(j), off = coronal - place_of(i);
            double early = (off + b->lever[0] * turn) / SF_BELIEF_ZONE_MM;
            double late = (off + b->lever[1] * turn) / SF_BELIEF_ZONE_MM;
            double sideways = value(fmax(fabs(early), fabs(late)));
            sum += p * (both ? sideways + value(turn / SF_BELIEF_ZONE_DEG) : sideways);
        }
    return sum;
}

double sf_belief_coronal(const sf_Belief *b, double coronal, double toe_out)
{
    return coronal_mean(b, coronal, toe_out, inside, false);
}

double sf_belief_coronal_worth(const sf_Belief *b, double coronal, double toe_out)
{
    return coronal_mean(b, coronal, toe_out, worth, true);
}

double sf_belief_coronal_and_toe(const sf_Belief *b, double coronal, double toe_out)
{
    double sum = 0;
    for (int i = 0; i < SF_BELIEF_PLACES; i++)
        for (int j = 0; j < SF_BELIEF_TOES; j++) {
            double turn = toe_out - toe_of(j), off = coronal - place_of(i);
            if (fabs(turn) <= SF_BELIEF_ZONE_DEG && fabs(off + b->lever[0] * turn) <= SF_BELIEF_ZONE_MM &&
                fabs(off + b->lever[1] * turn) <= SF_BELIEF_ZONE_MM)
                sum += b->coronal[i * SF_BELIEF_TOES + j];
        }
    return sum;
}

double sf_belief_toe(const sf_Belief *b, double toe_out)
{
    double sum = 0;
    for (int i = 0; i < SF_BELIEF_PLACES * SF_BELIEF_TOES; i++)
        sum += b->coronal[i] * inside((toe_out - toe_of(i % SF_BELIEF_TOES)) / SF_BELIEF_ZONE_DEG);
    return sum;
}

// Central interval of a distribution over whole numbers from `first`; each stands for the unit that begins there.
static void bracket(const double *p, int count, double first, double coverage, double *low, double *high)
{
    const double tail = (1 - coverage) / 2;
    const double want[2] = { tail, 1 - tail };
    double *const out[2] = { low, high };
    for (int k = 0; k < 2; k++) {
        double sum = 0;
        int i = 0;
        while (i < count - 1 && sum + p[i] < want[k])
            sum += p[i++];
        *out[k] = first + i + (p[i] > 0 ? fmin(1, (want[k] - sum) / p[i]) : 0);
    }
}

void sf_belief_sagittal_bracket(const sf_Belief *b, double coverage, double *low, double *high)
{
    bracket(b->sagittal, SF_BELIEF_PLACES, -SF_BELIEF_REACH, coverage, low, high);
}

void sf_belief_coronal_bracket(const sf_Belief *b, double coverage, double *low, double *high)
{
    double by_place[SF_BELIEF_PLACES] = { 0 };
    for (int i = 0; i < SF_BELIEF_PLACES * SF_BELIEF_TOES; i++)
        by_place[i / SF_BELIEF_TOES] += b->coronal[i];
    bracket(by_place, SF_BELIEF_PLACES, -SF_BELIEF_REACH, coverage, low, high);
}

void sf_belief_toe_bracket(const sf_Belief *b, double coverage, double *low, double *high)
{
    double by_toe[SF_BELIEF_TOES] = { 0 };
    for (int i = 0; i < SF_BELIEF_PLACES * SF_BELIEF_TOES; i++)
        by_toe[i % SF_BELIEF_TOES] += b->coronal[i];
    bracket(by_toe, SF_BELIEF_TOES, -SF_BELIEF_TOE_REACH, coverage, low, high);
}
