// SPDX-License-Identifier: GPL-3.0-or-later
// A section of the wall as a drawing: hatched, with its edges, voids and unjoined line, at a scale.
#pragma once

#include "draw/sheet.h"
#include "geom/outline.h"

/// From the outline's frame (m, y up) to the paper (mm, y down).
typedef struct sf_Framing {
    sf_Point origin; ///< this point of the section, m
    sf_Spot at;      ///< lies here on the paper
    double scale;    ///< drawn over real length
    double turn;     ///< the section is turned counter-clockwise by this, rad
    bool mirror;     ///< x is turned round first
} sf_Framing;

sf_Spot sf_framing_spot(const sf_Framing *framing, sf_Point point);

/// The paper's direction (rad, y down) of a direction in the section's frame.
double sf_framing_angle(const sf_Framing *framing, double angle);

typedef struct sf_SectionFigure {
    sf_Framing framing;
    const sf_Outline *outline;               ///< borrowed
    sf_Spot *spots;                          ///< owned
    sf_Loop loops[2 + SF_OUTLINE_MAX_VOIDS]; ///< outer, inner, voids
    size_t loop_count;
} sf_SectionFigure;

/// Points nearer than a hair on the paper are left out. SF_E_MEMORY. Free with sf_section_figure_free.
sf_Status sf_section_figure_make(sf_SectionFigure *figure, const sf_Outline *outline, const sf_Framing *framing,
                                 sf_Error *err) SF_MUST_USE;

/// Frees and empties; safe to call twice.
void sf_section_figure_free(sf_SectionFigure *figure);

/// Cut faces are hatched at 45 degrees.
void sf_section_figure_hatch(sf_Sheet *sheet, const sf_SectionFigure *figure, sf_PaperMm pitch);

/// Edges and voids as strong lines on paper, or as thin double lines (dark in white) that show on any picture.
void sf_section_figure_edges(sf_Sheet *sheet, const sf_SectionFigure *figure, bool on_picture);

/// The unjoined line, where there is one.
void sf_section_figure_line(sf_Sheet *sheet, const sf_SectionFigure *figure);
