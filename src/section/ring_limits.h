// SPDX-License-Identifier: GPL-3.0-or-later
// The shop's limits for a ring, read from data/ring_limits.json or from a shop's own file; each with its origin.
#pragma once

#include "base/doc.h"

enum { SF_LIMIT_ORIGIN = 160 };

/// Accept on the good side of `accept`, reject beyond `reject`, between them accept with a limit. `fine` is the largest
/// 95 % half width (edges only) with which a figure near a limit is still decided by its value.
typedef struct sf_Limit {
    double accept, reject, fine; ///< shares
    char origin[SF_LIMIT_ORIGIN];
} sf_Limit;

typedef struct sf_RingLimits {
    sf_Limit wall_off_seam; ///< least wall off the seam, share of the nominal formed wall (low is bad)
    sf_Limit groove;        ///< groove depth, share of the wall beside it
    sf_Limit unjoined;      ///< unjoined line, share of the wall there
    sf_Limit voids;         ///< void area, share of the ring's area
    sf_Limit ovality;       ///< share of the mean diameter
    struct {
        double adult, child;           ///< least wall anywhere, m
        double adult_mass, child_mass; ///< kg: adult floor from, child floor below; linear between
        double fine;                   ///< m
        char origin[SF_LIMIT_ORIGIN];
    } floor;
    struct {
        char activity[32];
        double inspection_days;
        char origin[SF_LIMIT_ORIGIN];
    } with_limit; ///< what "accept with a limit" limits
    struct {
        double seam_stress; ///< Pa: what a squeeze must pull the seam by to prove it
        char origin[SF_LIMIT_ORIGIN];
    } squeeze;
    struct {
        double proof_accept, proof_reject;     ///< first yield over the proof force of the person's level
        double walking_accept, walking_reject; ///< first yield over ordinary walking, 23 C
        double heat_accept;                    ///< the same at the worst temperature: below it, keep out of the heat
        char origin[SF_LIMIT_ORIGIN];
    } strength;
    struct {
        double eccentric;      ///< share of the median wall from which the first harmonic of the wall points to a cause
        double hot_c;          ///< oven temperature from which over-heating is likelier, deg C
        double short_vacuum_s; ///< time under vacuum below which a late or short vacuum is likelier, s
        char origin[SF_LIMIT_ORIGIN];
    } causes;
} sf_RingLimits;

/// Reads a limits document (`standfast-ring-limits/1`); every problem at once. In a shop's own file a limit that is
/// left out keeps what `limits` held before; `complete` demands all of them. SF_E_INPUT.
sf_Status sf_ring_limits_read(sf_RingLimits *limits, sf_DocNode root, bool complete, sf_Error *err) SF_MUST_USE;

/// Reads the default limits from a file, all of them needed. SF_E_MISSING, SF_E_PARSE, SF_E_INPUT.
sf_Status sf_ring_limits_load(sf_RingLimits *limits, const char *path, sf_Error *err) SF_MUST_USE;

/// The least wall anywhere for a body mass (kg; NaN: by `child`).
double sf_ring_floor(const sf_RingLimits *limits, double body_mass, bool child);
