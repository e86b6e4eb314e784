// SPDX-License-Identifier: GPL-3.0-or-later
#include "draw/pylon_sheet.h"

#include "base/text.h"
#include "base/units.h"
#include "draw/callout.h"
#include "draw/dimension.h"
#include "draw/lettering.h"
#include "draw/pylon_elevation.h"
#include "draw/section_figure.h"
#include "draw/sheet_head.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { LINE_TEXT = 320, MOST_DESCRIPTION = 8192 };

static const sf_PaperMm MARGIN = 5, HEAD = 6.4, ELEVATION = 62, CHART = 56, GAP = 3, BLOCK = 104, USE = 19;
static const double SECTION_SCALES[] = { 2, 1.75, 1.5, 1.25, 1, 0.75, 0.6, 0.5, 0.4 };
static const sf_Lettering SMALL = { SF_SMALLEST_PT, false, SF_ALIGN_LEFT, { 0.08, 0.09, 0.11 } };

static const char *const FORCE_WORDS[SF_FORCE_COUNT] = { "proof", "ultimate, lower", "ultimate, upper", "cyclic" };

static const sf_PylonCurve *governing(const sf_PylonSheet *p)
{
    return p->curves[1].governs ? &p->curves[1] : &p->curves[0];
}

static const sf_Peak *worst_peak(const sf_PylonSheet *p)
{
    const sf_PylonCurve *c = governing(p);
    const sf_Peak *worst = NULL;
    for (size_t i = 0; c->balanced && i < p->pylon->station_count; i++)
        if (!worst || c->peaks[i].von_mises > worst->von_mises)
            worst = &c->peaks[i];
    return worst;
}

// The column of the temperature that was asked for, or the one nearest to it.
static int asked_column(const sf_PylonSheet *p)
{
    int best = 0;
    for (int i = 1; i < SF_PYLON_TEMPERATURES; i++)
        if (fabs(p->temperatures_c[i] - p->temperature_c) < fabs(p->temperatures_c[best] - p->temperature_c))
            best = i;
    return best;
}

static void paint_head(sf_Sheet *sheet, const sf_PylonSheet *p, double scale)
{
    char about[LINE_TEXT];
    snprintf(about, sizeof about, "%.0f kg with load \u00b7 level %s%s \u00b7 %.60s \u00b7 drawn 1 : %g on A5", p->mass,
             p->level, p->comparison_only ? ", for comparison only" : "", p->card, round(100 / scale) / 100);
    sf_sheet_head(sheet, MARGIN, sf_sheet_box(sheet).width, "Pylon, first yield and collapse", p->label, about);
}

// ---- the factors ---------------------------------------------------------------------------------------------------

// A factor below one: the pylon yields before the force is reached. Told by a filled wedge pointing down.
static void paint_factor(sf_Sheet *sheet, sf_Spot at, double factor, double size_pt)
{
    char text[24];
    const sf_Lettering style = { size_pt, true, SF_ALIGN_RIGHT, SF_INK };
    if (isnan(factor))
        snprintf(text, sizeof text, "\u2013");
    else
        snprintf(text, sizeof text, "%.2f", factor);
    sf_sheet_text(sheet, at, &style, text);
    if (!(factor < 1))
        return;
    double h = size_pt * 0.2;
    const sf_Spot wedge[] = { { at.x + 0.8, at.y - h },
                              { at.x + 0.8 + 1.1 * h, at.y - h },
                              { at.x + 0.8 + 0.55 * h, at.y } };
    sf_sheet_fill(sheet, &(sf_Loop){ wedge, 3 }, 1, SF_INK_MARK);
}

static void paint_large(sf_Sheet *sheet, sf_Box box, const sf_PylonSheet *p)
{
    double factor = p->factors[SF_FORCE_PROOF][asked_column(p)];
    const sf_Lettering name = { SF_SMALLEST_PT, false, SF_ALIGN_LEFT, SF_INK },
                       said = { 9, true, SF_ALIGN_LEFT, SF_INK };
    char text[160];
    sf_sheet_text(sheet, (sf_Spot){ box.x, box.y + 2.4 }, &name, "First yield at this many times the proof force");
    paint_factor(sheet, (sf_Spot){ box.x + 21, box.y + 12.6 }, factor, 26);
    snprintf(text, sizeof text,
             factor < 1 ? "yields BEFORE the proof force of %s (%.0f N, condition %s) at %.0f \u00b0C"
                        : "yields beyond the proof force of %s (%.0f N, condition %s) at %.0f \u00b0C",
             p->level, p->forces[SF_FORCE_PROOF], governing(p)->condition, p->temperatures_c[asked_column(p)]);
    sf_sheet_text_box(sheet, (sf_Box){ box.x + 30, box.y + 4, box.width - 30, 12.5 }, &said, text);
}

static void paint_table(sf_Sheet *sheet, sf_Box box, const sf_PylonSheet *p)
{
    const sf_Pen thin = { SF_INK_FAINT, 0.15, SF_DASH_NONE };
    const sf_Lettering right = { SF_SMALLEST_PT, false, SF_ALIGN_RIGHT, SF_INK };
    double columns[SF_PYLON_TEMPERATURES], row = 4.1, newton = box.x + 35;
    char text[32];
    sf_sheet_text(sheet, (sf_Spot){ box.x, box.y + 2.6 }, &SMALL, "Factor, worse of I and II");
    for (int t = 0; t < SF_PYLON_TEMPERATURES; t++) {
        columns[t] = box.x + 48 + 12.5 * t;
        snprintf(text, sizeof text, "%.0f \u00b0C", p->temperatures_c[t]);
        sf_sheet_text(sheet, (sf_Spot){ columns[t], box.y + 2.6 }, &right, text);
    }
    for (int k = 0; k < SF_FORCE_COUNT; k++) {
        double y = box.y + 3.6 + row * (k + 1);
        sf_sheet_line(sheet, (sf_Spot){ box.x, y - row + 0.9 }, (sf_Spot){ box.x + box.width, y - row + 0.9 }, &thin);
        snprintf(text, sizeof text, "%.0f N", p->forces[k]);
        sf_sheet_text(sheet, (sf_Spot){ box.x, y }, &SMALL, FORCE_WORDS[k]);
        sf_sheet_text(sheet, (sf_Spot){ newton, y }, &right, text);
        for (int t = 0; t < SF_PYLON_TEMPERATURES; t++)
            paint_factor(sheet, (sf_Spot){ columns[t], y }, p->factors[k][t], 8.5);
    }
}

// What it carries beyond first yield, with its band.
static void paint_collapse(sf_Sheet *sheet, sf_Box box, const sf_PylonSheet *p)
{
    const sf_Lettering bold = { SF_SMALLEST_PT, true, SF_ALIGN_LEFT, SF_INK };
    char text[LINE_TEXT];
    if (!p->collapse_by || isnan(p->collapse_factor))
        return;
    int n = snprintf(text, sizeof text, "Collapse at %.2f", p->collapse_factor);
    if (isfinite(p->collapse_band[0]))
        n += snprintf(text + n, sizeof text - (size_t)n, " (%.2f to %.2f in nine of ten)", p->collapse_band[0],
                      p->collapse_band[1]);
    snprintf(text + n, sizeof text - (size_t)n, " times the proof force, by %s", p->collapse_by);
    sf_sheet_text_box(sheet, box, &bold, text);
}

// ---- the governing section -----------------------------------------------------------------------------------------

static sf_Spot on_circle(sf_Spot centre, double angle, sf_PaperMm radius)
{
    return (sf_Spot){ centre.x + radius * cos(angle), centre.y - radius * sin(angle) };
}

static double farthest(const sf_Outline *outline)
{
    double r = 0;
    for (size_t i = 0; i < outline->outer.count; i++)
        r = fmax(r, sf_point_length(outline->outer.points[i]));
    return r;
}

static void letter_directions(sf_Sheet *sheet, sf_Spot centre, sf_PaperMm radius, sf_CalloutField *field)
{
    static const char *const words[] = { "outward", "anterior", "inward", "posterior" };
    for (int i = 0; i < 4; i++) {
        const sf_Align align = i == 0 ? SF_ALIGN_LEFT : i == 2 ? SF_ALIGN_RIGHT : SF_ALIGN_CENTRE;
        const sf_Lettering style = { SF_SMALLEST_PT, false, align, SF_INK };
        double wide = sf_sheet_text_width(sheet, &style, words[i]);
        sf_Spot at = on_circle(centre, i * SF_PI / 2, radius + (i % 2 ? 4.4 : 1.4));
        sf_sheet_text(sheet, (sf_Spot){ at.x, at.y + 0.9 }, &style, words[i]);
        double left = at.x - (i == 0 ? 0 : i == 2 ? wide : wide / 2);
        field->obstacles[field->obstacle_count++] = (sf_Box){ left, at.y - 1.3, wide, 2.6 };
    }
}

static void call_peak(sf_Callout *c, const sf_Framing *framing, const sf_PylonSheet *p, const sf_Peak *peak)
{
    sf_Point from = p->pylon->stations[peak->station].section.centroid;
    double edge = sf_polygon_ray_last(&p->section->outer, from, peak->angle);
    double reach = isfinite(edge) ? edge : farthest(p->section);
    sf_Point at = sf_point_add(from, sf_point_scale((sf_Point){ cos(peak->angle), sin(peak->angle) }, reach));
    *c = (sf_Callout){ .target = sf_framing_spot(framing, at), .gap = 1 };
    snprintf(c->lines[0], SF_CALLOUT_TEXT, "%s at %.0f\u00b0", peak->hole >= 0 ? "hole's edge" : "most stressed",
             peak->angle / SF_DEG);
    snprintf(c->lines[1], SF_CALLOUT_TEXT, "%.1f MPa", peak->von_mises / SF_MPA);
    snprintf(c->lines[2], SF_CALLOUT_TEXT, "%s", peak->normal > 0 ? "tension" : "compression");
}

// Normal stress over the section: lines from the bore's edge inward, as long as the stress beside them is large; heavy
// where it presses, thin where it pulls.
static void paint_stress(sf_Sheet *sheet, sf_Spot centre, const sf_PylonSheet *p, size_t station, double scale)
{
    enum { LINES = 60 };
    static const sf_PaperMm longest = 6;
    const sf_Pen press = { SF_INK_SCRIBE, 0.5, SF_DASH_NONE }, pull = { SF_INK_SCRIBE, 0.18, SF_DASH_NONE };
    const sf_BeamSection *section = &p->pylon->stations[station].section;
    double stress[LINES], most = 0;
    for (int i = 0; i < LINES; i++) {
        sf_NormalStress s =
            sf_section_normal_stress(section, &p->peak_actions, section->fibre[i * SF_FIBRE_COUNT / LINES]);
        stress[i] = s.axial + s.bending;
        most = fmax(most, fabs(stress[i]));
    }
    double bore = section->inner_diameter / 2 / SF_MM * scale - 0.6;
    for (int i = 0; i < LINES && most > 0; i++) {
        double a = 2 * SF_PI * i / LINES;
        sf_sheet_line(sheet, on_circle(centre, a, bore), on_circle(centre, a, bore - longest * fabs(stress[i]) / most),
                      stress[i] < 0 ? &press : &pull);
    }
    const sf_Lettering style = { SF_SMALLEST_PT, false, SF_ALIGN_CENTRE, SF_INK };
    sf_sheet_text(sheet, (sf_Spot){ centre.x, centre.y - 0.6 }, &style, "heavy: presses");
    sf_sheet_text(sheet, (sf_Spot){ centre.x, centre.y + 2.6 }, &style, "thin: pulls");
}

static sf_Status paint_section(sf_Sheet *sheet, sf_Box box, const sf_PylonSheet *p, sf_Error *err)
{
    const sf_Peak *peak = worst_peak(p);
    char text[LINE_TEXT];
    if (!peak || !p->section) {
        snprintf(
            text, sizeof text,
            "Under the proof force of condition %s no bent shape holds: it lies at or above the force at which the "
            "pylon buckles elastically, and no stress can be told.",
            governing(p)->condition);
        sf_sheet_text_box(sheet, box, &SMALL, text);
        return SF_OK;
    }
    double r = farthest(p->section), scale = SECTION_SCALES[8];
    for (int i = 8; i >= 0; i--)
        if (2 * (r / SF_MM * SECTION_SCALES[i] + 6) <= box.height - 4)
            scale = SECTION_SCALES[i];
    sf_Spot centre = { box.x + box.width / 2, box.y + 4 + (box.height - 4) / 2 };
    const sf_Framing framing = { .at = centre, .scale = scale };
    sf_SectionFigure figure;
    SF_TRY(sf_section_figure_make(&figure, p->section, &framing, err));
    snprintf(text, sizeof text, "Section at %.0f mm above the floor, from above, %g : 1", peak->height / SF_MM, scale);
    sf_sheet_text(sheet, (sf_Spot){ box.x, box.y + 2.4 }, &SMALL, text);
    sf_section_figure_hatch(sheet, &figure, 1.3);
    sf_section_figure_edges(sheet, &figure, false);
    sf_section_figure_line(sheet, &figure);
    paint_stress(sheet, centre, p, peak->station, scale);
    sf_PaperMm radius = r / SF_MM * scale;
    sf_CalloutField field = { .box = { box.x, box.y + 4, box.width, box.height - 4 },
                              .centre = centre,
                              .keep = radius + 1.5 };
    sf_Callout calls[2];
    size_t count = 1;
    letter_directions(sheet, centre, radius, &field);
    call_peak(&calls[0], &framing, p, peak);
    sf_sheet_dot(sheet, calls[0].target, 1.2, SF_PAPER);
    sf_sheet_dot(sheet, calls[0].target, 0.9, SF_INK_MARK);
    if (isfinite(p->seam)) {
        const sf_Pen pen = { SF_INK, 0.25, SF_DASH_CENTRE };
        double bore = p->pylon->stations[peak->station].section.inner_diameter / 2 / SF_MM * scale;
        sf_Spot inner = on_circle(centre, p->seam, fmax(bore - 5, 0));
        sf_sheet_line(sheet, inner, on_circle(centre, p->seam, bore - 1), &pen); // the wall stays open to the eye
        sf_sheet_line(sheet, on_circle(centre, p->seam, radius + 0.5), on_circle(centre, p->seam, radius + 2.2), &pen);
        calls[count] = (sf_Callout){ .target = inner };
        snprintf(calls[count++].lines[0], SF_CALLOUT_TEXT, "seam at %.0f\u00b0", fmod(p->seam / SF_DEG + 360, 360));
    }
    sf_callouts_paint(sheet, &field, calls, count);
    sf_section_figure_free(&figure);
    return SF_OK;
}

// ---- the whole -----------------------------------------------------------------------------------------------------

static sf_Status describe(sf_Sheet *sheet, const sf_PylonSheet *p, sf_Error *err)
{
    sf_Text text = sf_text_make(MOST_DESCRIPTION);
    for (int k = 0; k < SF_FORCE_COUNT; k++)
        for (int t = 0; t < SF_PYLON_TEMPERATURES; t++)
            sf_text_format(&text, "%s %s, %.0f N, at %.0f \u00b0C: first yield at %.2f times the force.\n", p->level,
                           FORCE_WORDS[k], p->forces[k], p->temperatures_c[t], p->factors[k][t]);
    if (p->collapse_by && isfinite(p->collapse_factor))
        sf_text_format(&text, "Collapse at %.2f times the proof force, by %s.\n", p->collapse_factor, p->collapse_by);
    for (size_t i = 0; i < p->note_count; i++)
        sf_text_format(&text, "%s\n", p->notes[i]);
    sf_text_add(&text, p->safety);
    char title[LINE_TEXT];
    snprintf(title, sizeof title, "Pylon, first yield and collapse: %.200s", p->label);
    sf_sheet_describe(sheet, title, sf_text_string(&text));
    bool broken = text.broken;
    sf_text_free(&text);
    return broken ? SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory") : SF_OK;
}

static void paint_notes(sf_Sheet *sheet, sf_Box box, const sf_PylonSheet *p)
{
    const sf_Lettering bold = { SF_SMALLEST_PT, true, SF_ALIGN_LEFT, SF_INK };
    double y = box.y;
    for (size_t i = 0; i < p->note_count; i++) {
        const sf_Lettering *style = i == 0 ? &bold : &SMALL;
        double need = sf_sheet_text_height(sheet, box.width, style, p->notes[i]);
        if (y + need > box.y + box.height + 0.2)
            break; // the least weighty fall away first; the description and the document hold them all
        y += sf_sheet_text_box(sheet, (sf_Box){ box.x, y, box.width, need + 0.5 }, style, p->notes[i]);
    }
}

static void paint_foot(sf_Sheet *sheet, double y, const sf_PylonSheet *p)
{
    sf_Box paper = sf_sheet_box(sheet);
    const sf_Pen rule = { SF_INK, 0.2, SF_DASH_NONE };
    double width = paper.width - 2 * MARGIN;
    char text[1024];
    snprintf(text, sizeof text, "%s %s.", p->safety, p->program);
    sf_sheet_line(sheet, (sf_Spot){ MARGIN, y - 0.6 }, (sf_Spot){ MARGIN + width, y - 0.6 }, &rule);
    sf_sheet_text_box(sheet, (sf_Box){ MARGIN, y, width, paper.height - y - 3 }, &SMALL, text);
}

sf_Status sf_pylon_sheet_paint(sf_Sheet *sheet, const sf_PylonSheet *p, sf_Error *err)
{
    sf_Box paper = sf_sheet_box(sheet);
    double top = MARGIN + HEAD, width = paper.width - 2 * MARGIN, foot = paper.height - MARGIN - 8.2;
    sf_Box elevation = { MARGIN, top + 3, ELEVATION, BLOCK - 3 };
    sf_HeightScale heights = sf_height_scale(elevation, p->pylon);
    double x = MARGIN + ELEVATION + CHART + GAP, right = MARGIN + width - x;
    SF_TRY(describe(sheet, p, err));
    paint_head(sheet, p, heights.scale);
    sf_pylon_elevation_paint(sheet, elevation, &heights, p);
    double wide = p->used ? CHART - GAP - USE : CHART - GAP;
    sf_stress_chart_paint(sheet, (sf_Box){ MARGIN + ELEVATION, top, wide, BLOCK }, &heights, p);
    sf_use_chart_paint(sheet, (sf_Box){ MARGIN + ELEVATION + wide + 3, top, USE - 4, BLOCK }, &heights, p);
    paint_large(sheet, (sf_Box){ x, top, right, 17 }, p);
    paint_table(sheet, (sf_Box){ x, top + 18.5, right, 21 }, p);
    paint_collapse(sheet, (sf_Box){ x, top + 40.5, right, 7 }, p);
    SF_TRY(paint_section(sheet, (sf_Box){ x, top + 48, right, BLOCK - 48 }, p, err));
    paint_notes(sheet, (sf_Box){ MARGIN, top + BLOCK + 2, width, foot - top - BLOCK - 3 }, p);
    paint_foot(sheet, foot, p);
    return SF_OK;
}
