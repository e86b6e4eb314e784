// SPDX-License-Identifier: GPL-3.0-or-later
#include "image/hollow.h"

#include "base/alloc.h"
#include "base/units.h"

#include <math.h>
#include <string.h>

static const double MARGIN = 0.03 * SF_MM, MARGIN_PIXELS = 1.5;         // kept clear of both edges
static const double LINE_MARGIN = 0.30 * SF_MM, LINE_MARGIN_PIXELS = 5; // and of the line
static const double DARK = 0.30;                                        // darkness from which a cell belongs to a void
static const double LEAST_CORE = 0.35;                                  // a void is at least this dark somewhere
static const double SHRINK = 0.94;                                      // to 0.5 in MOST_SHRINKS steps
enum { MOST_SHRINKS = 12, MOST_SPAN = 4096, MAX_CELLS = 4 << 20 };

// The wall unrolled: `across` cells from edge to edge on each ray of a coarser fan.
typedef struct Unrolled {
    const sf_ScanEdges *edges;
    const sf_Raster *raster;
    size_t rays, across;
    double cell;  // depth of a cell, m
    float *dark;  // rays x across; below 0 outside the searched wall
    int32_t *tag; // component number, 0 = none
    size_t *queue;
} Unrolled;

typedef struct Patch {
    double area, x, y; // of full darkness, m^2; centre of darkness
    float darkest;
    int32_t number;
    size_t dark_ray; // ray of the darkest cell
} Patch;

static size_t edge_ray(const Unrolled *u, size_t ray)
{
    return ray * u->edges->rays / u->rays;
}

static sf_Point cell_place(const Unrolled *u, size_t ray, size_t i)
{
    size_t k = edge_ray(u, ray);
    return sf_edges_place(u->edges, k, u->edges->inner[k] + ((double)i + 0.5) * u->cell);
}

static double darkness_at(const sf_ScanEdges *e, const sf_Raster *raster, size_t k, sf_Point place)
{
    double contrast = e->face[k] - 0.5 * (e->ground_inner[k] + e->ground_outer[k]);
    return contrast != 0 ? (e->face[k] - sf_raster_light(raster, place)) / contrast : 0;
}

static double distance_to_line(const sf_UnjoinedLine *line, sf_Point p)
{
    sf_Point along = sf_point_sub(line->end, line->start), from = sf_point_sub(p, line->start);
    double length2 = sf_point_dot(along, along);
    double t = length2 > 0 ? sf_point_dot(from, along) / length2 : 0;
    t = t < 0 ? 0 : t > 1 ? 1 : t;
    return sf_point_distance(p, sf_point_add(line->start, sf_point_scale(along, t)));
}

static sf_Status unroll(Unrolled *u, const sf_UnjoinedLine *line, sf_Error *err)
{
    const sf_ScanEdges *e = u->edges;
    double pitch = sf_raster_pitch(u->raster), widest = 0, largest = 0;
    for (size_t k = 0; k < e->rays; k++) {
        widest = fmax(widest, e->outer[k] - e->inner[k]);
        largest = fmax(largest, e->outer[k]);
    }
    u->cell = fmax(1.5 * pitch, 0.05 * SF_MM);
    u->across = (size_t)(widest / u->cell) + 1;
    u->rays = (size_t)(2 * SF_PI * largest / u->cell) + 8;
    if (u->rays * u->across > MAX_CELLS)
        return SF_FAIL(err, SF_E_LIMIT, NULL, "the ring is too large to be searched for voids");
    u->dark = sf_alloc(u->rays * u->across, sizeof *u->dark);
    u->tag = sf_alloc(u->rays * u->across, sizeof *u->tag);
    u->queue = sf_alloc(u->rays * u->across, sizeof *u->queue);
    if (!u->dark || !u->tag || !u->queue)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory while looking for voids");
    double margin = fmax(MARGIN, MARGIN_PIXELS * pitch), beside = fmax(LINE_MARGIN, LINE_MARGIN_PIXELS * pitch);
    for (size_t r = 0; r < u->rays; r++) {
        size_t k = edge_ray(u, r);
        double wall = e->outer[k] - e->inner[k];
        for (size_t i = 0; i < u->across; i++) {
            double depth = ((double)i + 0.5) * u->cell;
            sf_Point place = cell_place(u, r, i);
            bool searched =
                depth > margin && depth < wall - margin && (!line->present || distance_to_line(line, place) > beside);
            u->dark[r * u->across + i] = searched ? (float)darkness_at(e, u->raster, k, place) : -1;
        }
    }
    return SF_OK;
}

// Floods one component from a seed cell and sums it up, its faint rim of three cells included.
static Patch flood(Unrolled *u, size_t seed, int32_t number)
{
    Patch patch = { .number = number };
    size_t head = 0, tail = 0;
    u->queue[tail++] = seed;
    u->tag[seed] = number;
    while (head < tail) {
        size_t at = u->queue[head++], ray = at / u->across, i = at % u->across;
        if (u->dark[at] > patch.darkest) {
            patch.darkest = u->dark[at];
            patch.dark_ray = ray;
        }
        for (int d = 0; d < 4; d++) {
            size_t r = d == 0 ? (ray + 1) % u->rays : d == 1 ? (ray + u->rays - 1) % u->rays : ray;
            if ((d == 2 && i + 1 >= u->across) || (d == 3 && i == 0))
                continue;
            size_t next = r * u->across + (d == 2 ? i + 1 : d == 3 ? i - 1 : i);
            if (u->tag[next] == 0 && u->dark[next] >= DARK) {
                u->tag[next] = number;
                u->queue[tail++] = next;
            }
        }
    }
    const int rim = 3;
    for (size_t q = 0, core = tail; q < core; q++) {
        size_t ray = u->queue[q] / u->across, i = u->queue[q] % u->across;
        for (int dr = -rim; dr <= rim; dr++)
            for (int di = -rim; di <= rim; di++) {
                size_t r = (ray + u->rays + (size_t)(dr + rim) - (size_t)rim) % u->rays;
                int64_t j = (int64_t)i + di;
                size_t at = r * u->across + (size_t)j;
                if (j < 0 || j >= (int64_t)u->across || u->tag[at] != 0)
                    continue;
                u->tag[at] = -number; // rim: counted once, not searched again
                u->queue[tail++] = at;
            }
    }
    for (size_t q = 0; q < tail; q++) {
        size_t at = u->queue[q], ray = at / u->across, i = at % u->across, k = edge_ray(u, ray);
        double dark = fmin(fmax(u->dark[at], 0), 1);
        if (u->tag[at] == -number && dark < 0.04) // saw marks are no part of it
            continue;
        double r = u->edges->inner[k] + ((double)i + 0.5) * u->cell;
        double area = dark * u->cell * r * 2 * SF_PI / (double)u->rays;
        sf_Point place = cell_place(u, ray, i);
        patch.area += area;
        patch.x += area * place.x;
        patch.y += area * place.y;
    }
    if (patch.area > 0) {
        patch.x /= patch.area;
        patch.y /= patch.area;
    }
    return patch;
}

// Depths at which one ray enters and leaves a patch, at half of the patch's own darkness; false when it misses it.
static bool ray_span(const Unrolled *u, const Patch *patch, size_t ray, double span[2])
{
    const float *dark = u->dark + ray * u->across;
    const int32_t *tag = u->tag + ray * u->across;
    float half = 0.5f * fminf(patch->darkest, 1);
    bool met = false;
    for (size_t i = 0; i < u->across; i++) {
        if ((tag[i] != patch->number && tag[i] != -patch->number) || dark[i] < half)
            continue;
        double before = i > 0 && dark[i - 1] >= 0 ? (dark[i] - half) / fmaxf(dark[i] - dark[i - 1], 1e-6f) : 0.5;
        double after =
            i + 1 < u->across && dark[i + 1] >= 0 ? (dark[i] - half) / fmaxf(dark[i] - dark[i + 1], 1e-6f) : 0.5;
        if (!met)
            span[0] = ((double)i + 0.5 - fmin(fmax(before, 0), 1)) * u->cell;
        span[1] = ((double)i + 0.5 + fmin(fmax(after, 0), 1)) * u->cell;
        met = true;
    }
    return met;
}

static sf_Point place_between(const Unrolled *u, double ray, double depth)
{
    double turn = ray / (double)u->rays;
    size_t k = (size_t)lround((turn - floor(turn)) * (double)u->edges->rays) % u->edges->rays;
    double angle = 2 * SF_PI * turn, r = u->edges->inner[k] + depth;
    return (sf_Point){ u->edges->centre.x + r * cos(angle), u->edges->centre.y + r * sin(angle) };
}

// The void's outline: what each ray cuts out of it, widened alike to the summed area, closed by a point at either end.
static sf_Status outline_patch(const Unrolled *u, const Patch *patch, sf_Polygon *polygon, sf_Error *err)
{
    double span[2], last[2];
    size_t first = patch->dark_ray, count = 0, n = u->rays;
    while (count < MOST_SPAN && ray_span(u, patch, (first + n - 1) % n, span)) {
        first = (first + n - 1) % n;
        count++;
    }
    count = 0;
    while (count < MOST_SPAN && count < n && ray_span(u, patch, (first + count) % n, span))
        count++;
    if (count < 2)
        return SF_FAIL(err, SF_E_GEOMETRY, NULL, "a void is too small to outline");
    double summed = 0;
    for (size_t i = 0; i < count; i++) {
        size_t k = edge_ray(u, (first + i) % n);
        ray_span(u, patch, (first + i) % n, span);
        summed += (span[1] - span[0]) * (u->edges->inner[k] + 0.5 * (span[0] + span[1])) * 2 * SF_PI / (double)n;
    }
    double widen = 0.5 * patch->area / summed;
    SF_TRY(sf_polygon_create(polygon, 2 * count + 2, err));
    for (size_t i = 0; i < count; i++) {
        size_t ray = (first + i) % n, k = edge_ray(u, ray);
        double wall = u->edges->outer[k] - u->edges->inner[k], least = 0.25 * u->cell;
        ray_span(u, patch, ray, span);
        double middle = 0.5 * (span[0] + span[1]), half = widen * (span[1] - span[0]);
        double low = fmax(middle - half, least), high = fmin(middle + half, wall - least);
        // Counter-clockwise: the outer side runs with the rays, the inner side back.
        polygon->points[i + 1] = place_between(u, (double)(first + i), high);
        polygon->points[2 * count + 1 - i] = place_between(u, (double)(first + i), low);
        if (i == 0)
            polygon->points[0] = place_between(u, (double)first - 0.5, middle);
        last[0] = middle;
    }
    last[1] = (double)(first + count) - 0.5;
    polygon->points[count + 1] = place_between(u, last[1], last[0]);
    return SF_OK;
}

// A void whose outline runs into an edge, as one close under it can, is drawn in towards its middle until it fits.
static sf_Status fit_into_wall(const sf_Outline *outline, sf_Polygon *polygon)
{
    for (int i = 0; i < MOST_SHRINKS; i++) {
        sf_Status status = sf_outline_check_void(outline, polygon, NULL);
        if (status != SF_E_GEOMETRY)
            return status;
        sf_Point middle = sf_polygon_centroid(polygon);
        for (size_t k = 0; k < polygon->count; k++)
            polygon->points[k] = sf_point_add(middle, sf_point_scale(sf_point_sub(polygon->points[k], middle), SHRINK));
    }
    return SF_E_GEOMETRY;
}

sf_Status sf_hollows_find(sf_Outline *outline, size_t *left_out, const sf_ScanEdges *edges, const sf_Raster *raster,
                          const sf_UnjoinedLine *line, sf_Error *err)
{
    Unrolled u = { .edges = edges, .raster = raster };
    sf_Status status;
    *left_out = 0;
    SF_TRY_DONE(unroll(&u, line, err));
    int32_t number = 0;
    for (size_t at = 0; at < u.rays * u.across; at++) {
        if (u.tag[at] != 0 || u.dark[at] < DARK)
            continue;
        Patch patch = flood(&u, at, ++number);
        double across = sqrt(4 * patch.area / SF_PI);
        if (across < SF_VOID_LEAST_ACROSS || patch.darkest < LEAST_CORE)
            continue;
        if (outline->void_count == SF_OUTLINE_MAX_VOIDS) {
            (*left_out)++;
            continue;
        }
        sf_Polygon *hollow = &outline->voids[outline->void_count];
        status = outline_patch(&u, &patch, hollow, err);
        if (status == SF_OK)
            status = fit_into_wall(outline, hollow);
        if (status == SF_OK) {
            outline->void_count++;
            continue;
        }
        sf_polygon_free(hollow);
        if (status == SF_E_MEMORY) {
            status = SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory while looking for voids");
            goto done;
        }
        (*left_out)++;
        status = SF_OK;
    }
done:
    sf_free(u.dark);
    sf_free(u.tag);
    sf_free(u.queue);
    return status;
}
