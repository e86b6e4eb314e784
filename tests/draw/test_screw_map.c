// SPDX-License-Identifier: GPL-3.0-or-later
// Screw map and growth chart: lettering that fits whatever the limb. All limbs are invented.
#include "harness/tap.h"

#include "base/alloc.h"
#include "base/units.h"
#include "draw/growth_chart.h"
#include "draw/lettering.h"
#include "draw/screw_map.h"

#include <math.h>
#include <stdio.h>

#define MM(value) ((value)*SF_MM)

static size_t faults_of_map(const sf_ScrewMap *map, char *first, size_t size)
{
    sf_Sheet *sheet = NULL;
    const char *text = "";
    TAP_OK(sf_sheet_create(&sheet, SF_SHEET_SVG, SF_A5_LONG, SF_A5_SHORT, NULL));
    TAP_OK(sf_screw_map_paint(sheet, map, NULL));
    size_t n = sf_sheet_faults(sheet, &text);
    snprintf(first, size, "%s", text);
    sf_sheet_destroy(&sheet);
    return n;
}

TAP_CASE(the_screw_map_is_lettered_without_faults)
{
    for (int left = 0; left < 2; left++)
        for (double outer = 26; outer <= 112; outer += 10.7)
            for (int turn = 0; turn < 12; turn++) {
                sf_WrapSheet w = { .label = "an invented limb with rather a long label that goes on",
                                   .program = "standfast",
                                   .safety = "An aid to the judgement of a licensed prosthetist, not a certificate.",
                                   .left = left,
                                   .inch = turn % 2,
                                   .cut = MM(110),
                                   .grip = MM(30),
                                   .seam = turn == 11 ? NAN : 270 * SF_DEG,
                                   .screw_diameter = MM(5),
                                   .strip_count = 1,
                                   .strips = { { "Round the pylon", false, MM(outer / 2), MM(104), MM(150) } } };
                for (size_t i = 0; i < 6; i++)
                    w.holes[w.hole_count++] = (sf_WrapHole){
                        .angle = (31.0 * turn + 47.0 * (double)i) * SF_DEG,
                        .height = MM(120 + 4 * (double)i),
                        .diameter = MM(5),
                        .role = (sf_WrapRole)(i % 5),
                        .distances = { MM(8), MM(40), MM(22), 0, MM(10), MM(10), MM(15) },
                    };
                w.holes[5].angle = w.holes[4].angle; // one above the other
                sf_ScrewMap m = { .wrap = &w,
                                  .inner_radius = turn == 5 ? NAN : MM(outer / 2 - 6),
                                  .torque = turn ? 5 : NAN,
                                  .fixing = "screws through the wall" };
                for (int i = 0; i < SF_MAP_LINES; i++) {
                    snprintf(m.doubt[m.doubt_count++], SF_MAP_LINE, "An invented doubt number %d, a line of words", i);
                    snprintf(m.rescues[m.rescue_count++], SF_MAP_LINE,
                             "An invented rescue number %d that goes on over more than one line of the sheet so that "
                             "it must be wrapped at its words",
                             i);
                    snprintf(m.remarks[m.remark_count++], SF_MAP_LINE,
                             "An invented remark number %d that goes on over more than one line of the sheet", i);
                }
                char first[300];
                TAP_TRUE(faults_of_map(&m, first, sizeof first) == 0, "%.0f mm, turn %d, left %d: %s", outer, turn,
                         left, first);
            }
}

static void fill_fan(sf_ChartFan *fan, double from, double start, double rate, double spread)
{
    for (size_t i = 0; i < 25; i++) {
        double year = (double)i / 12;
        fan->age[i] = from + year;
        fan->mean[i] = start + rate * year;
        fan->low[i] = fan->mean[i] - spread * (1 + year);
        fan->high[i] = fan->mean[i] + spread * (1 + year);
        fan->count = i + 1;
    }
}

static void fill_chart(sf_GrowthChart *c, double age, double back, bool stature, bool shortness, bool inch)
{
    *c = (sf_GrowthChart){ .label = "an invented child with rather a long label that goes on and on",
                           .program = "standfast",
                           .safety = "An aid to the judgement of a licensed prosthetist, not a certificate.",
                           .as_of = "2026-07-04",
                           .sex = "of girls",
                           .inch = inch,
                           .age_from = age - back,
                           .age_now = age,
                           .age_to = age + 2.1,
                           .short_now = shortness ? MM(5) : NAN,
                           .short_low = shortness ? MM(0.1) : NAN,
                           .short_high = shortness ? MM(9.9) : NAN };
    static const double centiles[] = { 3, 10, 25, 50, 75, 90, 97 };
    for (int k = 0; k < SF_CHART_CENTILES; k++) {
        c->centile[k] = centiles[k];
        for (int i = 0; i < SF_CHART_CENTILE_POINTS; i++)
            c->centile_height[k][i] = 0.8 + 0.06 * (c->age_from + (c->age_to - c->age_from) * i / 79) + 0.025 * (k - 3);
    }
    for (int i = 0; stature && i < 8; i++)
        c->statures[c->stature_count++] =
            (sf_ChartReading){ age - back * i / 8, 0.8 + 0.06 * (age - back * i / 8), MM(3), false };
    for (int i = 0; shortness && i < 5; i++)
        c->shorts[c->short_count++] = (sf_ChartReading){ age - 0.3 * i, MM(5 - 4 * i), MM(3), i % 2 };
    if (stature)
        fill_fan(&c->stature, age, 0.8 + 0.06 * age, 0.06, 0.01);
    if (shortness)
        fill_fan(&c->shortness, age, MM(5), MM(16), MM(5));
    static const char *const names[] = { "remind", "warn", "alarm" };
    for (int i = 0; i < SF_CHART_STEPS; i++)
        c->steps[i] = (sf_ChartStep){ names[i],
                                      MM(5 + 5 * i),
                                      shortness ? age + 0.3 * i : NAN,
                                      shortness ? age : NAN,
                                      i == 2 ? NAN : age + 0.6 * i,
                                      "2026-10-23",
                                      "2026-07-05",
                                      "" };
    for (int i = 0; i < SF_CHART_LINES; i++) {
        snprintf(c->stacks[c->stack_count++], sizeof c->stacks[0],
                 "alarm, 2027-02-13: 13 + 9 = 22.0 mm, +1.0 mm LONG, to be signed; bolt -4.0 mm in: LONGER BOLT; first "
                 "yield 0.5%d",
                 i);
        snprintf(c->remarks[c->remark_count++], sizeof c->remarks[0],
                 "invented remark %d: block and knee height of about the same day differ by 6 mm: measure again", i);
    }
}

TAP_CASE(the_growth_chart_is_lettered_without_faults)
{
    sf_GrowthChart *c = sf_alloc(1, sizeof *c);
    for (double age = 2.5; age < 18; age += 2.6)
        for (double back = 0.5; back < 9 && back < age - 1.5; back += 1.9)
            for (int what = 0; what < 8; what++) {
                sf_Sheet *sheet = NULL;
                const char *first = "";
                fill_chart(c, age, back, what & 1, what & 2, what & 4);
                TAP_OK(sf_sheet_create(&sheet, SF_SHEET_SVG, SF_A5_LONG, SF_A5_SHORT, NULL));
                TAP_OK(sf_growth_chart_paint(sheet, c, NULL));
                TAP_TRUE(sf_sheet_faults(sheet, &first) == 0, "age %g, back %g, what %d: %s", age, back, what, first);
                sf_sheet_destroy(&sheet);
            }
    sf_free(c);
}

TAP_MAIN(TAP_RUN(the_screw_map_is_lettered_without_faults), TAP_RUN(the_growth_chart_is_lettered_without_faults))
