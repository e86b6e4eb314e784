// SPDX-License-Identifier: GPL-3.0-or-later
#include "strength/elastic.h"

#include "base/units.h"
#include "num/bracket.h"

#include <math.h>

sf_NormalStress sf_section_normal_stress(const sf_BeamSection *section, const sf_Actions *actions, sf_Point point)
{
    double det = section->jxx * section->jyy - section->jxy * section->jxy;
    double p = (section->jyy * actions->moment.x - section->jxy * actions->moment.y) / det;
    double q = (section->jxx * actions->moment.y - section->jxy * actions->moment.x) / det;
    sf_Point from = sf_point_sub(point, section->centroid);
    return (sf_NormalStress){ -actions->axial / section->area, -(p * from.x + q * from.y) };
}

static double limb_angle(sf_Point a)
{
    double angle = atan2(a.y, a.x);
    return angle < 0 ? angle + 2 * SF_PI : angle;
}

// Shear stress at the outer edge in the direction of `point`: torsion's greatest, on the side of caution, and a thin
// ring's 2 V / A at right angles to the shear force.
static double shear_stress(const sf_BeamSection *section, const sf_Actions *actions, sf_Point point)
{
    sf_Point from = sf_point_sub(point, section->centroid);
    double twist = fabs(actions->torque) * section->shear_per_torque;
    double r = sf_point_length(from);
    return twist + (r > 0 ? 2 * fabs(sf_point_cross(from, actions->shear)) / (r * section->area) : 0);
}

static sf_PeakCause cause_of(const sf_NormalStress *normal, double shear)
{
    double total = fabs(normal->axial + normal->bending);
    if (sqrt(3) * shear > total)
        return SF_PEAK_SHEAR;
    return fabs(normal->axial) > fabs(normal->bending) ? SF_PEAK_AXIAL : SF_PEAK_BENDING;
}

static void weigh_fibres(sf_Peak *peak, const sf_PylonStation *station, const sf_Actions *actions)
{
    const sf_BeamSection *section = &station->section;
    double det = section->jxx * section->jyy - section->jxy * section->jxy;
    double p = (section->jyy * actions->moment.x - section->jxy * actions->moment.y) / det;
    double q = (section->jxx * actions->moment.y - section->jxy * actions->moment.x) / det;
    double axial = -actions->axial / section->area, best = -1;
    double twist = fabs(actions->torque) * section->shear_per_torque, across = 2 / section->area;
    size_t at = 0;
    for (size_t k = 0; k < SF_FIBRE_COUNT; k++) {
        sf_Point from = sf_point_sub(section->fibre[k], section->centroid);
        double normal = axial - (p * from.x + q * from.y);
        double shear = twist + across * fabs(sf_point_cross(from, actions->shear)) / sqrt(sf_point_dot(from, from));
        double squared = normal * normal + 3 * shear * shear;
        if (squared > best) {
            best = squared;
            at = k;
        }
        if (fabs(normal) > fabs(peak->normal)) {
            peak->normal = normal;
            peak->normal_angle = (double)k;
        }
    }
    peak->normal_angle = limb_angle(sf_point_sub(section->fibre[(size_t)peak->normal_angle], section->centroid));
    peak->von_mises = sqrt(best);
    peak->angle = limb_angle(sf_point_sub(section->fibre[at], section->centroid));
    sf_NormalStress normal = sf_section_normal_stress(section, actions, section->fibre[at]);
    peak->cause = cause_of(&normal, shear_stress(section, actions, section->fibre[at]));
}

static void weigh_holes(sf_Peak *peak, const sf_Pylon *pylon, size_t index, const sf_Actions *actions)
{
    const sf_BeamSection *section = &pylon->stations[index].section;
    for (size_t h = 0; h < pylon->hole_count; h++) {
        if (pylon->hole_station[h] != index)
            continue;
        const sf_BeamHole *hole = &pylon->holes[h];
        double a = fmod(fmod(hole->angle, 2 * SF_PI) + 2 * SF_PI, 2 * SF_PI);
        sf_Point place = section->fibre[(size_t)lround(a / (2 * SF_PI) * SF_FIBRE_COUNT) % SF_FIBRE_COUNT];
        sf_HoleFactors factors = sf_hole_factors(hole->diameter, section->outer_diameter, section->inner_diameter);
        sf_NormalStress normal = sf_section_normal_stress(section, actions, place);
        double edge =
            sf_hole_edge_stress(&factors, normal.axial, normal.bending, shear_stress(section, actions, place));
        if (edge > peak->von_mises) {
            peak->von_mises = edge;
            peak->angle = a;
            peak->hole = (int)h;
            peak->cause = SF_PEAK_HOLE;
        }
    }
}

sf_Peak sf_station_peak(const sf_Pylon *pylon, size_t index, const sf_Actions *actions)
{
    sf_Peak peak = { .height = pylon->stations[index].height, .hole = -1, .station = index };
    weigh_fibres(&peak, &pylon->stations[index], actions);
    weigh_holes(&peak, pylon, index, actions);
    return peak;
}

// No plain fibre of the station can be more stressed than this: the two fibres farthest along the stress gradient, and
// the greatest shear stress at once. Fibres stand every 2 degrees, so the farthest of all is at most 1/cos(1 degree)
// farther.
static double fibre_bound(const sf_BeamSection *section, const sf_Actions *actions)
{
    static const double between_fibres = 1.0002;
    double det = section->jxx * section->jyy - section->jxy * section->jxy;
    sf_Point g = { (section->jyy * actions->moment.x - section->jxy * actions->moment.y) / det,
                   (section->jxx * actions->moment.y - section->jxy * actions->moment.x) / det };
    size_t k = (size_t)lround(limb_angle(g) / (2 * SF_PI) * SF_FIBRE_COUNT) % SF_FIBRE_COUNT;
    double ahead = sf_point_dot(g, sf_point_sub(section->fibre[k], section->centroid));
    k = (k + SF_FIBRE_COUNT / 2) % SF_FIBRE_COUNT;
    double behind = -sf_point_dot(g, sf_point_sub(section->fibre[k], section->centroid));
    double axial = -actions->axial / section->area;
    double normal = between_fibres * fmax(fabs(axial - ahead), fabs(axial + behind));
    double shear = fabs(actions->torque) * section->shear_per_torque +
                   2 * sqrt(sf_point_dot(actions->shear, actions->shear)) / section->area;
    return sqrt(normal * normal + 3 * shear * shear);
}

static bool holed(const sf_Pylon *pylon, size_t index)
{
    for (size_t h = 0; h < pylon->hole_count; h++)
        if (pylon->hole_station[h] == index)
            return true;
    return false;
}

sf_Peak sf_pylon_peak(const sf_Pylon *pylon, const sf_Actions *actions)
{
    double bounds[SF_STATION_MAX];
    size_t first = 0;
    for (size_t i = 0; i < pylon->station_count; i++) {
        bounds[i] = fibre_bound(&pylon->stations[i].section, &actions[i]);
        first = bounds[i] > bounds[first] ? i : first;
    }
    // The likeliest station first; then only those that might still beat it.
    sf_Peak most = sf_station_peak(pylon, first, &actions[first]);
    for (size_t i = 0; i < pylon->station_count; i++) {
        if (i == first || (bounds[i] < most.von_mises && !holed(pylon, i)))
            continue;
        sf_Peak peak = sf_station_peak(pylon, i, &actions[i]);
        if (peak.von_mises > most.von_mises)
            most = peak;
    }
    return most;
}

static double farthest_stress(const sf_BeamSection *section, const sf_Actions *actions)
{
    double most = 0;
    for (size_t k = 0; k < SF_FIBRE_COUNT; k++) {
        sf_NormalStress s = sf_section_normal_stress(section, actions, section->fibre[k]);
        most = fmax(most, fabs(s.axial + s.bending));
    }
    return most;
}

double sf_pylon_normal_stress(const sf_Pylon *pylon, const sf_Actions *actions)
{
    double most = 0;
    for (size_t i = 0; i < pylon->station_count; i++)
        most = fmax(most, farthest_stress(&pylon->stations[i].section, &actions[i]));
    return most;
}

double sf_pylon_net_stress(const sf_Pylon *pylon, const sf_Actions *actions)
{
    double most = sf_pylon_normal_stress(pylon, actions);
    for (size_t h = 0; h < pylon->hole_count; h++) {
        size_t i = pylon->hole_station[h];
        sf_BeamSection net = sf_pylon_net_section(pylon, i);
        // The line keeps its place while the centroid of what is left moves away from the hole.
        sf_Actions moved = actions[i];
        sf_Point shift = sf_point_sub(pylon->stations[i].section.centroid, net.centroid);
        moved.moment = sf_point_add(moved.moment, sf_point_scale(shift, moved.axial));
        most = fmax(most, farthest_stress(&net, &moved));
    }
    return most;
}

double sf_section_seam_shear(const sf_BeamSection *section, const sf_Actions *actions, double angle)
{
    double a = fmod(fmod(angle, 2 * SF_PI) + 2 * SF_PI, 2 * SF_PI);
    sf_Point place = section->fibre[(size_t)lround(a / (2 * SF_PI) * SF_FIBRE_COUNT) % SF_FIBRE_COUNT];
    return shear_stress(section, actions, place) / (1 - section->unjoined_share);
}

static double excess(const sf_ElasticCase *at, double force)
{
    sf_Actions actions[SF_STATION_MAX];
    if (!sf_beam_actions(actions, at->pylon, at->line, force, at->modulus, NULL))
        return INFINITY;
    return sf_pylon_peak(at->pylon, actions).von_mises / at->yield - 1;
}

static const double yield_force_tolerance = 1e-6; // relative, of the force: far below any figure of a card
enum { YIELD_SEARCH_MOST = 200 };
static const double YIELD_MARGIN = 1e-3; // of the bracket: the peak is nearly in proportion to the force

// Plain halving while the upper end lies beyond the critical force.
sf_Status sf_elastic_yield_force(double *force, const sf_ElasticCase *at, int *evaluations, sf_Error *err)
{
    sf_Bracket b = { .low = 0, .f_low = -1, .high = 100 };
    int n = 1;
    while ((b.f_high = excess(at, b.high)) < 0 && n++ < YIELD_SEARCH_MOST) {
        b.low = b.high;
        b.f_low = b.f_high;
        // The peak grows at least in proportion to the force, so this step never falls short by much nor overshoots
        // far.
        b.high *= fmin(fmax(1.05 / (1 + b.f_high), 1.5), 100);
    }
    while (b.high - b.low > yield_force_tolerance * b.high && n++ < YIELD_SEARCH_MOST) {
        bool chord = isfinite(b.f_high) && b.f_high < 3;
        double next = chord ? sf_bracket_next(&b, YIELD_MARGIN) : 0.5 * (b.low + b.high), f = excess(at, next);
        sf_bracket_take(&b, next, f, f < 0);
    }
    if (evaluations)
        *evaluations = n;
    *force = 0.5 * (b.low + b.high);
    if (!(b.high - b.low <= yield_force_tolerance * b.high) || !(b.low > 0))
        return SF_FAIL(err, SF_E_CONVERGE, NULL,
                       "the force at first yield was not found between %g and %g N: check sizes and material", b.low,
                       b.high);
    return SF_OK;
}
