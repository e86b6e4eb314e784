// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/fasten_study.h"

#include "base/units.h"
#include "growth/spacer_stack.h"
#include "study/adapter_travel.h"
#include "study/clamp_holes.h"
#include "study/growth_plan.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const double LBF_IN = SF_POUND_FORCE * SF_INCH;
static const double LBF_FT = SF_POUND_FORCE * SF_INCH * 12;
static const double POLYAMIDE_SHEAR = 30e6; ///< Pa, polyamide 6.6 at room moisture (about; derived from tensile yield)
static const double EQUAL = 1e-9;           ///< m: a distance of just the limit is within it
enum { USUAL_SCREWS = 2 };

static void set_torque(sf_Result *result, double torque)
{
    if (!isfinite(torque)) {
        sf_result_null(result, "torque",
                       "the maker's sheet is the limit and is not given (adapter.permanent_torque_nm)");
    } else {
        sf_Json *json = sf_json_object();
        sf_json_set_number(json, "nm", torque);
        sf_json_set_number(json, "lbf_in", torque / LBF_IN);
        sf_json_set_number(json, "lbf_ft", torque / LBF_FT);
        sf_json_set(result->json, "torque", json);
    }
    sf_json_set_text(result->json, "torque_limit",
                     "the adapter maker's sheet, as entered; a torque wrench that is checked "
                     "once a year");
}

/// Doubt beside the torque; no verdict.
static void set_doubt(sf_Result *result, const sf_LimbAdapter *a, double radius)
{
    sf_Json *json = sf_json_object();
    sf_Preload p = { NAN, NAN, NAN }, tip = p;
    double diameter = a->screw_diameter, strength = NAN, slip_low = NAN, slip_high = NAN;
    if (isfinite(diameter) && isfinite(a->permanent_torque))
        p = sf_fasten_preload(a->permanent_torque, diameter);
    if (isfinite(diameter) && isfinite(a->shank_wall) && a->material == SF_LIMB_STUFF_POLYAMIDE)
        strength = sf_fasten_thread_strength(diameter, a->shank_wall, POLYAMIDE_SHEAR);
    if (a->rotation_hold == SF_LIMB_HOLD_SCREW && isfinite(diameter) && isfinite(a->holding_screw.torque)) {
        tip = sf_fasten_preload(a->holding_screw.torque, diameter);
        sf_result_assume(result, "the holding screw is as thick as the permanent ones (adapter.screw_diameter_mm)");
    }
    if (a->permanent_fixing == SF_LIMB_FIXING_PINCH_BAND) {
        slip_low = sf_fasten_band_slip(p.low, radius, SF_BAND_FRICTION_LOW);
        slip_high = sf_fasten_band_slip(p.high, radius, SF_BAND_FRICTION_HIGH);
    }
    sf_json_set(json, "preload_n", sf_json_pair(p.low, p.high));
    sf_json_set_number(json, "preload_middle_n", p.middle);
    sf_json_set_number(json, "thread_strength_n", strength);
    sf_json_set(json, "tip_pressure_mpa",
                sf_json_pair(sf_fasten_tip_pressure(tip.low, diameter) / SF_MPA,
                             sf_fasten_tip_pressure(tip.high, diameter) / SF_MPA));
    sf_json_set(json, "tip_pressure_limit_mpa",
                sf_json_pair(SF_TIP_PRESSURE_LOW / SF_MPA, SF_TIP_PRESSURE_HIGH / SF_MPA));
    sf_json_set(json, "band_slip_nm", sf_json_pair(slip_low, slip_high));
    sf_json_set(result->json, "doubt", json);
    if (!isfinite(p.middle))
        sf_result_note(result, "doubt.preload_n: wants adapter.permanent_torque_nm and adapter.screw_diameter_mm");
    if (!isfinite(strength))
        sf_result_note(result, "doubt.thread_strength_n: shown for polyamide threads with a known shank wall only "
                               "(adapter.material, adapter.shank_wall_mm)");
    if (!isfinite(tip.middle))
        sf_result_note(result,
                       "doubt.tip_pressure_mpa: shown where a holding screw of known torque holds the rotation");
    if (!isfinite(slip_low))
        sf_result_note(result, "doubt.band_slip_nm: shown for pinch bands of known torque and screw");
}

static void set_figure(sf_Json *json, const char *key, double value, double limit, const char *text)
{
    sf_Json *one = sf_json_object();
    sf_json_set_number(one, "value", value / SF_MM);
    sf_json_set_number(one, "limit", limit / SF_MM);
    sf_json_set_text(one, "unit", "mm");
    if (isfinite(value) && isfinite(limit))
        sf_json_set_flag(one, "holds", value >= limit - EQUAL);
    else
        sf_json_set_null(one, "holds");
    sf_json_set_text(one, "text", text);
    sf_json_set(json, key, one);
}

static void set_holes(sf_Json *out, const sf_ClampHoles *clamp, const sf_Limb *limb, sf_Json *warnings)
{
    static const char *const states[] = { "not said", "planned", "fitted", "old-hole", "vent" };
    sf_Json *holes = sf_json_array();
    for (size_t i = 0; i < clamp->hole_count; i++) {
        const sf_FastenHole *h = &clamp->holes[i];
        sf_HoleDistances d = sf_fasten_distances(&clamp->zone, clamp->holes, clamp->hole_count, i);
        double grip = clamp->zone.cut_height + clamp->zone.depth - h->height;
        sf_Json *one = sf_json_object();
        sf_json_set_whole(one, "index", (int64_t)i);
        sf_json_set_text(one, "state", states[limb->data.pylon.holes[i].state]);
        sf_json_set_number(one, "angle_deg", h->angle / SF_DEG);
        sf_json_set_number(one, "height_mm", h->height / SF_MM);
        sf_json_set_number(one, "diameter_mm", h->diameter / SF_MM);
        set_figure(one, "edge", d.edge, d.edge_limit, "centre to the cut edge, two diameters");
        set_figure(one, "seam", d.seam, d.seam_limit,
                   "along the circle to the seam, two diameters: nearer it wedges it open");
        set_figure(one, "spacing", d.nearest, d.spacing_limit, "to the next hole's centre, three diameters");
        set_figure(one, "grip", h->old ? NAN : grip, h->old ? NAN : h->diameter / 2,
                   "below the upper end of the grip: a screw must go through the rim");
        sf_json_add(holes, one);
        if (d.seam < d.seam_limit - EQUAL)
            sf_study_warn(warnings, "hole-near-seam", "hole %zu lies %.1f mm from the seam, %.1f wanted", i + 1,
                          d.seam / SF_MM, d.seam_limit / SF_MM);
        if (d.edge < d.edge_limit - EQUAL)
            sf_study_warn(warnings, "hole-near-edge", "hole %zu lies %.1f mm from the cut edge, %.1f wanted", i + 1,
                          d.edge / SF_MM, d.edge_limit / SF_MM);
    }
    sf_json_set(out, "holes", holes);
}

/// Screw places as far from seam and holes as they can be; they also stand in for screws that are not entered yet.
static void set_proposal(sf_Result *result, sf_ClampHoles *clamp, const sf_LimbAdapter *a)
{
    double angles[SF_FASTEN_MAX_HOLES], height;
    if (a->permanent_fixing != SF_LIMB_FIXING_THROUGH_SCREWS || !isfinite(a->screw_diameter)) {
        sf_result_null(result, "proposal",
                       a->permanent_fixing == SF_LIMB_FIXING_PINCH_BAND
                           ? "a pinch band needs no screws through the wall"
                           : "wants adapter.permanent_fixing and adapter.screw_diameter_mm");
        return;
    }
    size_t n = a->screw_count > 0 ? (size_t)a->screw_count : USUAL_SCREWS, screws = 0;
    if (a->screw_count <= 0)
        sf_result_assume(result, "two permanent screws (adapter.screw_count)");
    if (n > SF_FASTEN_MAX_HOLES / 2)
        n = SF_FASTEN_MAX_HOLES / 2;
    sf_FastenHole taken[SF_FASTEN_MAX_HOLES];
    size_t taken_count = 0;
    for (size_t i = 0; i < clamp->hole_count; i++) {
        screws += !clamp->holes[i].old;
        if (clamp->holes[i].old)
            taken[taken_count++] = clamp->holes[i];
    }
    double slack = sf_fasten_place(&clamp->zone, taken, taken_count, n, a->screw_diameter, angles, &height);
    sf_Json *json = sf_json_object(), *list = sf_json_array();
    for (size_t i = 0; i < n; i++)
        sf_json_add_number(list, angles[i] / SF_DEG);
    sf_json_set_whole(json, "screws", (int64_t)n);
    sf_json_set(json, "angles_deg", list);
    sf_json_set_number(json, "height_mm", height / SF_MM);
    sf_json_set_number(json, "diameter_mm", a->screw_diameter / SF_MM);
    sf_json_set_number(json, "slack_mm", slack / SF_MM);
    sf_json_set(result->json, "proposal", json);
    for (size_t i = 0; screws == 0 && i < n && clamp->hole_count < SF_FASTEN_MAX_HOLES; i++)
        clamp->holes[clamp->hole_count++] = (sf_FastenHole){ angles[i], height, a->screw_diameter, false };
}

static void add_rescue(sf_Json *list, const char *name, bool possible, double margin, const char *unit,
                       const char *text)
{
    sf_Json *one = sf_json_object();
    sf_json_set_text(one, "rescue", name);
    sf_json_set_flag(one, "possible", possible);
    sf_json_set_number(one, "margin", margin);
    sf_json_set_text(one, "unit", unit);
    sf_json_set_text(one, "text", text);
    sf_json_add(list, one);
}

static sf_Status add_recut(sf_Json *list, const sf_ClampHoles *clamp, const sf_Limb *limb, sf_Error *err)
{
    char text[400];
    sf_FastenRecut cut = sf_fasten_recut(&clamp->zone, clamp->holes, clamp->hole_count);
    sf_SpacerKind kinds[SF_STACK_MAX_KINDS];
    size_t n = sf_growth_stock(limb, kinds);
    double needed = sf_growth_spacers_now(limb) + cut.removed;
    sf_SpacerStack stack;
    if (!(cut.removed > 0)) {
        add_rescue(
            list, "recut", cut.cylinder_left >= 0, cut.cylinder_left / SF_MM, "mm",
            "no hole lies in the grip, so nothing has to be sawn off; the margin is the cylinder above the grip, "
            "from which a spacer could be traded for length");
        return SF_OK;
    }
    SF_TRY(sf_spacer_stack_find(kinds, n, needed, SF_STACK_TOLERANCE, 0, &stack, err));
    int used =
        snprintf(text, sizeof text,
                 "saw %.1f mm off, so that no hole is left in the grip; spacers of %.1f mm in all give the length "
                 "back: %s",
                 cut.removed / SF_MM, needed / SF_MM, stack.found ? "" : "the stock has no such stack");
    for (size_t i = 0; stack.found && i < stack.pieces && used < (int)sizeof text; i++)
        used += snprintf(text + used, sizeof text - (size_t)used, "%s%.1f", i ? " + " : "", stack.piece[i] / SF_MM);
    if (used < (int)sizeof text)
        snprintf(text + used, sizeof text - (size_t)used,
                 "; the foot bolt loses that much engagement. The margin is the "
                 "cylinder left above the new grip");
    add_rescue(list, "recut", stack.found && cut.cylinder_left >= 0, cut.cylinder_left / SF_MM, "mm", text);
    return SF_OK;
}

/// How far the adapter still turns, to the nearer end of its range, deg; NaN: its range is not entered.
static double turn_left(const sf_Limb *limb)
{
    sf_Travel travel = sf_adapter_travel(&limb->data.adapter);
    double now = isfinite(limb->data.alignment.toe_out) ? limb->data.alignment.toe_out : 0;
    if (!travel.known || !travel.moves[SF_SETTING_TOE_OUT])
        return NAN;
    return fmin(travel.high[SF_SETTING_TOE_OUT] - now, now - travel.low[SF_SETTING_TOE_OUT]) / SF_DEG;
}

static void add_turn(sf_Json *list, const sf_ClampHoles *clamp, const sf_Limb *limb)
{
    if (limb->data.adapter.permanent_fixing == SF_LIMB_FIXING_PINCH_BAND) {
        add_rescue(list, "turn", true, turn_left(limb), "deg",
                   "loosen the band, turn, tighten to the torque, new witness mark: no hole hinders it. The margin is "
                   "what the adapter still turns to the nearer end of its range");
        return;
    }
    // Toes outward: limb angles fall, since anterior is 90 and outward 0 on either side.
    double outward = -sf_fasten_least_turn(&clamp->zone, clamp->holes, clamp->hole_count, -1) / SF_DEG;
    double inward = sf_fasten_least_turn(&clamp->zone, clamp->holes, clamp->hole_count, +1) / SF_DEG;
    bool out = isfinite(outward), in = isfinite(inward);
    char text[300], way[80] = "";
    if (out)
        snprintf(way, sizeof way, "%.0f deg toes outward%s", outward, in ? " or " : "");
    if (in)
        snprintf(way + strlen(way), sizeof way - strlen(way), "%.0f deg toes inward", inward);
    if (out || in)
        snprintf(
            text, sizeof text,
            "the screws turn with the clamp: at least %s, or the new holes come too near to the old ones or the seam; "
            "the old holes stay in the section",
            way);
    else
        snprintf(text, sizeof text, "no turn keeps every new hole its distance from the old ones and the seam");
    add_rescue(list, "turn", out || in, out && (!in || outward <= inward) ? outward : -inward, "deg", text);
}

static sf_Status set_rescues(sf_Result *result, const sf_ClampHoles *clamp, const sf_Limb *limb, sf_Error *err)
{
    sf_Json *list = sf_json_array();
    sf_Status status = SF_OK;
    add_turn(list, clamp, limb);
    status = add_recut(list, clamp, limb, err);
    add_rescue(list, "remake", true, NAN, NULL,
               "always possible: a new forming, ring, cut and fitting; keep the settled settings and the cast");
    sf_json_set(result->json, "rescues", list);
    sf_result_note(result,
                   "rescues[].margin: a remake has none, nothing of this limb bounds it; another that is null wants "
                   "pylon.top_height_mm (recut) or adapter.motions (turn)");
    return status;
}

static void set_holding(sf_Result *result, const sf_LimbAdapter *a)
{
    static const char *const states[] = { NULL, "fitted", "removed", "left" };
    static const char *const texts[] = {
        "not said what becomes of the holding screw: take it out and read its dent, or leave it on purpose",
        "take it out when the permanent fixing holds, and read its dent; or leave it on purpose and say so",
        "taken out: its dent is a notch; enter its depth", "left on purpose: it presses on, and its tip stays a notch"
    };
    if (a->rotation_hold != SF_LIMB_HOLD_SCREW) {
        sf_result_null(result, "holding_screw", "no holding screw is named (adapter.rotation_hold)");
        return;
    }
    sf_Json *json = sf_json_object();
    sf_json_set_text(json, "state", states[a->holding_screw.state]);
    sf_json_set_number(json, "dent_mm", a->holding_screw.dent / SF_MM);
    sf_json_set_text(json, "text", texts[a->holding_screw.state]);
    sf_json_set(result->json, "holding_screw", json);
}

sf_Status sf_fasten_study(sf_Result *result, const sf_Limb *limb, sf_Error *err)
{
    static const char *const fixings[] = { NULL, "pinch-band", "through-screws" };
    const sf_LimbAdapter *a = &limb->data.adapter;
    sf_ClampHoles clamp;
    SF_TRY(sf_clamp_holes_read(&clamp, limb, "fasten", result, err));
    sf_Json *warnings = sf_json_array();
    sf_json_set_text(result->json, "fixing", fixings[a->permanent_fixing]);
    if (a->permanent_fixing == SF_LIMB_FIXING_NONE)
        sf_result_note(result, "fixing: not named; screws through the wall or a pinch band (adapter.permanent_fixing)");
    set_torque(result, a->permanent_torque);
    set_doubt(result, a, clamp.zone.radius);
    set_holes(result->json, &clamp, limb, warnings);
    set_proposal(result, &clamp, a);
    sf_Status status = set_rescues(result, &clamp, limb, err);
    set_holding(result, a);
    sf_json_set(result->json, "warnings", warnings);
    return status;
}
