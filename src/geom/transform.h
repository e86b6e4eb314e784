// SPDX-License-Identifier: GPL-3.0-or-later
// Rigid motions in space: vectors, rotations and transforms, in a right-handed frame. Lengths in m, angles in rad.
#pragma once

typedef struct sf_Vector {
    double x, y, z;
} sf_Vector;

/// A rotation as a matrix, row by row: (R v)_i = sum_j m[i][j] v_j. Its columns are the turned axes.
typedef struct sf_Rotation {
    double m[3][3];
} sf_Rotation;

/// p' = rotation p + shift. Chains read from left to right: sf_transform_chain(a, b) applies b first, then a, so that
/// it leads from b's frame through a's frame to the frame a is written in.
typedef struct sf_Transform {
    sf_Rotation rotation;
    sf_Vector shift;
} sf_Transform;

typedef enum sf_Axis { SF_AXIS_X = 0, SF_AXIS_Y = 1, SF_AXIS_Z = 2 } sf_Axis;

sf_Vector sf_vector_add(sf_Vector a, sf_Vector b);
sf_Vector sf_vector_sub(sf_Vector a, sf_Vector b);
sf_Vector sf_vector_scale(sf_Vector a, double s);
double sf_vector_dot(sf_Vector a, sf_Vector b);
sf_Vector sf_vector_cross(sf_Vector a, sf_Vector b);
double sf_vector_length(sf_Vector a);

sf_Rotation sf_rotation_identity(void);

/// Turn about one axis of the frame by `angle`, counter-clockwise seen from the axis's tip.
sf_Rotation sf_rotation_about(sf_Axis axis, double angle);

/// a b: first b, then a.
sf_Rotation sf_rotation_chain(sf_Rotation a, sf_Rotation b);

/// The turn back (the transpose).
sf_Rotation sf_rotation_inverse(sf_Rotation a);

sf_Vector sf_rotation_apply(sf_Rotation a, sf_Vector v);

/// The turned axis number `axis`: that column of the matrix.
sf_Vector sf_rotation_axis(sf_Rotation a, sf_Axis axis);

/// The angle of the single turn that leads from a to b, in [0, pi]; exact to rounding for small angles too.
double sf_rotation_angle_between(sf_Rotation a, sf_Rotation b);

sf_Transform sf_transform_identity(void);
sf_Transform sf_transform_of(sf_Rotation rotation, sf_Vector shift);
sf_Transform sf_transform_chain(sf_Transform a, sf_Transform b);
sf_Transform sf_transform_inverse(sf_Transform a);
sf_Vector sf_transform_apply(sf_Transform a, sf_Vector point);
