// SPDX-License-Identifier: GPL-3.0-or-later
#include "section/warping.h"

#include "base/alloc.h"
#include "base/units.h"
#include "num/quadrature.h"
#include "num/sparse.h"
#include "section/cell_quadrature.h"

#include <string.h>

/// Stiffness left in voids so that unknowns wholly inside one stay tied; its effect on K is of this relative order.
static const double VOID_STIFFNESS = 1e-8;
/// Largest accepted |b - A x| / |b|: a direct solve of these sizes stays far below it unless it went wrong.
static const double RESIDUAL_MOST = 1e-8;
/// Nodes about the line's tip that go with it in its virtual lengthening.
enum { LENGTHENING_REACH = 4 };

static void element_unknowns(const sf_RingMesh *mesh, size_t column, size_t layer, size_t unknown[SF_CELL_NODES])
{
    for (size_t k = 0; k < SF_CELL_NODES; k++)
        unknown[k] = sf_ring_mesh_unknown(mesh, 2 * column + k / 3, 2 * layer + k % 3);
}

typedef struct Element {
    double stiffness[SF_CELL_NODES][SF_CELL_NODES]; // lower triangle
    double load[SF_CELL_NODES];
} Element;

// int grad v . grad omega = int (y v_x - x v_y): equilibrium and free edges in one.
static void add_point(const sf_CellPoint *point, void *context)
{
    Element *element = context;
    double w = point->filled ? point->weight : point->weight * VOID_STIFFNESS;
    for (size_t a = 0; a < SF_CELL_NODES; a++) {
        double gx = w * point->nx[a], gy = w * point->ny[a];
        for (size_t b = 0; b <= a; b++)
            element->stiffness[a][b] += gx * point->nx[b] + gy * point->ny[b];
        element->load[a] += point->at.y * gx - point->at.x * gy;
    }
}

// The first unknown is held at zero (omega is known but for a constant), so equation k stands for unknown k + 1.
static sf_Status assemble(sf_Sparse *sparse, double *load, const sf_RingMesh *mesh, const sf_CellVoids *voids,
                          sf_Error *err)
{
    for (size_t c = 0; c < mesh->columns; c++) {
        for (size_t l = 0; l < mesh->layers; l++) {
            Element element = { .load = { 0 } };
            size_t unknown[SF_CELL_NODES];
            if (!sf_cell_visit(mesh, c, l, voids, add_point, &element))
                return SF_FAIL(err, SF_E_GEOMETRY, "",
                               "the wall folds over itself in the mesh near x %.1f mm, y %.1f mm: check the outline",
                               (sf_ring_mesh_node(mesh, 2 * c, 2 * l).x + mesh->origin.x) / SF_MM,
                               (sf_ring_mesh_node(mesh, 2 * c, 2 * l).y + mesh->origin.y) / SF_MM);
            element_unknowns(mesh, c, l, unknown);
            for (size_t a = 0; a < SF_CELL_NODES; a++) {
                if (unknown[a] == 0)
                    continue;
                load[unknown[a] - 1] += element.load[a];
                for (size_t b = 0; b <= a; b++)
                    if (unknown[b] != 0)
                        sf_sparse_add(sparse, unknown[a] - 1, unknown[b] - 1, element.stiffness[a][b]);
            }
        }
    }
    return SF_OK;
}

static sf_Status solve(sf_Warping *warping, const sf_RingMesh *mesh, const sf_CellVoids *voids, sf_Error *err)
{
    sf_Status status = SF_OK;
    sf_Sparse *sparse = NULL;
    size_t n = mesh->equations - 1;
    double *load = sf_alloc(n, sizeof *load);
    warping->omega = sf_alloc(mesh->equations, sizeof *warping->omega);
    if (!load || !warping->omega) {
        status = SF_FAIL(err, SF_E_MEMORY, "", "out of memory for the torsion of the ring");
        goto done;
    }
    SF_TRY_DONE(sf_sparse_create(&sparse, n, mesh->columns * mesh->layers * 45, err));
    SF_TRY_DONE(assemble(sparse, load, mesh, voids, err));
    SF_TRY_DONE(sf_sparse_factor(sparse, err));
    SF_TRY_DONE(sf_sparse_solve(sparse, load, warping->omega + 1, 1, &warping->residual, err));
    if (!(warping->residual <= RESIDUAL_MOST))
        status = SF_FAIL(err, SF_E_INACCURATE, "", "the torsion equations were solved to %.1e only (limit %.0e)",
                         warping->residual, RESIDUAL_MOST);
done:
    sf_sparse_destroy(&sparse);
    sf_free(load);
    return status;
}

typedef struct Sums {
    double value[SF_CELL_NODES]; // omega at the element's nodes
    double a, x, y, xx, yy, xy;  // int dA, int x dA, ...
    double k, w, wx, wy, ww;     // int |tau_hat|^2, int omega, int omega x, ...
} Sums;

static void sum_point(const sf_CellPoint *point, void *context)
{
    Sums *s = context;
    if (!point->filled)
        return;
    double omega = 0, gx = -point->at.y, gy = point->at.x, w = point->weight;
    for (size_t k = 0; k < SF_CELL_NODES; k++) {
        omega += point->n[k] * s->value[k];
        gx += point->nx[k] * s->value[k];
        gy += point->ny[k] * s->value[k];
    }
    double x = point->at.x, y = point->at.y;
    s->a += w;
    s->x += w * x;
    s->y += w * y;
    s->xx += w * x * x;
    s->yy += w * y * y;
    s->xy += w * x * y;
    s->k += w * (gx * gx + gy * gy);
    s->w += w * omega;
    s->wx += w * omega * x;
    s->wy += w * omega * y;
    s->ww += w * omega * omega;
}

// Trefftz: about the shear centre the warping function is orthogonal to 1, x and y.
static void conclude(sf_Warping *warping, const Sums *s)
{
    double cx = s->x / s->a, cy = s->y / s->a, mean = s->w / s->a;
    warping->area = s->a;
    warping->centroid = (sf_Point){ cx, cy };
    double ixx = s->yy - s->a * cy * cy, iyy = s->xx - s->a * cx * cx, ixy = s->xy - s->a * cx * cy;
    double rx = s->wx - s->w * cx, ry = s->wy - s->w * cy;
    double det = ixx * iyy - ixy * ixy;
    double dx = (rx * ixy - ry * iyy) / det, dy = (rx * ixx - ry * ixy) / det;
    warping->ixx = ixx;
    warping->iyy = iyy;
    warping->ixy = ixy;
    warping->torsion_constant = s->k;
    warping->shear_centre = (sf_Point){ dx, dy };
    warping->warping_constant = fmax(s->ww - s->w * mean - dy * rx + dx * ry, 0);
}

// Virtual lengthening of the line: the mesh near the tip is carried along the line by a field eta d (d the line's
// direction, eta 1 at the tip and 0 from a few nodes away), and K's derivative follows exactly for the discrete
// functional K = int |grad omega + g|^2, g = (-y, x).
typedef struct Lengthening {
    double value[SF_CELL_NODES], eta[SF_CELL_NODES];
    sf_Point way; // d
    double rate;
} Lengthening;

static void lengthen_point(const sf_CellPoint *point, void *context)
{
    Lengthening *l = context;
    if (!point->filled)
        return;
    sf_Point slope = { 0, 0 }, fade = { 0, 0 };
    double eta = 0;
    for (size_t k = 0; k < SF_CELL_NODES; k++) {
        slope.x += point->nx[k] * l->value[k];
        slope.y += point->ny[k] * l->value[k];
        fade.x += point->nx[k] * l->eta[k];
        fade.y += point->ny[k] * l->eta[k];
        eta += point->n[k] * l->eta[k];
    }
    sf_Point tau = { slope.x - point->at.y, slope.y + point->at.x };
    sf_Point spin = { -l->way.y, l->way.x };
    l->rate +=
        point->weight * (sf_point_dot(l->way, fade) * sf_point_dot(tau, tau) -
                         2 * sf_point_dot(tau, fade) * sf_point_dot(l->way, slope) + 2 * eta * sf_point_dot(tau, spin));
}

// dK / d(length of the line) at a tip inside the wall.
static double line_rate(const sf_Warping *warping, const sf_RingMesh *mesh, const sf_CellVoids *voids)
{
    size_t last = 2 * mesh->columns, tip = mesh->slit, top = 2 * mesh->layers;
    if (tip == 0 || tip > top)
        return 0;
    size_t reach = LENGTHENING_REACH; // in nodes; the edges of the wall must stay where they are
    reach = reach < tip ? reach : tip - 1;
    reach = reach < top - tip ? reach : top - tip - 1;
    Lengthening l = { .rate = 0 };
    sf_Point along = sf_point_sub(sf_ring_mesh_node(mesh, 0, tip), sf_ring_mesh_node(mesh, 0, 0));
    l.way = sf_point_scale(along, 1 / sf_point_length(along));
    for (size_t c = 0; c < mesh->columns; c++) {
        if (2 * c > reach && 2 * c + 2 + reach < last)
            continue;
        for (size_t layer = 0; layer < mesh->layers; layer++) {
            size_t unknown[SF_CELL_NODES];
            element_unknowns(mesh, c, layer, unknown);
            for (size_t k = 0; k < SF_CELL_NODES; k++) {
                size_t i = 2 * c + k / 3, j = 2 * layer + k % 3;
                size_t off = j > tip ? j - tip : tip - j;
                l.value[k] = warping->omega[unknown[k]];
                l.eta[k] = off <= reach && (i <= reach || i + reach >= last) ? 1 : 0;
            }
            sf_cell_visit(mesh, c, layer, voids, lengthen_point, &l);
        }
    }
    return l.rate;
}

sf_Status sf_warping_solve(sf_Warping *warping, const sf_RingMesh *mesh, const sf_Polygon *voids, size_t count,
                           sf_Error *err)
{
    memset(warping, 0, sizeof *warping);
    sf_CellVoids holes;
    sf_cell_voids_prepare(&holes, voids, count, mesh->origin);
    sf_Status status = solve(warping, mesh, &holes, err);
    if (status != SF_OK) {
        sf_warping_free(warping);
        return status;
    }
    Sums sums = { .a = 0 };
    for (size_t c = 0; c < mesh->columns; c++) {
        for (size_t l = 0; l < mesh->layers; l++) {
            size_t unknown[SF_CELL_NODES];
            element_unknowns(mesh, c, l, unknown);
            for (size_t k = 0; k < SF_CELL_NODES; k++)
                sums.value[k] = warping->omega[unknown[k]];
            sf_cell_visit(mesh, c, l, &holes, sum_point, &sums);
        }
    }
    conclude(warping, &sums);
    warping->line_rate = line_rate(warping, mesh, &holes);
    return SF_OK;
}

void sf_warping_free(sf_Warping *warping)
{
    sf_free(warping->omega);
    warping->omega = NULL;
}

// One element side on an edge: shear along it at place t in [-1, 1]. Only values on the edge itself enter, which are
// better than gradients taken from the element.
typedef struct Side {
    sf_Point node[3];
    double value[3];
} Side;

static double side_shear(const Side *side, double t, sf_Point *at, double *stretch)
{
    double n[3] = { t * (t - 1) / 2, 1 - t * t, t * (t + 1) / 2 }, d[3] = { t - 0.5, -2 * t, t + 0.5 };
    sf_Point along = { 0, 0 };
    double slope = 0;
    *at = (sf_Point){ 0, 0 };
    for (size_t k = 0; k < 3; k++) {
        *at = sf_point_add(*at, sf_point_scale(side->node[k], n[k]));
        along = sf_point_add(along, sf_point_scale(side->node[k], d[k]));
        slope += d[k] * side->value[k];
    }
    *stretch = sf_point_length(along);
    return (slope + sf_point_cross(*at, along)) / *stretch;
}

static void read_edge(sf_WarpingEdges *edges, const sf_Warping *warping, const sf_RingMesh *mesh, bool inner)
{
    const sf_Gauss *rule = sf_gauss_rule(3), *best = sf_gauss_rule(2);
    size_t j = inner ? 0 : 2 * mesh->layers;
    double *square = inner ? &edges->inner_square : &edges->outer_square;
    for (size_t c = 0; c < mesh->columns; c++) {
        Side side;
        for (size_t k = 0; k < 3; k++) {
            side.node[k] = sf_ring_mesh_node(mesh, 2 * c + k, j);
            side.value[k] = warping->omega[sf_ring_mesh_unknown(mesh, 2 * c + k, j)];
        }
        sf_Point at;
        double stretch;
        for (size_t g = 0; g < rule->count; g++) {
            double tau = side_shear(&side, rule->x[g], &at, &stretch);
            *square += rule->w[g] * stretch * tau * tau;
            edges->fourth += rule->w[g] * stretch * tau * tau * tau * tau;
        }
        for (size_t g = 0; g < best->count; g++) {
            double tau = fabs(side_shear(&side, best->x[g], &at, &stretch));
            if (tau > edges->peak) {
                edges->peak = tau;
                edges->peak_place = at;
                edges->peak_at_inner = inner;
            }
        }
    }
}

sf_WarpingEdges sf_warping_edges(const sf_Warping *warping, const sf_RingMesh *mesh)
{
    sf_WarpingEdges edges = { .peak = 0 };
    read_edge(&edges, warping, mesh, true);
    read_edge(&edges, warping, mesh, false);
    return edges;
}
