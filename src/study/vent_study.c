// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/vent_study.h"

#include "base/units.h"
#include "growth/vent.h"
#include "study/clamp_holes.h"
#include "study/growth_readings.h"

#include <math.h>

static const double USUAL_VOLUME = 20e-6; ///< m^3, judgement
static const double USUAL_TIME = 0.3;     ///< s, judgement: half of a stance phase
static const double ABOVE_GRIP = 0.010;   ///< m, judgement: clear of the clamp's edge

static const char *refusal(sf_LimbSuspension suspension)
{
    switch (suspension) {
    case SF_LIMB_SUSPENSION_SUCTION:
    case SF_LIMB_SUSPENSION_VALVE:
    case SF_LIMB_SUSPENSION_VACUUM: return "this suspension holds by low pressure: a vent would let the limb fall off";
    default: return NULL;
    }
}

static void set_place(sf_Json *json, const sf_ClampHoles *clamp, double diameter)
{
    const sf_FastenZone *zone = &clamp->zone;
    double height = zone->cut_height + zone->depth + fmax(ABOVE_GRIP, SF_HOLE_EDGE_DIAMETERS * diameter);
    double best = -INFINITY, angle = 0;
    for (int step = 0; step < 360; step++) {
        double at = step * SF_DEG;
        // Without the edge, which lies far below: what is left is the seam and the holes.
        sf_FastenZone deep = *zone;
        deep.cut_height = -INFINITY;
        double slack = sf_fasten_slack(&deep, clamp->holes, clamp->hole_count, &at, 1, height, diameter);
        if (slack > best + 1e-9) {
            best = slack;
            angle = at;
        }
    }
    sf_FastenHole all[SF_FASTEN_MAX_HOLES + 1];
    for (size_t i = 0; i < clamp->hole_count; i++)
        all[i] = clamp->holes[i];
    all[clamp->hole_count] = (sf_FastenHole){ angle, height, diameter, false };
    sf_HoleDistances d = sf_fasten_distances(zone, all, clamp->hole_count + 1, clamp->hole_count);
    bool seam = isfinite(zone->seam_angle);
    sf_Json *place = sf_json_object();
    sf_json_set_number(place, "angle_deg", seam || clamp->hole_count ? angle / SF_DEG : NAN);
    sf_json_set_number(place, "height_mm", height / SF_MM);
    sf_json_set_number(place, "seam_distance_mm", d.seam / SF_MM);
    sf_json_set_number(place, "seam_distance_limit_mm", d.seam_limit / SF_MM);
    sf_json_set_number(place, "hole_distance_mm", d.nearest / SF_MM);
    sf_json_set_number(place, "hole_distance_limit_mm", d.spacing_limit / SF_MM);
    sf_json_set(json, "place", place);
}

static void set_how(sf_Json *json)
{
    static const char *const steps[] = { "limb off and the inside empty; no drilling on a worn limb",
                                         "away from the seam; centre punch, sharp drill, slow, a block behind the wall",
                                         "round both edges, chips and burrs out of the bore",
                                         "afterwards: enter the hole (state vent), look at the strength again, then "
                                         "standing and walking again" };
    sf_Json *how = sf_json_array();
    for (size_t i = 0; i < sizeof steps / sizeof *steps; i++)
        sf_json_add_text(how, steps[i]);
    sf_json_set(json, "how", how);
}

static void set_nothing(sf_Json *json)
{
    static const char *const keys[] = {
        "diameter_mm",       "diameter_needed_mm",        "air_speed_mps", "pressure_pa", "place",
        "area_lost_percent", "second_moment_lost_percent"
    };
    for (size_t i = 0; i < sizeof keys / sizeof *keys; i++)
        sf_json_set_null(json, keys[i]);
    sf_json_set(json, "how", sf_json_array());
}

static sf_Status set_port(sf_Result *result, const sf_Limb *limb, sf_Json *warnings, sf_Error *err)
{
    sf_Json *json = result->json;
    double volume = limb->data.socket.pumped_volume, time = limb->data.socket.pump_time;
    if (!isfinite(volume)) {
        volume = USUAL_VOLUME;
        sf_result_assume(result, "20 ml are pumped at each step (socket.pumped_volume_ml)");
    }
    if (!isfinite(time)) {
        time = USUAL_TIME;
        sf_result_assume(result, "a stroke lasts 0.3 s (socket.pump_time_s)");
    }
    sf_ClampHoles clamp;
    SF_TRY(sf_clamp_holes_read(&clamp, limb, "vent", result, err));
    double needed = sf_vent_diameter(volume, time, SF_VENT_QUIET_SPEED), drill = sf_vent_drill(needed);
    double speed = sf_vent_speed(volume, time, drill);
    sf_json_set_number(json, "diameter_mm", drill / SF_MM);
    sf_json_set_number(json, "diameter_needed_mm", needed / SF_MM);
    sf_json_set_number(json, "air_speed_mps", speed);
    sf_json_set_number(json, "pressure_pa", sf_vent_pressure(speed));
    if (speed > SF_VENT_QUIET_SPEED * (1 + 1e-9))
        sf_study_warn(warnings, "not-quiet",
                      "%.0f mm is the largest vent; the air will be heard at %.0f m/s: less "
                      "pistoning is the better remedy",
                      drill / SF_MM, speed);
    set_place(json, &clamp, drill);
    double outer = 2 * clamp.zone.radius, inner = 2 * clamp.inner_radius;
    sf_json_set_number(json, "area_lost_percent", 100 * sf_vent_area_share(drill, outer, inner));
    sf_json_set_number(json, "second_moment_lost_percent", 100 * sf_vent_moment_share(drill, outer, inner));
    if (!isfinite(inner))
        sf_result_note(result, "area_lost_percent, second_moment_lost_percent: want the bore (a ring's diameters)");
    set_how(json);
    return SF_OK;
}

sf_Status sf_vent_study(sf_Result *result, const sf_Limb *limb, sf_Error *err)
{
    sf_Json *json = result->json, *warnings = sf_json_array();
    sf_LimbSuspension suspension = limb->data.socket.suspension;
    const char *refused = refusal(suspension);
    sf_Status status = SF_OK;
    sf_json_set_number(json, "air_speed_limit_mps", SF_VENT_QUIET_SPEED);
    if (suspension == SF_LIMB_SUSPENSION_NONE) {
        sf_json_set_null(json, "allowed");
        refused = "the suspension is not named: a vent is refused with suction, valve or vacuum (socket.suspension)";
        sf_result_note(result, "allowed: %s", refused);
    } else {
        sf_json_set_flag(json, "allowed", refused == NULL);
        if (refused)
            sf_result_note(result, "diameter_mm, place: not given, %s", refused);
    }
    sf_json_set_text(json, "reason", refused);
    if (refused)
        set_nothing(json);
    else
        status = set_port(result, limb, warnings, err);
    sf_json_set(json, "warnings", warnings);
    return status;
}
