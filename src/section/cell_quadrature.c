// SPDX-License-Identifier: GPL-3.0-or-later
#include "section/cell_quadrature.h"

#include "base/units.h"
#include "num/quadrature.h"

#include <assert.h>

/// Cells along a void's edge are divided until they are this share of its radius, but at least LEAST_DEPTH times and
/// at most MOST_DEPTH times.
static const double LEAF_SHARE = 0.12;
enum { LEAST_DEPTH = 2, MOST_DEPTH = 6 };

typedef struct Cell {
    const sf_RingMesh *mesh;
    sf_Point node[SF_CELL_NODES];
    const sf_CellVoids *voids;
    size_t near[SF_OUTLINE_MAX_VOIDS], near_count;
    sf_CellVisit visit;
    void *context;
    bool folded;
} Cell;

void sf_cell_voids_prepare(sf_CellVoids *voids, const sf_Polygon *polygons, size_t count, sf_Point origin)
{
    assert(count <= SF_OUTLINE_MAX_VOIDS);
    voids->polygons = polygons;
    voids->count = count;
    voids->shift = origin;
    for (size_t v = 0; v < count; v++) {
        sf_Point low = { INFINITY, INFINITY }, high = { -INFINITY, -INFINITY };
        for (size_t i = 0; i < polygons[v].count; i++) {
            sf_Point p = sf_point_sub(polygons[v].points[i], origin);
            low = (sf_Point){ fmin(low.x, p.x), fmin(low.y, p.y) };
            high = (sf_Point){ fmax(high.x, p.x), fmax(high.y, p.y) };
        }
        voids->box[v].low = low;
        voids->box[v].high = high;
        voids->box[v].radius = sqrt(fabs(sf_polygon_area(&polygons[v])) / SF_PI);
    }
}

static void line_shape(double t, double n[3], double d[3])
{
    n[0] = t * (t - 1) / 2;
    n[1] = 1 - t * t;
    n[2] = t * (t + 1) / 2;
    d[0] = t - 0.5;
    d[1] = -2 * t;
    d[2] = t + 0.5;
}

static sf_Point map_point(const Cell *cell, double xi, double eta)
{
    double a[3], b[3], unused[3];
    line_shape(xi, a, unused);
    line_shape(eta, b, unused);
    sf_Point at = { 0, 0 };
    for (size_t k = 0; k < SF_CELL_NODES; k++)
        at = sf_point_add(at, sf_point_scale(cell->node[k], a[k / 3] * b[k % 3]));
    return at;
}

static bool in_void(const Cell *cell, sf_Point at)
{
    sf_Point there = sf_point_add(at, cell->voids->shift);
    for (size_t k = 0; k < cell->near_count; k++)
        if (sf_polygon_contains(&cell->voids->polygons[cell->near[k]], there))
            return true;
    return false;
}

static void visit_point(Cell *cell, double xi, double eta, double weight, int filled)
{
    double a[3], da[3], b[3], db[3], nxi[SF_CELL_NODES], neta[SF_CELL_NODES];
    line_shape(xi, a, da);
    line_shape(eta, b, db);
    sf_CellPoint point = { .at = { 0, 0 } };
    sf_Point along = { 0, 0 }, across = { 0, 0 };
    for (size_t k = 0; k < SF_CELL_NODES; k++) {
        sf_Point node = cell->node[k];
        point.n[k] = a[k / 3] * b[k % 3];
        nxi[k] = da[k / 3] * b[k % 3];
        neta[k] = a[k / 3] * db[k % 3];
        point.at.x += point.n[k] * node.x;
        point.at.y += point.n[k] * node.y;
        along.x += nxi[k] * node.x;
        along.y += nxi[k] * node.y;
        across.x += neta[k] * node.x;
        across.y += neta[k] * node.y;
    }
    // Files run counter-clockwise and heights outward, so a sound element has a negative determinant.
    double det = sf_point_cross(along, across);
    if (!(det < 0)) {
        cell->folded = true;
        return;
    }
    for (size_t k = 0; k < SF_CELL_NODES; k++) {
        point.nx[k] = (nxi[k] * across.y - neta[k] * along.y) / det;
        point.ny[k] = (neta[k] * along.x - nxi[k] * across.x) / det;
    }
    point.weight = -det * weight;
    point.filled = filled >= 0 ? filled : !in_void(cell, point.at);
    cell->visit(&point, cell->context);
}

// `filled`: 1 material, 0 void, -1 to be asked at each point.
static void visit_patch(Cell *cell, double x0, double x1, double y0, double y1, int filled)
{
    const sf_Gauss *rule = sf_gauss_rule(3);
    double hx = (x1 - x0) / 2, hy = (y1 - y0) / 2;
    for (size_t i = 0; i < rule->count; i++)
        for (size_t j = 0; j < rule->count; j++)
            visit_point(cell, x0 + hx * (1 + rule->x[i]), y0 + hy * (1 + rule->x[j]), rule->w[i] * rule->w[j] * hx * hy,
                        filled);
}

static void divide(Cell *cell, double x0, double x1, double y0, double y1, int depth)
{
    double xm = (x0 + x1) / 2, ym = (y0 + y1) / 2;
    sf_Point middle = map_point(cell, xm, ym);
    double reach = 0;
    for (int k = 0; k < 4; k++)
        reach = fmax(reach, sf_point_distance(middle, map_point(cell, k & 1 ? x1 : x0, k & 2 ? y1 : y0)));
    sf_Point there = sf_point_add(middle, cell->voids->shift);
    bool cut = false, within = false, coarse = false;
    for (size_t k = 0; k < cell->near_count; k++) {
        const sf_Polygon *hole = &cell->voids->polygons[cell->near[k]];
        if (sf_polygon_distance(hole, there, NULL, NULL) < reach) {
            cut = true;
            coarse = coarse || reach > LEAF_SHARE * cell->voids->box[cell->near[k]].radius;
        } else if (sf_polygon_contains(hole, there)) {
            within = true;
        }
    }
    if (!cut) {
        visit_patch(cell, x0, x1, y0, y1, !within);
    } else if ((!coarse && depth >= LEAST_DEPTH) || depth >= MOST_DEPTH) {
        visit_patch(cell, x0, x1, y0, y1, -1);
    } else {
        divide(cell, x0, xm, y0, ym, depth + 1);
        divide(cell, xm, x1, y0, ym, depth + 1);
        divide(cell, x0, xm, ym, y1, depth + 1);
        divide(cell, xm, x1, ym, y1, depth + 1);
    }
}

static void find_near_voids(Cell *cell)
{
    sf_Point low = cell->node[0], high = cell->node[0];
    for (size_t k = 1; k < SF_CELL_NODES; k++) {
        low = (sf_Point){ fmin(low.x, cell->node[k].x), fmin(low.y, cell->node[k].y) };
        high = (sf_Point){ fmax(high.x, cell->node[k].x), fmax(high.y, cell->node[k].y) };
    }
    double slack = 0.1 * sf_point_distance(low, high); // curved sides may bulge beyond their nodes
    for (size_t v = 0; v < cell->voids->count; v++) {
        const struct sf_CellBox *box = &cell->voids->box[v];
        if (box->low.x < high.x + slack && box->high.x > low.x - slack && box->low.y < high.y + slack &&
            box->high.y > low.y - slack)
            cell->near[cell->near_count++] = v;
    }
}

bool sf_cell_visit(const sf_RingMesh *mesh, size_t column, size_t layer, const sf_CellVoids *voids, sf_CellVisit visit,
                   void *context)
{
    Cell cell = { .mesh = mesh, .voids = voids, .visit = visit, .context = context };
    for (size_t k = 0; k < SF_CELL_NODES; k++)
        cell.node[k] = sf_ring_mesh_node(mesh, 2 * column + k / 3, 2 * layer + k % 3);
    find_near_voids(&cell);
    if (cell.near_count == 0)
        visit_patch(&cell, -1, 1, -1, 1, 1);
    else
        divide(&cell, -1, 1, -1, 1, 0);
    return !cell.folded;
}
