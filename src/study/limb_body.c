// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/limb_body.h"

#include "base/units.h"
#include "study/adapter_travel.h"
#include "study/limb_ring.h"

#include <math.h>

// Where nothing is told: an adult's proportions (shares of stature as in docs/theory/length.md; the rest judgement).
static const double STATURE = 1.74, KNEE_SHARE = 0.285, ANKLE_SHARE = 0.042, FOOT_SHARE = 0.152;
static const double SOCKET_END_SHARE = 0.58; // of the knee's height
static const double SHOE_HEEL = 0.02, FOOT_RISE = 0.01, FOOT_BUILD_PER_LENGTH = 0.29, ADAPTER_BUILD = 0.012;
static const double GRIP = 0.03, OUTER_PER_FOOT = 0.19, WALL = 0.006, CLAMP_WALL = 0.004;

static double or_else(double value, double other)
{
    return isfinite(value) ? value : other;
}

static double stack_of(const sf_LimbData *d)
{
    double stack = 0;
    for (size_t i = 0; i < d->spacer_count; i++)
        stack += d->spacers[i].thickness;
    return stack;
}

// Height of the knee line: told by the sound side, else by the prosthesis; NaN when neither is.
static double knee_told(const sf_LimbData *d)
{
    double heel = or_else(d->shoe.heel, 0);
    if (isfinite(d->person.sound_knee_height))
        return d->person.sound_knee_height + heel + or_else(d->person.target_difference, 0);
    return d->person.prosthesis_knee_height + heel;
}

static double mounting_face_told(const sf_LimbData *d)
{
    return d->shoe.heel + d->foot.build_height - or_else(d->foot.compression, 0) - or_else(d->foot.recess, 0);
}

double sf_limb_body_stack(const sf_Limb *limb)
{
    const sf_LimbData *d = &limb->data;
    return mounting_face_told(d) + stack_of(d) + d->adapter.build_height;
}

static void take_ground(sf_LimbBody *b, const sf_LimbData *d, double stature)
{
    b->known[SF_PART_SHOE] = isfinite(d->shoe.heel) && isfinite(d->shoe.sole);
    b->known[SF_PART_FOOT] = isfinite(d->foot.length) && isfinite(d->foot.build_height);
    b->foot_length = or_else(d->foot.length, or_else(d->person.foot_length, FOOT_SHARE * stature));
    b->foot_rise = or_else(d->foot.heel_height, FOOT_RISE);
    double heel = or_else(d->shoe.heel, SHOE_HEEL), sole = or_else(d->shoe.sole, fmax(heel - b->foot_rise, 0));
    double build = or_else(d->foot.build_height, FOOT_BUILD_PER_LENGTH * b->foot_length);
    b->chain.heel_height = heel;
    b->chain.shoe_tilt = sf_chain_shoe_tilt(heel - sole, b->foot_rise, b->foot_length);
    b->mounting_face = heel + build - or_else(d->foot.compression, 0) - or_else(d->foot.recess, 0);
    b->chain.ankle_height = heel + ANKLE_SHARE * stature;
}

static void take_tube(sf_LimbBody *b, const sf_LimbData *d)
{
    const sf_LimbRing *ring = d->pylon.ring_count > 0 ? &d->pylon.rings[0] : NULL;
    double outer = OUTER_PER_FOOT * b->foot_length; // a child's pylon is slim as well
    double told = NAN, bore = NAN;
    if (ring)
        sf_limb_ring_diameters(ring, &told, &bore);
    b->outer_diameter = or_else(told, outer);
    b->wall = isfinite(bore) ? (b->outer_diameter - bore) / 2 : or_else(d->pylon.expected_wall, WALL);
    b->grip_depth = or_else(d->adapter.depth, GRIP);
    b->clamp_outer = fmax(or_else(d->adapter.rim, b->outer_diameter), b->outer_diameter) + 2 * CLAMP_WALL;
}

sf_LimbBody sf_limb_body(const sf_Limb *limb)
{
    const sf_LimbData *d = &limb->data;
    double stature = or_else(d->person.stature, STATURE), heel = or_else(d->shoe.heel, SHOE_HEEL);
    sf_LimbBody b = { .barefoot = d->shoe.there && d->shoe.heel == 0 && d->shoe.sole == 0 };
    b.chain.side = d->person.side == SF_LIMB_SIDE_RIGHT ? SF_CHAIN_RIGHT : SF_CHAIN_LEFT;
    take_ground(&b, d, stature);
    take_tube(&b, d);
    double knee = knee_told(d), end = d->socket.distal_end_height, cut = d->pylon.cut_height;
    bool stack_told = b.known[SF_PART_FOOT] && isfinite(d->adapter.build_height) && isfinite(d->shoe.heel);
    b.known[SF_PART_KNEE] = isfinite(knee);
    b.known[SF_PART_SOCKET] = isfinite(end);
    b.known[SF_PART_PYLON] = (isfinite(cut) || stack_told) && d->pylon.ring_count > 0;
    b.known[SF_PART_ADAPTER] = isfinite(d->adapter.build_height) && isfinite(d->adapter.depth);
    b.chain.cut_height = or_else(cut, b.mounting_face + stack_of(d) + or_else(d->adapter.build_height, ADAPTER_BUILD));
    b.chain.cut_height = fmax(b.chain.cut_height, heel + 0.02);
    // With a cut height told, the foot's mounting face follows from the stack above it where the foot is not known.
    if (isfinite(cut) && !b.known[SF_PART_FOOT])
        b.mounting_face = fmax(cut - stack_of(d) - or_else(d->adapter.build_height, ADAPTER_BUILD), heel + 0.01);
    b.mounting_face = fmin(b.mounting_face, b.chain.cut_height - 0.001);
    b.knee_level = or_else(knee, isfinite(end) ? end / SOCKET_END_SHARE : KNEE_SHARE * stature + heel);
    b.chain.socket_height = or_else(end, SOCKET_END_SHARE * b.knee_level);
    b.chain.socket_height = fmax(b.chain.socket_height, b.chain.cut_height + 0.01);
    b.knee_level = fmax(b.knee_level, b.chain.socket_height + 0.02);
    b.pylon_top = fmin(or_else(d->pylon.top_height, b.chain.socket_height), b.chain.socket_height);
    b.pylon_top = fmax(b.pylon_top, b.chain.cut_height + 0.005);
    b.grip_depth = fmin(b.grip_depth, b.pylon_top - b.chain.cut_height);
    b.chain.socket_flexion = or_else(d->socket.flexion, 0);
    b.chain.socket_adduction = or_else(d->socket.adduction, 0);
    b.chain.socket_offset_o = or_else(d->socket.base_offset[0], 0);
    b.chain.socket_offset_f = or_else(d->socket.base_offset[1], 0);
    return b;
}

// ---- what is told and what is not ----------------------------------------------------------------------------------

static void add_height(sf_LimbElevation *e, const char *word, double height, bool known)
{
    if (e->height_count == SF_ELEVATION_HEIGHTS)
        return;
    size_t at = e->height_count++;
    for (; at > 0 && e->heights[at - 1].height > height; at--)
        e->heights[at] = e->heights[at - 1];
    e->heights[at] = (sf_ElevationHeight){ word, height, known };
}

// In the order in which a limb is made.
static const sf_ElevationMissing SIZES[] = {
    { "knee height", "person.sound_knee_height_mm" },
    { "stature", "person.stature_mm" },
    { "socket's lower end", "socket.distal_end_height_mm" },
    { "socket flexion", "socket.flexion_deg" },
    { "socket adduction", "socket.adduction_deg" },
    { "foot length", "foot.length_mm" },
    { "foot build height", "foot.build_height_mm" },
    { "heel rise of the foot", "foot.heel_height_mm" },
    { "shoe heel", "shoe.heel_mm" },
    { "shoe sole", "shoe.sole_mm" },
    { "adapter build height", "adapter.build_height_mm" },
    { "grip of the adapter", "adapter.depth_mm" },
    { "cut height", "pylon.cut_height_mm" },
    { "a ring", "pylon.rings" },
    { "settings of the foot", "alignment" },
};
_Static_assert(sizeof SIZES / sizeof *SIZES <= SF_ELEVATION_MISSING, "every size can be missing");

static bool told(const sf_Limb *limb, const sf_LimbBody *body, const sf_ElevationMissing *size)
{
    const sf_LimbData *d = &limb->data;
    if (size == &SIZES[0])
        return body->known[SF_PART_KNEE];
    if (size == &SIZES[12]) // it follows from what stands under it as well
        return isfinite(d->pylon.cut_height) ||
               (body->known[SF_PART_FOOT] && isfinite(d->adapter.build_height) && isfinite(d->shoe.heel));
    if (size == &SIZES[13])
        return d->pylon.ring_count > 0;
    if (size == &SIZES[14])
        return d->alignment.there;
    return sf_limb_has(limb, size->field);
}

static void take_marks(sf_LimbElevation *e, const sf_LimbData *d)
{
    for (size_t i = 0; i < d->pylon.ring_count && e->ring_count < SF_ELEVATION_RINGS; i++)
        if (isfinite(d->pylon.rings[i].height))
            e->rings[e->ring_count++] = d->pylon.rings[i].height;
    for (size_t i = 0; i < d->pylon.hole_count && e->hole_count < SF_ELEVATION_HOLES; i++) {
        const sf_LimbHole *h = &d->pylon.holes[i];
        if (isfinite(h->angle) && isfinite(h->height))
            e->holes[e->hole_count++] = (sf_ElevationHole){ h->angle, h->height, or_else(h->diameter, 0.006),
                                                            h->state == SF_LIMB_HOLE_PLANNED };
    }
}

void sf_limb_body_elevation(sf_LimbElevation *e, sf_LimbBody *body, const sf_Limb *limb)
{
    const sf_LimbData *d = &limb->data;
    *body = sf_limb_body(limb);
    e->body = body;
    e->body_mass = d->person.body_mass;
    e->label = d->person.label ? d->person.label : "";
    e->settings = sf_adapter_settings(&d->alignment, &(sf_Settings){ { 0 } });
    bool stack = body->known[SF_PART_FOOT] && isfinite(d->shoe.heel), cut_known = told(limb, body, &SIZES[12]);
    // Lettered as told: sizes that contradict one another are drawn as well as may be, but never changed.
    double cut = or_else(d->pylon.cut_height, or_else(sf_limb_body_stack(limb), body->chain.cut_height));
    double top = d->pylon.top_height, end = d->socket.distal_end_height;
    add_height(e, "floor", 0, true);
    add_height(e, "foot", stack ? mounting_face_told(d) : body->mounting_face, stack);
    add_height(e, "cut", cut, cut_known);
    add_height(e, "grip", cut + or_else(d->adapter.depth, body->grip_depth), cut_known && isfinite(d->adapter.depth));
    if (isfinite(top) && (!isfinite(end) || fabs(top - end) > 1e-4))
        add_height(e, "pylon's top", top, true);
    add_height(e, "socket's end", or_else(end, body->chain.socket_height), body->known[SF_PART_SOCKET]);
    add_height(e, "knee", or_else(knee_told(d), body->knee_level), body->known[SF_PART_KNEE]);
    for (size_t i = 0; i < sizeof SIZES / sizeof *SIZES; i++)
        if (!told(limb, body, &SIZES[i]))
            e->missing[e->missing_count++] = SIZES[i];
    take_marks(e, d);
}
