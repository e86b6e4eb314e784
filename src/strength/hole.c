// SPDX-License-Identifier: GPL-3.0-or-later
#include "strength/hole.h"

#include <math.h>

// Curve fits read on a calculation page that follows Peterson's Stress Concentration Factors; q = bore / outer
// diameter, x = hole / outer diameter.
static double tension(double q, double x)
{
    return 3 + (0.427 + q * (-6.770 + q * (22.698 - 16.670 * q))) * x +
           (11.357 + q * (15.665 + q * (-60.929 + 41.501 * q))) * x * x;
}

static double bending(double q, double x)
{
    return 3 + (-6.25 + q * (-0.585 + 3.115 * q)) * x + (41 + q * (-1.071 - 6.746 * q)) * x * x +
           (-45 + q * (1.389 + 13.889 * q)) * x * x * x;
}

static double torsion(double q, double x)
{
    return 4 + (-6.055 + q * (3.184 - 3.461 * q)) * x + (32.764 + q * (-30.121 + 39.887 * q)) * x * x +
           (-38.33 + 51.542 * sqrt(q) - 27.483 * q) * x * x * x;
}

// Greatest value of a fit from no hole up to x. The fits are cubics: 64 points miss no peak by more than 1e-3.
static double greatest(double (*fit)(double, double), double q, double x)
{
    double most = fit(q, x);
    for (int i = 0; i < 64; i++)
        most = fmax(most, fit(q, x * i / 64));
    return most;
}

sf_HoleFactors sf_hole_factors(double hole, double outer, double bore)
{
    double q = bore / outer, x = hole / outer;
    return (sf_HoleFactors){ .tension = tension(q, x),
                             .bending = bending(q, x),
                             .torsion = torsion(q, x),
                             .tension_used = greatest(tension, q, x),
                             .bending_used = greatest(bending, q, x),
                             .torsion_used = greatest(torsion, q, x),
                             .valid = x <= 0.4 && q <= 0.8 };
}

double sf_hole_edge_stress(const sf_HoleFactors *factors, double axial, double bending_stress, double shear)
{
    double a = fabs(axial), b = fabs(bending_stress), normal;
    if ((axial < 0) == (bending_stress < 0))
        normal = factors->tension_used * a + factors->bending_used * b;
    else // what relieves counts with the small hole's factor only, so that a larger hole never helps
        normal = fmax(factors->tension_used * a - 3 * b, factors->bending_used * b - 3 * a);
    double turned = factors->torsion_used * shear;
    return normal / 3 + sqrt(4 * normal * normal / 9 + turned * turned);
}
