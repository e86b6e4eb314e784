// SPDX-License-Identifier: GPL-3.0-or-later
// The limb's lower end from the outside, forward to the right, to scale; and the stress beside it at the same heights.
// Internal to `draw`.
#pragma once

#include "draw/pylon_sheet.h"

/// The common scale of heights.
typedef struct sf_HeightScale {
    sf_PaperMm floor; ///< y on the paper of height 0
    double scale;     ///< drawn over real length
    double top;       ///< greatest height shown, m
} sf_HeightScale;

/// The largest scale of a short list at which the pylon and a piece of socket fit.
sf_HeightScale sf_height_scale(sf_Box box, const sf_Pylon *pylon);

sf_PaperMm sf_height_y(const sf_HeightScale *heights, double height);

void sf_pylon_elevation_paint(sf_Sheet *sheet, sf_Box box, const sf_HeightScale *heights, const sf_PylonSheet *pylon);

void sf_stress_chart_paint(sf_Sheet *sheet, sf_Box box, const sf_HeightScale *heights, const sf_PylonSheet *pylon);

/// Strength used along the height of the governing curve, with its band; nothing without `used`.
void sf_use_chart_paint(sf_Sheet *sheet, sf_Box box, const sf_HeightScale *heights, const sf_PylonSheet *pylon);
