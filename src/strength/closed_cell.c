// SPDX-License-Identifier: GPL-3.0-or-later
#include "strength/closed_cell.h"

#include "base/units.h"

#include <math.h>

enum { RAYS = SF_CELL_RAYS };

void sf_polygon_radii(const sf_Polygon *polygon, sf_Point origin, double *radii, size_t count)
{
    double step = 2 * SF_PI / (double)count;
    for (size_t k = 0; k < count; k++)
        radii[k] = NAN;
    for (size_t i = 0; i < polygon->count; i++) {
        sf_Point a = sf_point_sub(polygon->points[i], origin);
        sf_Point b = sf_point_sub(polygon->points[(i + 1) % polygon->count], origin);
        double turn = atan2(sf_point_cross(a, b), sf_point_dot(a, b));
        double from = atan2(a.y, a.x), to = from + turn;
        if (turn < 0) {
            double swap = from;
            from = to;
            to = swap;
        }
        sf_Point edge = sf_point_sub(b, a);
        for (long k = (long)ceil(from / step - 1e-9); (double)k * step <= to + 1e-9 * step; k++) {
            sf_Point ray = { cos((double)k * step), sin((double)k * step) };
            double along = sf_point_cross(ray, edge);
            double r = along != 0 ? sf_point_cross(a, edge) / along : NAN;
            size_t index = (size_t)((k % (long)count + (long)count) % (long)count);
            if (r > 0 && !(radii[index] >= r))
                radii[index] = r;
        }
    }
}

typedef struct Wall {
    sf_Point middle[RAYS];
    double thickness[RAYS];
    double length[RAYS]; // of the piece from k to k + 1
} Wall;

// Shear flow around the cut ring for a shear force that makes M' = (mx, my) the rate of the stress gradient; its moment
// about the origin per unit force, after closing the cell.
static double shear_moment(const Wall *wall, sf_Point centroid, double p, double q)
{
    double flow = 0, closing = 0, around = 0, moment = 0, flows[RAYS];
    for (size_t k = 0; k < RAYS; k++) {
        size_t next = (k + 1) % RAYS;
        sf_Point m = sf_point_scale(sf_point_add(wall->middle[k], wall->middle[next]), 0.5);
        double t = 0.5 * (wall->thickness[k] + wall->thickness[next]), ds = wall->length[k];
        double part = (p * (m.x - centroid.x) + q * (m.y - centroid.y)) * t * ds;
        flows[k] = flow - 0.5 * part;
        flow -= part;
        closing += flows[k] * ds / t;
        around += ds / t;
    }
    for (size_t k = 0; k < RAYS; k++) {
        double arm = sf_point_cross(wall->middle[k], wall->middle[(k + 1) % RAYS]);
        moment += (flows[k] - closing / around) * arm;
    }
    return moment;
}

static sf_Point shear_centre(const Wall *wall, sf_Point origin)
{
    double area = 0, sx = 0, sy = 0, jxx = 0, jyy = 0, jxy = 0;
    for (int pass = 0; pass < 2; pass++)
        for (size_t k = 0; k < RAYS; k++) {
            size_t next = (k + 1) % RAYS;
            sf_Point m = sf_point_scale(sf_point_add(wall->middle[k], wall->middle[next]), 0.5);
            double da = 0.5 * (wall->thickness[k] + wall->thickness[next]) * wall->length[k];
            if (pass == 0) {
                area += da;
                sx += m.x * da;
                sy += m.y * da;
            } else {
                double x = m.x - sx / area, y = m.y - sy / area;
                jxx += x * x * da;
                jyy += y * y * da;
                jxy += x * y * da;
            }
        }
    sf_Point centroid = { sx / area, sy / area };
    // A force (Vx, Vy) makes the stress gradient J^-1 V; its flow turns about the origin as V at (x, y) would: x Vy - y
    // Vx.
    double det = jxx * jyy - jxy * jxy;
    double from_x = shear_moment(wall, centroid, jyy / det, -jxy / det);
    double from_y = shear_moment(wall, centroid, -jxy / det, jxx / det);
    return sf_point_add(origin, (sf_Point){ from_y, -from_x });
}

sf_Status sf_closed_cell_compute(sf_ClosedCell *cell, const sf_Outline *outline, sf_Error *err)
{
    double *outer = cell->outer, *inner = cell->inner;
    Wall wall;
    sf_Point origin = sf_polygon_centroid(&outline->inner);
    sf_polygon_radii(&outline->outer, origin, outer, RAYS);
    sf_polygon_radii(&outline->inner, origin, inner, RAYS);
    cell->origin = origin;
    cell->wall_min = INFINITY;
    for (size_t k = 0; k < RAYS; k++) {
        double a = 2 * SF_PI * (double)k / RAYS;
        wall.thickness[k] = outer[k] - inner[k];
        wall.middle[k] = sf_point_scale((sf_Point){ cos(a), sin(a) }, 0.5 * (outer[k] + inner[k]));
        if (!(wall.thickness[k] > 0))
            return SF_FAIL(err, SF_E_GEOMETRY, NULL, "the ring has no wall at %g degrees seen from the bore's centre",
                           a / SF_DEG);
        cell->wall_min = fmin(cell->wall_min, wall.thickness[k]);
    }
    double around = 0, area2 = 0, squared = 0, cubed = 0, steepest = 0;
    for (size_t k = 0; k < RAYS; k++) {
        size_t next = (k + 1) % RAYS;
        double t = 0.5 * (wall.thickness[k] + wall.thickness[next]);
        wall.length[k] = sf_point_distance(wall.middle[k], wall.middle[next]);
        around += wall.length[k] / t;
        squared += wall.length[k] * t * t;
        cubed += wall.length[k] * t * t * t;
        area2 += sf_point_cross(wall.middle[k], wall.middle[next]);
    }
    for (size_t k = 0; k < RAYS; k++)
        steepest = fmax(steepest, area2 / (wall.thickness[k] * around) + 0.5 * wall.thickness[k]);
    cell->enclosed_area = 0.5 * area2;
    cell->torsion_constant = area2 * area2 / around + 0.25 * cubed;
    cell->open_shear_area = 0.5 * squared;
    cell->shear_per_torque = steepest / cell->torsion_constant;
    cell->shear_centre = shear_centre(&wall, origin);
    return SF_OK;
}
