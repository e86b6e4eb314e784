// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/clamp_zone.h"

#include "base/units.h"
#include "strength/clamp.h"
#include "strength/glue.h"

#include <math.h>
#include <string.h>

static const double edge_diameters = 2, seam_diameters = 2, next_diameters = 3; // docs/theory/strength.md
static const double equal = 1e-9;        // a distance of just the limit is within it
static const double tip_gap = 2 * SF_MM; // judgement

static const char *const stuff_words[] = { NULL,
                                           "steel",
                                           "stainless-steel",
                                           "titanium",
                                           "aluminium",
                                           "polyamide",
                                           "acetal",
                                           "polypropylene",
                                           "polyethylene",
                                           "polyurethane-rubber",
                                           "wood",
                                           "carbon-fibre-laminate" };

// A figure beside its limit. `within` is null where either is not known.
static sf_Json *beside(double value, double limit, double unit, bool most)
{
    sf_Json *json = sf_json_object();
    sf_json_set_number(json, "value", value / unit);
    sf_json_set_number(json, "limit", limit / unit);
    sf_json_set_text(json, "limit_is", most ? "most" : "least");
    if (isnan(value) || isnan(limit))
        sf_json_set_null(json, "within");
    else
        sf_json_set_flag(json, "within", most ? value <= limit * (1 + equal) : value >= limit * (1 - equal));
    return json;
}

static void set_hole(sf_Json *list, const sf_StrengthInput *input, size_t i)
{
    static const char *const states[] = { NULL, "planned", "fitted", "old-hole", "vent" };
    const sf_BeamHole *hole = &input->pylon.holes[i];
    sf_HoleDistances d = sf_hole_distances(&input->pylon, i, input->seam);
    const sf_BeamSection *section = &input->pylon.stations[input->pylon.hole_station[i]].section;
    sf_HoleFactors factors = sf_hole_factors(hole->diameter, section->outer_diameter, section->inner_diameter);
    sf_Json *json = sf_json_object();
    sf_json_set_text(json, "state", states[input->limb->data.pylon.holes[input->hole_of_limb[i]].state]);
    sf_json_set_number(json, "angle_deg", hole->angle / SF_DEG);
    sf_json_set_number(json, "height_mm", hole->height / SF_MM);
    sf_json_set_number(json, "diameter_mm", hole->diameter / SF_MM);
    sf_json_set_flag(json, "in_grip", d.in_grip);
    sf_json_set(json, "to_cut_mm", beside(d.to_cut, edge_diameters * hole->diameter, SF_MM, false));
    sf_json_set(json, "to_seam_mm", beside(d.to_seam, seam_diameters * hole->diameter, SF_MM, false));
    sf_json_set(json, "to_next_hole_mm", beside(d.to_next, next_diameters * hole->diameter, SF_MM, false));
    sf_json_set_number(json, "factor_tension", factors.tension_used);
    sf_json_set_number(json, "factor_bending", factors.bending_used);
    sf_json_set_number(json, "factor_torsion", factors.torsion_used);
    sf_json_set_flag(json, "factor_valid", factors.valid);
    sf_json_add(list, json);
}

static void warn_seam(sf_Result *result, const sf_StrengthInput *input)
{
    for (size_t i = 0; i < input->pylon.hole_count; i++) {
        double far = sf_hole_distances(&input->pylon, i, input->seam).to_seam;
        if (far < seam_diameters * input->pylon.holes[i].diameter)
            sf_result_note(result,
                           "pylon.holes[%zu] lies %.1f mm from the seam, nearer than two of its diameters: a screw "
                           "there wedges the seam open",
                           i, far / SF_MM);
    }
}

static sf_Json *net_section(const sf_StrengthInput *input)
{
    sf_Json *json = sf_json_object();
    double least = 1, height = NAN;
    for (size_t i = 0; i < input->pylon.hole_count; i++) {
        size_t at = input->pylon.hole_station[i];
        double share = sf_pylon_net_section(&input->pylon, at).area / input->pylon.stations[at].section.area;
        if (share < least) {
            least = share;
            height = input->pylon.stations[at].height;
        }
    }
    sf_json_set_number(json, "area_share", least);
    sf_json_set_number(json, "height_mm", height / SF_MM);
    return json;
}

static void set_screws(sf_Json *zone, const sf_StrengthInput *input, const sf_MaterialState *state,
                       const sf_Actions *proof, sf_Result *result)
{
    const sf_LimbAdapter *a = &input->limb->data.adapter;
    const sf_BeamSection *section = &input->pylon.stations[0].section;
    double radius = 0.25 * (section->outer_diameter + section->inner_diameter);
    double wall = 0.5 * (section->outer_diameter - section->inner_diameter);
    bool screws = a->permanent_fixing == SF_LIMB_FIXING_THROUGH_SCREWS;
    if (screws && a->screw_count > 0 && !isnan(a->screw_diameter)) {
        sf_PinLoads pins = sf_pin_loads(proof->torque, sf_point_length(proof->moment), a->screw_count,
                                        a->screw_diameter, radius, wall);
        sf_json_set_number(zone, "pin_force_n", pins.by_torque);
        sf_json_set_number(zone, "pin_force_loose_n", pins.if_loose);
        sf_json_set(zone, "bearing_mpa", beside(pins.bearing, state->compressive_yield, SF_MPA, true));
        sf_json_set(zone, "bearing_loose_mpa", beside(pins.bearing_loose, state->compressive_yield, SF_MPA, true));
        sf_json_set_number(zone, "screw_shear_mpa", pins.screw_shear / SF_MPA);
        sf_json_set_number(zone, "screw_shear_loose_mpa", pins.screw_shear_loose / SF_MPA);
    } else {
        static const char *const keys[] = { "pin_force_n",       "pin_force_loose_n", "bearing_mpa",
                                            "bearing_loose_mpa", "screw_shear_mpa",   "screw_shear_loose_mpa" };
        for (size_t i = 0; i < sizeof keys / sizeof *keys; i++)
            sf_json_set_null(zone, keys[i]);
        sf_result_note(result, "clamp_zone: bearing and screw shear are null: %s",
                       screws ? "adapter.screw_count and adapter.screw_diameter_mm are needed"
                              : "adapter.permanent_fixing is not 'through-screws'");
    }
    sf_ClampScrews tip = { .length = a->screw_length,
                           .rim_inside = a->rim,
                           .rim_wall = a->rim_wall,
                           .bolt_head = a->foot_bolt.head_diameter };
    sf_json_set(zone, "tip_to_foot_bolt_mm", beside(screws ? sf_tip_clearance(&tip) : NAN, tip_gap, SF_MM, false));
    sf_json_set_number(zone, "pilot_hole_mm", a->pilot_hole / SF_MM);
}

static void set_bolt(sf_Result *result, const sf_StrengthInput *input, const sf_Actions *cyclic)
{
    const sf_LimbFootBolt *bolt = &input->limb->data.adapter.foot_bolt;
    if (isnan(bolt->torque) || isnan(bolt->thread)) {
        sf_result_null(result, "foot_bolt", "adapter.foot_bolt.torque_nm and adapter.foot_bolt.thread_mm are needed");
        return;
    }
    sf_BoltJoint joint =
        sf_bolt_joint(bolt->torque, bolt->thread, bolt->joint, sf_point_length(cyclic->moment), cyclic->axial);
    const sf_LimbData *d = &input->limb->data;
    double stack = 0;
    for (size_t i = 0; i < d->spacer_count; i++)
        stack += d->spacers[i].thickness;
    sf_Json *json = sf_json_object();
    sf_json_set_number(json, "preload_n", joint.preload);
    sf_json_set_number(json, "preload_kept_low_n", joint.kept_low);
    sf_json_set_number(json, "preload_kept_high_n", joint.kept_high);
    sf_json_set(json, "joint_n", beside(joint.kept_low, joint.needed, 1, false));
    sf_json_set(json, "engagement_mm", beside(bolt->engagement, bolt->thread, SF_MM, false));
    // The bolt is through clamp and spacers; what sticks out must fit the threaded hole.
    double out = bolt->length - d->adapter.build_height - stack + (isnan(d->foot.recess) ? 0 : d->foot.recess);
    sf_json_set(json, "into_foot_mm", beside(out, bolt->thread_depth, SF_MM, true));
    sf_json_set_text(
        json, "text",
        "preload by T = 0.2 F d, scatter 30 %, 40 to 60 % lost over plastic spacers; needed: condition II cyclic "
        "moment over half the joint's width less the axial force; the maker's torque and engagement come first");
    sf_json_set(result->json, "foot_bolt", json);
}

static sf_Status set_glue(sf_Result *result, const sf_StrengthInput *input, sf_Error *err)
{
    static const char *const adhesives[] = { NULL, "cyanoacrylate", "acrylic", "epoxy", "polyurethane", "contact" };
    const sf_LimbGlue *glue = &input->limb->data.glue;
    if (!glue->joint_count || !glue->adhesive) {
        sf_result_null(result, "glue", "glue.adhesive and glue.joints are not given");
        return SF_OK;
    }
    sf_GlueTable *table = NULL;
    SF_TRY(sf_glue_table_create(&table, err));
    sf_Json *list = sf_json_array();
    for (size_t i = 0; i < glue->joint_count; i++) {
        const sf_LimbGlueJoint *joint = &glue->joints[i];
        sf_GlueJointFigure figure =
            sf_glue_joint(table, stuff_words[joint->first], stuff_words[joint->second], adhesives[glue->adhesive],
                          glue->primer == SF_ANSWER_YES, joint->wet == SF_ANSWER_YES);
        sf_Json *json = sf_json_object();
        sf_json_set_text(json, "first", stuff_words[joint->first]);
        sf_json_set_text(json, "second", stuff_words[joint->second]);
        sf_json_set_number(json, "shear_mpa", figure.shear / SF_MPA);
        sf_json_set_number(json, "force_n", figure.shear * joint->area);
        sf_json_set_text(json, "text", figure.why);
        sf_json_set_text(json, "source", figure.pair ? figure.pair->source : NULL);
        sf_json_add(list, json);
    }
    sf_json_set(result->json, "glue", list);
    sf_glue_table_destroy(&table);
    return SF_OK;
}

sf_Status sf_clamp_zone_result(sf_Result *result, const sf_StrengthInput *input, const sf_MaterialState *state,
                               const sf_Actions *proof_at_cut, const sf_Actions *cyclic_at_joint, sf_Error *err)
{
    sf_Json *zone = sf_json_object(), *holes = sf_json_array();
    for (size_t i = 0; i < input->pylon.hole_count; i++)
        set_hole(holes, input, i);
    sf_json_set_number(zone, "moment_nm", sf_point_length(proof_at_cut->moment));
    sf_json_set_number(zone, "torque_nm", proof_at_cut->torque);
    sf_json_set_number(zone, "seam_deg", isnan(input->seam) ? NAN : fmod(input->seam / SF_DEG + 720, 360));
    sf_json_set(zone, "holes", holes);
    sf_json_set(zone, "net_section", net_section(input));
    set_screws(zone, input, state, proof_at_cut, result);
    sf_json_set(result->json, "clamp_zone", zone);
    warn_seam(result, input);
    if (input->pylon.hole_count && isnan(input->seam))
        sf_result_note(result, "the seam's direction is not known, so no hole's distance to it can be given");
    set_bolt(result, input, cyclic_at_joint);
    return set_glue(result, input, err);
}
