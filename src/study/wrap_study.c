// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/wrap_study.h"

#include "base/units.h"
#include "study/clamp_holes.h"
#include "study/limb_ring.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>

enum { USUAL_SCREWS = 2, WITNESS_STEP_DEG = 5 };

static const double BELOW_CUT = 0.006, ABOVE_GRIP = 0.024; ///< shown below the cut and above the clamp, m (judgement)

SF_PRINTF(2, 3)
static void add_note(sf_WrapStudy *s, const char *format, ...)
{
    if (s->sheet.note_count == SF_WRAP_NOTES)
        return;
    char *text = s->notes[s->sheet.note_count];
    va_list args;
    va_start(args, format);
    vsnprintf(text, sizeof s->notes[0], format, args);
    va_end(args);
    s->sheet.notes[s->sheet.note_count++] = text;
}

// ---- holes ----------------------------------------------------------------------------------------------------------

static sf_WrapRole role_of(sf_LimbHoleState state)
{
    switch (state) {
    case SF_LIMB_HOLE_FITTED: return SF_WRAP_FITTED;
    case SF_LIMB_HOLE_OLD: return SF_WRAP_OLD;
    case SF_LIMB_HOLE_VENT: return SF_WRAP_VENT;
    default: return SF_WRAP_PLANNED;
    }
}

/// Screws of the proposal, where the document plans none and none is in.
static void add_proposal(sf_WrapStudy *s, sf_ClampHoles *clamp, const sf_LimbAdapter *a, sf_Result *result)
{
    double angles[SF_FASTEN_MAX_HOLES], height;
    sf_WrapSheet *w = &s->sheet;
    size_t screws = 0, taken = 0;
    for (size_t i = 0; i < w->hole_count; i++)
        screws += w->holes[i].role == SF_WRAP_PLANNED || w->holes[i].role == SF_WRAP_FITTED;
    if (screws > 0 || a->permanent_fixing != SF_LIMB_FIXING_THROUGH_SCREWS)
        return;
    if (!isfinite(a->screw_diameter)) {
        add_note(s, "Screw places: not proposed, the screws' diameter is not entered (adapter.screw_diameter_mm).");
        return;
    }
    size_t n = a->screw_count > 0 ? (size_t)a->screw_count : USUAL_SCREWS;
    if (a->screw_count <= 0)
        sf_result_assume(result, "two permanent screws (adapter.screw_count)");
    taken = clamp->hole_count;
    double slack = sf_fasten_place(&clamp->zone, clamp->holes, taken, n, a->screw_diameter, angles, &height);
    for (size_t i = 0; i < n && w->hole_count < SF_FASTEN_MAX_HOLES; i++) {
        clamp->holes[clamp->hole_count++] = (sf_FastenHole){ angles[i], height, a->screw_diameter, false };
        w->holes[w->hole_count++] = (sf_WrapHole){ .angle = angles[i],
                                                   .height = height,
                                                   .diameter = a->screw_diameter,
                                                   .role = SF_WRAP_PROPOSED,
                                                   .wall = NAN,
                                                   .collar = NAN };
    }
    add_note(s, "The screw places are a proposal: enter them as planned holes when they are settled.");
    if (slack < 0)
        add_note(s, "NO PLACE KEEPS ALL DISTANCES: the proposal lacks %.1f mm; look at the rescues of `fasten` first.",
                 -slack / SF_MM);
}

static size_t nearest_ring(const sf_LimbPylon *p)
{
    size_t best = 0;
    for (size_t i = 1; i < p->ring_count; i++)
        if (fabs(p->rings[i].height - p->cut_height) < fabs(p->rings[best].height - p->cut_height))
            best = i;
    return best;
}

/// The pylon's wall in a direction about its axis: where the ray meets the two curves.
static double crossing(const sf_Polygon *curve, double angle)
{
    double best = NAN, ux = cos(angle), uy = sin(angle);
    for (size_t i = 0; i < curve->count; i++) {
        sf_Point a = curve->points[i], b = curve->points[(i + 1) % curve->count];
        double sa = ux * a.y - uy * a.x, sb = ux * b.y - uy * b.x;
        if ((sa > 0) == (sb > 0) || sa == sb)
            continue;
        double t = sa / (sa - sb), along = ux * (a.x + t * (b.x - a.x)) + uy * (a.y + t * (b.y - a.y));
        if (along > 0 && !(along < best))
            best = along;
    }
    return best;
}

static sf_Status set_walls(sf_WrapStudy *s, const sf_Limb *limb, sf_Error *err)
{
    const sf_LimbAdapter *a = &limb->data.adapter;
    sf_WrapSheet *w = &s->sheet;
    sf_Outline outline = { 0 };
    sf_LimbRingNews news = { 0 };
    if (limb->data.pylon.ring_count == 0)
        return SF_OK;
    SF_TRY(sf_limb_ring_outline(&outline, &news, limb, nearest_ring(&limb->data.pylon), err));
    w->collar_from_clamp = isfinite(a->rim_wall);
    for (size_t i = 0; i < w->hole_count; i++) {
        sf_WrapHole *h = &w->holes[i];
        h->wall = crossing(&outline.outer, h->angle) - crossing(&outline.inner, h->angle);
        h->collar = h->wall + a->shank_wall + (w->collar_from_clamp ? a->rim_wall : 0);
    }
    sf_outline_free(&outline);
    if (!w->band && isfinite(a->shank_wall))
        add_note(
            s,
            "Stop collar: %s pylon's wall there + the shank's wall of %.1f mm, no deeper: the foot bolt lies behind.",
            w->collar_from_clamp ? "from the clamp's outside, rim +"
                                 : "from the pylon's outside (the rim's wall is "
                                   "not entered),",
            a->shank_wall / SF_MM);
    return SF_OK;
}

// ---- marks ----------------------------------------------------------------------------------------------------------

static double turn_between(double a, double b)
{
    return fabs(remainder(a - b, 2 * SF_PI));
}

/// Least turn from a direction to seam and holes.
static double clear_of(const sf_WrapSheet *w, double angle)
{
    double least = isfinite(w->seam) ? turn_between(angle, w->seam) : SF_PI;
    for (size_t i = 0; i < w->hole_count; i++)
        least = fmin(least, turn_between(angle, w->holes[i].angle));
    return least;
}

static void choose_join(sf_WrapSheet *w)
{
    static const double midlines_deg[] = { 90, 0, 180, 270 }; // anterior first: a limb's seam is mostly behind
    double best = -1;
    for (int i = 0; i < 4; i++) {
        double clear = clear_of(w, midlines_deg[i] * SF_DEG);
        if (clear > best + 1e-9) {
            best = clear;
            w->join = midlines_deg[i] * SF_DEG;
        }
    }
}

static void choose_witnesses(sf_WrapSheet *w)
{
    double best = -1;
    for (int deg = 0; deg < 180; deg += WITNESS_STEP_DEG) {
        double one = deg * SF_DEG, other = one + SF_PI;
        double clear = fmin(fmin(clear_of(w, one), clear_of(w, other)),
                            fmin(turn_between(one, w->join), turn_between(other, w->join)));
        if (clear > best + 1e-9) {
            best = clear;
            w->witness[0] = one;
            w->witness[1] = other;
        }
    }
}

static void set_strips(sf_WrapStudy *s, const sf_ClampHoles *clamp, const sf_LimbAdapter *a)
{
    sf_WrapSheet *w = &s->sheet;
    double top = clamp->zone.cut_height + clamp->zone.depth, high = top + ABOVE_GRIP;
    if (isfinite(clamp->zone.top_height) && clamp->zone.top_height > top)
        high = fmin(high, clamp->zone.top_height);
    w->strips[w->strip_count++] =
        (sf_WrapStrip){ "Round the pylon", false, clamp->zone.radius, clamp->zone.cut_height - BELOW_CUT, high };
    if (w->band)
        return;
    if (!isfinite(a->rim) || !isfinite(a->rim_wall)) {
        add_note(s, "No strip round the clamp: its rim is not entered (adapter.rim_mm, adapter.rim_wall_mm).");
        return;
    }
    w->strips[w->strip_count++] =
        (sf_WrapStrip){ "Round the clamp's rim", true, a->rim / 2 + a->rim_wall, clamp->zone.cut_height, top };
}

// ---- result ---------------------------------------------------------------------------------------------------------

static sf_Json *hole_json(const sf_WrapSheet *w, const sf_WrapHole *h)
{
    static const char *const roles[] = { "proposed", "planned", "fitted", "old-hole", "vent" };
    sf_Json *json = sf_json_object();
    sf_json_set_text(json, "role", roles[h->role]);
    sf_json_set_number(json, "angle_deg", fmod(h->angle / SF_DEG + 720, 360));
    sf_json_set_number(json, "height_mm", h->height / SF_MM);
    sf_json_set_number(json, "diameter_mm", h->diameter / SF_MM);
    sf_json_set_number(json, "above_cut_mm", (h->height - w->cut) / SF_MM);
    sf_json_set_number(json, "along_pylon_mm", sf_wrap_along(w, 0, h->angle));
    sf_json_set_number(json, "along_clamp_mm", w->strip_count > 1 ? sf_wrap_along(w, 1, h->angle) : NAN);
    sf_json_set_number(json, "seam_mm", h->distances.seam / SF_MM);
    sf_json_set_number(json, "edge_mm", h->distances.edge / SF_MM);
    sf_json_set_number(json, "wall_mm", h->wall / SF_MM);
    sf_json_set_number(json, "stop_collar_mm", h->role <= SF_WRAP_PLANNED ? h->collar / SF_MM : NAN);
    return json;
}

static void set_result(sf_Result *result, const sf_WrapSheet *w)
{
    sf_Json *json = sf_json_object(), *holes = sf_json_array(), *marks = sf_json_array(), *strips = sf_json_array();
    for (size_t i = 0; i < w->hole_count; i++)
        sf_json_add(holes, hole_json(w, &w->holes[i]));
    for (int i = 0; i < SF_WRAP_WITNESSES; i++)
        sf_json_add_number(marks, w->witness[i] / SF_DEG);
    for (size_t i = 0; i < w->strip_count; i++) {
        const sf_WrapStrip *s = &w->strips[i];
        sf_Json *one = sf_json_object();
        sf_json_set_text(one, "round", s->clamp ? "clamp" : "pylon");
        sf_json_set_number(one, "diameter_mm", 2 * s->radius / SF_MM);
        sf_json_set_number(one, "length_mm", 2 * SF_PI * s->radius / SF_MM);
        sf_json_set_number(one, "low_mm", s->low / SF_MM);
        sf_json_set_number(one, "high_mm", s->high / SF_MM);
        sf_json_add(strips, one);
    }
    sf_json_set_text(json, "angles_grow", w->left ? "left" : "right");
    sf_json_set_number(json, "join_deg", w->join / SF_DEG);
    sf_json_set_number(json, "seam_deg", isfinite(w->seam) ? fmod(w->seam / SF_DEG + 720, 360) : NAN);
    sf_json_set_number(json, "cut_height_mm", w->cut / SF_MM);
    sf_json_set_number(json, "clamp_edge_mm", (w->cut + w->grip) / SF_MM);
    sf_json_set_flag(json, "stop_collar_from_clamp", w->collar_from_clamp);
    sf_json_set(json, "strips", strips);
    sf_json_set(json, "holes", holes);
    sf_json_set(json, "witness_marks_deg", marks);
    sf_json_set(result->json, "wrap", json);
}

// ---- the whole ------------------------------------------------------------------------------------------------------

static void say_cautions(sf_WrapStudy *s)
{
    if (!isfinite(s->sheet.seam))
        add_note(s, "THE SEAM IS NOT KNOWN: find it on the limb and keep two screw diameters away from it.");
    if (s->sheet.band)
        add_note(
            s,
            "A pinch band: nothing is drilled through the wall; the strip is for cut, clamp edge and witness marks.");
    else
        add_note(
            s, "Limb off the person, clamp tightened and settled, foot bolt seen; centre punch, eye protection, sharp "
               "drill, slow, stop collar set and tried on scrap; chips out, edges rounded.");
}

sf_Status sf_wrap_study(sf_WrapStudy *s, sf_Result *result, const sf_Limb *limb, sf_Error *err)
{
    const sf_LimbAdapter *a = &limb->data.adapter;
    sf_ClampHoles clamp;
    *s = (sf_WrapStudy){ 0 };
    SF_TRY(sf_clamp_holes_read(&clamp, limb, "wrap", result, err));
    sf_WrapSheet *w = &s->sheet;
    w->left = limb->data.person.side == SF_LIMB_SIDE_LEFT;
    w->band = a->permanent_fixing == SF_LIMB_FIXING_PINCH_BAND;
    w->cut = clamp.zone.cut_height;
    w->grip = clamp.zone.depth;
    w->seam = clamp.zone.seam_angle;
    w->screw_diameter = a->screw_diameter;
    w->pilot = a->pilot_hole;
    for (size_t i = 0; i < clamp.hole_count; i++)
        w->holes[w->hole_count++] = (sf_WrapHole){ .angle = clamp.holes[i].angle,
                                                   .height = clamp.holes[i].height,
                                                   .diameter = clamp.holes[i].diameter,
                                                   .role = role_of(limb->data.pylon.holes[i].state),
                                                   .wall = NAN,
                                                   .collar = NAN };
    say_cautions(s);
    if (a->permanent_fixing == SF_LIMB_FIXING_NONE)
        add_note(s, "The permanent fixing is not named (adapter.permanent_fixing): screws or a pinch band.");
    add_proposal(s, &clamp, a, result);
    for (size_t i = 0; i < w->hole_count; i++)
        w->holes[i].distances = sf_fasten_distances(&clamp.zone, clamp.holes, clamp.hole_count, i);
    SF_TRY(set_walls(s, limb, err));
    choose_join(w);
    choose_witnesses(w);
    set_strips(s, &clamp, a);
    set_result(result, w);
    return SF_OK;
}
