// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/units.h"
#include "geom/transform.h"
#include "harness/tap.h"

#include <math.h>

TAP_CASE(turns_are_right_handed_about_every_axis)
{
    for (int axis = 0; axis < 3; axis++) {
        sf_Rotation quarter = sf_rotation_about((sf_Axis)axis, SF_PI / 2);
        sf_Rotation none = sf_rotation_identity();
        sf_Vector first = sf_rotation_axis(none, (sf_Axis)((axis + 1) % 3));
        sf_Vector second = sf_rotation_axis(none, (sf_Axis)((axis + 2) % 3));
        sf_Vector turned = sf_rotation_apply(quarter, first);
        TAP_NEAR(sf_vector_dot(turned, second), 1, TAP_ROUNDING, TAP_CLOSED_FORM);
        TAP_NEAR(sf_vector_dot(sf_vector_cross(first, second), sf_rotation_axis(none, (sf_Axis)axis)), 1, TAP_ROUNDING,
                 TAP_CLOSED_FORM);
    }
}

TAP_CASE(a_chain_applies_the_last_first_and_its_inverse_undoes_it)
{
    sf_Transform turn = sf_transform_of(sf_rotation_about(SF_AXIS_Z, SF_PI / 2), (sf_Vector){ 1, 0, 0 });
    sf_Transform move = sf_transform_of(sf_rotation_identity(), (sf_Vector){ 0, 2, 0 });
    sf_Vector p = sf_transform_apply(sf_transform_chain(turn, move), (sf_Vector){ 3, 0, 5 });
    TAP_NEAR(p.x, -1, TAP_ROUNDING, TAP_CLOSED_FORM);
    TAP_NEAR(p.y, 3, TAP_ROUNDING, TAP_CLOSED_FORM);
    TAP_NEAR(p.z, 5, TAP_ROUNDING, TAP_CLOSED_FORM);
    sf_Transform both = sf_transform_chain(turn, move);
    sf_Vector back = sf_transform_apply(sf_transform_inverse(both), p);
    TAP_NEAR(back.x, 3, TAP_ROUNDING, TAP_CLOSED_FORM);
    TAP_NEAR(back.y, 0, TAP_ROUNDING, TAP_CLOSED_FORM);
}

// The arc cosine of the trace would lose half the digits here.
TAP_CASE(tiny_angles_between_rotations_keep_their_digits)
{
    sf_Rotation a = sf_rotation_chain(sf_rotation_about(SF_AXIS_X, 0.3), sf_rotation_about(SF_AXIS_Y, -0.7));
    sf_Rotation b = sf_rotation_chain(a, sf_rotation_about(SF_AXIS_Z, 1e-10));
    TAP_NEAR(sf_rotation_angle_between(a, b), 1e-10, TAP_TOLERANCE("rounding of the matrices", 0, 1e-15),
             TAP_CLOSED_FORM);
    TAP_NEAR(sf_rotation_angle_between(a, sf_rotation_chain(a, sf_rotation_about(SF_AXIS_X, 3))), 3, TAP_TIGHT,
             TAP_CLOSED_FORM);
}

TAP_MAIN(TAP_RUN(turns_are_right_handed_about_every_axis),
         TAP_RUN(a_chain_applies_the_last_first_and_its_inverse_undoes_it),
         TAP_RUN(tiny_angles_between_rotations_keep_their_digits))
