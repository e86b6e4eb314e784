// SPDX-License-Identifier: GPL-3.0-or-later
// The pylon as a beam: sections along its height, the free length that bends, the holes. Sections are known at rings
// and linear between them. Frame: x = outward, y = forward from the pylon's axis, heights up from the floor.
#pragma once

#include "geom/outline.h"
#include "section/properties.h"

enum { SF_FIBRE_COUNT = 180, SF_RING_MAX = 40, SF_HOLE_MAX = 60, SF_STATION_MAX = 160 };
enum { SF_WALL_RAYS = 120, SF_WALL_LAYERS = 2 };

/// The wall as seen from the bore's middle, ray k at 3 k degrees: what fibres are cut from.
typedef struct sf_WallRays {
    sf_Point origin;
    double outer[SF_WALL_RAYS], inner[SF_WALL_RAYS]; ///< distance to the edges, mean over the ray's sector
    double lost[SF_WALL_RAYS][SF_WALL_LAYERS];       ///< area of voids, by ray and inner or outer half of the wall
} sf_WallRays;

/// What bending and torsion need to know of one section.
typedef struct sf_BeamSection {
    double area;
    sf_Point centroid;
    double jxx, jyy, jxy;                  ///< int x^2, int y^2, int xy about the centroid
    double torsion_constant;               ///< m^4
    double shear_per_torque;               ///< greatest shear stress for 1 N m, 1/m^3
    sf_Point shear_centre;                 ///< m
    double outer_diameter, inner_diameter; ///< mean ones
    double wall_min;
    double unjoined_share;          ///< of the wall at the seam, 0 to 1
    double torque_arm_area;         ///< shear stress = torque / this when the wall yields in shear all round, m^3
    sf_Point fibre[SF_FIBRE_COUNT]; ///< farthest outer point in direction 2 k degrees
    sf_WallRays wall;
} sf_BeamSection;

typedef struct sf_BeamHole {
    double height, angle, diameter;
} sf_BeamHole;

/// One place along the pylon.
typedef struct sf_PylonStation {
    double height;
    sf_BeamSection section;
    sf_BeamSection middle; ///< half way to the next station, for the integration
} sf_PylonStation;

typedef struct sf_Pylon {
    double cut, grip_top, top; ///< heights: sawn end, end of the grip, run-out into the socket
    sf_BeamHole holes[SF_HOLE_MAX];
    size_t hole_station[SF_HOLE_MAX]; ///< the station at each hole's height
    size_t hole_count;
    sf_PylonStation *stations; ///< rising, first at cut, last at top
    size_t station_count;
} sf_Pylon;

/// How the torsion figures of a section are had.
typedef enum sf_TorsionRoute {
    SF_TORSION_CLOSED_CELL, ///< Bredt along the middle of the wall; no unjoined line
    SF_TORSION_ELEMENTS     ///< finite elements
} sf_TorsionRoute;

/// The beam's view of a checked outline in the limb frame. The unjoined line, when there is one, makes torsion go
/// through the finite element solution. SF_E_GEOMETRY, and the torsion solver's errors.
sf_Status sf_beam_section_compute(sf_BeamSection *section, const sf_Outline *outline, sf_TorsionRoute *route,
                                  sf_Error *err) SF_MUST_USE;

/// Linear mixture: share 0 is a, 1 is b.
sf_BeamSection sf_beam_section_between(const sf_BeamSection *a, const sf_BeamSection *b, double share);

/// Lays out the stations: sections `rings` at `heights` (rising, `count` of them, constant beyond the ends), a station
/// at every ring and hole between cut and top. SF_E_RANGE when there is no free length, SF_E_MEMORY. Free with
/// sf_pylon_free.
sf_Status sf_pylon_create(sf_Pylon *pylon, double cut, double grip_top, double top, const double *heights,
                          const sf_BeamSection *rings, size_t count, const sf_BeamHole *holes, size_t hole_count,
                          sf_Error *err) SF_MUST_USE;

/// Frees the stations; safe to call twice.
void sf_pylon_free(sf_Pylon *pylon);

/// The section less a strip for every hole that cuts the height of station `index` (net section): area, centroid and
/// second moments of what is left; fibres as they were.
sf_BeamSection sf_pylon_net_section(const sf_Pylon *pylon, size_t index);
