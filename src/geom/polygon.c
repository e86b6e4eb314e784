// SPDX-License-Identifier: GPL-3.0-or-later
#include "geom/polygon.h"

#include "base/alloc.h"

#include <string.h>

sf_Status sf_polygon_create(sf_Polygon *polygon, size_t count, sf_Error *err)
{
    *polygon = (sf_Polygon){ sf_alloc(count, sizeof(sf_Point)), count };
    if (polygon->points)
        return SF_OK;
    polygon->count = 0;
    return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory for an outline of %zu points", count);
}

void sf_polygon_free(sf_Polygon *polygon)
{
    sf_free(polygon->points);
    *polygon = (sf_Polygon){ 0 };
}

sf_Status sf_polygon_copy(sf_Polygon *out, const sf_Polygon *polygon, sf_Error *err)
{
    SF_TRY(sf_polygon_create(out, polygon->count, err));
    memcpy(out->points, polygon->points, polygon->count * sizeof *polygon->points);
    return SF_OK;
}

void sf_polygon_reverse(sf_Polygon *polygon)
{
    for (size_t i = 0, j = polygon->count; i + 1 < j; i++) {
        sf_Point swap = polygon->points[i];
        polygon->points[i] = polygon->points[--j];
        polygon->points[j] = swap;
    }
}

sf_Moments sf_polygon_moments(const sf_Polygon *polygon)
{
    sf_Moments m = { 0 };
    if (polygon->count < SF_POLYGON_MIN_POINTS)
        return m;
    // Sums run about the first point, which keeps them accurate for a small ring far from the origin.
    sf_Point origin = polygon->points[0];
    for (size_t i = 0; i < polygon->count; i++) {
        sf_Point p = sf_point_sub(polygon->points[i], origin);
        sf_Point q = sf_point_sub(polygon->points[(i + 1) % polygon->count], origin);
        double c = sf_point_cross(p, q);
        m.area += c / 2;
        m.sx += c * (p.x + q.x) / 6;
        m.sy += c * (p.y + q.y) / 6;
        m.ixx += c * (p.y * p.y + p.y * q.y + q.y * q.y) / 12;
        m.iyy += c * (p.x * p.x + p.x * q.x + q.x * q.x) / 12;
        m.ixy += c * (p.x * q.y + 2 * p.x * p.y + 2 * q.x * q.y + q.x * p.y) / 24;
    }
    m.ixx += 2 * origin.y * m.sy + origin.y * origin.y * m.area;
    m.iyy += 2 * origin.x * m.sx + origin.x * origin.x * m.area;
    m.ixy += origin.x * m.sy + origin.y * m.sx + origin.x * origin.y * m.area;
    m.sx += origin.x * m.area;
    m.sy += origin.y * m.area;
    return m;
}

double sf_polygon_area(const sf_Polygon *polygon)
{
    return sf_polygon_moments(polygon).area;
}

sf_Point sf_polygon_centroid(const sf_Polygon *polygon)
{
    sf_Moments m = sf_polygon_moments(polygon);
    return (sf_Point){ m.sx / m.area, m.sy / m.area };
}

double sf_polygon_perimeter(const sf_Polygon *polygon)
{
    double sum = 0;
    for (size_t i = 0; i < polygon->count; i++)
        sum += sf_point_distance(polygon->points[i], polygon->points[(i + 1) % polygon->count]);
    return sum;
}

bool sf_polygon_contains(const sf_Polygon *polygon, sf_Point point)
{
    bool inside = false;
    for (size_t i = 0, j = polygon->count - 1; i < polygon->count; j = i++) {
        sf_Point a = polygon->points[i], b = polygon->points[j];
        if ((a.y > point.y) != (b.y > point.y) && point.x < (b.x - a.x) * (point.y - a.y) / (b.y - a.y) + a.x)
            inside = !inside;
    }
    return inside;
}

static sf_Point nearest_on_segment(sf_Point a, sf_Point b, sf_Point point)
{
    sf_Point along = sf_point_sub(b, a);
    double length2 = sf_point_dot(along, along);
    double t = length2 > 0 ? sf_point_dot(sf_point_sub(point, a), along) / length2 : 0;
    t = t < 0 ? 0 : t > 1 ? 1 : t;
    return sf_point_add(a, sf_point_scale(along, t));
}

double sf_polygon_distance(const sf_Polygon *polygon, sf_Point point, sf_Point *nearest, size_t *edge)
{
    double best = INFINITY;
    for (size_t i = 0; i < polygon->count; i++) {
        sf_Point place = nearest_on_segment(polygon->points[i], polygon->points[(i + 1) % polygon->count], point);
        sf_Point d = sf_point_sub(place, point);
        double distance2 = sf_point_dot(d, d);
        if (distance2 < best) {
            best = distance2;
            if (nearest)
                *nearest = place;
            if (edge)
                *edge = i;
        }
    }
    return sqrt(best);
}

double sf_polygon_ray_last(const sf_Polygon *polygon, sf_Point origin, double angle)
{
    sf_Point direction = { cos(angle), sin(angle) };
    double last = NAN;
    for (size_t i = 0; i < polygon->count; i++) {
        sf_Point a = sf_point_sub(polygon->points[i], origin);
        sf_Point b = sf_point_sub(polygon->points[(i + 1) % polygon->count], origin);
        double ca = sf_point_cross(direction, a), cb = sf_point_cross(direction, b);
        if ((ca > 0) == (cb > 0))
            continue;
        double t = ca / (ca - cb);
        double distance = sf_point_dot(direction, a) * (1 - t) + sf_point_dot(direction, b) * t;
        if (distance > 0 && !(distance <= last))
            last = distance;
    }
    return last;
}
