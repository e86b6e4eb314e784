// SPDX-License-Identifier: GPL-3.0-or-later
#include "geom/circle.h"

#include "base/alloc.h"
#include "base/units.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

// ---- convex hull -------------------------------------------------------------------------------------------------

static int by_place(const void *a, const void *b)
{
    const sf_Point *p = a, *q = b;
    if (p->x != q->x)
        return p->x < q->x ? -1 : 1;
    return p->y < q->y ? -1 : p->y > q->y;
}

static double turn(sf_Point a, sf_Point b, sf_Point c)
{
    return sf_point_cross(sf_point_sub(b, a), sf_point_sub(c, a));
}

// Andrew's monotone chain, counter-clockwise without repeated points.
static sf_Status make_hull(sf_Polygon *hull, const sf_Polygon *polygon, sf_Error *err)
{
    size_t n = polygon->count;
    sf_Polygon sorted = { 0 };
    SF_TRY(sf_polygon_copy(&sorted, polygon, err));
    sf_Status status = sf_polygon_create(hull, 2 * n + 1, err);
    if (status == SF_OK) {
        qsort(sorted.points, n, sizeof *sorted.points, by_place);
        sf_Point *h = hull->points;
        size_t k = 0;
        for (size_t i = 0; i < n; h[k++] = sorted.points[i++])
            while (k >= 2 && turn(h[k - 2], h[k - 1], sorted.points[i]) <= 0)
                k--;
        for (size_t i = n - 1, floor = k + 1; i-- > 0; h[k++] = sorted.points[i])
            while (k >= floor && turn(h[k - 2], h[k - 1], sorted.points[i]) <= 0)
                k--;
        hull->count = k > 1 ? k - 1 : k;
    }
    sf_polygon_free(&sorted);
    return status;
}

// ---- least circle around -----------------------------------------------------------------------------------------

static sf_Circle through_two(sf_Point a, sf_Point b)
{
    return (sf_Circle){ sf_point_scale(sf_point_add(a, b), 0.5), sf_point_distance(a, b) / 2 };
}

static sf_Circle through_three(sf_Point a, sf_Point b, sf_Point c)
{
    sf_Point u = sf_point_sub(b, a), v = sf_point_sub(c, a);
    double d = 2 * sf_point_cross(u, v), uu = sf_point_dot(u, u), vv = sf_point_dot(v, v);
    if (d == 0) // in line: the two farthest apart
        return uu > vv ? through_two(a, b) : through_two(a, c);
    sf_Point offset = { (v.y * uu - u.y * vv) / d, (u.x * vv - v.x * uu) / d };
    return (sf_Circle){ sf_point_add(a, offset), sf_point_length(offset) };
}

static bool holds(const sf_Circle *circle, sf_Point p)
{
    return sf_point_distance(circle->centre, p) <= circle->radius * (1 + 1e-13);
}

static void shuffle(sf_Polygon *points)
{
    uint64_t state = 0x9e3779b97f4a7c15u; // fixed: the same outline gives the same result
    for (size_t i = points->count; i > 1; i--) {
        state = state * 6364136223846793005u + 1442695040888963407u;
        size_t j = (size_t)((state >> 33) % i);
        sf_Point swap = points->points[i - 1];
        points->points[i - 1] = points->points[j];
        points->points[j] = swap;
    }
}

sf_Status sf_circle_around(sf_Circle *circle, const sf_Polygon *polygon, sf_Error *err)
{
    sf_Polygon hull = { 0 };
    sf_Status status = make_hull(&hull, polygon, err);
    if (status != SF_OK) {
        sf_polygon_free(&hull);
        return status;
    }
    shuffle(&hull);
    const sf_Point *p = hull.points;
    sf_Circle c = { p[0], 0 };
    for (size_t i = 1; i < hull.count; i++) {
        if (holds(&c, p[i]))
            continue;
        c = (sf_Circle){ p[i], 0 };
        for (size_t j = 0; j < i; j++) {
            if (holds(&c, p[j]))
                continue;
            c = through_two(p[i], p[j]);
            for (size_t k = 0; k < j; k++)
                if (!holds(&c, p[k]))
                    c = through_three(p[i], p[j], p[k]);
        }
    }
    *circle = c;
    sf_polygon_free(&hull);
    return SF_OK;
}

// ---- jaws --------------------------------------------------------------------------------------------------------

static double across(const sf_Polygon *hull, size_t edge, size_t point)
{
    sf_Point a = hull->points[edge], b = hull->points[(edge + 1) % hull->count];
    return turn(a, b, hull->points[point]) / sf_point_distance(a, b);
}

static double half_turn(sf_Point d)
{
    double angle = atan2(d.y, d.x);
    if (angle < 0)
        angle += SF_PI;
    return angle >= SF_PI ? 0 : angle;
}

static void widen(sf_CaliperWidth *width, sf_Point a, sf_Point b)
{
    double d = sf_point_distance(a, b);
    if (d > width->largest) {
        width->largest = d;
        width->largest_angle = half_turn(sf_point_sub(b, a));
    }
}

sf_Status sf_caliper_width(sf_CaliperWidth *width, const sf_Polygon *polygon, sf_Error *err)
{
    sf_Polygon hull = { 0 };
    sf_Status status = make_hull(&hull, polygon, err);
    if (status == SF_OK && hull.count < 3)
        status = SF_FAIL(err, SF_E_GEOMETRY, NULL, "the outline has no width: its points lie in one line");
    if (status != SF_OK)
        goto done;
    *width = (sf_CaliperWidth){ .least = INFINITY };
    for (size_t edge = 0, far = 1; edge < hull.count; edge++) {
        // `far` runs round once with the edges: it is the corner opposite to this edge.
        for (size_t next = (far + 1) % hull.count; across(&hull, edge, next) > across(&hull, edge, far);
             next = (far + 1) % hull.count) {
            widen(width, hull.points[edge], hull.points[far]);
            far = next;
        }
        sf_Point a = hull.points[edge], b = hull.points[(edge + 1) % hull.count];
        widen(width, a, hull.points[far]);
        widen(width, b, hull.points[far]);
        double w = across(&hull, edge, far);
        if (w < width->least) {
            width->least = w;
            width->least_angle = half_turn((sf_Point){ a.y - b.y, b.x - a.x });
        }
    }
done:
    sf_polygon_free(&hull);
    return status;
}

// ---- largest circle within ---------------------------------------------------------------------------------------

typedef struct Wall { // one edge seen from the present centre: the nearest place on it
    double distance;
    sf_Point toward; // unit vector
} Wall;

typedef struct Basis {
    Wall wall[3];
} Basis;

// Weights of the three walls in a given right-hand side (1, u): solves sum w = one, sum w toward = u by Cramer's rule.
static void weigh(const Basis *b, double one, sf_Point u, double w[3])
{
    sf_Point p = b->wall[0].toward, q = b->wall[1].toward, r = b->wall[2].toward;
    double det = sf_point_cross(sf_point_sub(q, p), sf_point_sub(r, p));
    sf_Point d = { u.x - one * p.x, u.y - one * p.y };
    w[1] = sf_point_cross(d, sf_point_sub(r, p)) / det;
    w[2] = sf_point_cross(sf_point_sub(q, p), d) / det;
    w[0] = one - w[1] - w[2];
}

// The step and the radius at which the three linearised walls are equally far.
static void meet(const Basis *b, sf_Point *step, double *radius)
{
    sf_Point p = b->wall[0].toward;
    sf_Point q = sf_point_sub(b->wall[1].toward, p), r = sf_point_sub(b->wall[2].toward, p);
    double dq = b->wall[1].distance - b->wall[0].distance, dr = b->wall[2].distance - b->wall[0].distance;
    double det = sf_point_cross(q, r);
    *step = (sf_Point){ (dq * r.y - dr * q.y) / det, (q.x * dr - r.x * dq) / det };
    *radius = b->wall[0].distance - sf_point_dot(p, *step);
}

// Largest t with t + toward . step <= distance for all walls: dual simplex from three far artificial walls.
static void widest_step(const Wall *walls, size_t count, double far, double tolerance, sf_Point *step, double *radius)
{
    Basis basis;
    for (int i = 0; i < 3; i++)
        basis.wall[i] = (Wall){ far, { cos(2 * SF_PI * i / 3), sin(2 * SF_PI * i / 3) } };
    for (int round = 0; round < 500; round++) {
        meet(&basis, step, radius);
        size_t worst = count;
        double most = tolerance;
        for (size_t i = 0; i < count; i++) {
            double over = *radius + sf_point_dot(walls[i].toward, *step) - walls[i].distance;
            if (over > most) {
                most = over;
                worst = i;
            }
        }
        if (worst == count)
            return;
        double held[3], enter[3], least = INFINITY;
        weigh(&basis, 1, (sf_Point){ 0, 0 }, held);
        weigh(&basis, 1, walls[worst].toward, enter);
        int leaves = 0;
        for (int i = 0; i < 3; i++)
            if (enter[i] > 1e-12 && held[i] / enter[i] < least) {
                least = held[i] / enter[i];
                leaves = i;
            }
        basis.wall[leaves] = walls[worst];
    }
}

static double look_round(const sf_Polygon *polygon, sf_Point centre, Wall *walls)
{
    double least = INFINITY;
    for (size_t i = 0; i < polygon->count; i++) {
        sf_Point a = polygon->points[i], b = polygon->points[i + 1 < polygon->count ? i + 1 : 0];
        sf_Point along = sf_point_sub(b, a), to = sf_point_sub(centre, a);
        double length2 = sf_point_dot(along, along), t = length2 > 0 ? sf_point_dot(to, along) / length2 : 0;
        t = t < 0 ? 0 : t > 1 ? 1 : t;
        sf_Point d = { a.x + t * along.x - centre.x, a.y + t * along.y - centre.y };
        double distance = sqrt(d.x * d.x + d.y * d.y);
        walls[i] = (Wall){ distance, { d.x / distance, d.y / distance } };
        least = fmin(least, distance);
    }
    return least;
}

// The centroid when it lies inside, else the place of a 15 x 15 grid over the box that is farthest from every edge.
static bool start_place(const sf_Polygon *polygon, Wall *walls, sf_Point *start)
{
    *start = sf_polygon_centroid(polygon);
    if (sf_polygon_contains(polygon, *start) && look_round(polygon, *start, walls) > 0)
        return true;
    sf_Point low = polygon->points[0], high = low;
    for (size_t i = 0; i < polygon->count; i++) {
        low = (sf_Point){ fmin(low.x, polygon->points[i].x), fmin(low.y, polygon->points[i].y) };
        high = (sf_Point){ fmax(high.x, polygon->points[i].x), fmax(high.y, polygon->points[i].y) };
    }
    double best = 0;
    for (int row = 1; row < 16; row++)
        for (int column = 1; column < 16; column++) {
            sf_Point p = { low.x + (high.x - low.x) * column / 16, low.y + (high.y - low.y) * row / 16 };
            double room = sf_polygon_contains(polygon, p) ? look_round(polygon, p, walls) : 0;
            if (room > best) {
                best = room;
                *start = p;
            }
        }
    return best > 0;
}

sf_Status sf_circle_within(sf_Circle *circle, const sf_Polygon *polygon, sf_Error *err)
{
    Wall *walls = sf_alloc(polygon->count, sizeof *walls);
    if (!walls)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory while fitting a circle into the bore");
    sf_Point centre;
    if (!start_place(polygon, walls, &centre)) {
        sf_free(walls);
        return SF_FAIL(err, SF_E_GEOMETRY, NULL, "no circle fits into the bore: it is closed or too narrow");
    }
    double size = sqrt(fabs(sf_polygon_area(polygon))), radius = look_round(polygon, centre, walls);
    // The distance to an edge is convex in the centre, so a linearised wall is never farther than the real one: every
    // step keeps the centre inside and the radius never shrinks.
    for (int round = 0; round < 50; round++) {
        sf_Point step;
        double hoped;
        widest_step(walls, polygon->count, 16 * size, 1e-12 * size, &step, &hoped);
        sf_Point next = sf_point_add(centre, step);
        double gained = look_round(polygon, next, walls);
        if (!(gained > radius))
            break;
        double gain = gained - radius;
        centre = next;
        radius = gained;
        if (gain < 1e-11 * size)
            break;
    }
    *circle = (sf_Circle){ centre, radius };
    sf_free(walls);
    return SF_OK;
}
