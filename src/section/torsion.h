// SPDX-License-Identifier: GPL-3.0-or-later
// Saint-Venant torsion of a ring by finite elements: torsion constant, shear centre, warping, shear stress at the
// edges. Theory, assumptions and what was measured: docs/theory/torsion.md. All lengths in m, in the outline's frame.
#pragma once

#include "geom/outline.h"

/// How finely to solve. sf_torsion_options() gives the values that the product uses.
typedef struct sf_TorsionOptions {
    double fineness;   ///< 1 = as the product; 2 halves every element, 0.5 doubles it (0.25 to 8)
    bool second_solve; ///< also solve on a coarser mesh, to estimate the discretisation error
} sf_TorsionOptions;

/// What torsion makes of a ring. With tau_hat (m) for the shear stress per modulus and per rate of twist.
typedef struct sf_Torsion {
    double torsion_constant; ///< K, m^4: torque = G K (rate of twist)
    sf_Point shear_centre;   ///< Trefftz's: the same for every Poisson's ratio
    double warping_constant; ///< int omega^2 dA about the shear centre, m^6

    double peak_shear_per_torque; ///< largest shear stress at outer or inner edge for one N.m, 1/m^3. The edges of
                                  ///< voids and the tip of an unjoined line (where it has no bound) are not looked at
    sf_Point peak_place;          ///< where it is
    bool peak_at_inner;           ///< on the inner edge

    bool line_used;  ///< an unjoined line was worked in as a slit
    bool bound_only; ///< it goes through the whole wall: K is a lower bound, as the restraint of warping at the limb's
                     ///< ends, which this theory leaves out, makes a real slit pylon stiffer

    // How K answers to the edges, for the propagation of doubt (first order, exact for the continuous problem).
    double rate_outer;  ///< dK / d(outward shift of the whole outer edge) = + contour integral of tau_hat^2, m^3
    double rate_inner;  ///< dK / d(outward shift of the whole inner edge) = - contour integral of tau_hat^2, m^3
    double rate_random; ///< contour integral of tau_hat^4 over both edges, m^5. Edge errors of standard deviation s
                        ///< that stay alike over a length c give K the variance s^2 c rate_random
    double rate_line;   ///< dK / d(length of the line), m^3, negative; 0 without a line or through the wall

    double residual;       ///< |b - A x| / |b| of the linear equations
    double discretisation; ///< estimated relative error of K from the mesh (K comes out too large); NaN when not asked
    double outline_misfit; ///< root mean square distance between the outlines and the edges of the mesh, m
    size_t elements, unknowns;
} sf_Torsion;

/// fineness 1, with the second solve.
sf_TorsionOptions sf_torsion_options(void);

/// Torsion of a checked outline (sf_outline_check). Nine-node elements on a mesh that follows the ring; warping
/// function; the unjoined line as a slit of no width; voids by the finite cell method. `options` NULL: as the product.
/// SF_E_GEOMETRY when the wall cannot be meshed (an edge that doubles back as seen from the bore's centre, a line that
/// lies along the wall), SF_E_SINGULAR, SF_E_INACCURATE (residual above its limit), SF_E_MEMORY. *torsion is set only
/// on success.
sf_Status sf_torsion_compute(sf_Torsion *torsion, const sf_Outline *outline, const sf_TorsionOptions *options,
                             sf_Error *err) SF_MUST_USE;
