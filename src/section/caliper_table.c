// SPDX-License-Identifier: GPL-3.0-or-later
// Caliper readings round a ring become an outline with its doubt.
#include "base/alloc.h"
#include "base/csv.h"
#include "base/units.h"
#include "num/stats.h"
#include "section/outline_table.h"
#include "section/periodic_spline.h"

#include <stdlib.h>

static const double LARGEST_GAP = 90 * SF_DEG; // a curve through a wider gap is a guess
static const double SAME_ANGLE = 0.01 * SF_DEG;
static const double LARGEST_RADIUS = 200e-3; // m: beyond this it is a slip of units
static const double ZERO_SHARE = 0.5;      // of the reading's spread: how far the caliper's zero may be off (judgement)
static const double FORETELL_SHARE = 0.25; // error half-way between readings against that of foretelling one
static const double FORETELL_NOISE =
    1 + 34.0 / 36; // variance of foretelling a reading from four neighbours, in readings'
enum { LEAST_POINTS = 1440, POINTS_PER_READING = 4 };

typedef struct Reading {
    double angle, outer, wall;
    size_t line;
} Reading;

typedef struct Table {
    size_t n;
    Reading *readings;
    double *block; // angle, outer, wall and the two splines' second derivatives, n each
    double *angle, *outer, *wall, *outer_bend, *wall_bend;
    double widest_gap;
} Table;

static void table_free(Table *table)
{
    sf_free(table->readings);
    sf_free(table->block);
}

static int by_angle(const void *a, const void *b)
{
    double p = ((const Reading *)a)->angle, q = ((const Reading *)b)->angle;
    return p < q ? -1 : p > q;
}

static sf_Status read_row(const sf_Csv *csv, size_t row, const size_t columns[3], Reading *reading, sf_Error *err)
{
    double angle_deg, outer_mm, wall_mm;
    SF_TRY(sf_csv_number(csv, row, columns[0], &angle_deg, err));
    SF_TRY(sf_csv_number(csv, row, columns[1], &outer_mm, err));
    SF_TRY(sf_csv_number(csv, row, columns[2], &wall_mm, err));
    double turn = fmod(angle_deg, 360);
    *reading = (Reading){ (turn < 0 ? turn + 360 : turn) * SF_DEG, outer_mm * SF_MM, wall_mm * SF_MM, csv->lines[row] };
    if (fabs(angle_deg) > 3600)
        return SF_FAIL(err, SF_E_RANGE, csv->name, "%s line %zu: an angle of %g degrees; give 0 to 360", csv->name,
                       reading->line, angle_deg);
    if (!(reading->wall > 0) || !(reading->outer > reading->wall) || reading->outer > LARGEST_RADIUS)
        return SF_FAIL(
            err, SF_E_RANGE, csv->name,
            "%s line %zu: outer %g mm with a wall of %g mm; outer is the radius (half the diameter) and must be "
            "larger than the wall",
            csv->name, reading->line, outer_mm, wall_mm);
    return SF_OK;
}

static sf_Status check_spacing(Table *table, const char *name, sf_Error *err)
{
    for (size_t i = 0; i < table->n; i++) {
        const Reading *r = &table->readings[i], *next = &table->readings[i + 1 < table->n ? i + 1 : 0];
        double gap = next->angle - r->angle + (i + 1 < table->n ? 0 : 2 * SF_PI);
        if (gap < SAME_ANGLE) {
            size_t later = r->line > next->line ? r->line : next->line,
                   first = r->line > next->line ? next->line : r->line;
            return SF_FAIL(err, SF_E_INPUT, name, "%s line %zu: the angle %.2f degrees was already read in line %zu",
                           name, later, r->angle / SF_DEG, first);
        }
        if (gap > LARGEST_GAP)
            return SF_FAIL(
                err, SF_E_INPUT, name,
                "%s leaves %.0f degrees without a reading after %.1f degrees; read the ring all round, at most "
                "%.0f degrees apart",
                name, gap / SF_DEG, r->angle / SF_DEG, LARGEST_GAP / SF_DEG);
        table->widest_gap = fmax(table->widest_gap, gap);
    }
    return SF_OK;
}

static sf_Status read_table(Table *table, const sf_Csv *csv, sf_Error *err)
{
    const char *const titles[3] = { "angle_deg", "outer_mm", "wall_mm" };
    size_t columns[3];
    for (size_t i = 0; i < 3; i++)
        SF_TRY(sf_csv_column(csv, titles[i], &columns[i], err));
    if (csv->rows < SF_CALIPER_MIN_READINGS || csv->rows > SF_CALIPER_MAX_READINGS)
        return SF_FAIL(err, SF_E_INPUT, csv->name, "%s has %zu readings; %d to %d are needed, spread round the ring",
                       csv->name, csv->rows, SF_CALIPER_MIN_READINGS, SF_CALIPER_MAX_READINGS);
    size_t n = table->n = csv->rows;
    table->readings = sf_alloc(n, sizeof *table->readings);
    table->block = sf_alloc(5 * n, sizeof *table->block);
    if (!table->readings || !table->block)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory for the caliper readings");
    for (size_t row = 0; row < n; row++)
        SF_TRY(read_row(csv, row, columns, &table->readings[row], err));
    qsort(table->readings, n, sizeof *table->readings, by_angle);
    SF_TRY(check_spacing(table, csv->name, err));
    table->angle = table->block;
    table->outer = table->angle + n;
    table->wall = table->outer + n;
    table->outer_bend = table->wall + n;
    table->wall_bend = table->outer_bend + n;
    for (size_t i = 0; i < n; i++) {
        table->angle[i] = table->readings[i].angle;
        table->outer[i] = table->readings[i].outer;
        table->wall[i] = table->readings[i].wall;
    }
    SF_TRY(sf_periodic_spline(table->angle, table->outer, n, 2 * SF_PI, table->outer_bend, err));
    return sf_periodic_spline(table->angle, table->wall, n, 2 * SF_PI, table->wall_bend, err);
}

static double angle_from(const Table *table, size_t i, long k)
{
    long n = (long)table->n, j = (long)i + k;
    double turn = j < 0 ? -2 * SF_PI : j >= n ? 2 * SF_PI : 0;
    return table->angle[(j + n) % n] + turn - table->angle[i];
}

// How far each reading lies from the cubic through its two neighbours on either side; robust, so that a groove's own
// reading does not count as roughness of the whole ring.
static double foretelling_spread(const Table *table, const double *value, double *room)
{
    long n = (long)table->n;
    const long at[4] = { -2, -1, 1, 2 };
    for (size_t i = 0; i < table->n; i++) {
        double foretold = 0;
        for (int a = 0; a < 4; a++) {
            double weight = 1, xa = angle_from(table, i, at[a]);
            for (int b = 0; b < 4; b++)
                if (b != a) {
                    double xb = angle_from(table, i, at[b]);
                    weight *= -xb / (xa - xb);
                }
            foretold += weight * value[((long)i + at[a] + n) % n];
        }
        room[i] = value[i] - foretold;
    }
    return sf_stats_mad_sd(room, table->n);
}

// Error of the curve where no reading was taken: the part of the foretelling error that the readings do not explain.
static double between_readings(const Table *table, const double *value, double reading_sd, double *room)
{
    double spread = foretelling_spread(table, value, room);
    return FORETELL_SHARE * sqrt(fmax(0, spread * spread - FORETELL_NOISE * reading_sd * reading_sd));
}

static sf_Status lay_curves(sf_Outline *outline, const Table *table, sf_Error *err)
{
    size_t count = POINTS_PER_READING * table->n > LEAST_POINTS ? POINTS_PER_READING * table->n : LEAST_POINTS;
    SF_TRY(sf_polygon_create(&outline->outer, count, err));
    SF_TRY(sf_polygon_create(&outline->inner, count, err));
    for (size_t i = 0; i < count; i++) {
        double t = 2 * SF_PI * (double)i / (double)count;
        double r = sf_periodic_spline_at(table->angle, table->outer, table->outer_bend, table->n, 2 * SF_PI, t);
        double w = sf_periodic_spline_at(table->angle, table->wall, table->wall_bend, table->n, 2 * SF_PI, t);
        outline->outer.points[i] = (sf_Point){ r * cos(t), r * sin(t) };
        outline->inner.points[i] = (sf_Point){ (r - w) * cos(t), (r - w) * sin(t) };
    }
    return sf_outline_check(outline, err);
}

static sf_Status find_doubt(sf_Outline *outline, const Table *table, double reading_sd, sf_Error *err)
{
    double *room = sf_alloc(table->n, sizeof *room);
    if (!room)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory for the caliper readings");
    double outer = between_readings(table, table->outer, reading_sd, room);
    double wall = between_readings(table, table->wall, reading_sd, room);
    sf_free(room);
    double gap = table->widest_gap * sqrt(sf_polygon_area(&outline->inner) / SF_PI);
    outline->doubt = (sf_EdgeDoubt){
        .bias_both = ZERO_SHARE * reading_sd, // an outer radius read too large carries the bore with it
        .bias_inner = ZERO_SHARE * reading_sd,
        .random = sqrt(reading_sd * reading_sd + (outer * outer + wall * wall) / 2),
        .correlation = gap,
        .spacing = gap,
    };
    return SF_OK;
}

sf_Status sf_outline_read_caliper(sf_Outline *outline, const char *name, const char *text, size_t size,
                                  const sf_CaliperOptions *options, sf_Error *err)
{
    *outline = (sf_Outline){ 0 };
    double reading_sd = options && options->reading_sd > 0 ? options->reading_sd : SF_CALIPER_READING_SD;
    sf_Csv csv = { 0 };
    Table table = { 0 };
    sf_Status status;
    SF_TRY_DONE(sf_csv_read(&csv, name, text, size, err));
    SF_TRY_DONE(read_table(&table, &csv, err));
    SF_TRY_DONE(lay_curves(outline, &table, err));
    SF_TRY_DONE(find_doubt(outline, &table, reading_sd, err));
done:
    table_free(&table);
    sf_csv_free(&csv);
    if (status != SF_OK)
        sf_outline_free(outline);
    return status;
}
