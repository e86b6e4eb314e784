// SPDX-License-Identifier: GPL-3.0-or-later
#include "image/hollow.h"

#include "base/alloc.h"
#include "base/units.h"

#include <math.h>
#include <string.h>

static const double MARGIN = 0.10 * SF_MM, MARGIN_PIXELS = 2.5; // kept clear of both edges and of the line
static const double DARK = 0.30;                                // darkness from which a cell belongs to a void
static const double LEAST_CORE = 0.35;                          // a void is at least this dark somewhere
enum { POLYGON_POINTS = 48, MAX_CELLS = 4 << 20 };

// The wall unrolled: `across` cells from edge to edge on each ray of a coarser fan.
typedef struct Unrolled {
    const sf_RingEdges *edges;
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
    double reach; // farthest cell from the centre
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

static double darkness_at(const sf_RingEdges *e, const sf_Raster *raster, size_t k, sf_Point place)
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
    const sf_RingEdges *e = u->edges;
    double pitch = sf_raster_pitch(u->raster), widest = 0, largest = 0;
    for (size_t k = 0; k < e->rays; k++) {
        widest = fmax(widest, e->outer[k] - e->inner[k]);
        largest = fmax(largest, e->outer[k]);
    }
    u->cell = fmax(pitch, 0.04 * SF_MM);
    u->across = (size_t)(widest / u->cell) + 1;
    u->rays = (size_t)(2 * SF_PI * largest / u->cell) + 8;
    if (u->rays * u->across > MAX_CELLS)
        return SF_FAIL(err, SF_E_LIMIT, NULL, "the ring is too large to be searched for voids");
    u->dark = sf_alloc(u->rays * u->across, sizeof *u->dark);
    u->tag = sf_alloc(u->rays * u->across, sizeof *u->tag);
    u->queue = sf_alloc(u->rays * u->across, sizeof *u->queue);
    if (!u->dark || !u->tag || !u->queue)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory while looking for voids");
    double margin = fmax(MARGIN, MARGIN_PIXELS * pitch);
    for (size_t r = 0; r < u->rays; r++) {
        size_t k = edge_ray(u, r);
        double wall = e->outer[k] - e->inner[k];
        for (size_t i = 0; i < u->across; i++) {
            double depth = ((double)i + 0.5) * u->cell;
            sf_Point place = cell_place(u, r, i);
            bool searched = depth > margin && depth < wall - margin &&
                            (!line->present || distance_to_line(line, place) > 3 * margin);
            u->dark[r * u->across + i] = searched ? (float)darkness_at(e, u->raster, k, place) : -1;
        }
    }
    return SF_OK;
}

// Floods one component from a seed cell and sums it up, its faint rim of three cells included.
static Patch flood(Unrolled *u, size_t seed, int32_t number)
{
    Patch patch = { 0 };
    size_t head = 0, tail = 0;
    u->queue[tail++] = seed;
    u->tag[seed] = number;
    while (head < tail) {
        size_t at = u->queue[head++], ray = at / u->across, i = at % u->across;
        patch.darkest = fmaxf(patch.darkest, u->dark[at]);
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
    for (size_t q = 0; q < tail; q++) {
        sf_Point place = cell_place(u, u->queue[q] / u->across, u->queue[q] % u->across);
        patch.reach = fmax(patch.reach, hypot(place.x - patch.x, place.y - patch.y));
    }
    return patch;
}

// The void's outline: half of its own darkness along rays from its centre, then scaled to the summed area.
static sf_Status outline_patch(const Unrolled *u, const Patch *patch, sf_Polygon *polygon, sf_Error *err)
{
    SF_TRY(sf_polygon_create(polygon, POLYGON_POINTS, err));
    const sf_RingEdges *e = u->edges;
    sf_Point centre = { patch->x, patch->y };
    double angle = atan2(centre.y - e->centre.y, centre.x - e->centre.x);
    size_t k = (size_t)((angle < 0 ? angle + 2 * SF_PI : angle) / (2 * SF_PI) * (double)e->rays) % e->rays;
    double step = 0.25 * sf_raster_pitch(u->raster), half = 0.5 * fmin(patch->darkest, 1);
    for (size_t i = 0; i < POLYGON_POINTS; i++) {
        double a = 2 * SF_PI * (double)i / POLYGON_POINTS, r = step;
        sf_Point way = { cos(a), sin(a) };
        while (r < patch->reach && darkness_at(e, u->raster, k, sf_point_add(centre, sf_point_scale(way, r))) > half)
            r += step;
        polygon->points[i] = sf_point_add(centre, sf_point_scale(way, r));
    }
    double scale = sqrt(patch->area / sf_polygon_area(polygon));
    for (size_t i = 0; i < POLYGON_POINTS; i++)
        polygon->points[i] = sf_point_add(centre, sf_point_scale(sf_point_sub(polygon->points[i], centre), scale));
    return SF_OK;
}

sf_Status sf_hollows_find(sf_Outline *outline, size_t *left_out, const sf_RingEdges *edges, const sf_Raster *raster,
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
        SF_TRY_DONE(outline_patch(&u, &patch, &outline->voids[outline->void_count], err));
        outline->void_count++;
    }
done:
    sf_free(u.dark);
    sf_free(u.tag);
    sf_free(u.queue);
    return status;
}
