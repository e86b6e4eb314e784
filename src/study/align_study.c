// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/align_study.h"

#include "base/units.h"
#include "study/adapter_travel.h"
#include "study/result.h"

#include <math.h>

static const double ANKLE_PER_STATURE = 0.042; // ankle centre above the shoe's heel, share of stature
static const double ANKLE_WITHOUT_STATURE = 0.073;
static const double STATURE_FOR_ARC = 1.74;

static double or_zero(double value)
{
    return isfinite(value) ? value : 0;
}

// Cut end above the floor by the stack under it, standing and loaded; NaN when a part of it is not known.
static double cut_by_stack(const sf_LimbData *d)
{
    double height = d->foot.build_height + d->adapter.build_height + d->shoe.heel - or_zero(d->foot.compression) -
                    or_zero(d->foot.recess);
    for (size_t i = 0; i < d->spacer_count; i++)
        height += d->spacers[i].thickness;
    return height;
}

static sf_Status need_fields(const sf_Limb *limb, bool cut_known, sf_Error *err)
{
    static const char *const all[] = { "socket.distal_end_height_mm", "foot.length_mm", "pylon.cut_height_mm" };
    return sf_limb_need(limb, all, cut_known ? 2 : 3, "align", err);
}

static void take_foot(sf_AlignInput *in, const sf_LimbData *d)
{
    in->heel_assumed = !isfinite(d->shoe.heel);
    in->chain.heel_height = in->heel_assumed ? or_zero(d->foot.heel_height) : d->shoe.heel;
    in->rise_assumed = in->heel_assumed || !isfinite(d->shoe.sole) || !isfinite(d->foot.heel_height);
    if (!in->rise_assumed)
        in->chain.shoe_tilt = sf_chain_shoe_tilt(d->shoe.heel - d->shoe.sole, d->foot.heel_height, d->foot.length);
    in->ankle_assumed = !isfinite(d->person.stature);
    in->chain.ankle_height =
        in->chain.heel_height + (in->ankle_assumed ? ANKLE_WITHOUT_STATURE : ANKLE_PER_STATURE * d->person.stature);
}

sf_Status sf_align_input(sf_AlignInput *in, const sf_Limb *limb, sf_Error *err)
{
    const sf_LimbData *d = &limb->data;
    double stack = cut_by_stack(d);
    bool given = isfinite(d->pylon.cut_height);
    *in = (sf_AlignInput){ .body_mass = d->person.body_mass,
                           .body_weight = d->person.body_mass * SF_GRAVITY,
                           .foot_length = d->foot.length,
                           .stature = d->person.stature,
                           .cut_from_stack = !given,
                           .travel = sf_adapter_travel(&d->adapter) };
    SF_TRY(need_fields(limb, given || isfinite(stack), err));
    in->chain.side = d->person.side == SF_LIMB_SIDE_LEFT ? SF_CHAIN_LEFT : SF_CHAIN_RIGHT;
    in->chain.socket_height = d->socket.distal_end_height;
    in->chain.socket_offset_o = or_zero(d->socket.base_offset[0]);
    in->chain.socket_offset_f = or_zero(d->socket.base_offset[1]);
    in->chain.cut_height = given ? d->pylon.cut_height : stack;
    in->chain.socket_flexion = or_zero(d->socket.flexion);
    in->chain.socket_adduction = or_zero(d->socket.adduction);
    in->attitude_assumed = !isfinite(d->socket.flexion) || !isfinite(d->socket.adduction);
    take_foot(in, d);
    in->settings_assumed = !d->alignment.there;
    in->settings = sf_adapter_settings(&d->alignment, &(sf_Settings){ { 0 } });
    return sf_chain_check(&in->chain, &in->settings, err);
}

// ---- writing ----------------------------------------------------------------------------------------------------

typedef struct PoseField {
    const char *key;
    size_t offset;
    double factor;
} PoseField;

static const PoseField POSE[] = {
    { "socket_f_mm", offsetof(sf_Pose, socket_f), SF_MM },
    { "socket_o_mm", offsetof(sf_Pose, socket_o), SF_MM },
    { "socket_flexion_deg", offsetof(sf_Pose, socket_flexion), SF_DEG },
    { "socket_adduction_deg", offsetof(sf_Pose, socket_adduction), SF_DEG },
    { "sole_tilt_sagittal_deg", offsetof(sf_Pose, sole_sagittal), SF_DEG },
    { "sole_tilt_coronal_deg", offsetof(sf_Pose, sole_coronal), SF_DEG },
    { "toe_out_deg", offsetof(sf_Pose, toe_out), SF_DEG },
    { "height_mm", offsetof(sf_Pose, height), SF_MM },
};

static double pose_value(const sf_Pose *pose, const PoseField *field)
{
    return *(const double *)((const char *)pose + field->offset) / field->factor;
}

static sf_Json *pose_json(const sf_Pose *pose)
{
    sf_Json *json = sf_json_object();
    for (size_t i = 0; i < sizeof POSE / sizeof *POSE; i++)
        sf_json_set_number(json, POSE[i].key, pose_value(pose, &POSE[i]));
    return json;
}

static sf_Json *settings_json(const sf_Settings *settings)
{
    sf_Json *json = sf_json_object();
    for (int i = 0; i < SF_SETTING_COUNT; i++)
        sf_json_set_number(json, sf_setting_key((sf_Setting)i), settings->value[i] / sf_setting_factor((sf_Setting)i));
    return json;
}

static sf_SocketMoment moment_at(const sf_AlignInput *in, const sf_Stance *stance, const sf_Settings *settings,
                                 double percent, sf_GroundForce *force)
{
    sf_Stand stand = sf_chain_stand(&in->chain, settings);
    double toe_out = in->chain.side * stand.foot_heading;
    *force = sf_stance_force(stance, percent, in->body_weight, in->foot_length, toe_out);
    return sf_stance_moment(&in->chain, &stand, force);
}

static sf_Json *moments_json(const sf_AlignInput *in, const sf_Stance *stance, const sf_Settings *settings)
{
    static const char *const keys[] = { "stance_percent", "sagittal_nm", "coronal_nm", "transverse_nm", "vertical_n",
                                        "fore_aft_n",     "side_n",      "cop_f_mm",   "cop_o_mm" };
    enum { KEYS = sizeof keys / sizeof *keys };
    sf_Json *json = sf_json_object(), *lists[KEYS];
    for (size_t k = 0; k < KEYS; k++)
        lists[k] = sf_json_array();
    sf_StanceCurves curves;
    sf_stance_curves(&curves, stance, &in->chain, settings, in->body_weight, in->foot_length);
    for (size_t i = 0; i < curves.count; i++) {
        sf_GroundForce f = curves.force[i];
        sf_SocketMoment m = curves.moment[i];
        const double row[KEYS] = { curves.percent[i], m.sagittal, m.coronal,       m.transverse,   f.vertical,
                                   f.forward,         f.outward,  f.cop_f / SF_MM, f.cop_o / SF_MM };
        for (size_t k = 0; k < KEYS; k++)
            sf_json_add_number(lists[k], row[k]);
    }
    for (size_t k = 0; k < KEYS; k++)
        sf_json_set(json, keys[k], lists[k]);
    return json;
}

static sf_Json *moment_step_json(const sf_AlignInput *in, const sf_Stance *stance, const sf_Settings *low,
                                 const sf_Settings *high, double percent)
{
    sf_GroundForce f;
    sf_SocketMoment a = moment_at(in, stance, low, percent, &f), b = moment_at(in, stance, high, percent, &f);
    sf_Json *json = sf_json_object();
    sf_json_set_number(json, "sagittal_nm", b.sagittal - a.sagittal);
    sf_json_set_number(json, "coronal_nm", b.coronal - a.coronal);
    sf_json_set_number(json, "transverse_nm", b.transverse - a.transverse);
    return json;
}

// Central differences over one degree or millimetre about the settings after the change.
static void set_sensitivity(sf_Result *r, const sf_AlignInput *in, const sf_Stance *stance, const sf_Settings *at)
{
    sf_Json *list = sf_json_array();
    for (int i = 0; i < SF_SETTING_COUNT; i++) {
        sf_Settings low = *at, high = *at;
        double half = 0.5 * sf_setting_factor((sf_Setting)i);
        low.value[i] -= half;
        high.value[i] += half;
        sf_Pose a = sf_chain_pose(&in->chain, &low), b = sf_chain_pose(&in->chain, &high);
        sf_Json *item = sf_json_object(), *pose = sf_json_object();
        for (size_t k = 0; k < sizeof POSE / sizeof *POSE; k++)
            sf_json_set_number(pose, POSE[k].key, pose_value(&b, &POSE[k]) - pose_value(&a, &POSE[k]));
        sf_json_set_text(item, "setting", sf_setting_key((sf_Setting)i));
        sf_json_set_text(item, "unit", sf_setting_unit((sf_Setting)i));
        sf_json_set(item, "d_pose", pose);
        sf_json_set(item, "d_moment_at_30_nm", moment_step_json(in, stance, &low, &high, 30));
        sf_json_set(item, "d_moment_at_75_nm", moment_step_json(in, stance, &low, &high, 75));
        sf_json_add(list, item);
    }
    sf_json_set(r->json, "sensitivity", list);
}

static void set_travel(sf_Result *r, const sf_AlignInput *in, const sf_Settings *before, const sf_Settings *after)
{
    sf_Json *list = sf_json_array();
    for (int i = 0; i < SF_SETTING_COUNT; i++) {
        double factor = sf_setting_factor((sf_Setting)i);
        bool moves = !in->travel.known || in->travel.moves[i], moved = after->value[i] != before->value[i];
        bool reaches = sf_travel_reaches(&in->travel, (sf_Setting)i, after->value[i]);
        sf_Json *item = sf_json_object();
        sf_json_set_text(item, "setting", sf_setting_key((sf_Setting)i));
        sf_json_set_number(item, "from", before->value[i] / factor);
        sf_json_set_number(item, "to", after->value[i] / factor);
        if (in->travel.known && in->travel.moves[i]) {
            sf_json_set_number(item, "low", in->travel.low[i] / factor);
            sf_json_set_number(item, "high", in->travel.high[i] / factor);
        } else {
            sf_json_set_null(item, "low");
            sf_json_set_null(item, "high");
        }
        if (in->travel.known)
            sf_json_set_flag(item, "adapter_moves_it", in->travel.moves[i]);
        else
            sf_json_set_null(item, "adapter_moves_it");
        if (in->travel.known)
            sf_json_set_flag(item, "possible", !moved || reaches);
        else
            sf_json_set_null(item, "possible");
        if (moved && !moves)
            sf_result_note(r, "%s: this adapter lacks the motion; the answer is what a wedge or a new forming would do",
                           sf_setting_words((sf_Setting)i));
        else if (moved && !reaches)
            sf_result_note(r, "%s: %g %s lies beyond this adapter's travel (%g to %g)", sf_setting_words((sf_Setting)i),
                           after->value[i] / factor, sf_setting_unit((sf_Setting)i), in->travel.low[i] / factor,
                           in->travel.high[i] / factor);
        sf_json_add(list, item);
    }
    sf_json_set(r->json, "travel", list);
}

static void set_sole_change(sf_Result *r, const sf_AlignInput *in, const sf_Settings *before, const sf_Settings *after)
{
    sf_SoleChange c = sf_chain_sole_change(&in->chain, before, after);
    sf_Json *json = sf_json_object();
    sf_json_set_number(json, "sagittal_deg", c.sagittal / SF_DEG);
    sf_json_set_number(json, "coronal_deg", c.coronal / SF_DEG);
    if (c.undone_by_tilt) {
        sf_Json *undone = sf_json_object();
        sf_json_set_number(undone, "dorsiflexion_deg",
                           (c.dorsiflexion - after->value[SF_SETTING_DORSIFLEXION]) / SF_DEG);
        sf_json_set_number(undone, "eversion_deg", (c.eversion - after->value[SF_SETTING_EVERSION]) / SF_DEG);
        sf_json_set(json, "undone_by", undone);
    } else {
        sf_json_set_null(json, "undone_by");
        sf_result_note(r, "sole_tilt_by_change.undone_by: no tilt under 90 degrees puts the sole flat again");
    }
    sf_json_set(r->json, "sole_tilt_by_change", json);
}

// The same people with the socket more extended by a device at its base: that turns the socket's axes and leaves its
// base where it is, so here too only the attitude as formed is changed.
static sf_Json *extensions_json(const sf_AlignInput *in, const sf_Stance *stance, const sf_Settings *after)
{
    sf_Json *list = sf_json_array();
    for (size_t i = 0; i < SF_STANCE_EXTENSIONS; i++) {
        const sf_MeasuredExtension *m = &stance->measured_extension[i];
        sf_AlignInput turned = *in;
        sf_GroundForce f;
        sf_Json *item = sf_json_object();
        turned.chain.socket_flexion -= m->extension;
        sf_json_set_number(item, "extension_deg", m->extension / SF_DEG);
        sf_json_set_number(item, "model_nm_per_kg", moment_at(&turned, stance, after, 30, &f).coronal / in->body_mass);
        sf_json_set_number(item, "measured_nm_per_kg", m->coronal);
        sf_json_set_number(item, "measured_sd_nm_per_kg", m->sd);
        sf_json_add(list, item);
    }
    return list;
}

static void set_comparison(sf_Result *r, const sf_AlignInput *in, const sf_Stance *stance, const sf_Settings *after)
{
    sf_GroundForce f;
    sf_Json *json = sf_json_object();
    sf_json_set_text(json, "quantity", "coronal moment on the socket at 30 % stance, per kg of body mass");
    sf_json_set_number(json, "model_nm_per_kg", moment_at(in, stance, after, 30, &f).coronal / in->body_mass);
    sf_json_set_number(json, "measured_nm_per_kg", stance->measured_coronal_at_30);
    sf_json_set_number(json, "measured_sd_nm_per_kg", stance->measured_coronal_at_30_sd);
    sf_json_set_text(json, "source", stance->measured_source);
    sf_json_set(json, "socket_extension", extensions_json(in, stance, after));
    sf_json_set(r->json, "comparison", json);
    sf_result_note(r,
                   "comparison: other people, their own gait, another height; set beside the model, not a pass mark");
}

// For display only: the arc that ankle and foot roll on, in the foot's long axis through the ankle centre.
static void set_rollover(sf_Result *r, const sf_AlignInput *in, const sf_Stance *stance)
{
    double stature = isfinite(in->stature) ? in->stature : STATURE_FOR_ARC;
    double scale = stance->lever_per_foot_length * in->foot_length / stance->reference_lever;
    double radius = stance->rollover_radius_per_stature * stature;
    sf_Json *json = sf_json_object();
    sf_json_set_number(json, "radius_mm", radius / SF_MM);
    sf_json_set_number(json, "centre_ahead_of_ankle_mm", stance->rollover_lowest * scale / SF_MM);
    sf_json_set_number(json, "centre_height_mm", radius / SF_MM);
    sf_json_set_number(json, "from_mm", stance->ahead_of_ankle[0] * scale / SF_MM);
    sf_json_set_number(json, "to_mm", stance->ahead_of_ankle[stance->count - 1] * scale / SF_MM);
    sf_json_set_text(json, "source", stance->rollover_source);
    sf_json_set(r->json, "rollover_arc", json);
}

static void set_assumptions(sf_Result *r, const sf_AlignInput *in, const sf_Stance *stance)
{
    if (in->cut_from_stack)
        sf_result_assume(r, "cut height %.1f mm from shoe, foot, spacers and adapter (pylon.cut_height_mm replaces it)",
                         in->chain.cut_height / SF_MM);
    if (in->heel_assumed)
        sf_result_assume(r, "a shoe with the heel the foot was built for (shoe.heel_mm and shoe.sole_mm replace it)");
    else if (in->rise_assumed)
        sf_result_assume(r, "shoe and foot of one heel rise (shoe.sole_mm and foot.heel_height_mm replace it)");
    if (in->ankle_assumed)
        sf_result_assume(r, "ankle centre %.0f mm above the shoe's heel (person.stature_mm replaces it)",
                         ANKLE_WITHOUT_STATURE / SF_MM);
    else
        sf_result_assume(r, "ankle centre 0.042 of stature above the shoe's heel");
    if (in->attitude_assumed)
        sf_result_assume(r, "socket formed straight where flexion or adduction was left out (socket.flexion_deg, "
                            "socket.adduction_deg replace it)");
    if (in->settings_assumed)
        sf_result_assume(r, "all settings at 0 before the change (alignment replaces it)");
    if (!in->travel.known)
        sf_result_assume(r, "the adapter's motions are not known, so its travel was not looked at (adapter.motions)");
    sf_result_assume(r, "ground force: %s; able-bodied, body weight inferred", stance->force_source);
    sf_result_assume(r, "pressure path: %s; on the foot's long axis, scaled with the foot (judgement)",
                     stance->path_source);
    sf_result_assume(
        r, "the clamp's pivot is the pylon's axis at the cut end; the shoe tips the foot over 0.65 of its length "
           "(judgement)");
}

static void fill(sf_Result *r, const sf_AlignInput *in, const sf_Stance *stance, const sf_Settings *after)
{
    sf_Pose a = sf_chain_pose(&in->chain, &in->settings), b = sf_chain_pose(&in->chain, after);
    sf_json_set(r->json, "settings_before", settings_json(&in->settings));
    sf_json_set(r->json, "settings_after", settings_json(after));
    sf_json_set(r->json, "pose_before", pose_json(&a));
    sf_json_set(r->json, "pose_after", pose_json(&b));
    sf_json_set(r->json, "moments_before", moments_json(in, stance, &in->settings));
    sf_json_set(r->json, "moments_after", moments_json(in, stance, after));
    set_sensitivity(r, in, stance, after);
    set_sole_change(r, in, &in->settings, after);
    sf_json_set_number(r->json, "shoe_tilt_deg", in->chain.shoe_tilt / SF_DEG);
    set_travel(r, in, &in->settings, after);
    set_comparison(r, in, stance, after);
    set_rollover(r, in, stance);
    set_assumptions(r, in, stance);
    sf_result_note(
        r,
        "mechanical effect, gait held fixed: the ground force is kept in the floor's axes and the pressure path in the "
        "foot's; a person adapts, and the real change may be smaller");
    if (after->value[SF_SETTING_FOOT_FORWARD] != 0 || after->value[SF_SETTING_FOOT_OUTSET] != 0)
        sf_result_note(
            r,
            "turning a clamp on the pylon carries a shifted foot round with it; here shift and toe-out are settings of "
            "their own, so read the shift again after a turn");
}

sf_Status sf_align_study(sf_Json **json, const char *name, const char *text, size_t size,
                         const double steps[SF_SETTING_COUNT], sf_Error *err)
{
    *json = NULL;
    sf_Limb *limb = NULL;
    sf_Result result = { 0 };
    sf_AlignInput input;
    sf_Stance stance;
    sf_Status status;
    SF_TRY_DONE(sf_limb_parse(&limb, name, text, size, err));
    SF_TRY_DONE(sf_align_input(&input, limb, err));
    sf_Settings after = input.settings;
    for (int i = 0; i < SF_SETTING_COUNT; i++)
        after.value[i] += steps[i] * sf_setting_factor((sf_Setting)i);
    SF_TRY_DONE(sf_chain_check(&input.chain, &after, err));
    SF_TRY_DONE(sf_stance_load(&stance, err));
    SF_TRY_DONE(sf_result_begin(&result, err));
    sf_result_input(&result, text, size);
    sf_result_input(&result, steps, SF_SETTING_COUNT * sizeof *steps);
    fill(&result, &input, &stance, &after);
    *json = sf_result_finish(&result, NULL);
done:
    sf_result_drop(&result);
    sf_limb_destroy(&limb);
    return status;
}
