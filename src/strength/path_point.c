// SPDX-License-Identifier: GPL-3.0-or-later
#include "strength/path_point.h"

#include <math.h>
#include <string.h>

static const double joint_tolerance = 1e-9; // m, of the far joint; deflections are millimetres
enum { TURNS_MOST = 25 };

// Deflection and slope, and their rates with the two slopes of the lower arm and the force.
typedef struct Shape {
    sf_Point w, slope;
    sf_Point dw[3], ds[3];
} Shape;

static Shape straight(Shape s, double h)
{
    s.w = sf_point_add(s.w, sf_point_scale(s.slope, h));
    for (int p = 0; p < 3; p++)
        s.dw[p] = sf_point_add(s.dw[p], sf_point_scale(s.ds[p], h));
    return s;
}

// Moment, what torsion and shear leave, and the section's answer at station i.
static bool answer(sf_PathPoint *point, const sf_CollapseCase *at, size_t i, const Shape *s, double axial)
{
    const sf_CollapseModel *model = at->model;
    const sf_PylonStation *station = &model->pylon->stations[i];
    sf_Point to_line = sf_point_sub(sf_load_line_at(at->line, station->height), s->w);
    sf_Point slope = sf_point_sub(at->line->slope, s->slope);
    sf_Point arm = sf_point_sub(to_line, station->section.shear_centre);
    double torque = axial * (arm.y * slope.x - arm.x * slope.y);
    point->torque[i] = torque;
    point->tilt[i] = slope;
    point->share[i] =
        sf_yield_share(&station->section, sf_stress_law_most(&at->law), torque, axial * sf_point_length(slope));
    point->moment[i] = sf_point_scale(sf_point_sub(to_line, model->gross[i].origin), axial);
    return sf_fibre_respond(&point->gross[i], &model->gross[i], &at->law, point->share[i], axial, point->moment[i]);
}

// Rate of the share of yield with parameter p.
static double share_rate(const sf_PathPoint *point, const sf_CollapseCase *at, size_t i, const Shape *s, int p,
                         double axial, double more)
{
    const sf_PylonStation *station = &at->model->pylon->stations[i];
    double yield = sf_stress_law_most(&at->law), q = point->share[i];
    sf_Point tilt = point->tilt[i], to_line = sf_point_sub(sf_load_line_at(at->line, station->height), s->w);
    sf_Point arm = sf_point_sub(to_line, station->section.shear_centre);
    double length = sf_point_length(tilt);
    double turned = axial * (-s->dw[p].y * tilt.x - arm.y * s->ds[p].x + s->dw[p].x * tilt.y + arm.x * s->ds[p].y) +
                    more / axial * point->torque[i];
    double pushed = more * length - (length > 0 ? axial * sf_point_dot(tilt, s->ds[p]) / length : 0);
    double tau = fabs(point->torque[i]) / station->section.torque_arm_area + axial * length / station->section.area;
    double rate =
        copysign(turned, turned * point->torque[i]) / station->section.torque_arm_area + pushed / station->section.area;
    return q > 0 ? -3 * tau * rate / (yield * yield * q) : 0;
}

// Rates of the curvature at station i.
static void curvature_rates(sf_Point *rate, const sf_PathPoint *point, const sf_CollapseCase *at, size_t i,
                            const Shape *s, double axial)
{
    const sf_FibreState *f = &point->gross[i];
    for (int p = 0; p < 3; p++) {
        double more = p == 2 ? 1 / at->line->length_factor : 0;
        sf_Point dm = sf_point_sub(sf_point_scale(point->moment[i], more / axial), sf_point_scale(s->dw[p], axial));
        double dq = f->elastic ? 0 : share_rate(point, at, i, s, p, axial, more);
        rate[p].x = f->kxx * dm.x + f->kxy * dm.y + f->by_axial.x * more + f->by_share.x * dq;
        rate[p].y = f->kxy * dm.x + f->kyy * dm.y + f->by_axial.y * more + f->by_share.y * dq;
    }
}

// Runs from the lower joint to the upper one by the trapezoidal rule on the curvature (explicit: the deflection at the
// next station needs only the curvature at this one). False where a section finds no answer.
static bool run(sf_PathPoint *point, const sf_CollapseCase *at, Shape *end, double *largest)
{
    const sf_Pylon *pylon = at->model->pylon;
    double axial = point->force / at->line->length_factor, z = fmin(at->line->lower_joint, pylon->cut);
    Shape s = { .slope = point->slope, .ds = { { 1, 0 }, { 0, 1 }, { 0, 0 } } };
    sf_Point rate[3] = { 0 };
    *largest = 0;
    for (size_t i = 0; i < pylon->station_count; i++) {
        const sf_PylonStation *station = &pylon->stations[i];
        double h = station->height - z;
        bool rigid = i == 0 || z < pylon->grip_top - 1e-12;
        sf_Point before = i > 0 ? point->gross[i - 1].k : (sf_Point){ 0, 0 };
        s = straight(s, h);
        if (!rigid) {
            s.w = sf_point_add(s.w, sf_point_scale(before, 0.5 * h * h));
            s.slope = sf_point_add(s.slope, sf_point_scale(before, 0.5 * h));
            for (int p = 0; p < 3; p++) {
                s.dw[p] = sf_point_add(s.dw[p], sf_point_scale(rate[p], 0.5 * h * h));
                s.ds[p] = sf_point_add(s.ds[p], sf_point_scale(rate[p], 0.5 * h));
            }
        }
        z = station->height;
        // Within the grip nothing bends; strength there is looked at when the shape is found.
        if (z >= pylon->grip_top - 1e-12) {
            if (!answer(point, at, i, &s, axial))
                return false;
            curvature_rates(rate, point, at, i, &s, axial);
            if (!rigid) {
                s.slope = sf_point_add(s.slope, sf_point_scale(point->gross[i].k, 0.5 * h));
                for (int p = 0; p < 3; p++)
                    s.ds[p] = sf_point_add(s.ds[p], sf_point_scale(rate[p], 0.5 * h));
            }
        }
        *largest = fmax(*largest, sf_point_length(s.w));
    }
    *end = straight(s, fmax(at->line->upper_joint, pylon->top) - z);
    return isfinite(end->w.x) && isfinite(end->w.y);
}

// ---- what ends the path -----------------------------------------------------------------------------------------

static void weigh(sf_PathEnd *most, double used, sf_EndCause cause, size_t station, int net, double strain)
{
    if (used > most->used || isnan(used))
        *most = (sf_PathEnd){
            .used = isnan(used) ? INFINITY : used, .cause = cause, .station = station, .net = net, .strain = strain
        };
}

static void weigh_tube(sf_PathEnd *most, const sf_CollapseCase *at, const sf_PathPoint *point, size_t i, double axial)
{
    const sf_CollapseModel *model = at->model;
    const sf_FibreSection *f = &model->gross[i];
    double moment = sf_point_length(point->moment[i]), E = at->law.modulus;
    weigh(most, moment / sf_brazier_moment(E, at->poisson, model->radius[i], model->wall[i]), SF_END_FLATTENING, i, -1,
          NAN);
    double squeezed = axial / f->sum + moment * f->reach / (0.5 * (f->jxx + f->jyy));
    squeezed = fmin(squeezed, sf_stress_law_most(&at->law));
    weigh(most, squeezed / sf_wrinkling_stress(E, at->poisson, model->radius[i], model->wall[i]), SF_END_WRINKLING, i,
          -1, NAN);
}

static void find_nearest_end(sf_PathPoint *point, const sf_CollapseCase *at, double axial)
{
    const sf_CollapseModel *model = at->model;
    sf_PathEnd most = { .used = -1, .net = -1 };
    for (size_t i = 0; i < model->pylon->station_count; i++) {
        double strain = sf_fibre_strain_most(&model->gross[i], &point->gross[i]);
        weigh(&most, strain / at->law.strain_limit, SF_END_STRAIN, i, -1, strain);
        weigh_tube(&most, at, point, i, axial);
    }
    for (size_t h = 0; h < model->net_count; h++) {
        size_t i = model->net_station[h];
        double strain = NAN;
        if (sf_fibre_respond(&point->net[h], &model->net[h], &at->law, point->share[i], axial, point->moment[i]))
            strain = sf_fibre_strain_most(&model->net[h], &point->net[h]);
        weigh(&most, strain / at->law.strain_limit, SF_END_STRAIN, i, (int)h, strain);
    }
    most.axial = axial;
    most.moment = point->moment[most.station];
    most.share = point->share[most.station];
    point->end = most;
}

// Strength of the stations within the grip, which the shape does not need; then what is nearest to the end.
static void judge(sf_PathPoint *point, const sf_CollapseCase *at)
{
    const sf_Pylon *pylon = at->model->pylon;
    double axial = point->force / at->line->length_factor;
    for (size_t i = 0; i < pylon->station_count && pylon->stations[i].height < pylon->grip_top - 1e-12; i++) {
        double from = pylon->stations[i].height - fmin(at->line->lower_joint, pylon->cut);
        Shape s = { .w = sf_point_scale(point->slope, at->first_order ? 0 : from), .slope = point->slope };
        if (!answer(point, at, i, &s, axial))
            point->gross[i] = (sf_FibreState){ .k = { INFINITY, 0 } };
    }
    find_nearest_end(point, at, axial);
}

// ---- finding points ---------------------------------------------------------------------------------------------

static bool solve3(double a[3][4], double *x)
{
    for (int c = 0; c < 3; c++) {
        int p = c;
        for (int r = c + 1; r < 3; r++)
            p = fabs(a[r][c]) > fabs(a[p][c]) ? r : p;
        if (!(fabs(a[p][c]) > 0))
            return false;
        for (int k = 0; k < 4; k++) {
            double swap = a[c][k];
            a[c][k] = a[p][k];
            a[p][k] = swap;
        }
        for (int r = 0; r < 3; r++)
            if (r != c) {
                double f = a[r][c] / a[c][c];
                for (int k = c; k < 4; k++)
                    a[r][k] -= f * a[c][k];
            }
    }
    for (int c = 0; c < 3; c++)
        x[c] = a[c][3] / a[c][c];
    return true;
}

// Newton's rule for both far joint conditions and one more, linear in the scaled unknowns: row . u = value.
static bool settle(sf_PathPoint *point, const sf_CollapseCase *at, const double *row, double value, Shape *end)
{
    double scale[3] = { point->slope_scale, point->slope_scale, point->force_scale }, largest;
    for (point->turns = 1; point->turns <= TURNS_MOST; point->turns++) {
        if (!run(point, at, end, &largest))
            return false;
        double u[3] = { point->slope.x / scale[0], point->slope.y / scale[1], point->force / scale[2] }, x[3], a[3][4];
        double miss = sf_point_length(end->w), off = value - (row[0] * u[0] + row[1] * u[1] + row[2] * u[2]);
        point->residual = largest > 0 ? miss / largest : 0;
        if (miss < joint_tolerance && fabs(off) < 1e-9)
            return true;
        for (int p = 0; p < 3; p++) {
            a[0][p] = end->dw[p].x * scale[p];
            a[1][p] = end->dw[p].y * scale[p];
            a[2][p] = row[p];
        }
        a[0][3] = -end->w.x;
        a[1][3] = -end->w.y;
        a[2][3] = off;
        if (!solve3(a, x))
            return false;
        point->slope.x += x[0] * scale[0];
        point->slope.y += x[1] * scale[1];
        point->force += x[2] * scale[2];
        if (!(point->force > 0) || !isfinite(point->slope.x + point->slope.y))
            return false;
    }
    return false;
}

// The direction that keeps both far joint conditions: the cross product of their rates.
static bool aim(sf_PathPoint *point, const Shape *end, const double *onward)
{
    double scale[3] = { point->slope_scale, point->slope_scale, point->force_scale }, a[3], b[3], length = 0, same = 0;
    for (int p = 0; p < 3; p++) {
        a[p] = end->dw[p].x * scale[p];
        b[p] = end->dw[p].y * scale[p];
    }
    double t[3] = { a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0] };
    for (int p = 0; p < 3; p++) {
        length += t[p] * t[p];
        same += t[p] * onward[p];
    }
    if (!(length > 0))
        return false;
    length = copysign(sqrt(length), same);
    for (int p = 0; p < 3; p++)
        point->along[p] = t[p] / length;
    point->rise = point->along[2];
    return true;
}

bool sf_path_begin(sf_PathPoint *point, const sf_CollapseCase *at, double force)
{
    static const double fixed[3] = { 0, 0, 1 };
    Shape end;
    memset(point, 0, sizeof *point);
    point->force = point->force_scale = force;
    point->slope_scale = 1e-3;
    if (!settle(point, at, fixed, 1, &end))
        return false;
    point->slope_scale = fmax(sf_point_length(point->slope), 1e-6);
    if (!aim(point, &end, fixed))
        return false;
    judge(point, at);
    return true;
}

bool sf_path_step(sf_PathPoint *point, const sf_PathPoint *from, const sf_CollapseCase *at, double step)
{
    Shape end;
    *point = *from;
    double scale[3] = { point->slope_scale, point->slope_scale, point->force_scale }, value = step;
    double u[3] = { point->slope.x / scale[0], point->slope.y / scale[1], point->force / scale[2] };
    for (int p = 0; p < 3; p++)
        value += from->along[p] * u[p];
    point->slope.x += step * from->along[0] * scale[0];
    point->slope.y += step * from->along[1] * scale[1];
    point->force += step * from->along[2] * scale[2];
    if (!(point->force > 0) || !settle(point, at, from->along, value, &end) || !aim(point, &end, from->along))
        return false;
    judge(point, at);
    return true;
}

bool sf_path_point_straight(sf_PathPoint *point, const sf_CollapseCase *at, double force)
{
    const sf_Pylon *pylon = at->model->pylon;
    double axial = force / at->line->length_factor;
    point->force = force; // the sections' states serve as first guesses
    for (size_t i = 0; i < pylon->station_count; i++) {
        Shape s = { .w = { 0, 0 } };
        if (!answer(point, at, i, &s, axial))
            point->gross[i] = (sf_FibreState){ .k = { INFINITY, 0 } };
    }
    find_nearest_end(point, at, axial);
    return point->end.used < 1;
}
