// SPDX-License-Identifier: GPL-3.0-or-later
// Both edges of a ring to sub-pixel places: half level between the face's and the ground's light along rays from the
// bore's middle. Internal to image.
#pragma once

#include "image/locate.h"

enum { SF_EDGE_MIN_RAYS = 2160, SF_EDGE_MAX_RAYS = 3600 };

/// Everything in m and light units (0 to 65535); arrays have `rays` entries, ray k at angle 2 pi k / rays.
typedef struct sf_ScanEdges {
    size_t rays;
    sf_Point centre;
    sf_Point *ways; ///< unit vector of each ray; owned
    bool light_ring;
    double *inner, *outer;                 ///< distance of the edges from the centre, smoothed
    double *face;                          ///< light of the cut face beside each ray
    double *ground_inner, *ground_outer;   ///< light of the ground in the bore and around the ring
    bool *doubtful_inner, *doubtful_outer; ///< edge place bridged from its neighbours (line, dust)
    double scatter_inner, scatter_outer;   ///< 1 SD of one ray's edge about the smoothed edge
    double blur_inner, blur_outer;         ///< edge spread: contrast / steepest slope / sqrt(2 pi), m
    double leak_inner, leak_outer;         ///< how far the correction for leaking light moved the edge, m
    double contrast;                       ///< median |face - ground| of full scale
    double *block;                         ///< owns the arrays of doubles
    bool *calm_inner, *calm_outer;         ///< clear of grooves and lines: smoothed over a longer way
    bool *jumped;                          ///< scratch of the search, one edge at a time
    bool *flags;                           ///< owns the arrays of flags
} sf_ScanEdges;

/// Angle of ray k.
double sf_edges_angle(const sf_ScanEdges *edges, size_t ray);

/// The place at distance r along ray k.
sf_Point sf_edges_place(const sf_ScanEdges *edges, size_t ray, double r);

/// Measures. SF_E_INPUT when no clean edge is found over more than a fifth of the circle; SF_E_MEMORY.
sf_Status sf_scan_edges_measure(sf_ScanEdges *edges, const sf_Raster *raster, const sf_RingPlace *place,
                                const char *name, sf_Error *err) SF_MUST_USE;

/// Frees and empties; safe to call twice.
void sf_scan_edges_free(sf_ScanEdges *edges);
