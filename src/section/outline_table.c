// SPDX-License-Identifier: GPL-3.0-or-later
#include "section/outline_table.h"

#include "base/csv.h"
#include "base/text.h"
#include "base/units.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { OUTER = 0, INNER = 1, LINE = 2, VOIDS = 3, CURVES = VOIDS + SF_OUTLINE_MAX_VOIDS };

static const double FARTHEST_MM = 10000;    // a coordinate beyond this is a slip of units
static const double LINE_FOOT_MM = 0.3;     // how far from the bore the line's first end may lie
static const size_t TEXT_LIMIT = 64u << 20; // bytes of CSV that may be written

// The curve a name means, or CURVES.
static size_t curve_of(const char *name)
{
    if (strcmp(name, "outer") == 0)
        return OUTER;
    if (strcmp(name, "inner") == 0)
        return INNER;
    if (strcmp(name, "line") == 0)
        return LINE;
    if (strncmp(name, "void", 4) == 0 && name[4] >= '1' && name[4] <= '9') {
        char *end;
        unsigned long number = strtoul(name + 4, &end, 10);
        if (*end == '\0' && number <= SF_OUTLINE_MAX_VOIDS)
            return VOIDS + number - 1;
    }
    return CURVES;
}

static sf_Status count_points(const sf_Csv *csv, size_t column, size_t counts[CURVES], sf_Error *err)
{
    for (size_t row = 0; row < csv->rows; row++) {
        const char *name = sf_csv_cell(csv, row, column);
        size_t curve = curve_of(name);
        if (curve == CURVES)
            return SF_FAIL(
                err, SF_E_PARSE, csv->name,
                "%s line %zu: the curve is called \"%.40s\"; it must be outer, inner, line or void1 to void%d",
                csv->name, csv->lines[row], name, SF_OUTLINE_MAX_VOIDS);
        counts[curve]++;
    }
    if (counts[OUTER] == 0 || counts[INNER] == 0)
        return SF_FAIL(err, SF_E_MISSING, csv->name,
                       "%s holds no points of the curve %s: both outer and inner are needed", csv->name,
                       counts[OUTER] == 0 ? "outer" : "inner");
    if (counts[LINE] != 0 && counts[LINE] != 2)
        return SF_FAIL(err, SF_E_PARSE, csv->name, "%s: the curve line needs two points, its ends, and has %zu",
                       csv->name, counts[LINE]);
    return SF_OK;
}

static sf_Status read_point(const sf_Csv *csv, size_t row, const size_t columns[3], sf_Point *point, sf_Error *err)
{
    double x, y;
    SF_TRY(sf_csv_number(csv, row, columns[1], &x, err));
    SF_TRY(sf_csv_number(csv, row, columns[2], &y, err));
    if (fabs(x) > FARTHEST_MM || fabs(y) > FARTHEST_MM)
        return SF_FAIL(err, SF_E_RANGE, csv->name,
                       "%s line %zu: a point lies more than %.0f mm from the origin; coordinates are in mm", csv->name,
                       csv->lines[row], FARTHEST_MM);
    *point = (sf_Point){ x * SF_MM, y * SF_MM };
    return SF_OK;
}

static sf_Status check_line(const sf_Outline *outline, const char *name, sf_Error *err)
{
    if (!outline->line.present)
        return SF_OK;
    double foot = sf_polygon_distance(&outline->inner, outline->line.start, NULL, NULL);
    double out = sf_polygon_contains(&outline->outer, outline->line.end)
                     ? 0
                     : sf_polygon_distance(&outline->outer, outline->line.end, NULL, NULL);
    if (foot > LINE_FOOT_MM * SF_MM || out > LINE_FOOT_MM * SF_MM)
        return SF_FAIL(
            err, SF_E_GEOMETRY, name,
            "%s: the curve line must start on the inner outline and end inside the wall or on the outer outline", name);
    return SF_OK;
}

static sf_Status fill(sf_Outline *outline, const sf_Csv *csv, sf_Error *err)
{
    size_t columns[3], counts[CURVES] = { 0 }, used[CURVES] = { 0 };
    const char *const titles[3] = { "curve", "x_mm", "y_mm" };
    for (size_t i = 0; i < 3; i++)
        SF_TRY(sf_csv_column(csv, titles[i], &columns[i], err));
    SF_TRY(count_points(csv, columns[0], counts, err));
    SF_TRY(sf_polygon_create(&outline->outer, counts[OUTER], err));
    SF_TRY(sf_polygon_create(&outline->inner, counts[INNER], err));
    sf_Polygon *curves[CURVES] = { [OUTER] = &outline->outer, [INNER] = &outline->inner };
    for (size_t k = VOIDS; k < CURVES; k++)
        if (counts[k] > 0) {
            curves[k] = &outline->voids[outline->void_count++];
            SF_TRY(sf_polygon_create(curves[k], counts[k], err));
        }
    for (size_t row = 0; row < csv->rows; row++) {
        size_t curve = curve_of(sf_csv_cell(csv, row, columns[0]));
        sf_Point point;
        SF_TRY(read_point(csv, row, columns, &point, err));
        if (curve == LINE)
            *(used[LINE] == 0 ? &outline->line.start : &outline->line.end) = point;
        else
            curves[curve]->points[used[curve]] = point;
        used[curve]++;
    }
    outline->line.present = counts[LINE] > 0;
    outline->line_searched = outline->line.present || outline->void_count > 0;
    SF_TRY(sf_outline_check(outline, err));
    return check_line(outline, csv->name, err);
}

sf_Status sf_outline_read_csv(sf_Outline *outline, const char *name, const char *text, size_t size, sf_Error *err)
{
    *outline = (sf_Outline){ 0 };
    sf_Csv csv = { 0 };
    sf_Status status;
    SF_TRY_DONE(sf_csv_read(&csv, name, text, size, err));
    SF_TRY_DONE(fill(outline, &csv, err));
done:
    sf_csv_free(&csv);
    if (status != SF_OK)
        sf_outline_free(outline);
    return status;
}

static void write_curve(sf_Text *out, const char *name, const sf_Polygon *curve)
{
    for (size_t i = 0; i < curve->count; i++)
        sf_text_format(out, "%s,%.6f,%.6f\n", name, curve->points[i].x / SF_MM, curve->points[i].y / SF_MM);
}

sf_Status sf_outline_write_csv(const sf_Outline *outline, char **text, size_t *size, sf_Error *err)
{
    sf_Text out = sf_text_make(TEXT_LIMIT);
    sf_text_add(&out, "curve,x_mm,y_mm\n");
    write_curve(&out, "outer", &outline->outer);
    write_curve(&out, "inner", &outline->inner);
    for (size_t i = 0; i < outline->void_count; i++) {
        char name[16];
        snprintf(name, sizeof name, "void%zu", i + 1);
        write_curve(&out, name, &outline->voids[i]);
    }
    if (outline->line.present) {
        sf_Point ends[2] = { outline->line.start, outline->line.end };
        write_curve(&out, "line", &(sf_Polygon){ ends, 2 });
    }
    if (out.broken) {
        sf_text_free(&out);
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory while writing the outline");
    }
    *text = out.data;
    *size = out.length;
    return SF_OK;
}
