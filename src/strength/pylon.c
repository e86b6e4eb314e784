// SPDX-License-Identifier: GPL-3.0-or-later
#include "strength/pylon.h"

#include "base/alloc.h"
#include "base/units.h"
#include "section/torsion.h"
#include "strength/closed_cell.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>

enum { GRIP_PIECES = 4, FREE_PIECES = 28 };

static const double same_height = 0.05 * SF_MM; // stations nearer than this are one

static void find_fibres(sf_BeamSection *section, const sf_Polygon *outer)
{
    // Support points by walking: the farthest point in a turning direction only moves forward along the hull.
    for (size_t k = 0; k < SF_FIBRE_COUNT; k++) {
        double a = 2 * SF_PI * (double)k / SF_FIBRE_COUNT, best = -INFINITY;
        sf_Point d = { cos(a), sin(a) };
        for (size_t i = 0; i < outer->count; i++) {
            double far = sf_point_dot(outer->points[i], d);
            if (far > best) {
                best = far;
                section->fibre[k] = outer->points[i];
            }
        }
    }
}

static double unjoined_share(const sf_Outline *outline)
{
    if (!outline->line.present)
        return 0;
    if (outline->line.through)
        return 1;
    double length = sf_point_distance(outline->line.start, outline->line.end);
    double left = sf_polygon_distance(&outline->outer, outline->line.end, NULL, NULL);
    return length / (length + left);
}

// Means over three whole degrees round each ray; voids go to the fibre they lie nearest to.
static void map_wall(sf_WallRays *wall, const sf_ClosedCell *cell, const sf_Outline *outline)
{
    enum { SUB = SF_CELL_RAYS / SF_WALL_RAYS };
    *wall = (sf_WallRays){ .origin = cell->origin };
    for (size_t k = 0; k < SF_WALL_RAYS; k++)
        for (size_t i = 0; i < SUB; i++) {
            size_t at = (SUB * k + i + SF_CELL_RAYS - SUB / 2) % SF_CELL_RAYS;
            wall->outer[k] += cell->outer[at] / SUB;
            wall->inner[k] += cell->inner[at] / SUB;
        }
    for (size_t i = 0; i < outline->void_count; i++) {
        sf_Point at = sf_point_sub(sf_polygon_centroid(&outline->voids[i]), wall->origin);
        double turn = atan2(at.y, at.x) / (2 * SF_PI) * SF_WALL_RAYS;
        size_t k = (size_t)lround(turn + SF_WALL_RAYS) % SF_WALL_RAYS;
        bool outside = sf_point_length(at) > 0.5 * (wall->outer[k] + wall->inner[k]);
        wall->lost[k][outside] += fabs(sf_polygon_area(&outline->voids[i]));
    }
}

// A closed wall yields in shear at torque / (2 A t) where it is thinnest, less what an unjoined line takes of it;
// opened by the line it still holds as a bent strip. The better of the two.
static double torque_arm_area(const sf_ClosedCell *cell, double unjoined_share)
{
    return fmax(2 * cell->enclosed_area * cell->wall_min * (1 - unjoined_share), cell->open_shear_area);
}

sf_Status sf_beam_section_compute(sf_BeamSection *section, const sf_Outline *outline, sf_TorsionRoute *route,
                                  sf_Error *err)
{
    sf_Section whole;
    sf_ClosedCell cell;
    SF_TRY(sf_section_compute(&whole, outline, err));
    SF_TRY(sf_closed_cell_compute(&cell, outline, err));
    *section = (sf_BeamSection){ .area = whole.area,
                                 .centroid = whole.centroid,
                                 .jxx = whole.iy,
                                 .jyy = whole.ix,
                                 .jxy = whole.ixy,
                                 .torsion_constant = cell.torsion_constant,
                                 .shear_per_torque = cell.shear_per_torque,
                                 .shear_centre = cell.shear_centre,
                                 .outer_diameter = whole.outer_diameter_mean,
                                 .inner_diameter = whole.inner_diameter_mean,
                                 .wall_min = cell.wall_min,
                                 .unjoined_share = unjoined_share(outline) };
    section->torque_arm_area = torque_arm_area(&cell, section->unjoined_share);
    find_fibres(section, &outline->outer);
    map_wall(&section->wall, &cell, outline);
    *route = SF_TORSION_CLOSED_CELL;
    if (outline->line.present) {
        sf_Torsion torsion;
        sf_TorsionOptions options = { .fineness = 1, .second_solve = false };
        SF_TRY(sf_torsion_compute(&torsion, outline, &options, err));
        section->torsion_constant = torsion.torsion_constant;
        section->shear_per_torque = torsion.peak_shear_per_torque;
        section->shear_centre = torsion.shear_centre;
        *route = SF_TORSION_ELEMENTS;
    }
    return SF_OK;
}

static double mix(double a, double b, double s)
{
    return a + s * (b - a);
}

static sf_Point mix_point(sf_Point a, sf_Point b, double s)
{
    return (sf_Point){ mix(a.x, b.x, s), mix(a.y, b.y, s) };
}

sf_BeamSection sf_beam_section_between(const sf_BeamSection *a, const sf_BeamSection *b, double s)
{
    sf_BeamSection out = { .area = mix(a->area, b->area, s),
                           .centroid = mix_point(a->centroid, b->centroid, s),
                           .jxx = mix(a->jxx, b->jxx, s),
                           .jyy = mix(a->jyy, b->jyy, s),
                           .jxy = mix(a->jxy, b->jxy, s),
                           .torsion_constant = mix(a->torsion_constant, b->torsion_constant, s),
                           .shear_per_torque = mix(a->shear_per_torque, b->shear_per_torque, s),
                           .shear_centre = mix_point(a->shear_centre, b->shear_centre, s),
                           .outer_diameter = mix(a->outer_diameter, b->outer_diameter, s),
                           .inner_diameter = mix(a->inner_diameter, b->inner_diameter, s),
                           .wall_min = mix(a->wall_min, b->wall_min, s),
                           .unjoined_share = mix(a->unjoined_share, b->unjoined_share, s),
                           .torque_arm_area = mix(a->torque_arm_area, b->torque_arm_area, s) };
    for (size_t k = 0; k < SF_FIBRE_COUNT; k++)
        out.fibre[k] = mix_point(a->fibre[k], b->fibre[k], s);
    out.wall.origin = mix_point(a->wall.origin, b->wall.origin, s);
    for (size_t k = 0; k < SF_WALL_RAYS; k++) {
        out.wall.outer[k] = mix(a->wall.outer[k], b->wall.outer[k], s);
        out.wall.inner[k] = mix(a->wall.inner[k], b->wall.inner[k], s);
        for (size_t i = 0; i < SF_WALL_LAYERS; i++)
            out.wall.lost[k][i] = mix(a->wall.lost[k][i], b->wall.lost[k][i], s);
    }
    return out;
}

static sf_BeamSection section_at(double height, const double *heights, const sf_BeamSection *rings, size_t count)
{
    if (height <= heights[0])
        return rings[0];
    if (height >= heights[count - 1])
        return rings[count - 1];
    size_t i = 1;
    while (height > heights[i])
        i++;
    return sf_beam_section_between(&rings[i - 1], &rings[i], (height - heights[i - 1]) / (heights[i] - heights[i - 1]));
}

static int compare(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

// Heights of all stations, rising and each once.
static size_t place_stations(double *at, const sf_Pylon *pylon, const double *rings, size_t ring_count)
{
    size_t n = 0;
    if (pylon->grip_top > pylon->cut)
        for (size_t i = 0; i < GRIP_PIECES; i++)
            at[n++] = mix(pylon->cut, pylon->grip_top, (double)i / GRIP_PIECES);
    for (size_t i = 0; i <= FREE_PIECES; i++)
        at[n++] = mix(pylon->grip_top, pylon->top, (double)i / FREE_PIECES);
    // Holes and rings come last, so that a station of the even spacing that is too near gives way to them.
    for (size_t i = 0; i < pylon->hole_count; i++)
        if (pylon->holes[i].height > pylon->cut && pylon->holes[i].height < pylon->top)
            at[n++] = pylon->holes[i].height;
    for (size_t i = 0; i < ring_count; i++)
        if (rings[i] > pylon->cut && rings[i] < pylon->top)
            at[n++] = rings[i];
    qsort(at, n, sizeof *at, compare);
    size_t kept = 1;
    for (size_t i = 1; i < n; i++)
        if (at[i] - at[kept - 1] > same_height)
            at[kept++] = at[i];
    at[kept - 1] = pylon->top;
    return kept;
}

sf_Status sf_pylon_create(sf_Pylon *pylon, double cut, double grip_top, double top, const double *heights,
                          const sf_BeamSection *rings, size_t count, const sf_BeamHole *holes, size_t hole_count,
                          sf_Error *err)
{
    double at[GRIP_PIECES + FREE_PIECES + 1 + SF_HOLE_MAX + SF_RING_MAX];
    assert(count >= 1 && count <= SF_RING_MAX && hole_count <= SF_HOLE_MAX);
    *pylon = (sf_Pylon){ .cut = cut, .grip_top = grip_top, .top = top, .hole_count = hole_count };
    if (!(top - grip_top >= 1 * SF_MM && grip_top >= cut))
        return SF_FAIL(
            err, SF_E_RANGE, "pylon.top_height_mm",
            "the pylon has no free length: its top at %.1f mm must lie above the grip, which ends at %.1f mm",
            top / SF_MM, grip_top / SF_MM);
    for (size_t i = 0; i < hole_count; i++)
        pylon->holes[i] = holes[i];
    size_t n = place_stations(at, pylon, heights, count);
    pylon->stations = sf_alloc(n, sizeof *pylon->stations);
    if (!pylon->stations)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory while laying out the pylon");
    pylon->station_count = n;
    for (size_t i = 0; i < n; i++) {
        sf_PylonStation *station = &pylon->stations[i];
        station->height = at[i];
        station->section = section_at(at[i], heights, rings, count);
        station->middle = section_at(i + 1 < n ? 0.5 * (at[i] + at[i + 1]) : at[i], heights, rings, count);
    }
    for (size_t h = 0; h < hole_count; h++)
        for (size_t i = 0; i < n; i++)
            if (fabs(at[i] - holes[h].height) < fabs(at[pylon->hole_station[h]] - holes[h].height))
                pylon->hole_station[h] = i;
    return SF_OK;
}

void sf_pylon_free(sf_Pylon *pylon)
{
    sf_free(pylon->stations);
    pylon->stations = NULL;
    pylon->station_count = 0;
}

sf_BeamSection sf_pylon_net_section(const sf_Pylon *pylon, size_t index)
{
    const sf_PylonStation *station = &pylon->stations[index];
    sf_BeamSection net = station->section;
    double area = net.area, sx = 0, sy = 0, jxx = net.jxx, jyy = net.jyy, jxy = net.jxy;
    for (size_t h = 0; h < pylon->hole_count; h++) {
        const sf_BeamHole *hole = &pylon->holes[h];
        double off = fabs(hole->height - station->height), radius = 0.5 * hole->diameter;
        if (off >= radius)
            continue;
        double wall = 0.5 * (net.outer_diameter - net.inner_diameter);
        double r = 0.25 * (net.outer_diameter + net.inner_diameter);
        double strip = 2 * sqrt(radius * radius - off * off) * wall;
        double x = r * cos(hole->angle) - net.centroid.x, y = r * sin(hole->angle) - net.centroid.y;
        area -= strip;
        sx -= strip * x;
        sy -= strip * y;
        jxx -= strip * x * x;
        jyy -= strip * y * y;
        jxy -= strip * x * y;
    }
    sf_Point shift = { sx / area, sy / area };
    net.area = area;
    net.centroid = sf_point_add(net.centroid, shift);
    net.jxx = jxx - area * shift.x * shift.x;
    net.jyy = jyy - area * shift.y * shift.y;
    net.jxy = jxy - area * shift.x * shift.y;
    return net;
}
