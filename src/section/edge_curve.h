// SPDX-License-Identifier: GPL-3.0-or-later
// A closed edge as a smooth radius over the angle about a centre: what a mesh can follow without following the noise of
// single scan points. The area within each piece is kept.
#pragma once

#include "geom/polygon.h"

/// Squared radius, continuous, quadratic in the angle on each piece. Make with sf_edge_curve_fit.
typedef struct sf_EdgeCurve {
    sf_Point centre;
    size_t pieces;
    double *breaks; ///< pieces + 1 angles, rad, rising by 2 pi in all
    double *square; ///< 2 pieces nodal values of r^2, m^2: at each break and in the middle of each piece
    double misfit;  ///< root mean square radial distance between polygon and curve, m
} sf_EdgeCurve;

/// Least squares over the whole edge (not over its points): the fitted r^2 has the polygon's area on the whole and near
/// enough on each piece. Starts with `pieces` (8 or more) pieces; corners (sharp turns between long sides) and the
/// angle `kink` (NaN: none) become breaks; pieces whose misfit is above `tolerance` (m) are halved, down to 1/16.
/// SF_E_GEOMETRY when the polygon does not go once round the centre or doubles back further than the tolerance allows;
/// SF_E_MEMORY.
sf_Status sf_edge_curve_fit(sf_EdgeCurve *curve, const sf_Polygon *polygon, sf_Point centre, size_t pieces, double kink,
                            double tolerance, sf_Error *err) SF_MUST_USE;

/// Frees and empties; safe to call twice.
void sf_edge_curve_free(sf_EdgeCurve *curve);

/// The radius at an angle (any turn).
double sf_edge_curve_radius(const sf_EdgeCurve *curve, double angle);

/// Angular width of the piece at an angle.
double sf_edge_curve_width(const sf_EdgeCurve *curve, double angle);

/// Angles of sharp corners of a polygon as seen from the centre, at most `most`, rising, in [0, 2 pi). `side` is the
/// angle over which a side must at least be seen to count as long.
size_t sf_edge_corners(const sf_Polygon *polygon, sf_Point centre, double side, double *angles, size_t most);

/// `angle` brought into [from, from + 2 pi).
double sf_angle_from(double angle, double from);
