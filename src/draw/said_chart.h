// SPDX-License-Identifier: GPL-3.0-or-later
// What was seen against what was said, one mark for each: on the line it came true, and within the band beside it.
#pragma once

#include "draw/sheet.h"

#include <stdbool.h>
#include <stddef.h>

#define SF_SAID_CHART_WIDTH  120.0 ///< mm
#define SF_SAID_CHART_HEIGHT 96.0  ///< mm

typedef struct sf_SaidPoint {
    double said, seen; ///< both above 0, in the unit that the axes name
    bool came_true;
} sf_SaidPoint;

typedef struct sf_SaidChart {
    const sf_SaidPoint *points;
    size_t count;
    double share;            ///< half width of the band, as a share of what was said
    const char *said, *seen; ///< words at the axes
} sf_SaidChart;

/// Fills the sheet. A mark that came true is an open circle, one that did not a cross.
void sf_said_chart_paint(sf_Sheet *sheet, const sf_SaidChart *chart);
