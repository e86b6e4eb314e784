// SPDX-License-Identifier: GPL-3.0-or-later
#include "draw/limb_elevation.h"

#include "base/text.h"
#include "base/units.h"
#include "draw/dimension.h"
#include "draw/lettering.h"
#include "draw/sheet_head.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { LINE = 200, LIST = 1200, MOST_DESCRIPTION = 8192 };

static const sf_PaperMm MARGIN = 4, HEAD = 7, HEIGHTS = 30, GAP = 4, FOOT = 27, VIEW_NAME = 5;
static const sf_PaperMm MARK_PITCH = 3.4;
static const double ABOVE_KNEE = 0.04; // m of socket drawn above the knee line
static const double SCALES[] = { 0.5, 0.4, 1.0 / 3, 0.25, 0.2, 1.0 / 6, 1.0 / 7, 0.125, 0.1 };

static const sf_Lettering SMALL = { SF_SMALLEST_PT, false, SF_ALIGN_LEFT, { 0.08, 0.09, 0.11 } };
static const sf_Lettering SOFT = { SF_SMALLEST_PT, false, SF_ALIGN_LEFT, { 0.33, 0.35, 0.38 } };

static double socket_top(const sf_LimbElevation *e)
{
    return fmax(e->body->knee_level - e->body->chain.socket_height + ABOVE_KNEE, 0.06);
}

sf_ElevationPlaces sf_limb_elevation_places(const sf_LimbElevation *e)
{
    double room_up = SF_ELEVATION_HEIGHT - 2 * MARGIN - HEAD - FOOT - VIEW_NAME;
    double room_across = SF_ELEVATION_WIDTH - 2 * MARGIN - HEIGHTS - GAP;
    sf_FigureReach side = sf_limb_figure_reach(e->body, SF_VIEW_SIDE, socket_top(e));
    sf_FigureReach front = sf_limb_figure_reach(e->body, SF_VIEW_FRONT, socket_top(e));
    // Leaning sockets and shifted feet want some room at the sides.
    double wide = 1.12 * (side.left + side.right + front.left + front.right);
    size_t i = 0;
    while (i + 1 < sizeof SCALES / sizeof *SCALES && (side.up * SCALES[i] > room_up || wide * SCALES[i] > room_across))
        i++;
    double scale = SCALES[i], spare = (room_across - wide * scale) / 2;
    double floor = SF_ELEVATION_HEIGHT - MARGIN - FOOT, left = MARGIN + HEIGHTS + spare / 2;
    sf_ElevationPlaces places = {
        .side = { SF_VIEW_SIDE, { left + 1.06 * side.left * scale, floor }, scale },
        .front = { SF_VIEW_FRONT, { 0, floor }, scale },
    };
    places.front.at.x = SF_ELEVATION_WIDTH - MARGIN - spare / 2 - 1.06 * front.right * scale;
    return places;
}

// ---- heights -------------------------------------------------------------------------------------------------------

// Running heights from the floor, lowest first, pushed apart where they would touch; one that was only assumed carries
// a question mark in place of its figure.
static void paint_heights(sf_Sheet *sheet, const sf_LimbElevation *e, const sf_LimbEye *eye)
{
    const sf_Pen thin = { SF_INK_SOFT, 0.13, SF_DASH_NONE }, dashed = { SF_INK_SOFT, 0.13, SF_DASH_SHORT };
    double line = MARGIN + HEIGHTS - 3, y[SF_ELEVATION_HEIGHTS], reach = eye->at.x - 2;
    for (size_t i = 0; i < e->height_count; i++)
        y[i] = eye->at.y - e->heights[i].height / SF_MM * eye->scale + 0.9;
    for (int round = 0; round < 80; round++)
        for (size_t i = 0; i + 1 < e->height_count; i++) {
            double lack = MARK_PITCH - (y[i] - y[i + 1]);
            if (lack > 0) {
                y[i] += i > 0 ? lack / 2 : 0;
                y[i + 1] -= i > 0 ? lack / 2 : lack;
            }
        }
    for (size_t i = 0; i < e->height_count; i++) {
        const sf_ElevationHeight *h = &e->heights[i];
        double at = eye->at.y - h->height / SF_MM * eye->scale;
        char text[LINE];
        if (h->known)
            snprintf(text, sizeof text, "%s %.0f", h->word, h->height / SF_MM);
        else
            snprintf(text, sizeof text, "%s ?", h->word);
        const sf_Lettering right = { SF_SMALLEST_PT, false, SF_ALIGN_RIGHT, h->known ? SF_INK : SF_INK_SOFT };
        sf_sheet_text(sheet, (sf_Spot){ line - 4, y[i] }, &right, text);
        sf_sheet_line(sheet, (sf_Spot){ line - 3.5, y[i] - 0.9 }, (sf_Spot){ line - 1, at }, &thin);
        sf_sheet_line(sheet, (sf_Spot){ line - 1, at }, (sf_Spot){ reach, at }, h->known ? &thin : &dashed);
        if (h->height > 0 && h->known)
            sf_arrow_head(sheet, (sf_Spot){ line, at }, -SF_PI / 2, 1.7, SF_INK);
        if (h->height > 0)
            sf_sheet_line(sheet, (sf_Spot){ line, eye->at.y }, (sf_Spot){ line, at }, &thin);
    }
    sf_sheet_circle(sheet, (sf_Spot){ line, eye->at.y }, 0.7, &(sf_Pen){ SF_INK, 0.2, SF_DASH_NONE });
}

// ---- what is on the pylon ------------------------------------------------------------------------------------------

static void paint_holes(sf_Sheet *sheet, const sf_LimbElevation *e, const sf_LimbEye *eye)
{
    const sf_Chain *c = &e->body->chain;
    double r = e->body->outer_diameter / 2;
    for (size_t i = 0; i < e->hole_count; i++) {
        const sf_ElevationHole *h = &e->holes[i];
        double forward = r * sin(h->angle), outward = c->side * r * cos(h->angle);
        bool side = eye->view == SF_VIEW_SIDE;
        // Towards the eye: from the right of the person in the side view, from the front in the other.
        bool hidden = side ? outward > 0 : forward < 0;
        sf_Spot at = sf_limb_eye_spot(eye, sf_limb_figure_axis(e->body, &e->settings, h->height));
        at.x += (side ? forward : outward) / SF_MM * eye->scale;
        double half = fmax(h->diameter / 2 / SF_MM * eye->scale, 0.45);
        const sf_Pen pen = { SF_INK, 0.2, hidden || h->planned ? SF_DASH_DOTS : SF_DASH_NONE },
                     cross = { SF_INK, 0.1, SF_DASH_NONE };
        sf_sheet_dot(sheet, at, half, SF_PAPER);
        sf_sheet_circle(sheet, at, half, &pen);
        sf_sheet_line(sheet, (sf_Spot){ at.x - half - 0.6, at.y }, (sf_Spot){ at.x + half + 0.6, at.y }, &cross);
        sf_sheet_line(sheet, (sf_Spot){ at.x, at.y - half - 0.6 }, (sf_Spot){ at.x, at.y + half + 0.6 }, &cross);
    }
}

static void paint_rings(sf_Sheet *sheet, const sf_LimbElevation *e, const sf_LimbEye *eye)
{
    const sf_Pen pen = { SF_INK_SCRIBE, 0.5, SF_DASH_NONE };
    double r = e->body->outer_diameter / 2 / SF_MM * eye->scale;
    for (size_t i = 0; i < e->ring_count; i++) {
        sf_Spot at = sf_limb_eye_spot(eye, sf_limb_figure_axis(e->body, &e->settings, e->rings[i]));
        sf_sheet_line(sheet, (sf_Spot){ at.x - r - 0.9, at.y }, (sf_Spot){ at.x + r + 0.9, at.y }, &pen);
    }
}

// ---- the whole -----------------------------------------------------------------------------------------------------

static void paint_view(sf_Sheet *sheet, const sf_LimbElevation *e, const sf_LimbEye *eye)
{
    const sf_FigureLook look = { SF_INK, 0.3, false, socket_top(e), NULL };
    const sf_Pen ground = { SF_INK, 0.45, SF_DASH_NONE }, knee = { SF_INK_SOFT, 0.13, SF_DASH_CENTRE };
    sf_FigureReach reach = sf_limb_figure_reach(e->body, eye->view, socket_top(e));
    double from = eye->at.x - 1.08 * reach.left * eye->scale, to = eye->at.x + 1.08 * reach.right * eye->scale;
    double high = eye->at.y - e->body->knee_level / SF_MM * eye->scale;
    sf_limb_figure_paint(sheet, eye, e->body, &e->settings, &look);
    paint_rings(sheet, e, eye);
    paint_holes(sheet, e, eye);
    sf_sheet_line(sheet, (sf_Spot){ from, eye->at.y }, (sf_Spot){ to, eye->at.y }, &ground);
    sf_Spot base = sf_limb_eye_spot(eye, sf_limb_figure_axis(e->body, &e->settings, e->body->knee_level));
    sf_sheet_line(sheet, (sf_Spot){ base.x - 12, high }, (sf_Spot){ base.x + 12, high }, &knee);
}

static void name_view(sf_Sheet *sheet, const sf_LimbElevation *e, const sf_LimbEye *eye)
{
    bool left = e->body->chain.side == SF_CHAIN_LEFT;
    double y = eye->at.y + 4.2;
    if (eye->view == SF_VIEW_SIDE) {
        const sf_Lettering style = { SF_SMALLEST_PT, false, SF_ALIGN_CENTRE, SF_INK_SOFT };
        sf_FigureReach reach = sf_limb_figure_reach(e->body, SF_VIEW_SIDE, socket_top(e));
        double x = eye->at.x + (reach.right - reach.left) / 2 * eye->scale;
        sf_sheet_text(sheet, (sf_Spot){ x, y }, &style,
                      left ? "from the inner side, forward \u2192" : "from the outer side, forward \u2192");
    } else {
        const sf_Lettering style = { SF_SMALLEST_PT, false, SF_ALIGN_CENTRE, SF_INK_SOFT };
        sf_sheet_text(sheet, (sf_Spot){ eye->at.x, y }, &style,
                      left ? "from the front, outward \u2192" : "\u2190 outward, from the front");
    }
}

static void paint_head(sf_Sheet *sheet, const sf_LimbElevation *e, double scale)
{
    char about[LINE];
    snprintf(about, sizeof about, "%s, transtibial \u00b7 %.0f kg \u00b7 1 : %g, heights in mm",
             e->body->chain.side == SF_CHAIN_LEFT ? "left" : "right", e->body_mass, round(10 / scale) / 10);
    sf_sheet_head(sheet, MARGIN, SF_ELEVATION_WIDTH, "", *e->label ? e->label : "Limb", about);
}

// What is missing, as far as `most` sizes, then how many more.
static void list_missing(const sf_LimbElevation *e, char *text, size_t room, size_t most)
{
    size_t used = 0;
    for (size_t i = 0; i < e->missing_count && i < most && used < room; i++)
        used += (size_t)snprintf(text + used, room - used, "%s%s",
                                 i ? ", " : "Not known yet (dashed): ", e->missing[i].words);
    if (e->missing_count > most && used < room)
        snprintf(text + used, room - used, " and %zu more.", e->missing_count - most);
    else if (used < room)
        snprintf(text + used, room - used, "%s.",
                 e->missing_count ? "" : "Every size that this drawing shows is known");
}

static void paint_foot(sf_Sheet *sheet, const sf_LimbElevation *e)
{
    const sf_Pen rule = { SF_INK, 0.2, SF_DASH_NONE };
    const sf_Lettering bold = { SF_SMALLEST_PT, true, SF_ALIGN_LEFT, SF_INK };
    double width = SF_ELEVATION_WIDTH - 2 * MARGIN, y = SF_ELEVATION_HEIGHT - MARGIN - FOOT + VIEW_NAME + 1;
    char last[LINE * 4];
    snprintf(last, sizeof last, "%s %s.", e->safety, e->program);
    double safety = sf_sheet_text_height(sheet, width, &SOFT, last), end = SF_ELEVATION_HEIGHT - 2.5 - safety;
    const sf_Lettering *style = e->missing_count > 0 ? &bold : &SMALL;
    for (size_t most = SF_ELEVATION_MISSING + 1; most-- > 1;) {
        char text[LIST];
        list_missing(e, text, sizeof text, most);
        double need = sf_sheet_text_height(sheet, width, style, text);
        bool fits = need <= end - y - 1.5 || most == 1;
        if (fits)
            sf_sheet_text_box(sheet, (sf_Box){ MARGIN, y, width, need + 0.3 }, style, text);
        if (fits)
            break;
    }
    sf_sheet_line(sheet, (sf_Spot){ MARGIN, end - 0.8 }, (sf_Spot){ MARGIN + width, end - 0.8 }, &rule);
    sf_sheet_text_box(sheet, (sf_Box){ MARGIN, end, width, safety + 0.5 }, &SOFT, last);
}

static sf_Status describe(sf_Sheet *sheet, const sf_LimbElevation *e, double scale, sf_Error *err)
{
    sf_Text text = sf_text_make(MOST_DESCRIPTION);
    char title[LINE];
    snprintf(title, sizeof title, "Limb to scale: %.120s", *e->label ? e->label : "no label");
    sf_text_format(&text, "%s transtibial limb, %.0f kg, drawn 1 : %g from the side and the front.\n",
                   e->body->chain.side == SF_CHAIN_LEFT ? "Left" : "Right", e->body_mass, round(10 / scale) / 10);
    for (size_t i = 0; i < e->height_count; i++)
        if (e->heights[i].known)
            sf_text_format(&text, "%s: %.0f mm above the floor.\n", e->heights[i].word, e->heights[i].height / SF_MM);
        else
            sf_text_format(&text, "%s: not known, drawn where it might be.\n", e->heights[i].word);
    for (size_t i = 0; i < e->missing_count; i++)
        sf_text_format(&text, "Missing: %s (%s).\n", e->missing[i].words, e->missing[i].field);
    sf_text_add(&text, e->safety);
    sf_sheet_describe(sheet, title, sf_text_string(&text));
    bool broken = text.broken;
    sf_text_free(&text);
    return broken ? SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory while drawing a limb") : SF_OK;
}

sf_Status sf_limb_elevation_paint(sf_Sheet *sheet, const sf_LimbElevation *e, sf_Error *err)
{
    sf_ElevationPlaces places = sf_limb_elevation_places(e);
    SF_TRY(describe(sheet, e, places.side.scale, err));
    paint_head(sheet, e, places.side.scale);
    paint_heights(sheet, e, &places.side);
    paint_view(sheet, e, &places.side);
    paint_view(sheet, e, &places.front);
    name_view(sheet, e, &places.side);
    name_view(sheet, e, &places.front);
    paint_foot(sheet, e);
    return SF_OK;
}
