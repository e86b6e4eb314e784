// SPDX-License-Identifier: GPL-3.0-or-later
#include "section/wall.h"

#include "base/alloc.h"
#include "base/units.h"
#include "num/stats.h"
#include "section/seam_dip.h"

#include <string.h>

static const double STATION = 2 * SF_PI / SF_WALL_STATIONS;
static const double SEAM_REACH =
    12.25 * SF_DEG; // the seam's own part: 12 degrees either side, and half a station so
                    // that the station at 12 degrees stays in whatever the last digit of the direction
static const double BESIDE_NEAR = 15 * SF_DEG; // the wall beside it
static const double BESIDE_FAR = 40 * SF_DEG;
static const double GROOVE_LEAST = 0.15e-3;         // m: a groove counts from here (judgement)
static const double GROOVE_NOISE = 5;               // times the noise of a wall reading, where that is more
static const double SEARCH_SPACING = 10.5 * SF_DEG; // readings farther apart cannot show a groove
static const double THROUGH_LIGAMENT = 0.3e-3;      // m: a thinner bridge counts as none (judgement)

// ---- edges sorted by their direction from the origin ---------------------------------------------------------------

typedef struct Rose {
    const sf_Polygon *polygon;
    sf_Point origin;
    size_t *first; // SF_WALL_STATIONS + 1 offsets into `edges`; bucket k holds what crosses [k, k + 1) half degrees
    size_t *edges;
    double longest; // edge
} Rose;

static void rose_free(Rose *rose)
{
    sf_free(rose->first);
    sf_free(rose->edges);
    *rose = (Rose){ 0 };
}

static double station_of(sf_Point d)
{
    double k = atan2(d.y, d.x) / STATION;
    return k < 0 ? k + SF_WALL_STATIONS : k;
}

// A corner this near a station's ray (in stations) may lie on either side of it by rounding: both buckets get its
// edges.
static const double SLACK = 1e-7;

// First bucket and number of buckets that the edge between two directions (in stations) runs through.
static size_t buckets_of(double from, double to, size_t *first)
{
    double turn = to - from;
    if (turn > SF_WALL_STATIONS / 2.0)
        turn -= SF_WALL_STATIONS;
    if (turn < -SF_WALL_STATIONS / 2.0)
        turn += SF_WALL_STATIONS;
    double low = (turn >= 0 ? from : from + turn) - SLACK, high = low + fabs(turn) + 2 * SLACK;
    long a = (long)floor(low), b = (long)floor(high);
    *first = (size_t)((a % SF_WALL_STATIONS + SF_WALL_STATIONS) % SF_WALL_STATIONS);
    return (size_t)(b - a + 1);
}

static sf_Status rose_make(Rose *rose, const sf_Polygon *polygon, sf_Point origin, sf_Error *err)
{
    *rose = (Rose){ polygon, origin, sf_alloc(SF_WALL_STATIONS + 1, sizeof(size_t)), NULL, 0 };
    double *places = sf_alloc(polygon->count + 1, sizeof *places);
    size_t cursor[SF_WALL_STATIONS];
    if (!rose->first || !places)
        goto memory;
    for (size_t i = 0; i < polygon->count; i++)
        places[i] = station_of(sf_point_sub(polygon->points[i], origin));
    places[polygon->count] = places[0];
    for (size_t i = 0; i < polygon->count; i++)
        rose->longest = fmax(
            rose->longest, sf_point_distance(polygon->points[i], polygon->points[i + 1 < polygon->count ? i + 1 : 0]));
    for (int pass = 0; pass < 2; pass++) {
        for (size_t i = 0; i < polygon->count; i++) {
            size_t k, many = buckets_of(places[i], places[i + 1], &k);
            for (size_t j = 0; j < many; j++, k = k + 1 < SF_WALL_STATIONS ? k + 1 : 0)
                if (pass == 0)
                    rose->first[k + 1]++;
                else
                    rose->edges[cursor[k]++] = i;
        }
        if (pass == 1)
            break;
        for (size_t k = 0; k < SF_WALL_STATIONS; k++) {
            rose->first[k + 1] += rose->first[k];
            cursor[k] = rose->first[k];
        }
        rose->edges = sf_alloc(rose->first[SF_WALL_STATIONS], sizeof *rose->edges);
        if (!rose->edges)
            goto memory;
    }
    sf_free(places);
    return SF_OK;
memory:
    sf_free(places);
    return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory while mapping the wall");
}

// Where the ray of station k meets the polygon farthest out; NaN distance when it does not.
static double rose_hit(const Rose *rose, size_t k, sf_Point *place)
{
    double angle = STATION * (double)k, last = NAN;
    sf_Point ray = { cos(angle), sin(angle) };
    for (size_t i = rose->first[k]; i < rose->first[k + 1]; i++) {
        size_t e = rose->edges[i], f = e + 1 < rose->polygon->count ? e + 1 : 0;
        sf_Point a = sf_point_sub(rose->polygon->points[e], rose->origin);
        sf_Point b = sf_point_sub(rose->polygon->points[f], rose->origin);
        double ca = sf_point_cross(ray, a), cb = sf_point_cross(ray, b);
        if ((ca > 0) == (cb > 0))
            continue;
        double t = ca / (ca - cb), distance = sf_point_dot(ray, a) * (1 - t) + sf_point_dot(ray, b) * t;
        if (distance > 0 && !(distance <= last))
            last = distance;
    }
    *place = sf_point_add(rose->origin, sf_point_scale(ray, last));
    return last;
}

static double square(double x)
{
    return x * x;
}

// An edge whose first corner is farther than the best plus the longest edge cannot be nearer: no division for it.
static void nearest_in_bucket(const Rose *rose, size_t k, sf_Point from, double *best2, sf_Point *place)
{
    double worth2 = square(sqrt(*best2) + rose->longest);
    for (size_t i = rose->first[k]; i < rose->first[k + 1]; i++) {
        size_t e = rose->edges[i], f = e + 1 < rose->polygon->count ? e + 1 : 0;
        sf_Point a = rose->polygon->points[e], to = sf_point_sub(from, a);
        if (sf_point_dot(to, to) > worth2)
            continue;
        sf_Point along = sf_point_sub(rose->polygon->points[f], a);
        double length2 = sf_point_dot(along, along), t = length2 > 0 ? sf_point_dot(to, along) / length2 : 0;
        t = t < 0 ? 0 : t > 1 ? 1 : t;
        double dx = to.x - t * along.x, dy = to.y - t * along.y, d2 = dx * dx + dy * dy;
        if (d2 < *best2) {
            *best2 = d2;
            worth2 = square(sqrt(d2) + rose->longest);
            *place = (sf_Point){ from.x - dx, from.y - dy };
        }
    }
}

// The polygon's nearest place to `from`, which lies in the direction of station k. What is nearer than the best so far
// lies within asin(best / distance from the origin) of that direction, so only those buckets are looked through.
static double rose_nearest(const Rose *rose, size_t k, sf_Point from, sf_Point *place)
{
    double reach = sf_point_distance(from, rose->origin), best2 = INFINITY;
    nearest_in_bucket(rose, k, from, &best2, place);
    for (size_t j = 1; j <= SF_WALL_STATIONS / 2; j++) {
        double ratio = sqrt(best2) / reach;
        if (ratio < 1 && ((double)j - 1) * STATION > asin(ratio))
            break;
        nearest_in_bucket(rose, (k + j) % SF_WALL_STATIONS, from, &best2, place);
        nearest_in_bucket(rose, (k + SF_WALL_STATIONS - j) % SF_WALL_STATIONS, from, &best2, place);
    }
    return sqrt(best2);
}

static sf_Status map_stations(sf_WallMap *map, const sf_Outline *outline, sf_Error *err)
{
    Rose inner = { 0 }, outer = { 0 };
    sf_Status status = SF_OK;
    map->origin = sf_polygon_centroid(&outline->inner);
    if (!sf_polygon_contains(&outline->inner, map->origin))
        return SF_FAIL(err, SF_E_GEOMETRY, "inner",
                       "the middle of the bore lies outside the bore: the inner outline is no bore of a ring");
    SF_TRY_DONE(rose_make(&inner, &outline->inner, map->origin, err));
    SF_TRY_DONE(rose_make(&outer, &outline->outer, map->origin, err));
    for (size_t k = 0; k < SF_WALL_STATIONS; k++) {
        if (!isfinite(rose_hit(&inner, k, &map->inner[k]))) {
            status = SF_FAIL(err, SF_E_GEOMETRY, "inner", "the inner outline has no point at %.1f degrees",
                             (double)k * 360 / SF_WALL_STATIONS);
            goto done;
        }
        map->wall[k] = rose_nearest(&outer, k, map->inner[k], &map->outer[k]);
    }
done:
    rose_free(&inner);
    rose_free(&outer);
    return status;
}

// ---- figures -------------------------------------------------------------------------------------------------------

static double off_by(size_t station, double angle)
{
    return fabs(remainder(STATION * (double)station - angle, 2 * SF_PI));
}

static void extremes(sf_WallMap *map)
{
    double sorted[SF_WALL_STATIONS];
    memcpy(sorted, map->wall, sizeof sorted);
    map->median = sf_stats_median(sorted, SF_WALL_STATIONS);
    for (size_t k = 0; k < SF_WALL_STATIONS; k++) {
        if (map->wall[k] < map->wall[map->min_station])
            map->min_station = k;
        if (map->wall[k] > map->wall[map->max_station])
            map->max_station = k;
    }
    map->min = map->wall[map->min_station];
    map->max = map->wall[map->max_station];
    map->off_seam_min = map->min;
    map->off_seam_station = map->min_station;
}

// Wall at and beside a seam direction.
static void look_at_seam(sf_WallMap *map)
{
    double beside[SF_WALL_STATIONS];
    size_t n = 0;
    map->wall_at_seam = INFINITY;
    for (size_t k = 0; k < SF_WALL_STATIONS; k++) {
        double off = off_by(k, map->seam_angle);
        if (off <= SEAM_REACH && map->wall[k] < map->wall_at_seam) {
            map->wall_at_seam = map->wall[k];
            map->at_seam_station = k;
        }
        if (off >= BESIDE_NEAR && off <= BESIDE_FAR)
            beside[n++] = map->wall[k];
    }
    map->beside_seam = sf_stats_median(beside, n);
}

static void leave_seam_out(sf_WallMap *map)
{
    map->off_seam_min = INFINITY;
    for (size_t k = 0; k < SF_WALL_STATIONS; k++)
        if (off_by(k, map->seam_angle) > SEAM_REACH && map->wall[k] < map->off_seam_min) {
            map->off_seam_min = map->wall[k];
            map->off_seam_station = k;
        }
}

static void measure_line(sf_WallMap *map, const sf_Outline *outline)
{
    map->line_searched = outline->line_searched || outline->line.present;
    map->unjoined_depth = map->unjoined_share = map->line_searched ? 0 : NAN;
    map->ligament = NAN;
    if (!outline->line.present)
        return;
    const sf_UnjoinedLine *line = &outline->line;
    const sf_EdgeDoubt *d = &outline->doubt;
    double wall = sf_polygon_distance(&outline->outer, line->start, NULL, NULL);
    double doubt = sf_stats_normal_factor(0.95) *
                   sqrt(d->line_end * d->line_end + d->bias_outer * d->bias_outer + d->random * d->random);
    map->unjoined_depth = sf_point_distance(line->start, line->end);
    map->ligament = line->through ? 0 : sf_polygon_distance(&outline->outer, line->end, NULL, NULL);
    map->unjoined_through = line->through || map->ligament < THROUGH_LIGAMENT || map->ligament < doubt;
    map->unjoined_share = map->unjoined_through || wall <= 0 ? 1 : fmin(1, map->unjoined_depth / wall);
}

// Decides where the seam is. A line is surer than a dip that stands elsewhere; a dip beside the line gives the
// direction more finely than the line's own first point.
static void settle_seam(sf_WallMap *map, const sf_Outline *outline, const sf_SeamDip *dip, bool searched, double given)
{
    double line_angle = NAN;
    if (outline->line.present) {
        sf_Point d = sf_point_sub(outline->line.start, map->origin);
        line_angle = station_of(d) * STATION;
    }
    bool groove = searched && dip->counts;
    bool apart = groove && fabs(remainder(dip->angle - line_angle, 2 * SF_PI)) > SEAM_REACH;
    if (groove && !apart) {
        map->seam_origin = SF_SEAM_GROOVE;
        map->seam_angle = dip->angle;
        map->groove_width = dip->width;
    } else if (outline->line.present) {
        map->seam_origin = SF_SEAM_LINE;
        map->seam_angle = line_angle;
    } else if (isfinite(given)) {
        map->seam_origin = searched ? SF_SEAM_GIVEN : SF_SEAM_GIVEN_UNSEARCHED;
        map->seam_angle = fmod(fmod(given, 2 * SF_PI) + 2 * SF_PI, 2 * SF_PI);
    } else {
        map->seam_origin = searched ? SF_SEAM_NONE_FOUND : SF_SEAM_NOT_SEARCHED;
        map->seam_angle = NAN;
    }
}

sf_Status sf_wall_map(sf_WallMap *map, const sf_Outline *outline, double given_seam, sf_Error *err)
{
    *map = (sf_WallMap){ 0 };
    SF_TRY(map_stations(map, outline, err));
    extremes(map);
    measure_line(map, outline);
    double bore = sf_polygon_perimeter(&outline->inner) / (2 * SF_PI);
    bool searched = outline->doubt.spacing <= SEARCH_SPACING * bore;
    map->groove_threshold = fmax(GROOVE_LEAST, GROOVE_NOISE * sqrt(2) * outline->doubt.random);
    sf_SeamDip dip;
    SF_TRY(sf_seam_dip_find(&dip, map->wall, map->groove_threshold, err));
    map->eccentricity = dip.eccentricity;
    map->thick_angle = dip.thick_angle;
    settle_seam(map, outline, &dip, searched, given_seam);
    map->groove_depth = map->groove_share = searched ? 0 : NAN;
    map->wall_at_seam = map->beside_seam = NAN;
    if (isnan(map->seam_angle))
        return SF_OK;
    look_at_seam(map);
    if (map->seam_origin == SF_SEAM_GROOVE || map->seam_origin == SF_SEAM_LINE)
        leave_seam_out(map);
    if (searched && (map->seam_origin == SF_SEAM_GROOVE || map->seam_origin == SF_SEAM_LINE)) {
        map->groove_depth = fmax(0, map->beside_seam - map->wall_at_seam);
        map->groove_share = map->groove_depth / map->beside_seam;
    }
    return SF_OK;
}

const char *sf_seam_origin_text(sf_SeamOrigin origin)
{
    switch (origin) {
    case SF_SEAM_GROOVE: return "the seam's direction is where the groove lies";
    case SF_SEAM_LINE: return "the seam's direction is where the unjoined line starts";
    case SF_SEAM_GIVEN:
        return "no groove and no unjoined line were found; the seam's direction is the one that was given";
    case SF_SEAM_NONE_FOUND: return "no groove and no unjoined line were found, so the seam's direction is not known";
    case SF_SEAM_NOT_SEARCHED:
        return "the readings lie too far apart to show a groove, so the seam's direction is not known";
    case SF_SEAM_GIVEN_UNSEARCHED:
        return "the readings lie too far apart to show a groove; the seam's direction is the one that was given";
    }
    return "";
}
