// SPDX-License-Identifier: GPL-3.0-or-later
// A lattice of nine-node elements bent round a ring: columns across the wall, layers along it.
#pragma once

#include "geom/outline.h"
#include "section/edge_curve.h"

/// Nodes stand in 2 columns + 1 files of 2 layers + 1, from the inner edge outward. The last file is the first one
/// again, but for its lowest `slit` nodes, which are doubles: there the two faces of a line may slide past each other.
/// slit = 0: an unbroken ring; slit = 2 layers + 1: slit through, or any plain four-sided patch.
typedef struct sf_RingMesh {
    size_t columns, layers, slit;
    sf_Point origin;    ///< node places are relative to it
    sf_Point *nodes;    ///< (2 columns + 1) (2 layers + 1) places, file by file
    size_t equations;   ///< unknowns: one per place, doubles counted, the rest of the last file not
    double misfit;      ///< root mean square distance between the outline and the mesh's edges, m
    bool line, through; ///< a line was worked in; it goes through
} sf_RingMesh;

/// Number of the unknown at file i (0 to 2 columns), height j (0 to 2 layers).
static inline size_t sf_ring_mesh_unknown(const sf_RingMesh *mesh, size_t i, size_t j)
{
    size_t height = 2 * mesh->layers + 1;
    return i == 2 * mesh->columns && j >= mesh->slit ? j : i * height + j;
}

/// Place of the node at file i, height j, relative to the origin.
static inline sf_Point sf_ring_mesh_node(const sf_RingMesh *mesh, size_t i, size_t j)
{
    return mesh->nodes[i * (2 * mesh->layers + 1) + j];
}

/// A lattice with all nodes at zero, to be filled. SF_E_MEMORY.
sf_Status sf_ring_mesh_create(sf_RingMesh *mesh, size_t columns, size_t layers, size_t slit, sf_Error *err) SF_MUST_USE;

/// The smoothed edges of a ring; one fit serves several meshes.
typedef struct sf_RingEdges {
    sf_EdgeCurve inner, outer; ///< about the bore's centroid
    double wall, bore;         ///< mean wall and mean bore radius, m
} sf_RingEdges;

/// Smooths both edges of a checked outline (sf_edge_curve_fit). SF_E_GEOMETRY, SF_E_MEMORY.
sf_Status sf_ring_edges_fit(sf_RingEdges *edges, const sf_Outline *outline, sf_Error *err) SF_MUST_USE;

/// Frees and empties; safe to call twice.
void sf_ring_edges_free(sf_RingEdges *edges);

/// Meshes the wall between the edges of `outline`: a file along the line, elements smaller towards the line's tip and
/// round voids that weigh. Voids are not cut out here. `fineness` 1 as the product. A line shorter than 0.5 % of the
/// wall is left out, a ligament thinner than that counts as through. SF_E_GEOMETRY, SF_E_LIMIT, SF_E_MEMORY.
sf_Status sf_ring_mesh_build(sf_RingMesh *mesh, const sf_RingEdges *edges, const sf_Outline *outline, double fineness,
                             sf_Error *err) SF_MUST_USE;

/// Frees and empties; safe to call twice.
void sf_ring_mesh_free(sf_RingMesh *mesh);
