// SPDX-License-Identifier: GPL-3.0-or-later
#include "strength/beam.h"

#include <math.h>
#include <string.h>

// Deflection (x, y) and its slope; three solutions run side by side: the particular one and one for each unit slope at
// the lower joint.
enum { SOLUTIONS = 3 };

typedef struct State {
    sf_Point w, slope;
} State;

typedef struct Bend {
    double a, b, c; // w'' = [a b; b c] (e - w)
    sf_Point eccentricity;
} Bend;

static Bend bend_of(const sf_BeamSection *section, sf_Point line, double axial_over_modulus)
{
    double det = section->jxx * section->jyy - section->jxy * section->jxy, f = axial_over_modulus / det;
    return (Bend){ f * section->jyy, -f * section->jxy, f * section->jxx, sf_point_sub(line, section->centroid) };
}

static State rate(const Bend *bend, State s, bool particular)
{
    sf_Point e = particular ? sf_point_sub(bend->eccentricity, s.w) : sf_point_scale(s.w, -1);
    return (State){ s.slope, { bend->a * e.x + bend->b * e.y, bend->b * e.x + bend->c * e.y } };
}

static State along(State s, State r, double h)
{
    return (State){ sf_point_add(s.w, sf_point_scale(r.w, h)), sf_point_add(s.slope, sf_point_scale(r.slope, h)) };
}

// One step of the classical Runge-Kutta rule.
static State step(const Bend *start, const Bend *middle, const Bend *end, State s, double h, bool particular)
{
    State k1 = rate(start, s, particular);
    State k2 = rate(middle, along(s, k1, 0.5 * h), particular);
    State k3 = rate(middle, along(s, k2, 0.5 * h), particular);
    State k4 = rate(end, along(s, k3, h), particular);
    s = along(s, k1, h / 6);
    s = along(s, k2, h / 3);
    s = along(s, k3, h / 3);
    return along(s, k4, h / 6);
}

static State straight(State s, double h)
{
    return (State){ sf_point_add(s.w, sf_point_scale(s.slope, h)), s.slope };
}

static double spread(const State *s)
{
    return sf_point_cross(s[1].w, s[2].w);
}

// Before the first place where some unit slope leads back to the axis, the two unit solutions keep a positive
// determinant and a positive trace; the trace tells when both come back at once, as in a round tube.
static bool apart(const State *s)
{
    return spread(s) > 0 && s[1].w.x + s[2].w.y > 0;
}

// Runs all three from the lower joint to the upper; `kept` gets them at every station. False when a combination of the
// unit slopes comes back to the axis on the way: then the force is critical or above.
static bool run(State kept[][SOLUTIONS], State *end, const sf_Pylon *pylon, const sf_LoadLine *line, double ratio)
{
    State s[SOLUTIONS] = { { { 0, 0 }, { 0, 0 } }, { { 0, 0 }, { 1, 0 } }, { { 0, 0 }, { 0, 1 } } };
    double z = fmin(line->lower_joint, pylon->cut);
    for (size_t i = 0; i < pylon->station_count; i++) {
        const sf_PylonStation *station = &pylon->stations[i];
        if (i == 0 || z < pylon->grip_top - 1e-12) {
            for (int k = 0; k < SOLUTIONS; k++)
                s[k] = straight(s[k], station->height - z);
        } else {
            const sf_PylonStation *before = &pylon->stations[i - 1];
            Bend a = bend_of(&before->section, sf_load_line_at(line, z), ratio);
            Bend m = bend_of(&before->middle, sf_load_line_at(line, 0.5 * (z + station->height)), ratio);
            Bend b = bend_of(&station->section, sf_load_line_at(line, station->height), ratio);
            for (int k = 0; k < SOLUTIONS; k++)
                s[k] = step(&a, &m, &b, s[k], station->height - z, k == 0);
        }
        z = station->height;
        memcpy(kept[i], s, sizeof s);
        if (i > 0 && !apart(s))
            return false;
    }
    for (int k = 0; k < SOLUTIONS; k++)
        end[k] = straight(s[k], fmax(line->upper_joint, pylon->top) - z);
    return apart(end);
}

static sf_Actions actions_at(const sf_PylonStation *station, const sf_LoadLine *line, double axial, State w)
{
    sf_Point to_line = sf_point_sub(sf_load_line_at(line, station->height), w.w);
    sf_Point slope = sf_point_sub(line->slope, w.slope);
    sf_Point from_shear = sf_point_sub(to_line, station->section.shear_centre);
    return (sf_Actions){ axial, sf_point_scale(sf_point_sub(to_line, station->section.centroid), axial),
                         sf_point_scale(slope, axial), axial * (from_shear.y * slope.x - from_shear.x * slope.y) };
}

bool sf_beam_actions(sf_Actions *actions, const sf_Pylon *pylon, const sf_LoadLine *line, double force, double modulus,
                     double *residual)
{
    static const State still = { { 0, 0 }, { 0, 0 } };
    double axial = force / line->length_factor;
    if (residual)
        *residual = 0;
    if (isinf(modulus)) {
        for (size_t i = 0; i < pylon->station_count; i++)
            actions[i] = actions_at(&pylon->stations[i], line, axial, still);
        return true;
    }
    State kept[SF_STATION_MAX][SOLUTIONS], end[SOLUTIONS];
    if (!run(kept, end, pylon, line, axial / modulus))
        return false;
    // w(end) = particular + c1 first + c2 second = 0
    double det = spread(end);
    double c1 = -sf_point_cross(end[0].w, end[2].w) / det, c2 = -sf_point_cross(end[1].w, end[0].w) / det;
    double largest = 0;
    for (size_t i = 0; i < pylon->station_count; i++) {
        State w = along(along(kept[i][0], kept[i][1], c1), kept[i][2], c2);
        largest = fmax(largest, sf_point_length(w.w));
        actions[i] = actions_at(&pylon->stations[i], line, axial, w);
    }
    sf_Point miss = along(along(end[0], end[1], c1), end[2], c2).w;
    if (residual && largest > 0)
        *residual = sf_point_length(miss) / largest;
    return true;
}
