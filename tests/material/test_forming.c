// SPDX-License-Identifier: GPL-3.0-or-later
// Wall from sheet: conservation of the drawn area by hand, forward and inverse, the fit on invented rings.
#include "harness/tap.h"

#include "base/units.h"
#include "material/forming.h"

#include <math.h>

static const sf_Drape STRIP = {
    .sheet = 6e-3, .model_diameter = 38e-3, .strip = 0.165, .flange = 12e-3, .shrinkage = 0.0175
};
static const sf_Drape FREE = { .sheet = 6e-3, .model_diameter = 38e-3, .strip = NAN, .flange = 12e-3, .shrinkage = 0 };

static sf_FormingStart start(void)
{
    sf_FormingStart s;
    sf_Error err = { 0 };
    if (!TAP_OK(sf_forming_start(&s, &err)))
        tap_note("%s", err.text);
    return s;
}

TAP_CASE(the_sheet_keeps_its_volume)
{
    for (double stretch = 1; stretch < 2; stretch += 0.1) {
        double hot = sf_drape_wall(&STRIP, stretch) / (1 - STRIP.shrinkage);
        double area = hot * (SF_PI * (STRIP.model_diameter + hot) + 2 * STRIP.flange); // cut face and both flanges
        TAP_NEAR(area * stretch, STRIP.strip * STRIP.sheet, TAP_ROUNDING, TAP_CLOSED_FORM);
    }
    // A strip as wide as what it wraps, not stretched: the sheet's own thickness.
    sf_Drape just = STRIP;
    just.shrinkage = 0;
    just.strip = SF_PI * (38e-3 + 6e-3) + 24e-3;
    TAP_NEAR(sf_drape_wall(&just, 1), 6e-3, TAP_ROUNDING, TAP_CLOSED_FORM);
    // A strip half as wide again: what is not there cannot be wrapped; 10 % each way leaves 0.83 of the sheet.
    TAP_NEAR(sf_drape_wall(&FREE, 1.1 * 1.1), 0.8264 * 6e-3, TAP_TABLE_4, TAP_CLOSED_FORM);
    TAP_NEAR(sf_drape_wall(&FREE, 1.2 * 1.2), 0.6944 * 6e-3, TAP_TABLE_4, TAP_CLOSED_FORM);
}

TAP_CASE(forward_and_inverse_mirror_each_other)
{
    const sf_Drape *both[] = { &STRIP, &FREE };
    for (int k = 0; k < 2; k++)
        for (double stretch = 1; stretch < 1.8; stretch += 0.07) {
            double wall = sf_drape_wall(both[k], stretch);
            TAP_NEAR(sf_drape_sheet(both[k], wall, stretch), both[k]->sheet, TAP_ROUNDING, TAP_CLOSED_FORM);
            TAP_NEAR(sf_drape_stretch(both[k], wall), stretch, TAP_ROUNDING, TAP_CLOSED_FORM);
        }
    TAP_NEAR(sf_ring_wall_of_area(SF_PI / 4 * (50e-3 * 50e-3 - 38e-3 * 38e-3), 38e-3), 6e-3, TAP_ROUNDING,
             TAP_CLOSED_FORM);
}

TAP_CASE(thicker_sheet_wider_strip_less_stretch_never_thinner)
{
    double last = 0;
    for (double sheet = 3e-3; sheet < 12e-3; sheet += 0.5e-3) {
        sf_Drape d = STRIP;
        d.sheet = sheet;
        TAP_TRUE(sf_drape_wall(&d, 1.2) > last);
        last = sf_drape_wall(&d, 1.2);
    }
    last = 0;
    for (double strip = 0.1; strip < 0.25; strip += 0.01) {
        sf_Drape d = STRIP;
        d.strip = strip;
        TAP_TRUE(sf_drape_wall(&d, 1.2) > last);
        last = sf_drape_wall(&d, 1.2);
    }
    TAP_TRUE(sf_drape_wall(&STRIP, 1.3) < sf_drape_wall(&STRIP, 1.2));
}

TAP_CASE(without_rings_the_start_values_stand_and_say_so)
{
    sf_FormingStart s = start();
    sf_Forming f;
    TAP_OK(sf_forming_fit(&f, &s, NULL, 0, false, NULL));
    sf_Expected wall = sf_forming_wall(&f, &FREE, 0);
    TAP_TRUE(!f.calibrated && !f.slope_fitted && !f.wave_fitted);
    TAP_NEAR(wall.low / 6e-3, 0.60, TAP_TABLE_3, TAP_MEMORY);
    TAP_NEAR(wall.high / 6e-3, 0.85, TAP_TABLE_3, TAP_MEMORY);
    TAP_NEAR(sf_forming_wall(&f, &FREE, 1).value / wall.value, 0.85, TAP_ROUNDING, TAP_PRACTICE);
    TAP_HOLDS(s.stretch_along.origin, "judgement");
    TAP_HOLDS(s.stretch_both.origin, "memory");
}

// Rings that a stretch of `a` at the cut and `b` towards the top leave, off by `errors`.
static void make(sf_FormingReading *rings, const double *along, const double *errors, size_t n, double a, double b)
{
    for (size_t i = 0; i < n; i++) {
        rings[i] = (sf_FormingReading){ .drape = FREE, .along = along[i], .wave = NAN };
        rings[i].drape.sheet = 5e-3 + 1e-3 * (double)(i % 3);
        rings[i].wall = sf_drape_wall(&rings[i].drape, exp(a + b * along[i] + errors[i]));
    }
}

TAP_CASE(the_fit_finds_what_made_the_rings)
{
    static const double along[] = { 0, 0.2, 0.4, 0.6, 0.8, 1 }, none[6] = { 0 };
    sf_FormingStart s = start();
    sf_FormingReading rings[6];
    sf_Forming f;
    make(rings, along, none, 6, 0.3, 0.11);
    TAP_OK(sf_forming_fit(&f, &s, rings, 6, false, NULL));
    TAP_TRUE(f.calibrated && f.slope_fitted && f.used == 6 && f.left_out == 0);
    TAP_NEAR(f.a, 0.3, TAP_TIGHT, TAP_CLOSED_FORM);
    TAP_NEAR(f.b, 0.11, TAP_TIGHT, TAP_CLOSED_FORM);
    TAP_NEAR(f.scatter, 0.01, TAP_ROUNDING, TAP_PRACTICE); // never below the least
    TAP_NEAR(f.freedom, 4, TAP_EXACT, TAP_CLOSED_FORM);
    // Only three at one place: the level is fitted, the slope stays, and its doubt grows away from there.
    static const double same[] = { 0, 0, 0 }, some[] = { 0.02, -0.02, 0 };
    make(rings, same, some, 3, 0.3, 0.11);
    TAP_OK(sf_forming_fit(&f, &s, rings, 3, false, NULL));
    TAP_TRUE(f.calibrated && !f.slope_fitted);
    TAP_NEAR(f.a, 0.3, TAP_TIGHT, TAP_CLOSED_FORM);
    TAP_NEAR(f.scatter, 0.02, TAP_TIGHT, TAP_CLOSED_FORM); // sqrt((0.02^2 + 0.02^2) / 2)
    double middle, near_by, far;
    sf_forming_at(&middle, &near_by, &f, 0);
    TAP_NEAR(near_by, 0.02 * sqrt(4.0 / 3), TAP_TIGHT, TAP_CLOSED_FORM);
    sf_forming_at(&middle, &far, &f, 1);
    TAP_TRUE(far > 2 * near_by);
    // t with 2 degrees of freedom, 90 %: 2.920.
    sf_Expected wall = sf_forming_wall(&f, &FREE, 0);
    TAP_NEAR(log(wall.high / wall.value), 2.920 * near_by, TAP_TABLE_4,
             TAP_SOURCE("NIST/SEMATECH e-Handbook, 1.3.6.7.2, critical values of Student's t"));
    // Two rings calibrate nothing; rings of the other kind are left out.
    TAP_OK(sf_forming_fit(&f, &s, rings, 2, false, NULL));
    TAP_TRUE(!f.calibrated && f.fitting == 2 && f.used == 0);
    TAP_OK(sf_forming_fit(&f, &s, rings, 3, true, NULL));
    TAP_TRUE(!f.calibrated && f.left_out == 3);
}

TAP_CASE(more_rings_narrow_the_interval)
{
    static const double along[] = { 0, 1, 0.5, 0.2, 0.8, 0.4, 0.6, 0.1, 0.9, 0.3, 0.7, 0 };
    static const double errors[] = { 0.02, -0.02, 0.01, -0.01, 0.02, -0.02, 0.01, -0.01, 0.02, -0.02, 0.01, -0.01 };
    sf_FormingStart s = start();
    sf_FormingReading rings[12];
    double last = INFINITY;
    for (size_t n = 0; n <= 12; n += 4) {
        sf_Forming f;
        make(rings, along, errors, n, 0.35, 0.1);
        TAP_OK(sf_forming_fit(&f, &s, rings, n, false, NULL));
        sf_Expected wall = sf_forming_wall(&f, &FREE, 0);
        TAP_TRUE(wall.high - wall.low < last, "%zu rings", n);
        last = wall.high - wall.low;
    }
}

TAP_CASE(chance_and_interval_agree)
{
    sf_FormingStart s = start();
    sf_Forming f;
    TAP_OK(sf_forming_fit(&f, &s, NULL, 0, true, NULL));
    sf_Expected wall = sf_forming_wall(&f, &STRIP, 0), sheet = sf_forming_sheet(&f, &STRIP, 0, wall.value);
    TAP_NEAR(sf_forming_chance(&f, &STRIP, 0, wall.low), 0.95, TAP_TIGHT, TAP_CLOSED_FORM);
    TAP_NEAR(sf_forming_chance(&f, &STRIP, 0, wall.value), 0.5, TAP_TIGHT, TAP_CLOSED_FORM);
    TAP_NEAR(sf_forming_chance(&f, &STRIP, 0, wall.high), 0.05, TAP_TIGHT, TAP_CLOSED_FORM);
    TAP_NEAR(sheet.value, STRIP.sheet, TAP_TIGHT, TAP_CLOSED_FORM);
    sf_Drape thick = STRIP;
    thick.sheet = sheet.high; // the thick end of the sheet leaves the wall with a chance of 95 %
    TAP_NEAR(sf_forming_chance(&f, &thick, 0, wall.value), 0.95, TAP_TIGHT, TAP_CLOSED_FORM);
}

TAP_MAIN(TAP_RUN(the_sheet_keeps_its_volume), TAP_RUN(forward_and_inverse_mirror_each_other),
         TAP_RUN(thicker_sheet_wider_strip_less_stretch_never_thinner),
         TAP_RUN(without_rings_the_start_values_stand_and_say_so), TAP_RUN(the_fit_finds_what_made_the_rings),
         TAP_RUN(more_rings_narrow_the_interval), TAP_RUN(chance_and_interval_agree))
