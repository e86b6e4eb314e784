// SPDX-License-Identifier: GPL-3.0-or-later
// The picture of a judged ring on one A5 sheet: the scan (or the hatched section) with what was found marked on it, the
// wall against the angle with its limits, the large figures, the decision as a word and a shape, its reasons, likely
// causes and what would sharpen it. An aid to a licensed prosthetist, not a certificate.
#pragma once

#include "draw/sheet.h"
#include "image/ring_scan.h"
#include "section/ring_decision.h"

/// What is drawn. All pointers are borrowed and needed, but for `view`.
typedef struct sf_RingSheet {
    const char *name;        ///< of the ring, such as its file's name
    const char *program;     ///< name and version of what measured it
    const char *safety;      ///< the safety sentence
    const sf_RingView *view; ///< the scan; NULL, or without pixels: the section is hatched instead
    double dpi;              ///< NaN without a scan
    size_t scans;            ///< repeat scans of this ring; 1 for a single one
    const sf_Outline *outline;
    const sf_RingMeasure *measure;
    const sf_RingDecision *decision;
    const sf_RingLimits *limits;
    const sf_RingContext *context;
    double posterior_angle, outward_angle; ///< picture frame, rad; NaN when not known
    bool foot_side;                        ///< the face on the glass: seen from below
} sf_RingSheet;

/// Draws onto an A5 sheet lying down (SF_A5_LONG x SF_A5_SHORT). SF_E_MEMORY.
sf_Status sf_ring_sheet_paint(sf_Sheet *sheet, const sf_RingSheet *ring, sf_Error *err) SF_MUST_USE;
