// SPDX-License-Identifier: GPL-3.0-or-later
#include "strength/band.h"

#include "base/alloc.h"
#include "base/progress.h"
#include "base/units.h"
#include "num/stats.h"
#include "strength/elastic.h"
#include "strength/limit_surface.h"
#include "strength/moved_pylon.h"

#include <math.h>
#include <string.h>

// Edges: as measured; outer, inner, and inner towards the top, each moved both ways.
static const double LAW_SHARE = 0.3; // of the work on one load line that learning the quick law takes

enum { EDGES = 3, CANDIDATES = 8, SHARE_DRAWS = 400 };

static const double probe = 1.4; // of the standard deviation: how far from the middle the full solutions stand
static const double still_enough = 1e-12;

typedef struct MovedModel {
    sf_Pylon pylon;
    sf_CollapseModel model;
} MovedModel;

// A section's surfaces: as measured and with each edge moved outward.
typedef struct SurfaceSet {
    sf_LimitSurface surface[1 + EDGES];
} SurfaceSet;

struct sf_BandModels {
    const sf_Pylon *pylon;
    const sf_CollapseModel *model;
    double spread[SF_DOUBT_COUNT];
    double moved[EDGES]; // m
    MovedModel moves[2 * EDGES];
    SurfaceSet *sets[SF_STATION_MAX + SF_HOLE_MAX]; // made when first wanted; whole sections, then net ones
};

static const sf_Doubt edge_doubts[EDGES] = { SF_DOUBT_OUTER_EDGE, SF_DOUBT_INNER_EDGE, SF_DOUBT_TOP_WALL };

static sf_EdgeShift shift_of(const sf_Draw *draw)
{
    return (sf_EdgeShift){ draw->of[SF_DOUBT_OUTER_EDGE], draw->of[SF_DOUBT_INNER_EDGE], draw->of[SF_DOUBT_TOP_WALL] };
}

static sf_Status move_model(MovedModel *out, const sf_Pylon *pylon, const sf_EdgeShift *shift, sf_Error *err)
{
    SF_TRY(sf_pylon_moved(&out->pylon, pylon, shift, err));
    return sf_collapse_model_create(&out->model, &out->pylon, err);
}

static void drop_model(MovedModel *moved)
{
    sf_collapse_model_free(&moved->model);
    sf_pylon_free(&moved->pylon);
}

sf_Status sf_band_models_create(sf_BandModels **out, const sf_Pylon *pylon, const sf_CollapseModel *model,
                                const double spread[SF_DOUBT_COUNT], sf_Error *err)
{
    sf_Status status = SF_OK;
    sf_BandModels *models = *out = sf_alloc(1, sizeof *models);
    if (!models)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory for the band");
    models->pylon = pylon;
    models->model = model;
    memcpy(models->spread, spread, sizeof models->spread);
    for (int e = 0; e < EDGES; e++) {
        // Wide enough to tell a difference by, even where the edge is known well.
        models->moved[e] = fmax(probe * spread[edge_doubts[e]], 2e-5);
        for (int way = 0; way < 2; way++) {
            sf_Draw draw = sf_draw_still;
            draw.of[edge_doubts[e]] = (way ? -1 : 1) * models->moved[e];
            sf_EdgeShift shift = shift_of(&draw);
            SF_TRY_DONE(move_model(&models->moves[2 * e + way], pylon, &shift, err));
        }
    }
done:
    if (status != SF_OK)
        sf_band_models_destroy(out);
    return status;
}

void sf_band_models_destroy(sf_BandModels **models)
{
    if (!*models)
        return;
    for (int i = 0; i < 2 * EDGES; i++)
        drop_model(&(*models)->moves[i]);
    for (size_t i = 0; i < SF_STATION_MAX + SF_HOLE_MAX; i++)
        sf_free((*models)->sets[i]);
    sf_free(*models);
    *models = NULL;
}

// ---- full solutions ---------------------------------------------------------------------------------------------

static sf_Point offset_at(const sf_BandLine *line, const sf_Draw *draw, double z)
{
    double up = (z - line->ankle) / (line->knee - line->ankle);
    const double *x = draw->of;
    return (sf_Point){ x[SF_DOUBT_ANKLE_OUTWARD] + up * (x[SF_DOUBT_KNEE_OUTWARD] - x[SF_DOUBT_ANKLE_OUTWARD]),
                       x[SF_DOUBT_ANKLE_FORWARD] + up * (x[SF_DOUBT_KNEE_FORWARD] - x[SF_DOUBT_ANKLE_FORWARD]) };
}

// A full solution with the shapes it found.
typedef struct Full {
    sf_BandForces forces;
    sf_Collapse collapse;
    sf_Actions at_yield[SF_STATION_MAX];
} Full;

static sf_Status solve_on(Full *full, const sf_BandLine *line, const sf_Pylon *pylon, const sf_CollapseModel *model,
                          const sf_Draw *draw, sf_Error *err)
{
    sf_BandForces *forces = &full->forces;
    sf_CollapseCase at = *line->at;
    sf_LoadLine moved = *at.line;
    sf_Point low = offset_at(line, draw, 0), high = offset_at(line, draw, 1);
    moved.at_floor = sf_point_add(moved.at_floor, low);
    moved.slope = sf_point_add(moved.slope, sf_point_sub(high, low));
    moved.length_factor = sqrt(1 + sf_point_dot(moved.slope, moved.slope));
    double stiff = draw->of[SF_DOUBT_MODULUS], strong = draw->of[SF_DOUBT_YIELD];
    at.model = model;
    at.line = &moved;
    at.law.modulus *= stiff;
    at.law.yield *= strong;
    at.law.strain_limit *= draw->of[SF_DOUBT_STRAIN_LIMIT];
    for (size_t i = 0; i < at.law.count; i++) {
        at.law.stress[i] *= strong;
        at.law.strain[i] *= strong / stiff;
    }
    sf_ElasticCase elastic = { pylon, &moved, at.first_order ? INFINITY : at.law.modulus, at.law.yield };
    SF_TRY(sf_elastic_yield_force(&forces->elastic, &elastic, NULL, err));
    if (!sf_beam_actions(full->at_yield, pylon, &moved, forces->elastic, elastic.modulus, NULL))
        return SF_FAIL(err, SF_E_CONVERGE, NULL, "the bent shape at first yield was not found for the band");
    at.start = 0.7 * forces->elastic;
    SF_TRY(sf_collapse_find(&full->collapse, &at, err));
    forces->collapse = full->collapse.force;
    return SF_OK;
}

sf_Status sf_band_solve(sf_BandForces *forces, const sf_BandLine *line, const sf_Draw *draw, sf_Error *err)
{
    MovedModel moved = { 0 };
    sf_EdgeShift shift = shift_of(draw);
    sf_Status status;
    Full *full = sf_alloc(1, sizeof *full);
    if (!full)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory for the band");
    SF_TRY_DONE(move_model(&moved, line->at->model->pylon, &shift, err));
    status = solve_on(full, line, &moved.pylon, &moved.model, draw, err);
    *forces = full->forces;
done:
    drop_model(&moved);
    sf_free(full);
    return status;
}

// ---- the quick law ----------------------------------------------------------------------------------------------

// Where a correction is put: the ratio of modulus to yield, the strain limit, edges, offsets.
enum { RATIO = 0, LIMIT, FIRST_EDGE, FIRST_OFFSET = FIRST_EDGE + EDGES, CORRECTIONS = FIRST_OFFSET + 4 };

// What bending adds to the lever, m, for a yield of the middle case over the modulus; and its rates.
typedef struct Bending {
    sf_Point middle, rate[CORRECTIONS];
} Bending;

// A place that may end the path: its surface as measured and with each edge moved outward.
typedef struct Candidate {
    double height, share;
    sf_Point straight; // lever of the straight pylon, m
    Bending at_yield, at_collapse;
    double edge_log[EDGES]; // logarithm of the elastic stress with the edge moved over that without
    const sf_Pylon *pylon;
    size_t station;
    const sf_LimitSurface *surface; // SurfaceSet of its section
} Candidate;

typedef struct Correction {
    double linear, square;
} Correction;

struct sf_BandLaw {
    sf_BandLine line;
    double yield, moved[EDGES];
    Candidate candidates[CANDIDATES];
    size_t candidate_count;
    double elastic, collapse; // logarithms of the full forces over the simple ones
    Correction for_elastic[CORRECTIONS], for_collapse[CORRECTIONS];
};

static void coordinates(double *x, const sf_Draw *draw)
{
    x[RATIO] = log(draw->of[SF_DOUBT_MODULUS] / draw->of[SF_DOUBT_YIELD]);
    x[LIMIT] = log(draw->of[SF_DOUBT_STRAIN_LIMIT]);
    for (int i = 0; i < EDGES; i++)
        x[FIRST_EDGE + i] = draw->of[edge_doubts[i]];
    for (int i = 0; i < 4; i++)
        x[FIRST_OFFSET + i] = draw->of[SF_DOUBT_ANKLE_FORWARD + i];
}

static sf_Point lever(const sf_BandLaw *law, const sf_Draw *draw, const double *x, const Candidate *at,
                      const Bending *bending)
{
    sf_Point bent = bending->middle, arm = sf_point_add(at->straight, offset_at(&law->line, draw, at->height));
    for (int i = 0; i < CORRECTIONS; i++)
        bent = sf_point_add(bent, sf_point_scale(bending->rate[i], x[i]));
    return sf_point_add(arm, sf_point_scale(bent, draw->of[SF_DOUBT_YIELD] / draw->of[SF_DOUBT_MODULUS]));
}

// Adds what `times` the edge's shift does to a row of the surface.
static void add_edge(double *row, double *area, const Candidate *at, int surface, double times, double angle)
{
    double moved[SF_SURFACE_LEVELS], still[SF_SURFACE_LEVELS];
    if (times == 0)
        return;
    sf_limit_surface_row(moved, &at->surface[surface], angle);
    sf_limit_surface_row(still, &at->surface[0], angle);
    for (size_t i = 0; i < SF_SURFACE_LEVELS; i++)
        row[i] += times * (moved[i] - still[i]);
    *area += times * (at->surface[surface].area - at->surface[0].area);
}

// The lowest force at which a candidate's moment meets its surface, with the bending of the middle case in proportion
// to yield over modulus.
static double simple_force(const sf_BandLaw *law, const sf_Draw *draw, const double *x)
{
    double least = INFINITY, strong = draw->of[SF_DOUBT_YIELD];
    for (size_t c = 0; c < law->candidate_count; c++) {
        const Candidate *at = &law->candidates[c];
        sf_Point arm = lever(law, draw, x, at, &at->at_collapse);
        double yield = law->yield * strong * at->share, angle = atan2(arm.y, arm.x), length = sf_point_length(arm);
        double row[SF_SURFACE_LEVELS], area = at->surface[0].area;
        sf_limit_surface_row(row, &at->surface[0], angle);
        for (int e = 0; e < EDGES; e++)
            add_edge(row, &area, at, 1 + e, draw->of[edge_doubts[e]] / law->moved[e], angle);
        double axial = 0, before = 0, off_before = 0;
        for (int n = 0; n < 8; n++) {
            double off = sf_limit_row_moment(row, area, yield, axial) / length - axial, next;
            if (fabs(off) < 1e-6 * (axial + 1))
                break;
            next = n == 0 ? axial + 0.8 * off : axial - off * (axial - before) / (off - off_before);
            before = axial;
            off_before = off;
            axial = fmax(next, 0);
        }
        least = fmin(least, axial);
    }
    return least * law->line.at->line->length_factor;
}

// Stress per unit of axial force at the most stressed edge of a station: its outer edge, or a hole's with Peterson's
// factors; torsion and shear are left to the corrections.
static double edge_stress(const sf_Pylon *pylon, size_t station, sf_Point arm)
{
    const sf_BeamSection *section = &pylon->stations[station].section;
    sf_Actions unit = { .axial = 1, .moment = arm };
    double det = section->jxx * section->jyy - section->jxy * section->jxy, most = 0;
    sf_Point g = { (section->jyy * arm.x - section->jxy * arm.y) / det,
                   (section->jxx * arm.y - section->jxy * arm.x) / det };
    size_t ahead = (size_t)lround((atan2(g.y, g.x) / (2 * SF_PI) + 1) * SF_FIBRE_COUNT);
    for (size_t k = 0; k < 2; k++, ahead += SF_FIBRE_COUNT / 2) {
        sf_Point from = sf_point_sub(section->fibre[ahead % SF_FIBRE_COUNT], section->centroid);
        most = fmax(most, fabs(1 / section->area + sf_point_dot(g, from)));
    }
    for (size_t h = 0; h < pylon->hole_count; h++) {
        if (pylon->hole_station[h] != station)
            continue;
        const sf_BeamHole *hole = &pylon->holes[h];
        double turn = hole->angle / (2 * SF_PI);
        size_t place = (size_t)lround((turn - floor(turn)) * SF_FIBRE_COUNT) % SF_FIBRE_COUNT;
        sf_HoleFactors factors = sf_hole_factors(hole->diameter, section->outer_diameter, section->inner_diameter);
        sf_NormalStress s = sf_section_normal_stress(section, &unit, section->fibre[place]);
        most = fmax(most, sf_hole_edge_stress(&factors, s.axial, s.bending, 0));
    }
    return most;
}

static double simple_elastic(const sf_BandLaw *law, const sf_Draw *draw, const double *x)
{
    double most = 0;
    for (size_t c = 0; c < law->candidate_count; c++) {
        const Candidate *at = &law->candidates[c];
        double stress = edge_stress(at->pylon, at->station, lever(law, draw, x, at, &at->at_yield)), wider = 0;
        for (int e = 0; e < EDGES; e++)
            wider += at->edge_log[e] * x[FIRST_EDGE + e] / law->moved[e];
        most = fmax(most, stress * exp(wider));
    }
    return law->yield * draw->of[SF_DOUBT_YIELD] / most * law->line.at->line->length_factor;
}

sf_BandForces sf_band_law_at(const sf_BandLaw *law, const sf_Draw *draw)
{
    double x[CORRECTIONS], elastic = law->elastic, collapse = law->collapse;
    coordinates(x, draw);
    for (int i = 0; i < CORRECTIONS; i++) {
        elastic += x[i] * (law->for_elastic[i].linear + x[i] * law->for_elastic[i].square);
        collapse += x[i] * (law->for_collapse[i].linear + x[i] * law->for_collapse[i].square);
    }
    return (sf_BandForces){ exp(elastic) * simple_elastic(law, draw, x), exp(collapse) * simple_force(law, draw, x) };
}

// Section number i: the whole ones first, then the net ones.
static size_t station_of(const sf_CollapseModel *model, size_t i)
{
    size_t whole = model->pylon->station_count;
    return i < whole ? i : model->net_station[i - whole];
}

// What bending added to the lever of a station in a full solution, for a ratio of yield to modulus as in the middle.
static sf_Point bent_by(const sf_BandLaw *law, const Candidate *c, const sf_Draw *draw, sf_Point arm)
{
    sf_Point straight = sf_point_add(c->straight, offset_at(&law->line, draw, c->height));
    return sf_point_scale(sf_point_sub(arm, straight), draw->of[SF_DOUBT_MODULUS] / draw->of[SF_DOUBT_YIELD]);
}

static sf_Point arm_at_yield(const Full *full, size_t station)
{
    return sf_point_scale(full->at_yield[station].moment, 1 / full->at_yield[station].axial);
}

static const sf_FibreSection *section_of(const sf_CollapseModel *model, size_t i)
{
    size_t whole = model->pylon->station_count;
    return i < whole ? &model->gross[i] : &model->net[i - whole];
}

// NULL when out of memory. All lines share a card, so the law of the first one serves.
static const SurfaceSet *surfaces_of(sf_BandModels *models, size_t i, const sf_StressLaw *law)
{
    if (models->sets[i])
        return models->sets[i];
    SurfaceSet *set = models->sets[i] = sf_alloc(1, sizeof *set);
    if (!set)
        return NULL;
    sf_limit_surface_make(&set->surface[0], section_of(models->model, i), law);
    for (int e = 0; e < EDGES; e++)
        sf_limit_surface_make(&set->surface[1 + e], section_of(&models->moves[2 * e].model, i), law);
    return set;
}

static sf_Status add_candidate(sf_BandLaw *law, sf_BandModels *models, const Full *base, size_t i, sf_Error *err)
{
    const sf_CollapseModel *model = models->model;
    const SurfaceSet *set = surfaces_of(models, i, &law->line.at->law);
    size_t s = station_of(model, i);
    if (!set)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory for the band");
    Candidate *c = &law->candidates[law->candidate_count++];
    c->pylon = models->pylon;
    c->station = s;
    c->height = models->pylon->stations[s].height;
    c->share = base->collapse.share[s];
    c->straight = sf_point_sub(sf_load_line_at(law->line.at->line, c->height), model->gross[s].origin);
    c->at_yield.middle = bent_by(law, c, &sf_draw_still, arm_at_yield(base, s));
    c->at_collapse.middle = bent_by(law, c, &sf_draw_still, base->collapse.arm[s]);
    c->surface = set->surface;
    sf_Point arm = arm_at_yield(base, s);
    for (int e = 0; e < EDGES; e++)
        c->edge_log[e] = log(edge_stress(&models->moves[2 * e].pylon, s, arm) / edge_stress(models->pylon, s, arm));
    return SF_OK;
}

// Both ends of the pylon and of its free length, and what else is nearest to its strength at collapse, holes first.
static sf_Status choose_candidates(sf_BandLaw *law, sf_BandModels *models, const Full *full, sf_Error *err)
{
    const sf_Collapse *base = &full->collapse;
    enum { APART = 3 };
    const sf_CollapseModel *model = models->model;
    size_t whole = models->pylon->station_count, all = whole + model->net_count, grip = 0;
    bool taken[SF_STATION_MAX + SF_HOLE_MAX] = { false };
    double used[SF_STATION_MAX + SF_HOLE_MAX];
    while (models->pylon->stations[grip].height < models->pylon->grip_top - 1e-9)
        grip++;
    for (size_t i = 0; i < all; i++) {
        size_t s = station_of(model, i);
        const sf_FibreSection *f = section_of(model, i);
        double strength = sf_fibre_moment_limit(f, &law->line.at->law, base->share[s], base->axial,
                                                atan2(base->arm[s].y, base->arm[s].x));
        used[i] = base->axial * sf_point_length(base->arm[s]) / fmax(strength, 1e-9);
        used[i] += i == 0 || i + 1 == whole || i == base->station ? 20 : i >= whole || i == grip ? 10 : 0;
    }
    while (law->candidate_count < CANDIDATES && law->candidate_count < all) {
        size_t best = all;
        for (size_t i = 0; i < all; i++)
            if (!taken[i] && (best == all || used[i] > used[best]))
                best = i;
        if (best == all)
            break;
        // Neighbours say the same: leave out what stands beside a better one.
        for (size_t i = 0; i < whole && best < whole; i++)
            taken[i] = taken[i] || (i + APART > best && i < best + APART && i != 0 && i + 1 != whole);
        taken[best] = true;
        SF_TRY(add_candidate(law, models, full, best, err));
    }
    return SF_OK;
}

// How the bending of each candidate changes between the two full solutions of one correction.
static void learn_rates(sf_BandLaw *law, int place, const Full *full, const sf_Draw *draws, const double *at)
{
    for (size_t i = 0; i < law->candidate_count; i++) {
        Candidate *c = &law->candidates[i];
        sf_Point collapse[2], yield[2];
        for (int way = 0; way < 2; way++) {
            collapse[way] = bent_by(law, c, &draws[way], full[way].collapse.arm[c->station]);
            yield[way] = bent_by(law, c, &draws[way], arm_at_yield(&full[way], c->station));
        }
        c->at_collapse.rate[place] = sf_point_scale(sf_point_sub(collapse[0], collapse[1]), 1 / (at[0] - at[1]));
        c->at_yield.rate[place] = sf_point_scale(sf_point_sub(yield[0], yield[1]), 1 / (at[0] - at[1]));
    }
}

// Full solutions on both sides of the middle give each doubt's linear and square part; what the simple forces already
// know is taken off. `full` has room for two.
static sf_Status correct(sf_BandLaw *law, const sf_BandModels *models, int place, sf_Doubt doubt, Full *full,
                         sf_Error *err)
{
    double f[2][2], x[2][CORRECTIONS], at[2], size = probe * models->spread[doubt];
    sf_Draw draws[2] = { sf_draw_still, sf_draw_still };
    int edge = place - FIRST_EDGE;
    bool moved = edge >= 0 && edge < EDGES;
    if (place == RATIO)
        size = probe * hypot(models->spread[SF_DOUBT_MODULUS], models->spread[SF_DOUBT_YIELD]);
    if (size < still_enough)
        return SF_OK;
    for (int way = 0; way < 2; way++) {
        double signed_size = (way ? -1 : 1) * (moved ? law->moved[edge] : size);
        const MovedModel *m = moved ? &models->moves[2 * edge + way] : NULL;
        draws[way].of[doubt] = place == RATIO || place == LIMIT ? exp(signed_size) : signed_size;
        SF_TRY(solve_on(&full[way], &law->line, m ? &m->pylon : models->pylon, m ? &m->model : models->model,
                        &draws[way], err));
        coordinates(x[way], &draws[way]);
        at[way] = x[way][place];
    }
    learn_rates(law, place, full, draws, at);
    Correction *c[2] = { &law->for_elastic[place], &law->for_collapse[place] };
    for (int way = 0; way < 2; way++) {
        f[0][way] = log(full[way].forces.elastic / simple_elastic(law, &draws[way], x[way])) - law->elastic;
        f[1][way] = log(full[way].forces.collapse / simple_force(law, &draws[way], x[way])) - law->collapse;
    }
    for (int k = 0; k < 2; k++) {
        double a = f[k][0] / at[0], b = f[k][1] / at[1];
        c[k]->square = (a - b) / (at[0] - at[1]);
        c[k]->linear = a - c[k]->square * at[0];
    }
    return SF_OK;
}

sf_Status sf_band_law_create(sf_BandLaw **out, sf_BandModels *models, const sf_BandLine *line, sf_Error *err)
{
    static const sf_Doubt doubts[CORRECTIONS] = {
        SF_DOUBT_MODULUS,       SF_DOUBT_STRAIN_LIMIT,  SF_DOUBT_OUTER_EDGE,   SF_DOUBT_INNER_EDGE,  SF_DOUBT_TOP_WALL,
        SF_DOUBT_ANKLE_FORWARD, SF_DOUBT_ANKLE_OUTWARD, SF_DOUBT_KNEE_FORWARD, SF_DOUBT_KNEE_OUTWARD
    };
    static const double nothing[CORRECTIONS] = { 0 };
    sf_Status status;
    sf_BandLaw *law = *out = sf_alloc(1, sizeof *law);
    Full *full = sf_alloc(2, sizeof *full);
    if (!law || !full) {
        status = SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory for the band");
        goto done;
    }
    law->line = *line;
    law->yield = sf_stress_law_most(&line->at->law);
    memcpy(law->moved, models->moved, sizeof law->moved);
    SF_TRY_DONE(solve_on(full, line, models->pylon, models->model, &sf_draw_still, err));
    SF_TRY_DONE(choose_candidates(law, models, full, err));
    law->elastic = log(full->forces.elastic / simple_elastic(law, &sf_draw_still, nothing));
    law->collapse = log(full->forces.collapse / simple_force(law, &sf_draw_still, nothing));
    for (int i = 0; i < CORRECTIONS; i++) {
        SF_TRY_DONE(sf_progress_tell(LAW_SHARE * (i + 1) / (CORRECTIONS + 1), "what is in doubt", err));
        SF_TRY_DONE(correct(law, models, i, doubts[i], full, err));
    }
done:
    sf_free(full);
    if (status != SF_OK)
        sf_band_law_destroy(out);
    return status;
}

void sf_band_law_destroy(sf_BandLaw **law)
{
    sf_free(*law);
    *law = NULL;
}

// ---- the band ---------------------------------------------------------------------------------------------------

const char *sf_doubt_group_word(sf_DoubtGroup group)
{
    static const char *const words[SF_GROUP_COUNT] = { "yield",          "modulus",         "strain-limit",
                                                       "measured-edges", "wall-at-the-top", "load-offsets" };
    return words[group];
}

static sf_DoubtGroup group_of(int doubt)
{
    static const sf_DoubtGroup groups[SF_DOUBT_COUNT] = { SF_GROUP_YIELD,   SF_GROUP_MODULUS, SF_GROUP_STRAIN_LIMIT,
                                                          SF_GROUP_EDGES,   SF_GROUP_EDGES,   SF_GROUP_TOP_WALL,
                                                          SF_GROUP_OFFSETS, SF_GROUP_OFFSETS, SF_GROUP_OFFSETS,
                                                          SF_GROUP_OFFSETS };
    return groups[doubt];
}

static sf_Status share_out(sf_Band *band, const sf_BandLaw *law, const sf_Draw *draws, size_t count, sf_Error *err)
{
    double sum = 0;
    size_t n = count < SHARE_DRAWS ? count : SHARE_DRAWS;
    for (int g = 0; g < SF_GROUP_COUNT; g++) {
        double mean = 0, square = 0;
        SF_TRY(sf_progress_tell(0.9 + 0.1 * g / SF_GROUP_COUNT, "what dominates", err));
        for (size_t i = 0; i < n; i++) {
            sf_Draw one = sf_draw_still;
            for (int d = 0; d < SF_DOUBT_COUNT; d++)
                if (group_of(d) == (sf_DoubtGroup)g)
                    one.of[d] = draws[i].of[d];
            double f = log(sf_band_law_at(law, &one).collapse);
            mean += f / (double)n;
            square += f * f / (double)n;
        }
        band->share[g] = fmax(square - mean * mean, 0);
        sum += band->share[g];
        if (band->share[g] > band->share[band->dominant])
            band->dominant = (sf_DoubtGroup)g;
    }
    for (int g = 0; g < SF_GROUP_COUNT; g++)
        band->share[g] = sum > 0 ? band->share[g] / sum : 0;
    return SF_OK;
}

sf_Status sf_band_find(sf_Band *band, double *at_yield, const sf_BandLaw *law, const sf_Draw *draws, size_t count,
                       sf_Error *err)
{
    static const double low = 0.05, high = 0.95;
    double *elastic = sf_alloc(2 * count + 1, sizeof *elastic), *collapse = elastic + count;
    *band = (sf_Band){ 0 };
    if (!elastic)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory for the band");
    sf_Status status;
    sf_ProgressPart outer = sf_progress_part(LAW_SHARE, 0.9);
    for (size_t i = 0; i < count; i++) {
        SF_TRY_DONE(sf_progress_count(i, count, "samples", err));
        sf_BandForces f = sf_band_law_at(law, &draws[i]);
        elastic[i] = f.elastic;
        collapse[i] = f.collapse;
    }
    if (at_yield)
        memcpy(at_yield, elastic, count * sizeof *elastic);
    for (int k = 0; k < 2; k++) {
        band->elastic[k] = sf_stats_quantile(elastic, count, k ? high : low);
        SF_TRY_DONE(sf_progress_tell(1, "sorted", err));
        band->collapse[k] = sf_stats_quantile(collapse, count, k ? high : low);
        SF_TRY_DONE(sf_progress_tell(1, "sorted", err));
    }
    sf_progress_end(outer);
    status = share_out(band, law, draws, count, err);
done:
    sf_progress_end(outer);
    sf_free(elastic);
    return status;
}
