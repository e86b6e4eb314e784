// SPDX-License-Identifier: GPL-3.0-or-later
// Tubes and pylons for the tests of this folder.
#pragma once

#include "base/units.h"
#include "strength/elastic.h"

#include <math.h>

enum { TUBE_POINTS = 1440 };

// A tube with its bore off centre and, when line > 0, an unjoined line of that length from the bore at `seam`.
static inline sf_Outline tube_outline(double outer, double inner, sf_Point offset, double line, double seam)
{
    sf_Outline o = { .line_searched = true };
    (void)!sf_polygon_create(&o.outer, TUBE_POINTS, NULL);
    (void)!sf_polygon_create(&o.inner, TUBE_POINTS, NULL);
    for (size_t i = 0; i < TUBE_POINTS; i++) {
        double a = 2 * SF_PI * (double)i / TUBE_POINTS;
        o.outer.points[i] = (sf_Point){ outer / 2 * cos(a), outer / 2 * sin(a) };
        o.inner.points[i] = (sf_Point){ inner / 2 * cos(a) + offset.x, inner / 2 * sin(a) + offset.y };
    }
    if (line > 0) {
        sf_Point d = { cos(seam), sin(seam) };
        o.line = (sf_UnjoinedLine){ true, false, sf_point_scale(d, inner / 2), sf_point_scale(d, inner / 2 + line) };
    }
    return o;
}

static inline sf_BeamSection tube_section(double outer_mm, double inner_mm, double line_mm, double seam)
{
    sf_Outline o = tube_outline(outer_mm * SF_MM, inner_mm * SF_MM, (sf_Point){ 0, 0 }, line_mm * SF_MM, seam);
    sf_BeamSection section = { 0 };
    sf_TorsionRoute route;
    (void)!sf_beam_section_compute(&section, &o, &route, NULL);
    sf_outline_free(&o);
    return section;
}

static inline sf_Pylon tube_pylon(const sf_BeamSection *section, double cut_mm, double grip_mm, double top_mm,
                                  const sf_BeamHole *holes, size_t hole_count)
{
    sf_Pylon pylon = { 0 };
    double height = cut_mm * SF_MM;
    (void)!sf_pylon_create(&pylon, height, height + grip_mm * SF_MM, top_mm * SF_MM, &height, section, 1, holes,
                           hole_count, NULL);
    return pylon;
}
