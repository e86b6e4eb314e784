// SPDX-License-Identifier: GPL-3.0-or-later
#include "geom/transform.h"

#include <math.h>

sf_Vector sf_vector_add(sf_Vector a, sf_Vector b)
{
    return (sf_Vector){ a.x + b.x, a.y + b.y, a.z + b.z };
}

sf_Vector sf_vector_sub(sf_Vector a, sf_Vector b)
{
    return (sf_Vector){ a.x - b.x, a.y - b.y, a.z - b.z };
}

sf_Vector sf_vector_scale(sf_Vector a, double s)
{
    return (sf_Vector){ a.x * s, a.y * s, a.z * s };
}

double sf_vector_dot(sf_Vector a, sf_Vector b)
{
    return a.x * b.x + a.y * b.y + a.z * b.z;
}

sf_Vector sf_vector_cross(sf_Vector a, sf_Vector b)
{
    return (sf_Vector){ a.y * b.z - a.z * b.y, a.z * b.x - a.x * b.z, a.x * b.y - a.y * b.x };
}

double sf_vector_length(sf_Vector a)
{
    return sqrt(sf_vector_dot(a, a));
}

sf_Rotation sf_rotation_identity(void)
{
    return (sf_Rotation){ { { 1, 0, 0 }, { 0, 1, 0 }, { 0, 0, 1 } } };
}

sf_Rotation sf_rotation_about(sf_Axis axis, double angle)
{
    int i = (axis + 1) % 3, j = (axis + 2) % 3;
    double c = cos(angle), s = sin(angle);
    sf_Rotation r = sf_rotation_identity();
    r.m[i][i] = c;
    r.m[j][j] = c;
    r.m[i][j] = -s;
    r.m[j][i] = s;
    return r;
}

sf_Rotation sf_rotation_chain(sf_Rotation a, sf_Rotation b)
{
    sf_Rotation r;
    for (int i = 0; i < 3; i++)
        for (int j = 0; j < 3; j++)
            r.m[i][j] = a.m[i][0] * b.m[0][j] + a.m[i][1] * b.m[1][j] + a.m[i][2] * b.m[2][j];
    return r;
}

sf_Rotation sf_rotation_inverse(sf_Rotation a)
{
    sf_Rotation r;
    for (int i = 0; i < 3; i++)
        for (int j = 0; j < 3; j++)
            r.m[i][j] = a.m[j][i];
    return r;
}

sf_Vector sf_rotation_apply(sf_Rotation a, sf_Vector v)
{
    return (sf_Vector){ a.m[0][0] * v.x + a.m[0][1] * v.y + a.m[0][2] * v.z,
                        a.m[1][0] * v.x + a.m[1][1] * v.y + a.m[1][2] * v.z,
                        a.m[2][0] * v.x + a.m[2][1] * v.y + a.m[2][2] * v.z };
}

sf_Vector sf_rotation_axis(sf_Rotation a, sf_Axis axis)
{
    return (sf_Vector){ a.m[0][axis], a.m[1][axis], a.m[2][axis] };
}

// The cosine alone loses half the digits near zero, so sine (from the antisymmetric part) and cosine (from the trace)
// go into atan2 together.
double sf_rotation_angle_between(sf_Rotation a, sf_Rotation b)
{
    sf_Rotation d = sf_rotation_chain(sf_rotation_inverse(a), b);
    sf_Vector twice = { d.m[2][1] - d.m[1][2], d.m[0][2] - d.m[2][0], d.m[1][0] - d.m[0][1] };
    double trace = d.m[0][0] + d.m[1][1] + d.m[2][2];
    return atan2(sf_vector_length(twice), trace - 1);
}

sf_Transform sf_transform_identity(void)
{
    return (sf_Transform){ sf_rotation_identity(), { 0, 0, 0 } };
}

sf_Transform sf_transform_of(sf_Rotation rotation, sf_Vector shift)
{
    return (sf_Transform){ rotation, shift };
}

sf_Transform sf_transform_chain(sf_Transform a, sf_Transform b)
{
    return (sf_Transform){ sf_rotation_chain(a.rotation, b.rotation),
                           sf_vector_add(sf_rotation_apply(a.rotation, b.shift), a.shift) };
}

sf_Transform sf_transform_inverse(sf_Transform a)
{
    sf_Rotation back = sf_rotation_inverse(a.rotation);
    return (sf_Transform){ back, sf_vector_scale(sf_rotation_apply(back, a.shift), -1) };
}

sf_Vector sf_transform_apply(sf_Transform a, sf_Vector point)
{
    return sf_vector_add(sf_rotation_apply(a.rotation, point), a.shift);
}
