// SPDX-License-Identifier: GPL-3.0-or-later
// Stress along the pylon and the factor to first yield (docs/theory/strength.md).
#pragma once

#include "strength/beam.h"
#include "strength/hole.h"

/// What makes the peak.
typedef enum sf_PeakCause { SF_PEAK_BENDING = 0, SF_PEAK_AXIAL, SF_PEAK_SHEAR, SF_PEAK_HOLE } sf_PeakCause;

/// The most stressed place of the pylon, or of one station.
typedef struct sf_Peak {
    double height;    ///< m
    double von_mises; ///< Pa, hole factors in
    double angle;     ///< limb angle of the fibre, [0, 2 pi)
    int hole;         ///< index of the hole there, -1 when at a plain fibre
    sf_PeakCause cause;
    size_t station;
    double normal;       ///< largest absolute normal stress of that station, signed, without hole factors, Pa
    double normal_angle; ///< where, limb angle
} sf_Peak;

/// Normal stress (tension positive) of a section at a point, axial and bending part apart. Pa.
typedef struct sf_NormalStress {
    double axial, bending;
} sf_NormalStress;

sf_NormalStress sf_section_normal_stress(const sf_BeamSection *section, const sf_Actions *actions, sf_Point point);

/// The most stressed fibre or hole edge of station `index`.
sf_Peak sf_station_peak(const sf_Pylon *pylon, size_t index, const sf_Actions *actions);

/// The most stressed place of all stations.
sf_Peak sf_pylon_peak(const sf_Pylon *pylon, const sf_Actions *actions);

/// Largest absolute normal stress anywhere without hole factors, Pa.
double sf_pylon_normal_stress(const sf_Pylon *pylon, const sf_Actions *actions);

/// Largest tensile or compressive stress on net sections, Pa: what a pulsating load is judged by.
double sf_pylon_net_stress(const sf_Pylon *pylon, const sf_Actions *actions);

/// Shear stress along the seam at limb angle `angle`: torsion's and the shear force's, on the wall that an unjoined
/// line leaves. Infinite when the line goes through. Pa.
double sf_section_seam_shear(const sf_BeamSection *section, const sf_Actions *actions, double angle);

/// A case to be solved.
typedef struct sf_ElasticCase {
    const sf_Pylon *pylon;
    const sf_LoadLine *line;
    double modulus; ///< Pa, INFINITY for first order
    double yield;   ///< Pa
} sf_ElasticCase;

/// The force (N) at which the peak first reaches yield. *evaluations (NULL allowed) counts solutions. SF_E_CONVERGE
/// when the search does not settle to 1e-6.
sf_Status sf_elastic_yield_force(double *force, const sf_ElasticCase *at, int *evaluations, sf_Error *err) SF_MUST_USE;
