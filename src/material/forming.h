// SPDX-License-Identifier: GPL-3.0-or-later
// The wall that a sheet leaves when it is draped over a model and pinched along one line, and which sheet leaves a
// wanted wall: area conservation with a stretch that the shop's own rings calibrate (docs/theory/forming.md). SI.
#pragma once

#include "base/doc.h"

enum { SF_FORMING_RINGS = 200, SF_FORMING_ORIGIN = 160 };

/// How a sheet is draped at one place. NaN strip: not known, and the stretch is that round and along together.
typedef struct sf_Drape {
    double sheet;          ///< thickness, m
    double model_diameter; ///< at the pylon, m
    double strip;          ///< the sheet's own width there, m; NaN
    double flange;         ///< pinched edge on each side, trimmed off, m; only with a strip
    double shrinkage;      ///< share, linear
} sf_Drape;

/// Cold wall for a stretch (>= some 0.5). Never more than what the strip holds.
double sf_drape_wall(const sf_Drape *drape, double stretch);

/// Sheet that leaves the cold wall with that stretch; `drape->sheet` is not read.
double sf_drape_sheet(const sf_Drape *drape, double wall, double stretch);

/// Stretch that a measured cold wall shows.
double sf_drape_stretch(const sf_Drape *drape, double wall);

/// Mean wall of a ring from the area of its cut face and its inner diameter, m.
double sf_ring_wall_of_area(double area, double inner_diameter);

/// A start value with its 90 % range.
typedef struct sf_FormingFigure {
    double value, low, high;
    char origin[SF_FORMING_ORIGIN];
} sf_FormingFigure;

typedef struct sf_FormingStart {
    sf_FormingFigure stretch_both, stretch_along;                 ///< factors
    sf_FormingFigure top_thinner, wave, shrinkage, least_scatter; ///< shares
    sf_FormingFigure flange;                                      ///< m
} sf_FormingStart;

/// The start values that come with the program (data/forming.json). SF_E_INPUT when the data is broken, SF_E_MEMORY.
sf_Status sf_forming_start(sf_FormingStart *start, sf_Error *err) SF_MUST_USE;

/// A figure that is expected, with its 90 % interval for one more forming.
typedef struct sf_Expected {
    double value, low, high;
} sf_Expected;

/// One ring as a reading.
typedef struct sf_FormingReading {
    sf_Drape drape;
    double along; ///< 0 at the cut end, 1 at the pylon's top
    double wall;  ///< mean, m
    double wave;  ///< (largest - least) / (largest + least); NaN
} sf_FormingReading;

/// ln stretch = a + b along, with what is known of both.
typedef struct sf_Forming {
    bool calibrated;   ///< on three of the shop's rings or more
    bool slope_fitted; ///< b too
    double a, b;
    double var_a, var_b, cov; ///< of the fit; for b that was not fitted, of its start value
    double scatter;           ///< of one forming, of ln stretch
    double freedom;           ///< INFINITY before calibration
    sf_Expected wave;         ///< k and its 90 % interval for one more forming
    bool wave_fitted;
    size_t fitting, used, left_out; ///< rings of the right kind, of them used, all others
    double residual;                ///< root mean square of the fit, of ln stretch; NaN
} sf_Forming;

/// Fits the readings that match `strip_known`; with fewer than three of them the start values stay. SF_E_SINGULAR,
/// SF_E_MEMORY.
sf_Status sf_forming_fit(sf_Forming *forming, const sf_FormingStart *start, const sf_FormingReading *readings,
                         size_t count, bool strip_known, sf_Error *err) SF_MUST_USE;

/// ln stretch at a place and the standard deviation for one more forming there.
void sf_forming_at(double *log_stretch, double *sd, const sf_Forming *forming, double along);

/// Cold wall for one more forming.
sf_Expected sf_forming_wall(const sf_Forming *forming, const sf_Drape *drape, double along);

/// The sheet that leaves `wall` as expected, and with the stretch at both ends of its interval.
sf_Expected sf_forming_sheet(const sf_Forming *forming, const sf_Drape *drape, double along, double wall);

/// Chance that one more forming leaves at least `wall` there.
double sf_forming_chance(const sf_Forming *forming, const sf_Drape *drape, double along, double wall);
