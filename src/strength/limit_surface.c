// SPDX-License-Identifier: GPL-3.0-or-later
#include "strength/limit_surface.h"

#include "base/units.h"

#include <math.h>

enum { LEVELS = SF_SURFACE_LEVELS, DIRECTIONS = SF_SURFACE_DIRECTIONS, SEARCH_MOST = 40 };

typedef struct Bent {
    const sf_FibreSection *fibres;
    const sf_StressLaw *law;
    sf_Point d;           // compressed towards
    double ahead, behind; // reach of the edge along d
} Bent;

// The strain state number s of direction d with the limit reached: 0 squeezed evenly, 1 both edges at the limit, 2
// pulled evenly. Axial force falls as s rises.
static double axial_at(const Bent *b, double s, sf_Point *moment)
{
    double limit = b->law->strain_limit, high = b->ahead - b->behind, axial;
    double k = 2 * limit / high * (s <= 1 ? s : 2 - s);
    double e0 = s <= 1 ? k * b->ahead - limit : limit + k * b->behind;
    sf_fibre_actions(&axial, moment, b->fibres, b->law, 1, e0, sf_point_scale(b->d, k));
    return axial;
}

// The moment beside a given axial force, by the Illinois rule on s.
static sf_Point moment_at(const Bent *b, double axial)
{
    double low = 0, high = 2, whole = sf_stress_law_most(b->law) * b->fibres->sum;
    sf_Point moment = { 0, 0 };
    double f_low = axial_at(b, low, &moment) - axial, f_high = axial_at(b, high, &moment) - axial;
    int stayed = 0;
    for (int n = 0; n < SEARCH_MOST; n++) {
        double s = low + (high - low) * fmin(fmax(f_low / (f_low - f_high), 0.01), 0.99);
        double f = axial_at(b, s, &moment) - axial;
        if (fabs(f) < 1e-4 * whole)
            break;
        if (f > 0) {
            low = s;
            f_low = f;
            f_high = stayed > 0 ? 0.5 * f_high : f_high;
            stayed = 1;
        } else {
            high = s;
            f_high = f;
            f_low = stayed < 0 ? 0.5 * f_low : f_low;
            stayed = -1;
        }
    }
    return moment;
}

// From points all round at any angles to radii at even angles: where each ray crosses the chord between two points.
static void resample(double *radius, const sf_Point *points, double unit)
{
    for (size_t i = 0; i < DIRECTIONS; i++) {
        sf_Point a = points[i], b = points[(i + 1) % DIRECTIONS], edge = sf_point_sub(b, a);
        double from = atan2(a.y, a.x), turn = atan2(sf_point_cross(a, b), sf_point_dot(a, b));
        double step = 2 * SF_PI / DIRECTIONS;
        for (long k = (long)ceil(from / step - 1e-9); (double)k * step <= from + turn + 1e-9; k++) {
            sf_Point ray = { cos((double)k * step), sin((double)k * step) };
            double across = sf_point_cross(ray, edge);
            double r = across != 0 ? sf_point_cross(a, edge) / across : sf_point_length(a);
            radius[(size_t)((k % DIRECTIONS + DIRECTIONS) % DIRECTIONS)] = r * unit;
        }
    }
}

void sf_limit_surface_make(sf_LimitSurface *surface, const sf_FibreSection *fibres, const sf_StressLaw *law)
{
    double yield = sf_stress_law_most(law);
    surface->area = fibres->sum;
    for (size_t level = 0; level < LEVELS; level++) {
        sf_Point points[DIRECTIONS];
        for (size_t k = 0; k < DIRECTIONS; k++) {
            double angle = 2 * SF_PI * (double)k / DIRECTIONS;
            Bent b = { fibres, law, { cos(angle), sin(angle) }, -INFINITY, INFINITY };
            for (size_t i = 0; i < SF_FIBRE_COUNT; i++) {
                double far = sf_point_dot(b.d, fibres->edge[i]);
                b.ahead = fmax(b.ahead, far);
                b.behind = fmin(b.behind, far);
            }
            points[k] = moment_at(&b, (double)level * SF_SURFACE_STEP * yield * fibres->sum);
        }
        resample(surface->moment[level], points, 1 / yield);
    }
}

void sf_limit_surface_row(double row[SF_SURFACE_LEVELS], const sf_LimitSurface *surface, double angle)
{
    double turn = angle / (2 * SF_PI) * DIRECTIONS, whole = floor(turn), share = turn - whole;
    size_t k = (size_t)(((long)whole % DIRECTIONS + DIRECTIONS) % DIRECTIONS), next = (k + 1) % DIRECTIONS;
    for (size_t i = 0; i < LEVELS; i++)
        row[i] = surface->moment[i][k] + share * (surface->moment[i][next] - surface->moment[i][k]);
}

double sf_limit_row_moment(const double row[SF_SURFACE_LEVELS], double area, double yield, double axial)
{
    double n = axial / (yield * area * SF_SURFACE_STEP), last = LEVELS - 1, squash = 1 / SF_SURFACE_STEP;
    size_t at = n < 1 ? 0 : n >= LEVELS - 2 ? LEVELS - 3 : (size_t)(n - 0.5);
    double t = fmin(n, last) - (double)at;
    double moment = row[at] * (t - 1) * (t - 2) / 2 - row[at + 1] * t * (t - 2) + row[at + 2] * t * (t - 1) / 2;
    return yield * moment * (n > last ? fmax((squash - n) / (squash - last), 0) : 1);
}

double sf_limit_surface_moment(const sf_LimitSurface *surface, double yield, double axial, double angle)
{
    double row[SF_SURFACE_LEVELS];
    sf_limit_surface_row(row, surface, angle);
    return sf_limit_row_moment(row, surface->area, yield, axial);
}
