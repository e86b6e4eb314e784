// SPDX-License-Identifier: GPL-3.0-or-later
#include "draw/limb_figure.h"

#include "base/units.h"

#include <math.h>

enum { CURVE_MOST = 128, CURVE_STEPS = 7 };

// Shapes for the eye only, in shares of the foot's length or of the socket's size (judgement).
static const double HEEL_BACK = 0.25, TOE = 0.75, BALL = 0.45, BALL_HALF = 0.19;
static const double SOCKET_WIDE_PER_KNEE = 0.115, SOCKET_ROUND = 0.5; // half width; where it is wide, of the way up

// A corner of a shape; `straight`: the way to the next corner is a line.
typedef struct Corner {
    double a, b;
    bool straight;
} Corner;

typedef struct Figure {
    sf_Sheet *sheet;
    const sf_LimbEye *eye;
    const sf_LimbBody *body;
    const sf_FigureLook *look;
    sf_Transform pylon, socket, foot, floor; ///< to the floor; `floor` is the one under the shoe, along the foot
} Figure;

sf_Spot sf_limb_eye_spot(const sf_LimbEye *eye, sf_Vector p)
{
    double k = eye->scale / SF_MM;
    switch (eye->view) {
    case SF_VIEW_FRONT: return (sf_Spot){ eye->at.x + k * p.y, eye->at.y - k * p.z };
    case SF_VIEW_ABOVE: return (sf_Spot){ eye->at.x + k * p.x, eye->at.y - k * p.y };
    default: return (sf_Spot){ eye->at.x + k * p.x, eye->at.y - k * p.z };
    }
}

// Origin at the cut end on the axis, z along it.
static sf_Transform pylon_on_floor(const sf_LimbBody *body, const sf_Stand *stand)
{
    const sf_Chain *c = &body->chain;
    sf_Vector base = { c->socket_offset_f, c->side * c->socket_offset_o, c->socket_height - c->cut_height };
    return sf_transform_of(stand->pylon, sf_vector_sub(stand->base, sf_rotation_apply(stand->pylon, base)));
}

// Origin on the floor under the ankle centre, x along the foot; the shoe tips the foot about the point under the ankle
// at the height of the heel, as in the chain.
static sf_Transform foot_on_floor(const sf_LimbBody *body, const sf_Stand *stand)
{
    const sf_Chain *c = &body->chain;
    sf_Rotation tip = sf_rotation_about(SF_AXIS_Y, c->shoe_tilt);
    sf_Vector pivot = { 0, 0, c->heel_height };
    sf_Vector shift = sf_vector_sub(pivot, sf_rotation_apply(tip, pivot));
    shift.x -= sin(c->shoe_tilt) * (c->ankle_height - c->heel_height);
    sf_Rotation heading = sf_rotation_about(SF_AXIS_Z, stand->foot_heading);
    return sf_transform_chain(sf_transform_of(heading, (sf_Vector){ 0, 0, 0 }), sf_transform_of(tip, shift));
}

sf_Vector sf_limb_figure_axis(const sf_LimbBody *body, const sf_Settings *settings, double height)
{
    sf_Stand stand = sf_chain_stand(&body->chain, settings);
    sf_Transform t = pylon_on_floor(body, &stand);
    return sf_transform_apply(t, (sf_Vector){ 0, 0, height - body->chain.cut_height });
}

// ---- lines ---------------------------------------------------------------------------------------------------------

static sf_Pen pen_of(const Figure *f, sf_LimbPart part)
{
    bool known = f->body->known[part];
    return (sf_Pen){ known || f->look->ghost ? f->look->ink : SF_INK_SOFT, f->look->line,
                     known || f->look->ghost ? SF_DASH_NONE : SF_DASH_SHORT };
}

static sf_Spot spot(const Figure *f, const sf_Transform *frame, double x, double y, double z)
{
    return sf_limb_eye_spot(f->eye, sf_transform_apply(*frame, (sf_Vector){ x, y, z }));
}

// Corners joined by Catmull-Rom curves and lines, all round.
static size_t curve(const Corner *corner, size_t count, double out[CURVE_MOST][2])
{
    size_t n = 0;
    for (size_t i = 0; i < count; i++) {
        const Corner *b = &corner[i], *c = &corner[(i + 1) % count];
        const Corner *before = &corner[(i + count - 1) % count];
        const Corner *a = before->straight ? b : before, *d = c->straight ? c : &corner[(i + 2) % count];
        int steps = b->straight ? 1 : CURVE_STEPS;
        for (int k = 0; k < steps && n < CURVE_MOST; k++, n++) {
            double t = (double)k / steps;
            double w[4] = { 0.5 * t * (-1 + t * (2 - t)), 1 + 0.5 * t * t * (3 * t - 5),
                            0.5 * t * (1 + t * (4 - 3 * t)), 0.5 * t * t * (t - 1) };
            out[n][0] = b->straight ? b->a : w[0] * a->a + w[1] * b->a + w[2] * c->a + w[3] * d->a;
            out[n][1] = b->straight ? b->b : w[0] * a->b + w[1] * b->b + w[2] * c->b + w[3] * d->b;
        }
    }
    return n;
}

static void paint_shape(const Figure *f, const sf_Spot *spots, size_t count, sf_LimbPart part)
{
    const sf_Pen pen = pen_of(f, part);
    sf_sheet_polyline(f->sheet, spots, count, true, &pen);
}

// ---- foot and shoe -------------------------------------------------------------------------------------------------

// Underside of the foot, foot standing as built.
static double underside(const sf_LimbBody *b, double x)
{
    double share = fmin(fmax(x / (BALL * b->foot_length), 0), 1);
    return fmax(b->chain.heel_height - share * b->foot_rise, 0);
}

static size_t foot_side(const Figure *f, sf_Spot *spots)
{
    const sf_LimbBody *b = f->body;
    double l = b->foot_length, heel = b->chain.heel_height, high = b->mounting_face - heel;
    double ball = underside(b, l);
    const Corner corner[] = {
        { 0.115 * l, heel + high, false },
        { 0.27 * l, heel + 0.70 * high, false },
        { BALL * l, ball + 0.46 * high, false },
        { 0.66 * l, ball + 0.30 * high, false },
        { TOE * l, ball + 0.12 * high, false },
        { 0.72 * l, ball, true },
        { BALL * l, ball, true },
        { 0, heel, true },
        { -0.21 * l, heel, false },
        { -HEEL_BACK * l, heel + 0.28 * high, false },
        { -0.205 * l, heel + 0.66 * high, false },
        { -0.125 * l, heel + high, true },
    };
    double path[CURVE_MOST][2];
    size_t n = curve(corner, sizeof corner / sizeof *corner, path);
    for (size_t i = 0; i < n; i++)
        spots[i] = spot(f, &f->foot, path[i][0], 0, path[i][1]);
    return n;
}

static size_t foot_front(const Figure *f, sf_Spot *spots)
{
    const sf_LimbBody *b = f->body;
    double l = b->foot_length, high = b->mounting_face, ball = underside(b, l), s = b->chain.side;
    const Corner corner[] = {
        { 0.10 * l, high, true },
        { -0.10 * l, high, false },
        { -0.13 * l, ball + 0.5 * (high - ball), false },
        { -0.165 * l, ball + 0.22 * (high - ball), false },
        { -0.15 * l, ball, true },
        { 0.17 * l, ball, false },
        { BALL_HALF * l, ball + 0.16 * (high - ball), false },
        { 0.14 * l, ball + 0.45 * (high - ball), false },
    };
    double path[CURVE_MOST][2];
    size_t n = curve(corner, sizeof corner / sizeof *corner, path);
    for (size_t i = 0; i < n; i++)
        spots[i] = spot(f, &f->foot, BALL * l, s * path[i][0], path[i][1]);
    return n;
}

// The great toe lies inward, so a left foot and a right foot can be told apart.
static size_t foot_above(const Figure *f, sf_Spot *spots)
{
    const sf_LimbBody *b = f->body;
    double l = b->foot_length, s = b->chain.side;
    static const Corner share[] = {
        { -0.25, 0, false },    { -0.19, 0.10, false },  { 0.05, 0.115, false },  { 0.36, 0.18, false },
        { 0.57, 0.15, false },  { 0.70, 0.03, false },   { 0.75, -0.075, false }, { 0.70, -0.14, false },
        { 0.50, -0.16, false }, { 0.30, -0.125, false }, { 0.05, -0.095, false }, { -0.19, -0.10, false },
    };
    double path[CURVE_MOST][2];
    size_t n = curve(share, sizeof share / sizeof *share, path);
    for (size_t i = 0; i < n; i++)
        spots[i] = spot(f, &f->foot, l * path[i][0], s * l * path[i][1], 0);
    return n;
}

static void paint_foot(const Figure *f)
{
    sf_Spot spots[CURVE_MOST];
    size_t n = f->eye->view == SF_VIEW_SIDE    ? foot_side(f, spots)
               : f->eye->view == SF_VIEW_FRONT ? foot_front(f, spots)
                                               : foot_above(f, spots);
    paint_shape(f, spots, n, SF_PART_FOOT);
    if (f->eye->view != SF_VIEW_ABOVE)
        return;
    const sf_Pen axis = { f->look->ink, 0.13, SF_DASH_CENTRE };
    sf_sheet_line(f->sheet, spot(f, &f->foot, -0.29 * f->body->foot_length, 0, 0),
                  spot(f, &f->foot, 0.82 * f->body->foot_length, 0, 0), &axis);
}

// What lies between the foot and the floor; the floor's own frame, since a shoe does not tip.
static void paint_shoe(const Figure *f)
{
    const sf_LimbBody *b = f->body;
    if (b->barefoot || f->eye->view == SF_VIEW_ABOVE)
        return;
    double l = b->foot_length, s = b->chain.side, heel = b->chain.heel_height;
    double ball = fmax(heel - b->foot_rise - BALL * l * tan(b->chain.shoe_tilt), 0);
    const sf_Transform flat = f->floor;
    sf_Spot spots[8];
    size_t n = 0;
    if (f->eye->view == SF_VIEW_SIDE) {
        const double xz[][2] = { { -0.25 * l, 0 },   { -0.26 * l, heel },           { 0, heel },
                                 { BALL * l, ball }, { 0.74 * l, ball + 0.01 * l }, { 0.66 * l, 0 } };
        for (; n < 6; n++)
            spots[n] = spot(f, &flat, xz[n][0], 0, xz[n][1]);
    } else {
        const double yz[][2] = { { -0.16 * l, 0 }, { -0.165 * l, ball }, { BALL_HALF * l, ball }, { 0.185 * l, 0 } };
        for (; n < 4; n++)
            spots[n] = spot(f, &flat, BALL * l, s * yz[n][0], yz[n][1]);
    }
    const sf_Pen hatch = { SF_INK_SOFT, 0.1, SF_DASH_NONE };
    if (!f->look->ghost && b->known[SF_PART_SHOE])
        sf_sheet_hatch(f->sheet, &(sf_Loop){ spots, n }, 1, -SF_PI / 3, 0.8, &hatch);
    paint_shape(f, spots, n, SF_PART_SHOE);
}

// ---- adapter, pylon, socket ----------------------------------------------------------------------------------------

// A piece of tube about a line from `low` to `high` in a frame, seen from the side: its two walls' corners on paper.
static void tube_spots(const Figure *f, const sf_Transform *frame, double low, double high, double radius,
                       sf_Spot spots[4])
{
    sf_Spot a = spot(f, frame, 0, 0, low), b = spot(f, frame, 0, 0, high);
    double length = hypot(b.x - a.x, b.y - a.y), k = f->eye->scale / SF_MM * radius;
    double nx = length > 0 ? -(b.y - a.y) / length : 1, ny = length > 0 ? (b.x - a.x) / length : 0;
    spots[0] = (sf_Spot){ a.x - k * nx, a.y - k * ny };
    spots[1] = (sf_Spot){ b.x - k * nx, b.y - k * ny };
    spots[2] = (sf_Spot){ b.x + k * nx, b.y + k * ny };
    spots[3] = (sf_Spot){ a.x + k * nx, a.y + k * ny };
}

static void paint_adapter(const Figure *f)
{
    const sf_LimbBody *b = f->body;
    sf_Spot jaw[4], block[4];
    double radius = b->clamp_outer / 2;
    tube_spots(f, &f->pylon, 0, b->grip_depth, radius, jaw);
    // The block stands on the foot under the cut end and ends at the clamp.
    sf_Vector cut = sf_transform_apply(sf_transform_inverse(f->foot), sf_transform_apply(f->pylon, (sf_Vector){ 0 }));
    bool side = f->eye->view == SF_VIEW_SIDE;
    double dx = side ? radius : 0, dy = side ? 0 : radius;
    block[0] = jaw[0];
    block[1] = jaw[3];
    block[2] = spot(f, &f->foot, cut.x - dx, cut.y - dy, b->mounting_face);
    block[3] = spot(f, &f->foot, cut.x + dx, cut.y + dy, b->mounting_face);
    if (hypot(block[2].x - block[1].x, block[2].y - block[1].y) >
        hypot(block[3].x - block[1].x, block[3].y - block[1].y)) {
        sf_Spot other = block[2];
        block[2] = block[3];
        block[3] = other;
    }
    const sf_Pen hatch = { SF_INK_SOFT, 0.1, SF_DASH_NONE };
    if (!f->look->ghost && b->known[SF_PART_ADAPTER]) {
        sf_sheet_hatch(f->sheet, &(sf_Loop){ block, 4 }, 1, -SF_PI / 4, 0.8, &hatch);
        sf_sheet_fill(f->sheet, &(sf_Loop){ jaw, 4 }, 1, SF_PAPER);
        sf_sheet_hatch(f->sheet, &(sf_Loop){ jaw, 4 }, 1, -SF_PI / 4, 0.8, &hatch);
    }
    paint_shape(f, block, 4, SF_PART_ADAPTER);
    paint_shape(f, jaw, 4, SF_PART_ADAPTER);
}

static void paint_pylon(const Figure *f)
{
    const sf_LimbBody *b = f->body;
    double height = b->pylon_top - b->chain.cut_height, outer = b->outer_diameter / 2;
    sf_Spot out[4], in[4];
    tube_spots(f, &f->pylon, 0, height, outer, out);
    const sf_Pen pen = pen_of(f, SF_PART_PYLON), hatch = { SF_INK_SOFT, 0.1, SF_DASH_NONE };
    if (!f->look->ghost && b->known[SF_PART_PYLON]) {
        tube_spots(f, &f->pylon, 0, height, outer - b->wall, in);
        sf_sheet_fill(f->sheet, &(sf_Loop){ out, 4 }, 1, SF_PAPER);
        for (int side = 0; side < 2; side++) {
            const sf_Spot wall[4] = { out[2 * side], out[2 * side + 1], in[2 * side + 1], in[2 * side] };
            sf_sheet_hatch(f->sheet, &(sf_Loop){ wall, 4 }, 1, SF_PI / 4, 0.7, &hatch);
            sf_sheet_line(f->sheet, in[2 * side], in[2 * side + 1], &(sf_Pen){ SF_INK, 0.13, SF_DASH_NONE });
        }
    }
    sf_sheet_line(f->sheet, out[0], out[1], &pen);
    sf_sheet_line(f->sheet, out[2], out[3], &pen);
    sf_sheet_line(f->sheet, out[0], out[3], &pen);
}

// Height above the socket base to its half width.
static double socket_half(const sf_LimbBody *b, double z)
{
    double whole = fmax(b->knee_level - b->chain.socket_height, 0.05), wide = SOCKET_WIDE_PER_KNEE * b->knee_level;
    double t = fmin(fmax(z / (SOCKET_ROUND * whole), 0), 1), narrow = b->outer_diameter / 2;
    return narrow + (fmax(wide, narrow) - narrow) * t * (2 - t);
}

static void paint_socket(const Figure *f)
{
    enum { STEPS = 24 };
    sf_Spot spots[2 * (STEPS + 1)];
    for (int i = 0; i <= STEPS; i++) {
        double z = f->look->socket_top * i / STEPS, half = socket_half(f->body, z) * f->eye->scale / SF_MM;
        sf_Spot axis = spot(f, &f->socket, 0, 0, z);
        spots[i] = (sf_Spot){ axis.x - half, axis.y };
        spots[2 * STEPS + 1 - i] = (sf_Spot){ axis.x + half, axis.y };
    }
    const sf_Pen pen = pen_of(f, SF_PART_SOCKET), line = { f->look->ink, 0.13, SF_DASH_CENTRE };
    sf_sheet_polyline(f->sheet, spots, 2 * (STEPS + 1), false, &pen);
    sf_sheet_line(f->sheet, spot(f, &f->socket, 0, 0, 0), spot(f, &f->socket, 0, 0, f->look->socket_top), &line);
}

// From above the tube is a ring at its cut end, the socket base another one over it.
static void paint_rings(const Figure *f)
{
    const sf_LimbBody *b = f->body;
    sf_Spot cut = spot(f, &f->pylon, 0, 0, 0), base = spot(f, &f->socket, 0, 0, 0);
    double k = f->eye->scale / SF_MM;
    const sf_Pen pylon = pen_of(f, SF_PART_PYLON), socket = pen_of(f, SF_PART_SOCKET);
    sf_sheet_circle(f->sheet, cut, k * b->outer_diameter / 2, &pylon);
    sf_sheet_line(f->sheet, cut, base, &(sf_Pen){ f->look->ink, 0.13, SF_DASH_CENTRE });
    sf_sheet_circle(f->sheet, base, k * b->outer_diameter / 2, &socket);
}

void sf_limb_figure_paint(sf_Sheet *sheet, const sf_LimbEye *eye, const sf_LimbBody *body, const sf_Settings *settings,
                          const sf_FigureLook *look)
{
    sf_Stand stand = sf_chain_stand(&body->chain, settings);
    Figure figure = { .sheet = sheet, .eye = eye, .body = body, .look = look };
    Figure *f = &figure;
    f->pylon = pylon_on_floor(body, &stand);
    f->socket = sf_transform_of(stand.socket, stand.base);
    f->foot = foot_on_floor(body, &stand);
    f->floor = sf_transform_of(sf_rotation_about(SF_AXIS_Z, stand.foot_heading), (sf_Vector){ 0, 0, 0 });
    if (look->held) {
        sf_Stand held = sf_chain_stand(&body->chain, look->held);
        sf_Transform hold = sf_transform_chain(pylon_on_floor(body, &held), sf_transform_inverse(f->pylon));
        f->pylon = sf_transform_chain(hold, f->pylon);
        f->socket = sf_transform_chain(hold, f->socket);
        f->foot = sf_transform_chain(hold, f->foot);
        f->floor = sf_transform_chain(hold, f->floor);
    }
    paint_shoe(f);
    paint_foot(f);
    if (eye->view == SF_VIEW_ABOVE) {
        paint_rings(f);
        return;
    }
    paint_socket(f);
    paint_pylon(f);
    paint_adapter(f);
}

sf_FigureReach sf_limb_figure_reach(const sf_LimbBody *body, sf_LimbView view, double socket_top)
{
    double l = body->foot_length / SF_MM, high = (body->chain.socket_height + socket_top) / SF_MM;
    double half = socket_half(body, socket_top) / SF_MM;
    if (view == SF_VIEW_SIDE)
        return (sf_FigureReach){ fmax(0.27 * l, half), fmax(0.77 * l, half), high, 0 };
    if (view == SF_VIEW_FRONT)
        return (sf_FigureReach){ fmax(0.22 * l, half), fmax(0.22 * l, half), high, 0 };
    return (sf_FigureReach){ 0.3 * l, 0.83 * l, fmax(0.22 * l, half), fmax(0.22 * l, half) };
}
