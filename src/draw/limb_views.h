// SPDX-License-Identifier: GPL-3.0-or-later
// A limb from the side, the front and above at one scale, as it stood and as it stands after a change at the clamp,
// with the lines that the ground force runs on early and late in stance. docs/theory/drawing.md.
#pragma once

#include "align/stance.h"
#include "draw/limb_figure.h"

enum { SF_VIEW_INSTANTS = 2 };

/// Shares of stance, in percent, at which the line of the ground force is drawn: early and late.
extern const double SF_VIEW_PERCENT[SF_VIEW_INSTANTS];

/// What is drawn; all pointers borrowed. Without a change `before` is NULL.
typedef struct sf_LimbViews {
    const sf_LimbBody *body;
    const sf_StanceCurves *before, *after;
    bool load_lines;
    const sf_Settings *held; ///< NULL: foot flat on the floor; else the pylon is held so and the foot moves under it
    sf_Setting arrow;        ///< an arrow shows where this setting is moved; SF_SETTING_COUNT for none
    double arrow_sign;
} sf_LimbViews;

/// Where the views lie: side and front stand on one floor, the view from above lies beside them.
typedef struct sf_ViewPlaces {
    sf_LimbEye eye[SF_VIEW_COUNT];
    double top; ///< greatest height shown, m
} sf_ViewPlaces;

/// Fits side and front view into `upright` and the view from above into `above`, all at the largest scale of a short
/// list at which everything fits.
sf_ViewPlaces sf_limb_views_places(const sf_LimbViews *views, sf_Box upright, sf_Box above);

void sf_limb_views_paint(sf_Sheet *sheet, const sf_LimbViews *views, const sf_ViewPlaces *places);

/// Index of the point of the curves that lies nearest to `percent`.
size_t sf_stance_curves_at(const sf_StanceCurves *curves, double percent);
