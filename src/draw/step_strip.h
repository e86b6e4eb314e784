// SPDX-License-Identifier: GPL-3.0-or-later
// A walk as a strip: every contact in time, and above it the step that ended with it, odd steps, gaps and double
// contacts marked. A walk too long for single marks is drawn as its range. docs/theory/drawing.md.
#pragma once

#include "draw/sheet.h"
#include "gait/steps.h"

typedef struct sf_StepStrip {
    const sf_FootfallList *list; ///< borrowed
    const sf_StepReport *report; ///< borrowed
    bool sides_known;            ///< false: which foot is which was not told
    const char *words[2];        ///< left and right: "left", "right, prosthetic"
} sf_StepStrip;

/// How the strip lies on the paper.
typedef struct sf_StripScale {
    sf_PaperMm left, right, top, bottom; ///< of the step times
    sf_PaperMm gap;                      ///< between stretches of walking
    double mm_per_s;
    double low, high; ///< s at bottom and top
    size_t steps;     ///< steps that count
    bool single;      ///< one mark a step
} sf_StripScale;

sf_StripScale sf_step_strip_scale(sf_Box box, const sf_StepStrip *strip);

void sf_step_strip_paint(sf_Sheet *sheet, sf_Box box, const sf_StepStrip *strip);
