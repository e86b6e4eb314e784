// SPDX-License-Identifier: GPL-3.0-or-later
#include "strength/collapse.h"

#include "base/alloc.h"
#include "base/units.h"
#include "num/bracket.h"
#include "strength/path_point.h"

#include <math.h>

static const double plastic_enough = 0.95; // of the section's full plastic moment: more strain would bring no more
static const double column_below = 0.90;   // of the section's strength at the peak: bending away ran ahead of it
static const double end_tolerance = 1e-5;  // of the force, where the path ends
enum { STEPS_MOST = 400, END_MOST = 60 };

const char *sf_mechanism_word(sf_Mechanism mechanism)
{
    static const char *const words[SF_MECHANISM_COUNT] = { "section-yield",  "strain-limit", "flattening",
                                                           "local-buckling", "column",       "net-section-at-holes" };
    return words[mechanism];
}

const char *sf_mechanism_phrase(sf_Mechanism mechanism)
{
    static const char *const phrases[SF_MECHANISM_COUNT] = {
        "yield of a whole section", "the strain limit of the material", "flattening of the tube",
        "wrinkling of its wall",    "bending away as a column",         "yield of the section that the holes leave"
    };
    return phrases[mechanism];
}

double sf_yield_share(const sf_BeamSection *section, double yield, double torque, double shear)
{
    double tau = fabs(torque) / section->torque_arm_area + fabs(shear) / section->area;
    double left = 1 - 3 * tau * tau / (yield * yield);
    return left > 0 ? sqrt(left) : 0;
}

double sf_brazier_moment(double modulus, double poisson, double radius, double wall)
{
    return 2 * sqrt(2) / 9 * SF_PI * modulus * radius * wall * wall / sqrt(1 - poisson * poisson);
}

double sf_flattening_stress(double modulus, double moment, double second_moment, double radius, double wall,
                            double angle)
{
    double bent = moment / second_moment;
    return 1.5 * bent * bent * radius * radius * radius / (modulus * wall) * fabs(cos(2 * angle));
}

double sf_wrinkling_stress(double modulus, double poisson, double radius, double wall)
{
    double knock_down = 1 - 0.731 * (1 - exp(-sqrt(radius / wall) / 16));
    return knock_down * modulus * wall / (radius * sqrt(3 * (1 - poisson * poisson)));
}

// ---- the model --------------------------------------------------------------------------------------------------

// All holes that cut the height of a hole's station.
static void drill_station(sf_CollapseModel *model, size_t station)
{
    sf_FibreSection *net = &model->net[model->net_count];
    double height = model->pylon->stations[station].height;
    *net = model->gross[station];
    for (size_t h = 0; h < model->pylon->hole_count; h++) {
        const sf_BeamHole *hole = &model->pylon->holes[h];
        double off = fabs(hole->height - height), radius = 0.5 * hole->diameter;
        if (off < radius)
            sf_fibre_section_drill(net, hole->angle, 2 * sqrt(radius * radius - off * off));
    }
    model->net_station[model->net_count++] = station;
}

sf_Status sf_collapse_model_create(sf_CollapseModel *model, const sf_Pylon *pylon, sf_Error *err)
{
    size_t n = pylon->station_count;
    *model = (sf_CollapseModel){ .pylon = pylon };
    model->gross = sf_alloc(n, sizeof *model->gross);
    model->net = sf_alloc(pylon->hole_count + 1, sizeof *model->net);
    model->radius = sf_alloc(n, sizeof *model->radius);
    model->wall = sf_alloc(n, sizeof *model->wall);
    if (!model->gross || !model->net || !model->radius || !model->wall) {
        sf_collapse_model_free(model);
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory while cutting the pylon into fibres");
    }
    for (size_t i = 0; i < n; i++) {
        const sf_BeamSection *section = &pylon->stations[i].section;
        sf_fibre_section_make(&model->gross[i], section);
        model->radius[i] = 0.25 * (section->outer_diameter + section->inner_diameter);
        model->wall[i] = 0.5 * (section->outer_diameter - section->inner_diameter);
    }
    for (size_t h = 0; h < pylon->hole_count; h++) {
        bool there = false;
        for (size_t i = 0; i < model->net_count; i++)
            there = there || model->net_station[i] == pylon->hole_station[h];
        if (!there)
            drill_station(model, pylon->hole_station[h]);
    }
    return SF_OK;
}

void sf_collapse_model_free(sf_CollapseModel *model)
{
    sf_free(model->gross);
    sf_free(model->net);
    sf_free(model->radius);
    sf_free(model->wall);
    *model = (sf_CollapseModel){ .pylon = model->pylon };
}

// ---- the end of the path ----------------------------------------------------------------------------------------

static sf_Mechanism name_end(const sf_PathPoint *point, const sf_CollapseCase *at, bool peak, double *used)
{
    const sf_PathEnd *end = &point->end;
    *used = NAN;
    if (!peak && end->cause == SF_END_FLATTENING)
        return SF_MECHANISM_FLATTENING;
    if (!peak && end->cause == SF_END_WRINKLING)
        return SF_MECHANISM_LOCAL_BUCKLING;
    sf_StressLaw full = at->law;
    full.strain_limit = 10 * fmax(at->law.strain_limit, sf_stress_law_most(&at->law) / at->law.modulus);
    const sf_FibreSection *f = end->net >= 0 ? &at->model->net[end->net] : &at->model->gross[end->station];
    double angle = atan2(end->moment.y, end->moment.x);
    double strength = sf_fibre_moment_limit(f, &full, end->share, end->axial, angle);
    *used = strength > 0 ? sf_point_length(end->moment) / strength : 1;
    if (end->net >= 0 && !(peak && *used < column_below))
        return SF_MECHANISM_NET_SECTION;
    if (peak)
        return *used < column_below ? SF_MECHANISM_COLUMN : SF_MECHANISM_SECTION_YIELD;
    return *used >= plastic_enough ? SF_MECHANISM_SECTION_YIELD : SF_MECHANISM_STRAIN_LIMIT;
}

static void finish(sf_Collapse *out, const sf_PathPoint *point, const sf_CollapseCase *at, bool peak)
{
    out->force = point->force;
    out->mechanism = name_end(point, at, peak, &out->section_used);
    out->station = point->end.station;
    out->strain = point->end.strain;
    out->residual = point->residual;
    out->axial = point->force / at->line->length_factor;
    for (size_t i = 0; i < at->model->pylon->station_count; i++) {
        out->arm[i] = sf_point_scale(point->moment[i], 1 / point->end.axial);
        out->share[i] = point->share[i];
    }
}

// Below 0 before the end of the path, above it after.
static double past_end(const sf_PathPoint *point, bool peak)
{
    return peak ? -point->rise : log(fmin(fmax(point->end.used, 1e-3), 1e3));
}

// First order: moments in proportion to the force, so only the end has to be found.
static sf_Status find_first_order(sf_Collapse *out, const sf_CollapseCase *at, sf_PathPoint *point,
                                  sf_PathPoint *beyond, sf_Error *err)
{
    sf_Bracket b = { .low = 0, .f_low = -1, .high = at->start };
    int n = 0;
    while (sf_path_point_straight(point, at, b.high) && n++ < END_MOST) {
        b.low = b.high;
        b.f_low = past_end(point, false);
        b.high *= 1.5;
    }
    b.f_high = past_end(point, false);
    *beyond = *point;
    while (b.high - b.low > end_tolerance * b.high && n++ < 2 * END_MOST) {
        double next = sf_bracket_next(&b, 0.05);
        bool holds = sf_path_point_straight(point, at, next);
        sf_bracket_take(&b, next, past_end(point, false), holds);
        if (!holds)
            *beyond = *point;
    }
    if (!(b.high - b.low <= end_tolerance * b.high))
        return SF_FAIL(err, SF_E_CONVERGE, NULL, "the force at collapse was not found between %g and %g N", b.low,
                       b.high);
    out->points = n;
    finish(out, beyond, at, false);
    return SF_OK;
}

// Between `before` and a step of length `far` beyond it, where the function above is `f_far`: the place where the path
// ends. `end` becomes the point just past it, which knows what ended it.
static bool find_end(sf_PathPoint *end, const sf_PathPoint *before, const sf_CollapseCase *at, double far, double f_far,
                     bool peak, sf_PathPoint *try)
{
    sf_Bracket b = { .low = 0, .high = far, .f_low = past_end(before, peak), .f_high = f_far };
    double highest = before->force;
    bool found = false;
    for (int n = 0; n < END_MOST; n++) {
        double next = sf_bracket_next(&b, 0.02);
        if (!sf_path_step(try, before, at, next))
            return false;
        double f = past_end(try, peak);
        highest = fmax(highest, try->force);
        sf_bracket_take(&b, next, f, f < 0);
        if (f >= 0) {
            *end = *try;
            found = true;
        }
        // What the force may still change by within the bracket.
        if (found && (b.high - b.low) * fabs(try->rise) * try->force_scale < end_tolerance * try->force)
            break;
    }
    if (peak)
        end->force = highest;
    return found;
}

sf_Status sf_collapse_find(sf_Collapse *out, const sf_CollapseCase *at, sf_Error *err)
{
    *out = (sf_Collapse){ .force = NAN };
    // Three points of the path: the last good one, the one tried, the end.
    sf_PathPoint *points = sf_alloc(3, sizeof *points);
    if (!points)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory while following a pylon to collapse");
    sf_PathPoint *here = &points[0], *next = &points[1], *end = &points[2];
    sf_Status status = SF_OK;
    double step = 0.15, force = at->start;
    if (at->first_order) {
        status = find_first_order(out, at, here, next, err);
        goto done;
    }
    bool begun = false;
    for (int n = 0; n < 12 && !begun; n++, force *= 0.6)
        begun = sf_path_begin(here, at, force) && here->end.used < 1;
    if (!begun) {
        status =
            SF_FAIL(err, SF_E_CONVERGE, NULL, "the bent shape at %g N was not found: check sizes and material", force);
        goto done;
    }
    for (out->points = 1; out->points < STEPS_MOST; out->points++) {
        if (!sf_path_step(next, here, at, step)) {
            step *= 0.4;
            if (step < 1e-7)
                break;
            continue;
        }
        if (next->end.used >= 1 || next->rise < 0) {
            bool peak = next->end.used < 1;
            double rise = next->rise;
            bool ended = find_end(end, here, at, step, past_end(next, peak), peak, next);
            if (ended && !peak && end->rise < 0) { // the strain limit lies past the peak
                peak = true;
                ended = find_end(end, here, at, step, -rise, peak, next);
            }
            if (ended) {
                finish(out, end, at, peak);
                goto done;
            }
            step *= 0.4;
            continue;
        }
        sf_PathPoint *swap = here;
        here = next;
        next = swap;
        step *= here->turns <= 4 ? 1.5 : here->turns > 7 ? 0.7 : 1;
    }
    status = SF_FAIL(err, SF_E_CONVERGE, NULL, "the path to collapse could not be followed beyond %g N", here->force);
done:
    sf_free(points);
    return status;
}
