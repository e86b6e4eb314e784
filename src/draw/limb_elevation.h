// SPDX-License-Identifier: GPL-3.0-or-later
// The whole limb to scale from the side and the front, with the heights that are known, and with what is not known yet.
// What was only assumed is dashed and carries no figure. docs/theory/drawing.md.
#pragma once

#include "draw/limb_figure.h"

enum { SF_ELEVATION_HEIGHTS = 8, SF_ELEVATION_MISSING = 16, SF_ELEVATION_HOLES = 16, SF_ELEVATION_RINGS = 12 };

/// Paper of the drawing, mm: read at arm's length on a tablet's screen as well.
#define SF_ELEVATION_WIDTH  150.0
#define SF_ELEVATION_HEIGHT 158.0

typedef struct sf_ElevationHeight {
    const char *word;
    double height; ///< m above the floor
    bool known;
} sf_ElevationHeight;

typedef struct sf_ElevationMissing {
    const char *words; ///< "cut height of the pylon"
    const char *field; ///< "pylon.cut_height_mm"
} sf_ElevationMissing;

typedef struct sf_ElevationHole {
    double angle, height, diameter; ///< limb angle rad, m
    bool planned;
} sf_ElevationHole;

/// What is drawn; all pointers borrowed.
typedef struct sf_LimbElevation {
    const char *label, *program, *safety;
    double body_mass; ///< kg
    const sf_LimbBody *body;
    sf_Settings settings;
    sf_ElevationHeight heights[SF_ELEVATION_HEIGHTS]; ///< lowest first
    size_t height_count;
    sf_ElevationMissing missing[SF_ELEVATION_MISSING]; ///< weightiest first
    size_t missing_count;
    sf_ElevationHole holes[SF_ELEVATION_HOLES];
    size_t hole_count;
    double rings[SF_ELEVATION_RINGS]; ///< heights at which the pylon was measured, m
    size_t ring_count;
} sf_LimbElevation;

/// Where the two views lie on the paper of the drawing.
typedef struct sf_ElevationPlaces {
    sf_LimbEye side, front;
} sf_ElevationPlaces;

sf_ElevationPlaces sf_limb_elevation_places(const sf_LimbElevation *elevation);

/// Draws onto a sheet of SF_ELEVATION_WIDTH x SF_ELEVATION_HEIGHT. SF_E_MEMORY.
sf_Status sf_limb_elevation_paint(sf_Sheet *sheet, const sf_LimbElevation *elevation, sf_Error *err) SF_MUST_USE;
