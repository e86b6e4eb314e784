// SPDX-License-Identifier: GPL-3.0-or-later
// A whole limb as thin lines: foot and shoe, adapter, pylon, socket, standing on the floor as the alignment chain puts
// them, seen from the side, the front or above. Sizes that were only assumed are drawn dashed. docs/theory/drawing.md.
#pragma once

#include "align/chain.h"
#include "draw/sheet.h"

/// From the side: forward to the right. From the front: the person's left to the right. From above: forward to the
/// right, the person's left up.
typedef enum sf_LimbView { SF_VIEW_SIDE = 0, SF_VIEW_FRONT, SF_VIEW_ABOVE, SF_VIEW_COUNT } sf_LimbView;

typedef enum sf_LimbPart {
    SF_PART_KNEE = 0,
    SF_PART_SOCKET,
    SF_PART_PYLON,
    SF_PART_ADAPTER,
    SF_PART_FOOT,
    SF_PART_SHOE,
    SF_PART_COUNT
} sf_LimbPart;

/// What is drawn. All sizes are finite (m); a part that is not `known` holds assumed sizes and is drawn dashed.
typedef struct sf_LimbBody {
    sf_Chain chain; ///< heights, side, attitude as formed
    bool known[SF_PART_COUNT];
    double knee_level, pylon_top;
    double outer_diameter, wall; ///< of the pylon at its cut end
    double grip_depth, clamp_outer, mounting_face;
    double foot_length, foot_rise; ///< rise: heel above ball, as built
    bool barefoot;                 ///< no shoe is drawn
} sf_LimbBody;

/// From the floor (m; origin the ankle's plumb point, x along the socket's heading, y to the person's left) to paper.
typedef struct sf_LimbEye {
    sf_LimbView view;
    sf_Spot at;   ///< the origin's place
    double scale; ///< drawn over real length
} sf_LimbEye;

sf_Spot sf_limb_eye_spot(const sf_LimbEye *eye, sf_Vector point);

/// How the lines of one figure look.
typedef struct sf_FigureLook {
    sf_Colour ink;
    sf_PaperMm line;         ///< width of outlines
    bool ghost;              ///< thin and unhatched: where it stood before
    double socket_top;       ///< the socket is cut off at this height above its base, m
    const sf_Settings *held; ///< NULL: foot flat; else the pylon is held as it stands with these, and the foot moves
} sf_FigureLook;

/// Draws the limb with these settings, foot flat on the floor.
void sf_limb_figure_paint(sf_Sheet *sheet, const sf_LimbEye *eye, const sf_LimbBody *body, const sf_Settings *settings,
                          const sf_FigureLook *look);

/// A point of the pylon's axis, `height` above the floor with the pylon plumb, where it then stands.
sf_Vector sf_limb_figure_axis(const sf_LimbBody *body, const sf_Settings *settings, double height);

/// How far a figure reaches from the origin in a view: least and greatest paper x and y at scale 1, mm.
typedef struct sf_FigureReach {
    sf_PaperMm left, right, up, down;
} sf_FigureReach;

sf_FigureReach sf_limb_figure_reach(const sf_LimbBody *body, sf_LimbView view, double socket_top);
