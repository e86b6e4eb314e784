// SPDX-License-Identifier: GPL-3.0-or-later
#include "harness/tap.h"
#include "num/stats.h"
#include "strength/band.h"
#include "strength/elastic.h"
#include "strength/limit_surface.h"
#include "strength/tube.h"

#include <stdlib.h>
#include <string.h>
#include <time.h>

static const sf_StressLaw copolymer = { .modulus = 1000e6, .yield = 24e6, .strain_limit = 0.08 };

// An invented pylon under an invented line, with doubts as large as the program's own.
typedef struct Case {
    sf_Pylon pylon;
    sf_CollapseModel model;
    sf_LoadLine line;
    sf_CollapseCase at;
    sf_DoubtSizes sizes;
    double spread[SF_DOUBT_COUNT];
    sf_BandLine band_line;
    sf_BandModels *models;
    sf_BandLaw *law;
} Case;

static void open_case(Case *c, double outer, double inner, double hole_mm, bool heel)
{
    memset(c, 0, sizeof *c);
    sf_BeamSection tube = tube_section(outer, inner, 0, 0);
    sf_BeamHole hole = { 0.122, 250 * SF_DEG, hole_mm * SF_MM };
    c->pylon = tube_pylon(&tube, 110, 30, 290, &hole, hole_mm > 0);
    TAP_OK(sf_collapse_model_create(&c->model, &c->pylon, NULL));
    c->line = heel ? (sf_LoadLine){ { 0.04, -0.05 }, { -0.19, 0.2 }, 1.037, 0, 0.65 }
                   : (sf_LoadLine){ { -0.02, 0.13 }, { -0.03, -0.11 }, 1.00648, 0, 0.65 };
    sf_ElasticCase elastic = { &c->pylon, &c->line, 1000e6, 24e6 };
    double yield = NAN;
    TAP_OK(sf_elastic_yield_force(&yield, &elastic, NULL, NULL));
    c->at = (sf_CollapseCase){ &c->model, &c->line, copolymer, 0.42, 0.7 * yield, false };
    double wall = 0.5 * (outer - inner) * SF_MM;
    c->sizes = (sf_DoubtSizes){
        { 22, 24, 31 },    { 900, 1000, 1300 }, { 0.06, 0.08, 0.12 },           0.1e-3, 0.1e-3, 0.05e-3, 0.0025,
        outer / 2 * SF_MM, inner / 2 * SF_MM,   { -0.1 * wall, 0, 0.1 * wall }, 3e-3
    };
    sf_doubt_spread(c->spread, &c->sizes);
    c->band_line = (sf_BandLine){ &c->at, 0.09, 0.51 };
    TAP_OK(sf_band_models_create(&c->models, &c->pylon, &c->model, c->spread, NULL));
    TAP_OK(sf_band_law_create(&c->law, c->models, &c->band_line, NULL));
}

static void close_case(Case *c)
{
    sf_band_law_destroy(&c->law);
    sf_band_models_destroy(&c->models);
    sf_collapse_model_free(&c->model);
    sf_pylon_free(&c->pylon);
}

TAP_CASE(the_surface_agrees_with_full_section_solutions)
{
    static const double rings[][4] = {
        { 50, 40, 0, 0 }, { 57, 44.3, 1, -1.5 }, { 45, 36, -1.2, 0.4 }, { 40, 22, 0, 2 }
    };
    double worst = 0;
    sf_Draw draws[100];
    sf_DoubtSizes even = { .yield = { 0.5, 1, 1.5 }, .modulus = { 0.5, 1, 1.5 }, .strain_limit = { 0.5, 1, 1.5 } };
    sf_draws_make(draws, 100, &even, 7);
    for (int i = 0; i < 100; i++) {
        const double *r = rings[i % 4];
        sf_Outline o = tube_outline(r[0] * SF_MM, r[1] * SF_MM, (sf_Point){ r[2] * SF_MM, r[3] * SF_MM }, 0, 0);
        sf_BeamSection section;
        sf_TorsionRoute route;
        sf_FibreSection f;
        sf_LimitSurface surface;
        TAP_OK(sf_beam_section_compute(&section, &o, &route, NULL));
        sf_fibre_section_make(&f, &section);
        if (i % 2)
            sf_fibre_section_drill(&f, 250 * SF_DEG, 6e-3);
        sf_limit_surface_make(&surface, &f, &copolymer);
        double angle = 2 * SF_PI * draws[i].of[SF_DOUBT_YIELD], n = 0.6 * (draws[i].of[SF_DOUBT_MODULUS] - 0.5);
        double axial = n * 24e6 * f.sum, full = sf_fibre_moment_limit(&f, &copolymer, 1, axial, angle);
        double off = sf_limit_surface_moment(&surface, 24e6, axial, angle) / full - 1;
        worst = fmax(worst, fabs(off));
        TAP_TRUE(fabs(off) < 0.01, "ring %d, N %.2f of squash, %.0f degrees: off by %.4f", i % 4, n, angle / SF_DEG,
                 off);
        sf_outline_free(&o);
    }
    tap_note("100 section solutions: largest difference %.2f %%", 100 * worst);
}

TAP_CASE(the_quick_law_agrees_with_full_solutions)
{
    double worst[2] = { 0, 0 };
    int count = 0, heel_off = 0;
    for (int k = 0; k < 6; k++) {
        static const double sizes[][3] = { { 50, 38, 0 }, { 50, 38, 6 }, { 57, 47, 0 },
                                           { 44, 34, 5 }, { 65, 55, 0 }, { 50, 40, 0 } };
        Case c;
        bool heel = k == 5;
        open_case(&c, sizes[k][0], sizes[k][1], sizes[k][2], heel);
        sf_Draw draws[20];
        sf_draws_make(draws, 20, &c.sizes, 11 + (uint64_t)k);
        for (int i = 0; i < 20; i++) {
            sf_BandForces full, quick = sf_band_law_at(c.law, &draws[i]);
            TAP_OK(sf_band_solve(&full, &c.band_line, &draws[i], NULL));
            double off[2] = { quick.elastic / full.elastic - 1, quick.collapse / full.collapse - 1 };
            // The heel's line passes close by the pylon and does not govern; a draw that ends as a column instead of at
            // the cut is beyond the law there.
            if (heel) {
                heel_off += fabs(off[0]) > 0.01 || fabs(off[1]) > 0.01;
                continue;
            }
            for (int e = 0; e < 2; e++)
                worst[e] = fmax(worst[e], fabs(off[e]));
            count++;
            TAP_TRUE(fabs(off[0]) < 0.01 && fabs(off[1]) < 0.01,
                     "pylon %d draw %d: first yield off by %.4f, collapse by %.4f", k, i, off[0], off[1]);
        }
        sf_BandForces still = sf_band_law_at(c.law, &sf_draw_still), full;
        TAP_OK(sf_band_solve(&full, &c.band_line, &sf_draw_still, NULL));
        TAP_NEAR(still.collapse, full.collapse, TAP_TOLERANCE("path", 1e-4, 0), TAP_CLOSED_FORM);
        TAP_NEAR(still.elastic, full.elastic, TAP_TOLERANCE("search", 1e-5, 0), TAP_CLOSED_FORM);
        close_case(&c);
    }
    TAP_TRUE(heel_off <= 2, "%d of 20 draws of the heel's line are off by more than 1 %%", heel_off);
    tap_note("%d full solutions: first yield within %.2f %%, collapse within %.2f %%", count, 100 * worst[0],
             100 * worst[1]);
}

TAP_CASE(the_same_seed_gives_the_same_band)
{
    Case c;
    open_case(&c, 50, 38, 0, false);
    enum { MANY = 10000 };
    sf_Draw *draws = calloc(MANY, sizeof *draws), *again = calloc(MANY, sizeof *again);
    sf_draws_make(draws, MANY, &c.sizes, 1);
    sf_draws_make(again, MANY / 2, &c.sizes, 1);
    TAP_TRUE(memcmp(draws, again, MANY / 2 * sizeof *draws) == 0, "a longer row begins with the shorter one");
    sf_Band one, two, other;
    clock_t began = clock();
    TAP_OK(sf_band_find(&one, NULL, c.law, draws, MANY, NULL));
    tap_note("%d draws: %.0f ms of processor time", MANY, 1e3 * (double)(clock() - began) / CLOCKS_PER_SEC);
    TAP_OK(sf_band_find(&two, NULL, c.law, draws, MANY, NULL));
    TAP_TRUE(memcmp(&one, &two, sizeof one) == 0);
    sf_draws_make(again, MANY, &c.sizes, 2);
    TAP_OK(sf_band_find(&other, NULL, c.law, again, MANY, NULL));
    TAP_NEAR(other.collapse[0], one.collapse[0], TAP_TOLERANCE("another seed, 10000 draws", 5e-3, 0), TAP_INVENTED);
    TAP_TRUE(other.collapse[0] != one.collapse[0]);
    sf_BandForces still = sf_band_law_at(c.law, &sf_draw_still);
    TAP_TRUE(one.collapse[0] < still.collapse && still.collapse < one.collapse[1]);
    TAP_TRUE(one.dominant == SF_GROUP_YIELD, "%s", sf_doubt_group_word(one.dominant));
    tap_note(
        "band %.0f to %.0f N about %.0f; shares: yield %.2f modulus %.2f limit %.2f edges %.2f top %.2f offsets %.2f",
        one.collapse[0], one.collapse[1], still.collapse, one.share[0], one.share[1], one.share[2], one.share[3],
        one.share[4], one.share[5]);
    // Draws have the moments of their triangles and normals.
    double mean = 0, square = 0, edge = 0;
    for (int i = 0; i < MANY; i++) {
        mean += draws[i].of[SF_DOUBT_YIELD] / MANY;
        square += draws[i].of[SF_DOUBT_YIELD] * draws[i].of[SF_DOUBT_YIELD] / MANY;
        edge += draws[i].of[SF_DOUBT_OUTER_EDGE] * draws[i].of[SF_DOUBT_OUTER_EDGE] / MANY;
    }
    TAP_NEAR(mean, (22 + 24 + 31) / 72.0, TAP_TOLERANCE("10000 draws", 2e-3, 0), TAP_CLOSED_FORM);
    TAP_NEAR(sqrt(square - mean * mean), c.spread[SF_DOUBT_YIELD], TAP_TOLERANCE("10000 draws", 0.03, 0),
             TAP_CLOSED_FORM);
    TAP_NEAR(sqrt(edge), c.spread[SF_DOUBT_OUTER_EDGE], TAP_TOLERANCE("10000 draws", 0.03, 0), TAP_CLOSED_FORM);
    free(draws);
    free(again);
    close_case(&c);
}

TAP_CASE(the_truth_of_invented_pylons_lies_inside)
{
    // Twenty-five pylons are measured with an error; for each the truth behind that reading is drawn twenty times and
    // solved in full.
    enum { PYLONS = 25, TRUTHS = 20, DRAWS = 4000 };
    int inside[2] = { 0, 0 }, count = 0;
    sf_Draw *draws = calloc(DRAWS, sizeof *draws);
    for (int k = 0; k < PYLONS; k++) {
        Case c;
        sf_Band band;
        sf_Draw truths[TRUTHS];
        open_case(&c, 44 + 13.0 * ((k * 7) % PYLONS) / PYLONS, 34 + 11.0 * ((k * 7) % PYLONS) / PYLONS, k % 3 ? 0 : 5.5,
                  k % 5 == 4);
        sf_draws_make(draws, DRAWS, &c.sizes, 3);
        TAP_OK(sf_band_find(&band, NULL, c.law, draws, DRAWS, NULL));
        sf_draws_make(truths, TRUTHS, &c.sizes, 1000 + (uint64_t)k);
        for (int i = 0; i < TRUTHS; i++, count++) {
            sf_BandForces truth = { NAN, NAN };
            TAP_OK(sf_band_solve(&truth, &c.band_line, &truths[i], NULL));
            inside[0] += truth.elastic >= band.elastic[0] && truth.elastic <= band.elastic[1];
            inside[1] += truth.collapse >= band.collapse[0] && truth.collapse <= band.collapse[1];
        }
        close_case(&c);
    }
    free(draws);
    tap_note("%d truths: inside %.1f %% (first yield), %.1f %% (collapse)", count, 100.0 * inside[0] / count,
             100.0 * inside[1] / count);
    for (int e = 0; e < 2; e++)
        TAP_TRUE(inside[e] >= 0.87 * count && inside[e] <= 0.93 * count, "%d of %d", inside[e], count);
}

// Everything the bands allocate, from models to quantiles.
static sf_Status whole_band(void *context)
{
    Case *c = context;
    sf_BandModels *models = NULL;
    sf_BandLaw *law = NULL;
    sf_Band band;
    sf_Draw draws[8];
    sf_Status status;
    sf_draws_make(draws, 8, &c->sizes, 1);
    SF_TRY_DONE(sf_band_models_create(&models, &c->pylon, &c->model, c->spread, NULL));
    SF_TRY_DONE(sf_band_law_create(&law, models, &c->band_line, NULL));
    SF_TRY_DONE(sf_band_find(&band, NULL, law, draws, 8, NULL));
done:
    sf_band_law_destroy(&law);
    sf_band_models_destroy(&models);
    return status;
}

TAP_CASE(every_failed_allocation_is_survived)
{
    Case c;
    open_case(&c, 50, 38, 0, false);
    tap_every_allocation(whole_band, &c, 400, "bands of one line");
    close_case(&c);
}

TAP_MAIN(TAP_RUN(every_failed_allocation_is_survived), TAP_RUN(the_surface_agrees_with_full_section_solutions),
         TAP_RUN(the_quick_law_agrees_with_full_solutions), TAP_RUN(the_same_seed_gives_the_same_band),
         TAP_RUN(the_truth_of_invented_pylons_lies_inside))
