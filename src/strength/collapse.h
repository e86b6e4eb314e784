// SPDX-License-Identifier: GPL-3.0-or-later
// The greatest force a pylon carries beyond first yield: fibres at every station, second order, the path followed past
// its peak (docs/theory/collapse.md).
#pragma once

#include "strength/beam.h"
#include "strength/fibre_section.h"

/// What ends the path.
typedef enum sf_Mechanism {
    SF_MECHANISM_SECTION_YIELD = 0, ///< a section is plastic nearly all through
    SF_MECHANISM_STRAIN_LIMIT,      ///< the card's strain limit, while more strain would still carry more
    SF_MECHANISM_FLATTENING,        ///< the tube goes oval (Brazier)
    SF_MECHANISM_LOCAL_BUCKLING,    ///< the wall wrinkles on the compressed side
    SF_MECHANISM_COLUMN,            ///< bending away runs ahead of the sections' strength
    SF_MECHANISM_NET_SECTION        ///< the section that the holes leave
} sf_Mechanism;

enum { SF_MECHANISM_COUNT = SF_MECHANISM_NET_SECTION + 1 };

/// "section-yield", "strain-limit", "flattening", "local-buckling", "column", "net-section-at-holes".
const char *sf_mechanism_word(sf_Mechanism mechanism);

/// The same for a sentence: "yield of a whole section", ...
const char *sf_mechanism_phrase(sf_Mechanism mechanism);

/// Fibres of every station, and of what holes leave.
typedef struct sf_CollapseModel {
    const sf_Pylon *pylon;  ///< borrowed
    sf_FibreSection *gross; ///< station_count of them
    sf_FibreSection *net;   ///< one for every station of a hole
    size_t net_station[SF_HOLE_MAX];
    size_t net_count;
    double *radius, *wall; ///< mean ones of each station, m
} sf_CollapseModel;

/// Cuts the fibres. SF_E_MEMORY. Free with sf_collapse_model_free.
sf_Status sf_collapse_model_create(sf_CollapseModel *model, const sf_Pylon *pylon, sf_Error *err) SF_MUST_USE;

/// Frees and empties; safe to call twice.
void sf_collapse_model_free(sf_CollapseModel *model);

typedef struct sf_CollapseCase {
    const sf_CollapseModel *model;
    const sf_LoadLine *line;
    sf_StressLaw law;
    double poisson;
    double start; ///< a force (N) below collapse to begin with, such as 0.7 of the force at first yield
    bool first_order;
} sf_CollapseCase;

typedef struct sf_Collapse {
    double force; ///< N, at the end of the path
    sf_Mechanism mechanism;
    size_t station;               ///< where
    double strain;                ///< greatest strain there
    double section_used;          ///< moment there over what the section carries beside that axial force
    double residual;              ///< of the far joint, relative to the largest deflection
    int points;                   ///< of the path
    double axial;                 ///< N, at the end
    sf_Point arm[SF_STATION_MAX]; ///< of every station then: from the bent section's centroid to the line, m
    double share[SF_STATION_MAX]; ///< of yield that torsion and shear leave
} sf_Collapse;

/// Follows the path. SF_E_CONVERGE when it cannot be followed.
sf_Status sf_collapse_find(sf_Collapse *collapse, const sf_CollapseCase *at, sf_Error *err) SF_MUST_USE;

/// Share of yield that torsion and shear leave for normal stress: sqrt(1 - 3 (tau / yield)^2) with tau = |T| / (2 A t)
/// or what an opened wall holds, plus V / A. 0 when they take all.
double sf_yield_share(const sf_BeamSection *section, double yield, double torque, double shear);

/// Brazier's greatest moment of a long elastic tube, N m. Thin-wall theory: an estimate where radius / wall < 10.
double sf_brazier_moment(double modulus, double poisson, double radius, double wall);

/// Stress at which a tube's wall wrinkles in bending: the classical value with the knock-down of NASA SP-8007, Pa.
double sf_wrinkling_stress(double modulus, double poisson, double radius, double wall);

/// Bending stress across the wall that flattening brings, at `angle` (rad) from the plane of bending, Pa: 1.5 M^2 R^3 /
/// (E J^2 t) |cos 2 angle| (Brazier's oval). On the pulled and the pressed side it opens the bore's edge.
double sf_flattening_stress(double modulus, double moment, double second_moment, double radius, double wall,
                            double angle);
