// SPDX-License-Identifier: GPL-3.0-or-later
// One moment on the socket over stance, before and after a change, with what the change does shaded.
#pragma once

#include "align/stance.h"
#include "draw/sheet.h"

typedef enum sf_MomentPlane {
    SF_MOMENT_SAGITTAL = 0,
    SF_MOMENT_CORONAL,
    SF_MOMENT_TRANSVERSE,
    SF_MOMENT_PLANES
} sf_MomentPlane;

double sf_moment_of(const sf_SocketMoment *moment, sf_MomentPlane plane);

/// "extends the knee", "towards varus", ...: what a moment or a change of this sign does.
const char *sf_moment_words(sf_MomentPlane plane, double sign);

/// How a chart's values become places on the paper.
typedef struct sf_MomentScale {
    sf_PaperMm left, right, top, bottom;
    double low, high; ///< N.m at bottom and top
} sf_MomentScale;

/// Scale of the chart that lies in `box`; `before` may be NULL.
sf_MomentScale sf_moment_scale(sf_Box box, const sf_StanceCurves *before, const sf_StanceCurves *after,
                               sf_MomentPlane plane);

sf_Spot sf_moment_spot(const sf_MomentScale *scale, double percent, double moment);

void sf_moment_chart_paint(sf_Sheet *sheet, sf_Box box, const sf_StanceCurves *before, const sf_StanceCurves *after,
                           sf_MomentPlane plane);
