// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/alloc.h"
#include "base/csv.h"
#include "base/file.h"
#include "harness/tap.h"
#include "strength/tube.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define GOST TAP_SOURCE("GOST R ISO 10328-4-98, tables 5 and 6, worked by hand")

static sf_LoadLevels *levels;

static void read_table(sf_Csv *csv, const char *name)
{
    char path[1000];
    unsigned char *text = NULL;
    size_t size = 0;
    const char *root = getenv("TAP_ROOT");
    snprintf(path, sizeof path, "%s/tests/reference/%s", root ? root : ".", name);
    TAP_OK(sf_file_read(path, 1 << 20, &text, &size, NULL));
    TAP_OK(sf_csv_read(csv, name, (const char *)text, size, NULL));
    sf_free(text);
}

static double cell(const sf_Csv *csv, size_t row, const char *title)
{
    size_t column = 0;
    double value = NAN;
    TAP_OK(sf_csv_column(csv, title, &column, NULL));
    TAP_OK(sf_csv_number(csv, row, column, &value, NULL));
    return value;
}

static sf_LoadLine standard_line(const char *level, int condition)
{
    sf_LoadLine line = { 0 };
    sf_LineCentres centres = sf_line_centres_standard(&levels->height);
    TAP_OK(sf_load_line_lay(&line, &centres, &sf_load_level_find(levels, level)->conditions[condition], &levels->height,
                            1, NULL));
    return line;
}

TAP_CASE(the_standard_axis_gives_the_actions_table)
{
    TAP_OK(sf_load_levels_create(&levels, NULL));
    sf_Csv csv = { 0 };
    read_table(&csv, "line_actions.csv");
    sf_BeamSection tube = tube_section(57, 44.3, 0, 0);
    sf_Pylon pylon = tube_pylon(&tube, 80, 0, 300, (sf_BeamHole[]){ { 0.15, 0, 1e-3 } }, 1);
    for (size_t row = 0; row < csv.rows; row++) {
        const char *level = sf_csv_cell(&csv, row, 0);
        int condition = strcmp(sf_csv_cell(&csv, row, 1), "II") == 0;
        sf_LoadLine line = standard_line(level, condition);
        sf_Actions actions[SF_STATION_MAX];
        double height = cell(&csv, row, "height_mm") * SF_MM;
        static const char *const columns[] = { "proof_nm", "lower_nm", "upper_nm", "cyclic_nm" };
        for (int kind = 0; kind < SF_FORCE_COUNT; kind++) {
            double force = sf_load_force(&sf_load_level_find(levels, level)->conditions[condition], kind);
            TAP_TRUE(sf_beam_actions(actions, &pylon, &line, force, INFINITY, NULL));
            for (size_t i = 0; i < pylon.station_count; i++)
                if (fabs(pylon.stations[i].height - height) < 1e-9) {
                    TAP_NEAR(sf_point_length(actions[i].moment), cell(&csv, row, columns[kind]),
                             TAP_TOLERANCE("1 % and the last digit", 0.01, 0.5), GOST);
                    TAP_NEAR(actions[i].axial / force, cell(&csv, row, "axial_share"),
                             TAP_TOLERANCE("last digit", 0, 6e-4), GOST);
                    TAP_NEAR(sf_point_length(actions[i].shear) / force, cell(&csv, row, "shear_share"),
                             TAP_TOLERANCE("last digit", 0, 6e-4), GOST);
                    TAP_NEAR(actions[i].torque / force / SF_MM, cell(&csv, row, "torque_arm_mm"),
                             TAP_TOLERANCE("last digit", 0, 0.06), GOST);
                }
        }
    }
    sf_pylon_free(&pylon);
    sf_csv_free(&csv);
    sf_load_levels_destroy(&levels);
}

TAP_CASE(plain_tubes_have_the_tabulated_stress)
{
    TAP_OK(sf_load_levels_create(&levels, NULL));
    sf_Csv csv = { 0 };
    read_table(&csv, "tube_stress.csv");
    for (size_t row = 0; row < csv.rows; row++) {
        double outer = cell(&csv, row, "outer_mm"), wall = cell(&csv, row, "wall_mm");
        sf_BeamSection tube = tube_section(outer, outer - 2 * wall, 0, 0);
        TAP_NEAR(tube.jxx / (outer / 2 * SF_MM), cell(&csv, row, "modulus_mm3") * 1e-9,
                 TAP_TOLERANCE("four digits and a polygon of 1440 sides", 3e-4, 0), TAP_CLOSED_FORM);
        sf_Pylon pylon = tube_pylon(&tube, 80, 0, 300, NULL, 0);
        for (size_t i = 0; i < levels->level_count; i++) {
            static const char *const words[] = { "proof", "upper", "cyclic" };
            static const sf_ForceKind kinds[] = { SF_FORCE_PROOF, SF_FORCE_ULTIMATE_UPPER, SF_FORCE_CYCLIC };
            sf_LoadLine line = standard_line(levels->levels[i].level, 1);
            for (int k = 0; k < 3; k++) {
                char title[40];
                sf_Actions actions[SF_STATION_MAX];
                snprintf(title, sizeof title, "%s_%s", levels->levels[i].level, words[k]);
                double force = sf_load_force(&levels->levels[i].conditions[1], kinds[k]);
                TAP_TRUE(sf_beam_actions(actions, &pylon, &line, force, INFINITY, NULL));
                TAP_NEAR(sf_pylon_normal_stress(&pylon, actions) / SF_MPA, cell(&csv, row, title),
                         TAP_TOLERANCE("1 % and the last digit", 0.01, 0.5), GOST);
                // Condition II runs in front of the pylon: compression in front and a little inward, largest there.
                sf_Peak peak = sf_station_peak(&pylon, 0, &actions[0]);
                TAP_TRUE(peak.normal < 0 && fabs(peak.normal_angle / SF_DEG - 100) < 15);
            }
        }
        sf_pylon_free(&pylon);
    }
    sf_csv_free(&csv);
    sf_load_levels_destroy(&levels);
}

TAP_CASE(a_leaning_axis_carries_the_offsets_along)
{
    TAP_OK(sf_load_levels_create(&levels, NULL));
    // Ankle moved forward and outward: the same line, moved. Easy version that fails: offsets from the pylon's axis.
    sf_LineCentres centres = { { 0.012, 0.020, 0.080 }, { 0.012, 0.020, 0.500 } };
    sf_LoadLine moved = { 0 }, still = standard_line("P5", 1), leaning = { 0 };
    const sf_LoadCondition *at = &sf_load_level_find(levels, "P5")->conditions[1];
    TAP_OK(sf_load_line_lay(&moved, &centres, at, &levels->height, 1, NULL));
    TAP_NEAR(sf_load_line_at(&moved, 0.1).x, sf_load_line_at(&still, 0.1).x + 0.012, TAP_TIGHT, TAP_CLOSED_FORM);
    TAP_NEAR(sf_load_line_at(&moved, 0.3).y, sf_load_line_at(&still, 0.3).y + 0.020, TAP_TIGHT, TAP_CLOSED_FORM);
    TAP_NEAR(moved.lower_joint, 0, TAP_TIGHT, TAP_CLOSED_FORM);
    TAP_NEAR(moved.upper_joint, 0.65, TAP_TIGHT, TAP_CLOSED_FORM);
    // The knee 37 mm forward of the ankle over 420 mm: at both centres the line lies the tabulated distance from them,
    // square to the axis.
    centres = (sf_LineCentres){ { 0, 0, 0.090 }, { 0, 0.037, 0.510 } };
    TAP_OK(sf_load_line_lay(&leaning, &centres, at, &levels->height, 1, NULL));
    double lean = atan2(0.037, 0.420), z = 0.090 - 0.120 * sin(lean);
    TAP_NEAR(sf_load_line_at(&leaning, z).y, 0.120 * cos(lean), TAP_TIGHT, TAP_CLOSED_FORM);
    z = 0.510 - 0.072 * sin(lean);
    TAP_NEAR(sf_load_line_at(&leaning, z).y, 0.037 + 0.072 * cos(lean), TAP_TIGHT, TAP_CLOSED_FORM);
    sf_Error err = { 0 };
    centres.knee.z = 0.1;
    TAP_STATUS(sf_load_line_lay(&leaning, &centres, at, &levels->height, 1, &err), SF_E_RANGE);
    TAP_HOLDS(err.text, "check socket height");
    sf_load_levels_destroy(&levels);
}

TAP_MAIN(TAP_RUN(the_standard_axis_gives_the_actions_table), TAP_RUN(plain_tubes_have_the_tabulated_stress),
         TAP_RUN(a_leaning_axis_carries_the_offsets_along))
