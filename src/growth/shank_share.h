// SPDX-License-Identifier: GPL-3.0-or-later
// Which part of a stature gain appears between the floor and the tibial plateau (docs/theory/growth.md, 3).
#pragma once

#include "growth/stature_reference.h"

enum { SF_SHARE_MAX_ROWS = 40 };

/// Ankle height over stature: its share of every gain (ANSUR II 2012; 0.039 in Drillis and Contini 1966).
#define SF_ANKLE_SHARE 0.042
/// Tibial plateau over seated knee height, adult men, both over stature (ANSUR II 2012: 0.267 and 0.316).
#define SF_PLATEAU_OF_SEATED_KNEE (0.267 / 0.316)
/// Share of the tibia's growth that its upper plate makes (Pritchett 1992, Clin Orthop 275:274: mean of all ages).
#define SF_UPPER_PLATE_SHARE 0.57
/// Foot length over stature, ages 2 to 13 (Snyder et al. 1977: 0.155 to 0.159).
#define SF_FOOT_SHARE 0.157

typedef struct sf_ShankShare {
    size_t rows[SF_SEX_COUNT];
    double age[SF_SEX_COUNT][SF_SHARE_MAX_ROWS]; ///< middle of the year, years, rising
    double tibia[SF_SEX_COUNT][SF_SHARE_MAX_ROWS];
} sf_ShankShare;

/// Reads the columns sex (1 male, 2 female), age_from_years, share. SF_E_PARSE, SF_E_INPUT.
sf_Status sf_shank_share_read(sf_ShankShare *out, const char *name, const char *text, size_t size,
                              sf_Error *err) SF_MUST_USE;

/// The table that the program carries: data/growth/tibial_share.csv.
sf_Status sf_shank_share_builtin(sf_ShankShare *out, sf_Error *err) SF_MUST_USE;

/// The tibia's share at an age on the child's own clock, linear between the middles of the years, held at the ends.
double sf_shank_share_tibia(const sf_ShankShare *share, sf_Sex sex, double age);

/// Tibia and ankle: the share below the plateau.
double sf_shank_share_below_knee(const sf_ShankShare *share, sf_Sex sex, double age);
