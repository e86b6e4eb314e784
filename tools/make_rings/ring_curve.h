// SPDX-License-Identifier: GPL-3.0-or-later
// The two closed curves of a scene as formulas, its voids and its unjoined line: mm from the picture's lower left
// corner, y up. Deliberately shares nothing with the program's own geometry: it is what that is judged against.
#pragma once

#include "ring_scene.h"

typedef struct sf_Spot {
    double x, y;
} sf_Spot;

/// Radius of the outer curve about its centre, of the inner curve about its own centre, at angle `a` (rad).
double sf_curve_outer(const sf_Scene *scene, double a);
double sf_curve_inner(const sf_Scene *scene, double a);

sf_Spot sf_curve_outer_centre(const sf_Scene *scene);
sf_Spot sf_curve_inner_centre(const sf_Scene *scene);
sf_Spot sf_curve_outer_spot(const sf_Scene *scene, double a);
sf_Spot sf_curve_inner_spot(const sf_Scene *scene, double a);

/// Whether a point lies between the curves (voids and line ignored).
bool sf_curve_holds(const sf_Scene *scene, sf_Spot p);

/// The point of the unjoined line's middle at distance `t` mm (along its chord) from the inner edge, and its half
/// width.
sf_Spot sf_curve_line_spot(const sf_Scene *scene, double t, double *half_width, sf_Spot *across);

/// Chord length of the line in the material, mm; 0 without a line; up to the outer edge for one that goes through.
double sf_curve_line_length(const sf_Scene *scene);

/// Centre and half axes of a void with the direction of its long axis (rad).
typedef struct sf_VoidPlace {
    sf_Spot centre;
    double a, b, turn;
} sf_VoidPlace;
sf_VoidPlace sf_curve_void(const sf_Scene *scene, const sf_SceneVoid *v);
