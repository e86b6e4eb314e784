// SPDX-License-Identifier: GPL-3.0-or-later
// One picture to be made: a ring of invented geometry, how it lies on the glass, and how it is stored.
// This tool works in mm and picture pixels throughout; angles are picture angles (x right, y up, degrees).
#pragma once

#include "base/doc.h"

#include <stdbool.h>
#include <stdint.h>

enum { SF_SCENE_VOIDS = 8, SF_SCENE_NAME = 64 };

typedef enum sf_GrooveForm { SF_GROOVE_GAUSS, SF_GROOVE_COSINE, SF_GROOVE_VEE } sf_GrooveForm;
typedef enum sf_SceneBody { SF_BODY_RING, SF_BODY_BLANK, SF_BODY_NOISE, SF_BODY_DISC, SF_BODY_TWO } sf_SceneBody;
typedef enum sf_SceneFormat { SF_FORMAT_PNG, SF_FORMAT_JPEG, SF_FORMAT_TIFF } sf_SceneFormat;
typedef enum sf_SceneColour { SF_COLOUR_GREY, SF_COLOUR_RGB, SF_COLOUR_PALETTE, SF_COLOUR_RGBA } sf_SceneColour;
typedef enum sf_SceneGamma { SF_GAMMA_NONE, SF_GAMMA_CHUNK, SF_GAMMA_SRGB } sf_SceneGamma;
typedef enum sf_SceneDensity {
    SF_DENSITY_INCH,
    SF_DENSITY_CM,
    SF_DENSITY_EXIF,
    SF_DENSITY_NONE,
    SF_DENSITY_ASPECT
} sf_SceneDensity;
typedef enum sf_ScenePacking { SF_PACKING_NONE, SF_PACKING_LZW, SF_PACKING_DEFLATE } sf_ScenePacking;
typedef enum sf_SceneSpoil { SF_SPOIL_NONE, SF_SPOIL_TRUNCATED, SF_SPOIL_NOT_AN_IMAGE, SF_SPOIL_HUGE } sf_SceneSpoil;

/// An elliptic hole in the wall: `share` 0 at the inner, 1 at the outer edge, on the ray at `angle_deg` from the centre
/// of the outer curve; its long axis is turned by `tilt_deg` from the ray's tangent.
typedef struct sf_SceneVoid {
    double angle_deg, share, long_mm, short_mm, tilt_deg;
} sf_SceneVoid;

typedef struct sf_Scene {
    char name[SF_SCENE_NAME];

    // Outer curve, polar about its own centre: d/2 + oval + square + wave + bump at the seam.
    double outer_diameter_mm, wall_mm;    // wall: outer radius less inner radius of the plain circles
    double oval_mm, oval_deg;             // second harmonic of both radii
    double square_mm, square_deg;         // fourth harmonic of both radii
    double outer_wave_mm, outer_wave_deg; // third harmonic of the outer radius
    double bump_mm, bump_width_mm;        // Gaussian swelling of the outer radius at the seam
    // Inner curve, polar about a centre that may lie off the outer one.
    double eccentricity_mm, eccentricity_deg;
    double wave2_mm, wave2_deg, wave3_mm, wave3_deg, wave5_mm, wave5_deg; // harmonics of the inner radius only
    double groove_mm, groove_width_mm, seam_deg; // width: standard deviation, half base or decay length, by form
    size_t groove_form;
    // Unjoined line, from the inner edge at the seam outward; a negative length reaches through the wall.
    double line_mm, line_width_mm, line_end_width_mm, line_slant_deg, line_bend_mm;
    size_t void_count;
    sf_SceneVoid voids[SF_SCENE_VOIDS];

    // On the glass.
    size_t body;
    double dpi, width_mm, height_mm, centre_x_mm, centre_y_mm; // canvas; centre of the outer curve
    double stretch_x;                                          // the scanner's x axis is too long by this factor
    // Light, linear, 0..1.
    double face, ground;
    double edge_loss, edge_glow, edge_reach_mm; // light that leaves the face near an edge and shows beside it
    double blur_px, saw, saw_pitch_mm, saw_deg, uneven, uneven_deg, noise;
    int64_t dust;
    // Beside the ring.
    bool tag, ruler, pencil, hair, smudge;

    // File.
    size_t format, colour, gamma, density, packing, spoil;
    int64_t depth, quality;
    bool tiles, interlaced, white_is_zero, big_endian; // interlaced: a progressive JPEG; big_endian: TIFF
    int64_t seed;
    char refuse[SF_SCENE_NAME]; ///< what a measuring program must say no to; empty: it can be measured
} sf_Scene;

/// A plain, clean ring of 44 mm on a 60 mm canvas, 600 dpi, 8-bit grey PNG.
void sf_scene_defaults(sf_Scene *scene);

/// Reads one scene (keys = field names, words for the choices); keys that are left out keep the defaults. Problems are
/// noted on the document; ask sf_doc_verdict().
void sf_scene_read(sf_DocNode node, sf_Scene *scene);

/// The word for a choice, such as "png".
const char *sf_scene_format_word(const sf_Scene *scene);
const char *sf_scene_groove_word(const sf_Scene *scene);

/// Whether the file says how large a pixel is; an aspect ratio alone (density "aspect") does not.
bool sf_scene_states_dpi(const sf_Scene *scene);

/// Pixels of the canvas, and the dpi as the file's tag puts it: some tags hold whole numbers only (a JPEG of 300 dpi in
/// dots per cm says 118, so 299.72). The ring is drawn at the true dpi, as a scanner would.
size_t sf_scene_columns(const sf_Scene *scene);
size_t sf_scene_rows(const sf_Scene *scene);
double sf_scene_stated_dpi(const sf_Scene *scene);
