// SPDX-License-Identifier: GPL-3.0-or-later
#include "draw/limb_views.h"

#include "base/units.h"
#include "draw/dimension.h"
#include "draw/lettering.h"

#include <math.h>
#include <stdio.h>

const double SF_VIEW_PERCENT[SF_VIEW_INSTANTS] = { 30, 75 };

static const sf_Dash DASHES[SF_VIEW_INSTANTS] = { SF_DASH_NONE, SF_DASH_LONG };
static const sf_PaperMm UNDER = 8, ABOVE_TOP = 4; // for the floor's and the lines' lettering
static const double SOCKET_SHOWN = 0.065;         // m of socket above its base
static const double ABOVE_SOCKET = 0.02;          // m that the force's lines reach beyond it
static const double SCALES[] = { 0.5, 0.4, 1.0 / 3, 0.25, 0.2, 1.0 / 6, 1.0 / 7, 0.125, 0.1, 1.0 / 12, 1.0 / 15 };

size_t sf_stance_curves_at(const sf_StanceCurves *curves, double percent)
{
    size_t best = 0;
    for (size_t i = 1; i < curves->count; i++)
        if (fabs(curves->percent[i] - percent) < fabs(curves->percent[best] - percent))
            best = i;
    return best;
}

// ---- where the views lie -------------------------------------------------------------------------------------------

// The pressure point, and where the force's line is at a height.
static sf_Vector on_line(const sf_LimbViews *v, const sf_GroundForce *f, double height)
{
    double t = height / f->vertical, s = v->body->chain.side;
    return (sf_Vector){ f->cop_f + t * f->forward, s * (f->cop_o + t * f->outward), height };
}

// How far the figures and their sockets reach, both settings together; mm at scale 1.
static sf_FigureReach reach_of(const sf_LimbViews *v, sf_LimbView view)
{
    sf_FigureReach r = sf_limb_figure_reach(v->body, view, SOCKET_SHOWN);
    const sf_LimbEye unit = { view, { 0, 0 }, 1 };
    double half = 0.045 / SF_MM; // half a socket
    for (int k = 0; k < 2; k++) {
        const sf_StanceCurves *c = k ? v->after : v->before;
        if (!c)
            continue;
        sf_Stand stand = sf_chain_stand(&v->body->chain, &c->settings);
        sf_Vector top =
            sf_vector_add(stand.base, sf_vector_scale(sf_rotation_axis(stand.socket, SF_AXIS_Z), SOCKET_SHOWN));
        sf_Spot at = sf_limb_eye_spot(&unit, top);
        r.left = fmax(r.left, -at.x + half);
        r.right = fmax(r.right, at.x + half);
        r.up = view == SF_VIEW_ABOVE ? fmax(r.up, -at.y + half) : fmax(r.up, top.z / SF_MM);
        r.down = view == SF_VIEW_ABOVE ? fmax(r.down, at.y + half) : 0;
        double toe = sin(stand.foot_heading) * 0.8 * v->body->foot_length / SF_MM;
        double half_toe = 0.1 * v->body->foot_length / SF_MM;
        if (view == SF_VIEW_ABOVE) {
            r.up = fmax(r.up, toe + half_toe);
            r.down = fmax(r.down, -toe + half_toe);
        } else if (view == SF_VIEW_FRONT) {
            r.left = fmax(r.left, -0.6 * toe + 2 * half_toe);
            r.right = fmax(r.right, 0.6 * toe + 2 * half_toe);
        }
        for (int n = 0; v->load_lines && view != SF_VIEW_ABOVE && n < SF_VIEW_INSTANTS; n++) {
            const sf_GroundForce *f = &c->force[sf_stance_curves_at(c, SF_VIEW_PERCENT[n])];
            double x =
                sf_limb_eye_spot(&unit, on_line(v, f, v->body->chain.socket_height + SOCKET_SHOWN + ABOVE_SOCKET)).x;
            r.left = fmax(r.left, -x);
            r.right = fmax(r.right, x);
        }
    }
    return r;
}

sf_ViewPlaces sf_limb_views_places(const sf_LimbViews *v, sf_Box upright, sf_Box above)
{
    sf_FigureReach side = reach_of(v, SF_VIEW_SIDE), front = reach_of(v, SF_VIEW_FRONT),
                   top = reach_of(v, SF_VIEW_ABOVE);
    double across = side.left + side.right + front.left + front.right, gap = 5;
    size_t i = 0, last = sizeof SCALES / sizeof *SCALES - 1;
    for (; i < last; i++)
        if (fmax(side.up, front.up) * SCALES[i] <= upright.height - UNDER - ABOVE_TOP &&
            across * SCALES[i] <= upright.width - gap && (top.left + top.right) * SCALES[i] <= above.width &&
            (top.up + top.down) * SCALES[i] <= above.height)
            break;
    double k = SCALES[i], floor = upright.y + upright.height - UNDER, spare = (upright.width - gap - across * k) / 3;
    sf_ViewPlaces places = { .top = (upright.height - UNDER - ABOVE_TOP) / k * SF_MM };
    places.top = fmin(places.top, v->body->chain.socket_height + SOCKET_SHOWN + ABOVE_SOCKET);
    places.eye[SF_VIEW_SIDE] = (sf_LimbEye){ SF_VIEW_SIDE, { upright.x + spare + side.left * k, floor }, k };
    places.eye[SF_VIEW_FRONT] =
        (sf_LimbEye){ SF_VIEW_FRONT, { upright.x + upright.width - spare - front.right * k, floor }, k };
    places.eye[SF_VIEW_ABOVE] = (sf_LimbEye){ SF_VIEW_ABOVE,
                                              { above.x + (above.width - (top.left + top.right) * k) / 2 + top.left * k,
                                                above.y + (above.height - (top.up + top.down) * k) / 2 + top.up * k },
                                              k };
    return places;
}

// ---- load lines ----------------------------------------------------------------------------------------------------

static sf_Vector base_of(const sf_LimbViews *v, const sf_StanceCurves *c)
{
    return sf_chain_stand(&v->body->chain, &c->settings).base;
}

static void paint_load_line(sf_Sheet *sheet, const sf_LimbViews *v, const sf_ViewPlaces *p, sf_LimbView view,
                            const sf_StanceCurves *c, int instant)
{
    const sf_LimbEye *eye = &p->eye[view];
    const sf_GroundForce *f = &c->force[sf_stance_curves_at(c, SF_VIEW_PERCENT[instant])];
    bool ghost = c == v->before;
    const sf_Colour ink = ghost ? SF_INK_FAINT : SF_INK_MARK;
    sf_Spot low = sf_limb_eye_spot(eye, on_line(v, f, 0)), high = sf_limb_eye_spot(eye, on_line(v, f, p->top));
    sf_sheet_line(sheet, low, high, &(sf_Pen){ ink, ghost ? 0.25 : 0.35, DASHES[instant] });
    if (ghost)
        return;
    sf_arrow_head(sheet, (sf_Spot){ low.x + 0.07 * (high.x - low.x), low.y + 0.07 * (high.y - low.y) },
                  atan2(high.y - low.y, high.x - low.x), 2.2, SF_INK_MARK);
    // The lever: square from the line to the socket base.
    sf_Spot base = sf_limb_eye_spot(eye, base_of(v, c));
    double dx = high.x - low.x, dy = high.y - low.y,
           t = ((base.x - low.x) * dx + (base.y - low.y) * dy) / (dx * dx + dy * dy);
    sf_sheet_line(sheet, base, (sf_Spot){ low.x + t * dx, low.y + t * dy },
                  &(sf_Pen){ SF_INK_MARK, 0.15, SF_DASH_DOTS });
}

// Names of the two lines at their upper ends, pushed apart where they would touch.
static void name_lines(sf_Sheet *sheet, const sf_LimbViews *v, const sf_ViewPlaces *p, sf_LimbView view)
{
    const sf_Lettering style = { SF_SMALLEST_PT, false, SF_ALIGN_CENTRE, SF_INK_MARK };
    double x[SF_VIEW_INSTANTS], wide = sf_sheet_text_width(sheet, &style, "75 %") + 0.8, y = 0;
    for (int i = 0; i < SF_VIEW_INSTANTS; i++) {
        const sf_GroundForce *f = &v->after->force[sf_stance_curves_at(v->after, SF_VIEW_PERCENT[i])];
        sf_Spot high = sf_limb_eye_spot(&p->eye[view], on_line(v, f, p->top));
        x[i] = high.x;
        y = high.y;
    }
    double lack = wide - fabs(x[1] - x[0]), sign = x[1] < x[0] ? -1 : 1;
    if (lack > 0) {
        x[0] -= sign * lack / 2;
        x[1] += sign * lack / 2;
    }
    for (int i = 0; i < SF_VIEW_INSTANTS; i++) {
        char text[16];
        snprintf(text, sizeof text, "%.0f %%", SF_VIEW_PERCENT[i]);
        sf_sheet_text(sheet, (sf_Spot){ x[i], y - 0.8 }, &style, text);
    }
}

// From above: the pressure point's way, with its places at the two instants.
static void paint_path(sf_Sheet *sheet, const sf_LimbViews *v, const sf_LimbEye *eye, const sf_StanceCurves *c)
{
    sf_Spot path[SF_STANCE_MAX_POINTS];
    bool ghost = c == v->before;
    const sf_Pen pen = { ghost ? SF_INK_FAINT : SF_INK_MARK, ghost ? 0.25 : 0.35, SF_DASH_NONE };
    for (size_t i = 0; i < c->count; i++)
        path[i] = sf_limb_eye_spot(eye, on_line(v, &c->force[i], 0));
    sf_sheet_polyline(sheet, path, c->count, false, &pen);
    for (int i = 0; i < SF_VIEW_INSTANTS; i++) {
        sf_Spot at = path[sf_stance_curves_at(c, SF_VIEW_PERCENT[i])];
        sf_sheet_dot(sheet, at, ghost ? 0.6 : 0.8, i ? pen.colour : SF_PAPER);
        sf_sheet_circle(sheet, at, ghost ? 0.6 : 0.8, &(sf_Pen){ pen.colour, 0.25, SF_DASH_NONE });
    }
}

// ---- the views -----------------------------------------------------------------------------------------------------

static void paint_base(sf_Sheet *sheet, const sf_LimbEye *eye, sf_Vector base, bool ghost)
{
    sf_Spot at = sf_limb_eye_spot(eye, base);
    const sf_Pen pen = { ghost ? SF_INK_FAINT : SF_INK, 0.3, SF_DASH_NONE };
    sf_sheet_dot(sheet, at, ghost ? 0.7 : 0.95, SF_PAPER);
    sf_sheet_circle(sheet, at, ghost ? 0.7 : 0.95, &pen);
    if (!ghost)
        sf_sheet_dot(sheet, at, 0.35, SF_INK);
}

static void paint_ground(sf_Sheet *sheet, const sf_LimbViews *v, const sf_LimbEye *eye)
{
    bool left = v->body->chain.side == SF_CHAIN_LEFT;
    const sf_Lettering style = { SF_SMALLEST_PT, false, SF_ALIGN_CENTRE, SF_INK_SOFT };
    sf_FigureReach reach = reach_of(v, eye->view);
    double from = eye->at.x - reach.left * eye->scale, to = eye->at.x + reach.right * eye->scale,
           middle = (from + to) / 2;
    if (eye->view == SF_VIEW_ABOVE) {
        double y = eye->at.y + reach.down * eye->scale + 2.6;
        sf_sheet_text(sheet, (sf_Spot){ middle, y }, &style,
                      left ? "from above, forward \u2192, outward \u2191"
                           : "from above, forward \u2192, outward \u2193");
        return;
    }
    sf_sheet_line(sheet, (sf_Spot){ from, eye->at.y }, (sf_Spot){ to, eye->at.y },
                  &(sf_Pen){ SF_INK, 0.45, SF_DASH_NONE });
    const char *words = eye->view == SF_VIEW_FRONT ? (left ? "front, outward \u2192" : "\u2190 outward, front")
                        : left                     ? "inner side, forward \u2192"
                                                   : "outer side, forward \u2192";
    // A held limb's foot may reach below the floor.
    sf_sheet_text(sheet, (sf_Spot){ middle, eye->at.y + (v->held ? 6.8 : 3.8) }, &style, words);
}

// An arrow along a line or on an arc about a place, thick enough to be seen from across a bench.
static void paint_straight(sf_Sheet *sheet, sf_Spot from, double angle, sf_PaperMm length)
{
    sf_Spot to = { from.x + length * cos(angle), from.y + length * sin(angle) };
    sf_Spot neck = { from.x + (length - 3) * cos(angle), from.y + (length - 3) * sin(angle) };
    sf_sheet_line(sheet, from, neck, &(sf_Pen){ SF_INK_MARK, 0.9, SF_DASH_NONE });
    sf_arrow_head(sheet, to, angle, 4.5, SF_INK_MARK);
}

static void paint_turn(sf_Sheet *sheet, sf_Spot centre, sf_PaperMm radius, double from, double by)
{
    enum { STEPS = 16 };
    sf_Spot spots[STEPS + 1];
    for (int i = 0; i <= STEPS; i++) {
        double a = from + by * i / STEPS;
        spots[i] = (sf_Spot){ centre.x + radius * cos(a), centre.y + radius * sin(a) };
    }
    double turn = by < 0 ? -1 : 1, beyond = from + by + turn * 3 / radius;
    sf_Spot tip = { centre.x + radius * cos(beyond), centre.y + radius * sin(beyond) };
    sf_sheet_polyline(sheet, spots, STEPS + 1, false, &(sf_Pen){ SF_INK_MARK, 0.9, SF_DASH_NONE });
    sf_arrow_head(sheet, tip, atan2(tip.y - spots[STEPS].y, tip.x - spots[STEPS].x), 4.5, SF_INK_MARK);
}

// Where the change lies: shifts at the height of the adapter, tilts and turns at the border of the foot that rises or
// swings.
static void paint_arrow(sf_Sheet *sheet, const sf_LimbViews *v, const sf_ViewPlaces *p)
{
    const sf_LimbBody *b = v->body;
    double s = b->chain.side, sign = v->arrow_sign < 0 ? -1 : 1, l = b->foot_length;
    const sf_LimbEye *side = &p->eye[SF_VIEW_SIDE], *front = &p->eye[SF_VIEW_FRONT], *above = &p->eye[SF_VIEW_ABOVE];
    double high = b->mounting_face, half = b->clamp_outer / 2 + 0.008;
    switch (v->arrow) {
    case SF_SETTING_FOOT_FORWARD:
        paint_straight(sheet, sf_limb_eye_spot(side, (sf_Vector){ sign * half, 0, high }), sign > 0 ? 0 : SF_PI, 12);
        break;
    case SF_SETTING_FOOT_OUTSET:
        paint_straight(sheet, sf_limb_eye_spot(front, (sf_Vector){ 0, s * sign * half, high }),
                       s * sign > 0 ? 0 : SF_PI, 9);
        break;
    case SF_SETTING_DORSIFLEXION: {
        sf_Spot pivot = sf_limb_eye_spot(side, (sf_Vector){ 0, 0, b->chain.cut_height });
        double radius = 0.7 * l / SF_MM * side->scale;
        paint_turn(sheet, pivot, radius, sign > 0 ? 0.50 : 0.18, sign > 0 ? -0.26 : 0.26);
        break;
    }
    case SF_SETTING_EVERSION: {
        sf_Spot pivot = sf_limb_eye_spot(front, (sf_Vector){ 0, 0, b->chain.cut_height });
        double radius = 0.9 * b->chain.cut_height / SF_MM * front->scale, middle = s > 0 ? 0.9 : SF_PI - 0.9;
        // Outer border up: against the clock on a left limb seen from the front.
        paint_turn(sheet, pivot, radius, middle + s * sign * 0.22, -s * sign * 0.44);
        break;
    }
    case SF_SETTING_TOE_OUT: {
        sf_Spot ankle = sf_limb_eye_spot(above, (sf_Vector){ 0, 0, 0 });
        double radius = 0.82 * l / SF_MM * above->scale;
        double start = -sf_chain_stand(&b->chain, &v->after->settings).foot_heading;
        paint_turn(sheet, ankle, radius, start + s * sign * 0.1, -s * sign * 0.2);
        break;
    }
    default: break;
    }
}

void sf_limb_views_paint(sf_Sheet *sheet, const sf_LimbViews *v, const sf_ViewPlaces *p)
{
    const sf_FigureLook ghost = { SF_INK_FAINT, 0.22, true, SOCKET_SHOWN, v->held },
                        plain = { SF_INK, 0.3, false, SOCKET_SHOWN, v->held };
    for (int view = 0; view < SF_VIEW_COUNT; view++) {
        const sf_LimbEye *eye = &p->eye[view];
        bool above = view == SF_VIEW_ABOVE;
        if (v->before)
            sf_limb_figure_paint(sheet, eye, v->body, &v->before->settings, &ghost);
        sf_limb_figure_paint(sheet, eye, v->body, &v->after->settings, &plain);
        for (int k = 0; k < 2; k++) {
            const sf_StanceCurves *c = k ? v->after : v->before;
            if (!c)
                continue;
            if (v->load_lines && above)
                paint_path(sheet, v, eye, c);
            for (int i = 0; v->load_lines && !above && i < SF_VIEW_INSTANTS; i++)
                paint_load_line(sheet, v, p, (sf_LimbView)view, c, i);
            if (!v->held)
                paint_base(sheet, eye, base_of(v, c), k == 0);
        }
        if (v->load_lines && !above)
            name_lines(sheet, v, p, (sf_LimbView)view);
        paint_ground(sheet, v, eye);
    }
    paint_arrow(sheet, v, p);
}
