// SPDX-License-Identifier: GPL-3.0-or-later
// What the pages of running text are written from, and how figures are worded. Internal to `report`.
#pragma once

#include "report/report.h"
#include "study/figures.h"

typedef struct sf_LimbPaper {
    const sf_Limb *limb;
    const sf_ReportAsk *ask;
    const sf_ReportWords *words;
    sf_Figures strength, length, fasten, mass, vent;
    sf_Pages pages;
    char title[160], right[200], shop[640], foot[1400], fingerprint[SF_HASH_HEX];
} sf_LimbPaper;

/// Runs the studies that the kind shows. SF_E_MEMORY.
sf_Status sf_limb_paper_gather(sf_LimbPaper *paper, sf_Error *err) SF_MUST_USE;
void sf_limb_paper_free(sf_LimbPaper *paper);

/// Each writes its pages; troubles are kept by `pages`.
void sf_release_write(sf_LimbPaper *paper);
void sf_traveller_write(sf_LimbPaper *paper);
void sf_care_write(sf_LimbPaper *paper);

enum { SF_FIGURE_TEXT = 96 };

/// A figure in the units asked for, or "not known". Lengths in m, masses in kg, torques in N.m. Static storage, eight
/// in turn.
const char *sf_paper_length(const sf_LimbPaper *paper, double length);
const char *sf_paper_mass(const sf_LimbPaper *paper, double mass);
const char *sf_paper_torque(double torque); ///< always N.m, lbf.ft and lbf.in
const char *sf_paper_angle(double angle);   ///< degrees with sign
const char *sf_paper_text(const char *format, ...) SF_PRINTF(1, 2);

/// `text`, or a line to write on.
const char *sf_paper_or_line(const char *text);
