// SPDX-License-Identifier: GPL-3.0-or-later
#include "section/torsion.h"

#include "section/warping.h"

#include <assert.h>

/// The second mesh has elements this many times as large.
static const double COARSER = 2;
/// Orders at which K is taken to converge, chosen below what was observed (docs/theory/torsion.md): without a line the
/// smooth field gives about 4 (3 with voids), a line's tip 1.
static const double ORDER_SMOOTH = 2, ORDER_TIP = 1;

sf_TorsionOptions sf_torsion_options(void)
{
    return (sf_TorsionOptions){ .fineness = 1, .second_solve = true };
}

static sf_Status solve_once(sf_Torsion *torsion, const sf_RingEdges *edges, const sf_Outline *outline, double fineness,
                            sf_Error *err)
{
    sf_RingMesh mesh = { .nodes = NULL };
    sf_Warping warping = { .omega = NULL };
    sf_Status status = SF_OK;
    SF_TRY_DONE(sf_ring_mesh_build(&mesh, edges, outline, fineness, err));
    SF_TRY_DONE(sf_warping_solve(&warping, &mesh, outline->voids, outline->void_count, err));
    sf_WarpingEdges shear = sf_warping_edges(&warping, &mesh);
    *torsion = (sf_Torsion){
        .torsion_constant = warping.torsion_constant,
        .shear_centre = sf_point_add(warping.shear_centre, mesh.origin),
        .warping_constant = warping.warping_constant,
        .peak_shear_per_torque = shear.peak / warping.torsion_constant,
        .peak_place = sf_point_add(shear.peak_place, mesh.origin),
        .peak_at_inner = shear.peak_at_inner,
        .line_used = mesh.line,
        .bound_only = mesh.through,
        .rate_outer = shear.outer_square,
        .rate_inner = -shear.inner_square,
        .rate_random = shear.fourth,
        .rate_line = warping.line_rate,
        .residual = warping.residual,
        .discretisation = NAN,
        .outline_misfit = mesh.misfit,
        .elements = mesh.columns * mesh.layers,
        .unknowns = mesh.equations - 1,
    };
done:
    sf_warping_free(&warping);
    sf_ring_mesh_free(&mesh);
    return status;
}

sf_Status sf_torsion_compute(sf_Torsion *torsion, const sf_Outline *outline, const sf_TorsionOptions *options,
                             sf_Error *err)
{
    sf_TorsionOptions wish = options ? *options : sf_torsion_options();
    assert(wish.fineness >= 0.25 && wish.fineness <= 8);
    sf_Torsion fine, coarse;
    sf_RingEdges edges;
    SF_TRY(sf_ring_edges_fit(&edges, outline, err));
    sf_Status status = SF_OK;
    SF_TRY_DONE(solve_once(&fine, &edges, outline, wish.fineness, err));
    if (wish.second_solve) {
        SF_TRY_DONE(solve_once(&coarse, &edges, outline, wish.fineness / COARSER, err));
        double order = fine.line_used && !fine.bound_only ? ORDER_TIP : ORDER_SMOOTH;
        fine.discretisation = fabs(coarse.torsion_constant / fine.torsion_constant - 1) / (pow(COARSER, order) - 1);
    }
    *torsion = fine;
done:
    sf_ring_edges_free(&edges);
    return status;
}
