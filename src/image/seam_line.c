// SPDX-License-Identifier: GPL-3.0-or-later
#include "image/seam_line.h"

#include "base/alloc.h"
#include "base/units.h"
#include "image/periodic.h"
#include "num/stats.h"

#include <string.h>

// A line is looked for in a band that starts this far inside the inner edge, clear of its blur.
static const double BAND_START = 0.12 * SF_MM, BAND_START_PIXELS = 3.0, BAND_DEPTH = 0.25 * SF_MM;
static const double HALF_WINDOW = 0.32 * SF_MM;  // along the edge; a line is no wider
static const double LEAST_WIDTH = 0.035 * SF_MM; // darkness summed across the line, as a width of full darkness
static const double LEAST_PEAK = 0.10;           // darkness at its darkest, share of the contrast
// Shorter ones are dust on the edge, or a void near it; beside a groove, where a line is expected, less will do.
static const double LEAST_LENGTH = 0.6 * SF_MM, LEAST_LENGTH_IN_GROOVE = 0.30 * SF_MM;
static const double LEAST_LENGTH_PIXELS = 7.5, LEAST_LENGTH_IN_GROOVE_PIXELS = 4.0;
static const double GROOVE_WEIGHT = 4;
static const double GROOVE = 0.12 * SF_MM;          // the wall here is thinner by this than either side
static const double DRIFT = 0.5;                    // most sideways way per way outward
static const double REFERENCE_LENGTH = 1.0 * SF_MM; // the line's course of width is foretold from this much before
static const double THROUGH_LEFT = 0.15 * SF_MM, THROUGH_LEFT_PIXELS = 1.5;
static const double TIP_SD = 0.03 * SF_MM, TIP_SD_PIXELS = 0.5;

enum { BAND_ROWS = 5, MAX_STEPS = 2000, ACROSS = 65, CANDIDATES = 6 };

// Darkness at a place beside ray k: 0 = face, 1 = ground (either polarity).
static double darkness(const sf_ScanEdges *e, const sf_Raster *raster, double ray, double depth)
{
    double turns = ray / (double)e->rays;
    double at = (turns - floor(turns)) * (double)e->rays;
    size_t k = (size_t)at % e->rays, next = (k + 1) % e->rays;
    double t = at - floor(at);
    double r = e->inner[k] * (1 - t) + e->inner[next] * t + depth;
    double angle = 2 * SF_PI * at / (double)e->rays;
    sf_Point place = { e->centre.x + r * cos(angle), e->centre.y + r * sin(angle) };
    double contrast = e->face[k] - 0.5 * (e->ground_inner[k] + e->ground_outer[k]);
    return contrast != 0 ? (e->face[k] - sf_raster_light(raster, place)) / contrast : 0;
}

// What is seen across the line at one depth.
typedef struct Cut {
    double depth, ray;  // where it is darkest
    double width, peak; // summed darkness as a width, m; darkness at its darkest
} Cut;

// Samples across the expected ray, takes off the median of the outer samples, and sums what is dark about the darkest.
static Cut cut_across(const sf_ScanEdges *e, const sf_Raster *raster, double ray, double depth, double search)
{
    double values[ACROSS], sides[ACROSS];
    size_t k = (size_t)(ray - floor(ray / (double)e->rays) * (double)e->rays) % e->rays;
    double per_ray = 2 * SF_PI * (e->inner[k] + depth) / (double)e->rays;
    double span = 2.5 * HALF_WINDOW, step = 2 * span / (ACROSS - 1);
    size_t side_count = 0;
    for (int i = 0; i < ACROSS; i++) {
        double s = -span + i * step;
        values[i] = darkness(e, raster, ray + s / per_ray, depth);
        if (fabs(s) > 1.3 * HALF_WINDOW)
            sides[side_count++] = values[i];
    }
    double base = sf_small_median(sides, side_count);
    int darkest = ACROSS / 2;
    for (int i = 0; i < ACROSS; i++)
        if (fabs(-span + i * step) <= search && values[i] > values[darkest])
            darkest = i;
    double sum = 0, moment = 0;
    int half = (int)(HALF_WINDOW / step);
    for (int i = darkest - half; i <= darkest + half; i++)
        if (i >= 0 && i < ACROSS) {
            double v = fmax(values[i] - base, 0) > 0.05 ? values[i] - base : 0;
            sum += v;
            moment += v * (-span + i * step);
        }
    double place = sum > 0 ? moment / sum : -span + darkest * step;
    return (Cut){ depth, ray + place / per_ray, sum * step, values[darkest] - base };
}

// Rays whose near-edge band is darkest, darkest first.
static size_t find_candidates(const sf_ScanEdges *e, const sf_Raster *raster, double start, double *dark, double *base,
                              double *scratch, size_t found[CANDIDATES])
{
    for (size_t k = 0; k < e->rays; k++) {
        double rows[BAND_ROWS];
        for (int i = 0; i < BAND_ROWS; i++)
            rows[i] = darkness(e, raster, (double)k, start + BAND_DEPTH * i / (BAND_ROWS - 1));
        dark[k] = sf_small_median(rows, BAND_ROWS);
    }
    double spacing = 2 * SF_PI * sf_stats_mean(e->inner, e->rays) / (double)e->rays;
    size_t apart = 1 + (size_t)(2 * HALF_WINDOW / spacing);
    memcpy(base, dark, e->rays * sizeof *dark);
    sf_periodic_median(base, e->rays, 1 + 2 * (size_t)(4 * HALF_WINDOW / spacing), scratch);
    size_t count = 0;
    while (count < CANDIDATES) {
        size_t best = e->rays;
        double peak = LEAST_PEAK;
        for (size_t k = 0; k < e->rays; k++)
            if (dark[k] - base[k] > peak) {
                peak = dark[k] - base[k];
                best = k;
            }
        if (best == e->rays)
            break;
        found[count++] = best;
        for (size_t i = 0; i <= 2 * apart; i++)
            dark[(best + e->rays + i - apart) % e->rays] = -1;
    }
    return count;
}

// The width foretold at `depth` from a straight line through the cuts of the last REFERENCE_LENGTH.
static double foretold_width(const Cut *cuts, size_t count, double depth)
{
    double n = 0, sd = 0, sdd = 0, sw = 0, sdw = 0;
    for (size_t i = count; i-- > 0 && cuts[i].depth > depth - REFERENCE_LENGTH;) {
        double d = cuts[i].depth - depth;
        n += 1;
        sd += d;
        sdd += d * d;
        sw += cuts[i].width;
        sdw += d * cuts[i].width;
    }
    double det = n * sdd - sd * sd;
    if (n < 4 || !(det > 0))
        return n > 0 ? sw / n : 0;
    double value = (sw * sdd - sd * sdw) / det;
    return fmax(fmin(value, 1.2 * sw / n), 0);
}

typedef struct Trace {
    double start_ray, end_ray, end_depth;
    double width;  // mean
    double weight; // darkness in all, m^2; more in a groove, where a line is expected
    bool through;
} Trace;

// Whether the wall at a ray is thinner than 15 degrees to either side.
static bool in_groove(const sf_ScanEdges *e, size_t ray)
{
    size_t aside = e->rays / 24, before = (ray + e->rays - aside) % e->rays, after = (ray + aside) % e->rays;
    double here = e->outer[ray] - e->inner[ray];
    double there = 0.5 * (e->outer[before] - e->inner[before] + e->outer[after] - e->inner[after]);
    return there - here > GROOVE;
}

// Follows one candidate outward until its width falls to half of what its course foretells.
static bool follow(const sf_ScanEdges *e, const sf_Raster *raster, size_t ray, double start, Cut *cuts, Trace *trace)
{
    double pitch = sf_raster_pitch(raster), step = fmax(0.5 * pitch, 0.02 * SF_MM);
    double wall = e->outer[ray] - e->inner[ray];
    double sum = 0, at = (double)ray;
    size_t count = 0, settled = 0;
    double last = 0, before = 0;
    while (count < MAX_STEPS) {
        double depth = start + (double)count * step;
        // Beyond this the outer edge's own blur takes over.
        if (depth > wall - fmax(THROUGH_LEFT, THROUGH_LEFT_PIXELS * pitch)) {
            trace->through = true;
            last = wall;
            break;
        }
        Cut cut = cut_across(e, raster, at, depth, count == 0 ? 0.5 * HALF_WINDOW : DRIFT * step + 0.6 * pitch);
        double foretold = settled > 4 ? foretold_width(cuts, settled, depth) : cut.width;
        double floor_width = fmax(0.5 * foretold, 0.5 * LEAST_WIDTH);
        if (cut.width < floor_width || cut.peak < 0.5 * LEAST_PEAK) {
            // Between the last good cut and this one the width passes the half level.
            double t = before > cut.width ? (before - floor_width) / (before - cut.width) : 0;
            last = depth - step + step * fmin(fmax(t, 0), 1);
            break;
        }
        // The tip's own blur must not bend the course: cuts count for it once they lie behind.
        cuts[count] = cut;
        double behind = 1.5 * e->blur_inner + step;
        while (settled < count && cuts[settled].depth < depth - behind)
            settled++;
        at = 0.7 * at + 0.3 * cut.ray;
        sum += cut.width;
        before = cut.width;
        count++;
    }
    double least = in_groove(e, ray) ? fmax(LEAST_LENGTH_IN_GROOVE, LEAST_LENGTH_IN_GROOVE_PIXELS * pitch)
                                     : fmax(LEAST_LENGTH, LEAST_LENGTH_PIXELS * pitch);
    if (count < 3 || last < least || sum / (double)count < LEAST_WIDTH)
        return false;
    trace->start_ray = cuts[0].ray;
    trace->end_ray = cuts[count - 1].ray;
    trace->end_depth = last;
    trace->width = sum / (double)count;
    return true;
}

static sf_Point place_at(const sf_ScanEdges *e, double ray, double depth, bool from_outer)
{
    double turns = ray / (double)e->rays, at = (turns - floor(turns)) * (double)e->rays;
    size_t k = (size_t)at % e->rays, next = (k + 1) % e->rays;
    double t = at - floor(at);
    const double *edge = from_outer ? e->outer : e->inner;
    double r = edge[k] * (1 - t) + edge[next] * t + depth, angle = 2 * SF_PI * at / (double)e->rays;
    return (sf_Point){ e->centre.x + r * cos(angle), e->centre.y + r * sin(angle) };
}

sf_Status sf_seam_line_find(sf_UnjoinedLine *line, double *end_sd, const sf_ScanEdges *e, const sf_Raster *raster,
                            sf_Error *err)
{
    double pitch = sf_raster_pitch(raster), start = fmax(BAND_START, BAND_START_PIXELS * pitch);
    *line = (sf_UnjoinedLine){ 0 };
    *end_sd = hypot(TIP_SD, TIP_SD_PIXELS * pitch);
    double *work = sf_alloc(3 * e->rays, sizeof *work);
    Cut *cuts = sf_alloc(MAX_STEPS, sizeof *cuts);
    sf_Status status = SF_OK;
    if (!work || !cuts) {
        status = SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory while looking for the unjoined line");
        goto done;
    }
    size_t found[CANDIDATES];
    size_t count = find_candidates(e, raster, start, work, work + e->rays, work + 2 * e->rays, found);
    Trace best = { 0 };
    for (size_t i = 0; i < count; i++) {
        Trace trace = { 0 };
        if (!follow(e, raster, found[i], start, cuts, &trace))
            continue;
        trace.weight = trace.end_depth * trace.width * (in_groove(e, found[i]) ? GROOVE_WEIGHT : 1);
        if (trace.weight > best.weight)
            best = trace;
    }
    if (best.end_depth > 0) {
        line->present = true;
        line->through = best.through;
        line->start = place_at(e, best.start_ray, 0, false);
        line->end =
            best.through ? place_at(e, best.end_ray, 0, true) : place_at(e, best.end_ray, best.end_depth, false);
    }
done:
    sf_free(work);
    sf_free(cuts);
    return status;
}
