// SPDX-License-Identifier: GPL-3.0-or-later
// A section as fibres under a stress-strain law: what strain answers an axial force with two moments, and what the
// section can carry (docs/theory/collapse.md).
#pragma once

#include "strength/pylon.h"
#include "strength/stress_law.h"

enum { SF_FIBRE_MAX = SF_WALL_RAYS * SF_WALL_LAYERS };

/// Points with areas, counted from `origin`, to which moments refer.
typedef struct sf_FibreSection {
    sf_Point origin;
    size_t count;
    double x[SF_FIBRE_MAX], y[SF_FIBRE_MAX], area[SF_FIBRE_MAX];
    double sum, sx, sy, jxx, jyy, jxy; ///< moments of the fibres about the origin
    double reach;                      ///< farthest edge point from the origin
    sf_Point edge[SF_FIBRE_COUNT];     ///< farthest outer point in direction 2 k degrees, from the origin
} sf_FibreSection;

/// Cuts a station's section into fibres. Moments are counted from its centroid; areas add up to its area.
void sf_fibre_section_make(sf_FibreSection *fibres, const sf_BeamSection *section);

/// Takes a radial hole's strip of width `chord` at limb angle `angle` out of the fibres.
void sf_fibre_section_drill(sf_FibreSection *fibres, double angle, double chord);

/// Sums again after fibres were changed.
void sf_fibre_section_sum(sf_FibreSection *fibres);

/// Strain e0 - k.p at the point p from the origin (tension positive), and how it answers a change of the actions.
typedef struct sf_FibreState {
    double e0;
    sf_Point k;           ///< curvature, 1/m
    double kxx, kxy, kyy; ///< d k / d moment
    sf_Point by_share;    ///< d k / d share
    sf_Point by_axial;    ///< d k / d axial
    double e0_axial;      ///< d e0 / d axial
    double axial;         ///< of which it is the answer
    sf_Point moment;
    bool elastic; ///< no fibre has left the first straight piece
} sf_FibreState;

/// Finds the state under compression `axial` (N) and `moment` (as sf_Actions), with the law's stresses and strains
/// taken times `share` (0 to 1], what torque and shear leave of it). `state` brings the first guess. A hardening of
/// 1e-4 of the modulus keeps it solvable beyond the section's strength: the strain is then huge. False when the
/// iteration does not settle or share is not above 0.
bool sf_fibre_respond(sf_FibreState *state, const sf_FibreSection *fibres, const sf_StressLaw *law, double share,
                      double axial, sf_Point moment);

/// Largest absolute strain of the section's outer edge.
double sf_fibre_strain_most(const sf_FibreSection *fibres, const sf_FibreState *state);

/// Axial force (compression) and moment of a strain state: one pass over the fibres.
void sf_fibre_actions(double *axial, sf_Point *moment, const sf_FibreSection *fibres, const sf_StressLaw *law,
                      double share, double e0, sf_Point k);

/// The moment (N m) in direction `angle` of (outward, forward) at which the outer edge reaches the law's strain limit
/// beside compression `axial`. 0 when the axial force alone is too much.
double sf_fibre_moment_limit(const sf_FibreSection *fibres, const sf_StressLaw *law, double share, double axial,
                             double angle);
