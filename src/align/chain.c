// SPDX-License-Identifier: GPL-3.0-or-later
#include "align/chain.h"

#include "base/units.h"

#include <math.h>

// Heel to ball as a share of the foot (judgement, docs/theory/alignment.md).
static const double BALL_LEVER_SHARE = 0.65;
static const double TILT_LIMIT_DEG = 60;

double sf_chain_shoe_tilt(double rise, double built_rise, double foot_length)
{
    return atan((rise - built_rise) / (BALL_LEVER_SHARE * foot_length));
}

sf_Status sf_chain_check(const sf_Chain *chain, const sf_Settings *settings, sf_Error *err)
{
    if (!(chain->cut_height > chain->heel_height))
        return SF_FAIL(err, SF_E_RANGE, "pylon.cut_height_mm",
                       "the cut end of the pylon (%.1f mm) must lie above the heel of the foot (%.1f mm): check "
                       "pylon.cut_height_mm and shoe.heel_mm",
                       chain->cut_height / SF_MM, chain->heel_height / SF_MM);
    if (!(chain->socket_height > chain->cut_height))
        return SF_FAIL(err, SF_E_RANGE, "socket.distal_end_height_mm",
                       "the socket base (%.1f mm) must lie above the cut end of the pylon (%.1f mm): check "
                       "socket.distal_end_height_mm and pylon.cut_height_mm",
                       chain->socket_height / SF_MM, chain->cut_height / SF_MM);
    const double tilts[] = { settings->value[SF_SETTING_DORSIFLEXION], settings->value[SF_SETTING_EVERSION],
                             chain->socket_flexion, chain->socket_adduction, chain->shoe_tilt };
    const char *const names[] = { "dorsiflexion_deg", "eversion_deg", "socket.flexion_deg", "socket.adduction_deg",
                                  "shoe.heel_mm" };
    for (size_t i = 0; i < sizeof tilts / sizeof *tilts; i++)
        if (!(fabs(tilts[i]) < TILT_LIMIT_DEG * SF_DEG))
            return SF_FAIL(err, SF_E_RANGE, names[i], "%s gives a tilt of %.1f degrees; it must stay under %.0f",
                           names[i], tilts[i] / SF_DEG, TILT_LIMIT_DEG);
    return SF_OK;
}

// The sole in the pylon's frame after the two tilts and the turn of the clamp.
static sf_Rotation clamp_rotation(const sf_Chain *chain, double toe_out, double dorsiflexion, double eversion)
{
    sf_Rotation turn = sf_rotation_about(SF_AXIS_Z, chain->side * toe_out);
    sf_Rotation sagittal = sf_rotation_about(SF_AXIS_Y, -dorsiflexion);
    sf_Rotation coronal = sf_rotation_about(SF_AXIS_X, chain->side * eversion);
    return sf_rotation_chain(turn, sf_rotation_chain(sagittal, coronal));
}

static sf_Rotation socket_rotation(const sf_Chain *chain, double flexion, double adduction)
{
    double lean = atan(tan(adduction) * cos(flexion));
    return sf_rotation_chain(sf_rotation_about(SF_AXIS_Y, flexion), sf_rotation_about(SF_AXIS_X, -chain->side * lean));
}

// The foot on the pylon: frame with its origin under the ankle centre on the sole as built.
static sf_Transform foot_on_pylon(const sf_Chain *chain, const sf_Settings *settings)
{
    const double *v = settings->value;
    sf_Rotation back = sf_rotation_about(SF_AXIS_Z, -chain->side * v[SF_SETTING_TOE_OUT]);
    sf_Vector slide =
        sf_rotation_apply(back, (sf_Vector){ v[SF_SETTING_FOOT_FORWARD], chain->side * v[SF_SETTING_FOOT_OUTSET], 0 });
    sf_Rotation clamp =
        clamp_rotation(chain, v[SF_SETTING_TOE_OUT], v[SF_SETTING_DORSIFLEXION], v[SF_SETTING_EVERSION]);
    sf_Vector down = { slide.x, slide.y, -chain->cut_height };
    return sf_transform_of(clamp, sf_rotation_apply(clamp, down));
}

// The floor under the foot: the shoe tips the foot about the point under the ankle at heel height, and the floor's
// origin is the ankle's plumb point. x runs along the foot's heading.
static sf_Transform foot_on_floor(const sf_Chain *chain)
{
    sf_Rotation tip = sf_rotation_about(SF_AXIS_Y, chain->shoe_tilt);
    sf_Vector pivot = { 0, 0, chain->heel_height };
    sf_Vector shift = sf_vector_sub(pivot, sf_rotation_apply(tip, pivot));
    sf_Vector ankle = sf_vector_add(sf_rotation_apply(tip, (sf_Vector){ 0, 0, chain->ankle_height }), shift);
    shift.x -= ankle.x;
    return sf_transform_of(tip, shift);
}

static sf_Vector socket_base(const sf_Chain *chain)
{
    return (sf_Vector){ chain->socket_offset_f, chain->side * chain->socket_offset_o,
                        chain->socket_height - chain->cut_height };
}

sf_Stand sf_chain_stand(const sf_Chain *chain, const sf_Settings *settings)
{
    sf_Transform pylon = sf_transform_chain(foot_on_floor(chain), sf_transform_inverse(foot_on_pylon(chain, settings)));
    sf_Rotation formed = socket_rotation(chain, chain->socket_flexion, chain->socket_adduction);
    sf_Rotation socket = sf_rotation_chain(pylon.rotation, formed);
    sf_Vector forward = sf_rotation_axis(socket, SF_AXIS_X);
    double heading = atan2(forward.y, forward.x);
    sf_Rotation turn = sf_rotation_about(SF_AXIS_Z, -heading);
    return (sf_Stand){
        .base = sf_rotation_apply(turn, sf_transform_apply(pylon, socket_base(chain))),
        .socket = sf_rotation_chain(turn, socket),
        .pylon = sf_rotation_chain(turn, pylon.rotation),
        .foot_heading = -heading,
    };
}

sf_Pose sf_chain_pose(const sf_Chain *chain, const sf_Settings *settings)
{
    sf_Stand stand = sf_chain_stand(chain, settings);
    sf_Vector axis = sf_rotation_axis(stand.socket, SF_AXIS_Z);
    sf_Rotation floor_in_pylon =
        sf_rotation_chain(foot_on_pylon(chain, settings).rotation, sf_rotation_inverse(foot_on_floor(chain).rotation));
    sf_Vector normal = sf_rotation_axis(floor_in_pylon, SF_AXIS_Z);
    return (sf_Pose){
        .socket_f = stand.base.x,
        .socket_o = chain->side * stand.base.y,
        .height = stand.base.z,
        .socket_flexion = atan2(axis.x, axis.z),
        .socket_adduction = atan2(chain->side * axis.y, axis.z),
        .sole_sagittal = atan2(-normal.x, normal.z),
        .sole_coronal = atan2(-chain->side * normal.y, normal.z),
        .toe_out = chain->side * stand.foot_heading,
    };
}

sf_Settings sf_chain_settings(const sf_Chain *chain, const sf_Pose *pose)
{
    sf_Rotation formed = socket_rotation(chain, chain->socket_flexion, chain->socket_adduction);
    sf_Rotation pylon = sf_rotation_chain(socket_rotation(chain, pose->socket_flexion, pose->socket_adduction),
                                          sf_rotation_inverse(formed));
    sf_Transform on_floor = foot_on_floor(chain);
    sf_Rotation heading = sf_rotation_about(SF_AXIS_Z, chain->side * pose->toe_out);
    sf_Rotation r = sf_rotation_chain(sf_rotation_inverse(pylon), sf_rotation_chain(heading, on_floor.rotation));
    sf_Settings s;
    s.value[SF_SETTING_TOE_OUT] = chain->side * atan2(r.m[1][0], r.m[0][0]);
    s.value[SF_SETTING_DORSIFLEXION] = atan2(r.m[2][0], hypot(r.m[0][0], r.m[1][0]));
    s.value[SF_SETTING_EVERSION] = chain->side * atan2(r.m[2][1], r.m[2][2]);

    // The pylon's cut end lies at (-slide, cut height) in the foot's frame; its plumb place is known from the pose.
    sf_Vector arm = sf_rotation_apply(pylon, socket_base(chain));
    sf_Vector cut = { pose->socket_f - arm.x, chain->side * pose->socket_o - arm.y, 0 };
    sf_Vector along = sf_rotation_apply(sf_rotation_inverse(heading), cut);
    double c = cos(chain->shoe_tilt), sine = sin(chain->shoe_tilt);
    sf_Vector slide = { (on_floor.shift.x + sine * chain->cut_height - along.x) / c, -along.y, 0 };
    sf_Vector seen = sf_rotation_apply(sf_rotation_about(SF_AXIS_Z, chain->side * s.value[SF_SETTING_TOE_OUT]), slide);
    s.value[SF_SETTING_FOOT_FORWARD] = seen.x;
    s.value[SF_SETTING_FOOT_OUTSET] = chain->side * seen.y;
    return s;
}

sf_SoleChange sf_chain_sole_change(const sf_Chain *chain, const sf_Settings *before, const sf_Settings *after)
{
    sf_Stand held = sf_chain_stand(chain, before);
    sf_Rotation shoe = sf_rotation_inverse(foot_on_floor(chain).rotation);
    sf_Rotation sole = sf_rotation_chain(held.pylon, sf_rotation_chain(foot_on_pylon(chain, after).rotation, shoe));
    // The floor's plumb line in the sole's axes is the third row.
    sf_SoleChange change = { .sagittal = atan2(sole.m[2][0], sole.m[2][2]),
                             .coronal = atan2(chain->side * sole.m[2][1], sole.m[2][2]) };
    // Wanted: the sole's normal is the floor's. In the pylon's frame, turned back by the clamp's toe-out:
    sf_Vector plumb = sf_rotation_apply(sf_rotation_inverse(held.pylon), (sf_Vector){ 0, 0, 1 });
    sf_Vector want =
        sf_rotation_apply(sf_rotation_about(SF_AXIS_Z, -chain->side * after->value[SF_SETTING_TOE_OUT]), plumb);
    double c = cos(chain->shoe_tilt), sine = sin(chain->shoe_tilt);
    double share = -want.y / c;
    change.undone_by_tilt = fabs(share) < 1;
    if (change.undone_by_tilt) {
        double lean = asin(share);
        change.eversion = chain->side * lean;
        change.dorsiflexion = atan2(want.z, want.x) - atan2(cos(lean) * c, -sine);
    }
    return change;
}
