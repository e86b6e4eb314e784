// SPDX-License-Identifier: GPL-3.0-or-later
#include "image/edge.h"

#include "base/alloc.h"
#include "base/units.h"
#include "image/halo.h"
#include "image/periodic.h"
#include "num/stats.h"

#include <string.h>

// Rays lie about this many pixels apart on the outer edge.
static const double RAY_SPACING_PIXELS = 1.5;
// First search: half width about the coarse edge. The coarse copy is good to about one of its pixels.
static const double FIRST_REACH = 0.9 * SF_MM;
static const double FIRST_DEPTH = 0.6; // of the wall, onto the face: the coarse copy may miss a sharp groove
// Levels are read between these distances from the edge, alike on both sides, so that a symmetric spread of light
// (optics, translucency) shifts both levels alike and leaves the half level where it is.
static const double LEVEL_NEAR_PIXELS = 3.5, LEVEL_FAR = 1.6 * SF_MM;
enum { LEVEL_STRIDE = 4 }; // rays from one reading of the levels to the next; divides the number of rays
static const double LEVEL_WINDOW_DEG = 10, FACE_WINDOW_DEG = 40; // medians, wider than most voids and than all
// Where the near face differs from its wide median by more than this share of the contrast, a void lies there.
static const double VOID_SHARE = 0.15;
// An edge place this far off a local parabola through its neighbours is dust or the line, not the edge.
static const double OUTLIER_LEAST = 0.012 * SF_MM, OUTLIER_SDS = 5;
static const double FIT_HALF_WIDTH = 0.30 * SF_MM, SMOOTH_HALF_WIDTH = 0.12 * SF_MM, CALM_HALF_WIDTH = 0.6 * SF_MM;
static const double WIDE_HALF_WIDTH = 1.0 * SF_MM, BUMP_LEAST = 0.006 * SF_MM;
static const double GROOVE_ZONE = 3.0 * SF_MM, DUST_WIDTH = 0.40 * SF_MM;
static const double GROOVE_LEAST = 0.035 * SF_MM;  // off the wide parabola: the edge's own shape, not dust
static const double JUMP_HALF_WIDTH = 0.8 * SF_MM; // median window that bridges the mouth of an unjoined line
static const double PROFILE_REACH = 1.4 * SF_MM;
enum { PROFILE_RAYS = 700, LEAST_PROFILES = 50 }; // enough for a mean whose noise does not count; fewer: no model
// Farther than this from the edge the light is that of face or ground, leaks included, to this share of the contrast.
static const double EDGE_WIDTH_BLURS = 4, FOREIGN = 0.5;
// The profile cannot tell light that leaks out of the plastic from a lopsided spread in the scanner, which would call
// for no correction: half of the correction is taken, the other half is doubt (judgement, no source;
// docs/theory/ring.md).
static const double LEAK_TRUST = 0.5;
static const double LINE_MOUTH = 0.35 * SF_MM, LINE_MOUTH_PIXELS = 3; // a line with its blur is no wider
static const double STEEPEST_FLANK = 2.5;                             // of a groove, rise over run; steeper is a jump
static const double DUST_MOST = 0.20 * SF_MM;                         // an edge deeper in the wall than this is no dust
static const double MOST_DOUBTFUL = 0.20;

double sf_edges_angle(const sf_ScanEdges *edges, size_t ray)
{
    return 2 * SF_PI * (double)ray / (double)edges->rays;
}

sf_Point sf_edges_place(const sf_ScanEdges *edges, size_t ray, double r)
{
    return sf_point_add(edges->centre, sf_point_scale(edges->ways[ray], r));
}

void sf_scan_edges_free(sf_ScanEdges *edges)
{
    sf_free(edges->block);
    sf_free(edges->flags);
    sf_free(edges->ways);
    *edges = (sf_ScanEdges){ 0 };
}

static sf_Status reserve(sf_ScanEdges *e, const sf_Raster *raster, const sf_RingPlace *place, sf_Error *err)
{
    double largest = 0;
    for (int k = 0; k < SF_PLACE_RAYS; k++)
        largest = fmax(largest, place->outer[k]);
    double wanted = 2 * SF_PI * largest / (RAY_SPACING_PIXELS * sf_raster_pitch(raster));
    e->rays = wanted < SF_EDGE_MIN_RAYS   ? SF_EDGE_MIN_RAYS
              : wanted > SF_EDGE_MAX_RAYS ? SF_EDGE_MAX_RAYS
                                          : (size_t)wanted;
    e->rays = (e->rays + LEVEL_STRIDE - 1) / LEVEL_STRIDE * LEVEL_STRIDE;
    e->centre = place->centre;
    e->light_ring = place->light_ring;
    e->block = sf_alloc(5 * e->rays, sizeof *e->block);
    e->flags = sf_alloc(5 * e->rays, sizeof *e->flags);
    e->ways = sf_alloc(e->rays, sizeof *e->ways);
    if (!e->block || !e->flags || !e->ways) {
        sf_scan_edges_free(e);
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory while measuring the ring");
    }
    e->inner = e->block;
    e->outer = e->block + e->rays;
    e->face = e->block + 2 * e->rays;
    e->ground_inner = e->block + 3 * e->rays;
    e->ground_outer = e->block + 4 * e->rays;
    e->doubtful_inner = e->flags;
    e->doubtful_outer = e->flags + e->rays;
    e->calm_inner = e->flags + 2 * e->rays;
    e->calm_outer = e->flags + 3 * e->rays;
    e->jumped = e->flags + 4 * e->rays;
    for (size_t k = 0; k < e->rays; k++) {
        double at = (double)k * SF_PLACE_RAYS / (double)e->rays, angle = sf_edges_angle(e, k);
        e->ways[k] = (sf_Point){ cos(angle), sin(angle) };
        int i = (int)at, j = (i + 1) % SF_PLACE_RAYS;
        e->inner[k] = place->inner[i] * (1 - at + i) + place->inner[j] * (at - i);
        e->outer[k] = place->outer[i] * (1 - at + i) + place->outer[j] * (at - i);
    }
    return SF_OK;
}

// One of the two edges: its distances, the sign of the way from the ground onto the face, and what belongs to it.
typedef struct Side {
    double *edge, *ground, *other_edge;
    bool *doubtful, *jumped, *calm;
    double inward; // +1: the face lies outward of this edge (inner edge), -1: inward (outer edge)
    double level;  // share of the way from ground to face at which the edge is crossed
    double *scatter, *blur, *leak;
} Side;

static Side side_of(sf_ScanEdges *e, bool inner)
{
    if (inner)
        return (Side){ .edge = e->inner,
                       .ground = e->ground_inner,
                       .other_edge = e->outer,
                       .doubtful = e->doubtful_inner,
                       .jumped = e->jumped,
                       .calm = e->calm_inner,
                       .inward = 1,
                       .level = 0.5,
                       .scatter = &e->scatter_inner,
                       .blur = &e->blur_inner,
                       .leak = &e->leak_inner };
    return (Side){ .edge = e->outer,
                   .ground = e->ground_outer,
                   .other_edge = e->inner,
                   .doubtful = e->doubtful_outer,
                   .jumped = e->jumped,
                   .calm = e->calm_outer,
                   .inward = -1,
                   .level = 0.5,
                   .scatter = &e->scatter_outer,
                   .blur = &e->blur_outer,
                   .leak = &e->leak_outer };
}

// Median light on a strip of one ray between two signed distances from the edge (positive: onto the face).
static double strip_light(const sf_ScanEdges *e, const sf_Raster *raster, const Side *side, size_t ray, double from,
                          double to)
{
    enum { SAMPLES = 9 };
    double values[SAMPLES];
    for (int i = 0; i < SAMPLES; i++) {
        double d = from + (to - from) * i / (SAMPLES - 1);
        values[i] = sf_raster_light(raster, sf_edges_place(e, ray, fmax(side->edge[ray] + side->inward * d, 0)));
    }
    return sf_small_median(values, SAMPLES);
}

// Spreads values read at every LEVEL_STRIDE-th ray over all rays: a running median over `window_deg`, then straight
// lines between.
static void spread_levels(double *x, size_t rays, double window_deg, double *scratch)
{
    size_t n = rays / LEVEL_STRIDE;
    double *read = scratch, *room = scratch + n;
    for (size_t i = 0; i < n; i++)
        read[i] = x[i * LEVEL_STRIDE];
    sf_periodic_median(read, n, 1 + (size_t)(window_deg * (double)n / 360), room);
    for (size_t k = 0; k < rays; k++) {
        double t = (double)(k % LEVEL_STRIDE) / LEVEL_STRIDE;
        x[k] = read[k / LEVEL_STRIDE] * (1 - t) + read[(k / LEVEL_STRIDE + 1) % n] * t;
    }
}

// Face and ground light beside every ray of one edge; `scratch` has room for two values a ray.
static void read_levels(const sf_ScanEdges *e, const sf_Raster *raster, const Side *side, double *face, double near,
                        double far, double *scratch)
{
    for (size_t k = 0; k < e->rays; k += LEVEL_STRIDE) {
        double wall = fabs(side->other_edge[k] - side->edge[k]);
        double reach = fmax(fmin(far, 0.45 * wall), near);
        double nearest = fmin(near, 0.8 * reach);
        face[k] = strip_light(e, raster, side, k, nearest, reach);
        side->ground[k] = strip_light(e, raster, side, k, -nearest, -reach);
    }
    double *wide = scratch + e->rays;
    memcpy(wide, face, e->rays * sizeof *wide);
    spread_levels(face, e->rays, LEVEL_WINDOW_DEG, scratch);
    spread_levels(wide, e->rays, FACE_WINDOW_DEG, scratch);
    spread_levels(side->ground, e->rays, LEVEL_WINDOW_DEG, scratch);
    for (size_t k = 0; k < e->rays; k++)
        if (fabs(face[k] - wide[k]) > VOID_SHARE * fabs(wide[k] - side->ground[k]))
            face[k] = wide[k];
}

// Where a ray crosses its level upward (towards the face), nearest to where it is expected; NaN when it does not from
// `reach` on the ground's side to `inside` on the face's. *slope becomes the light's rise per metre there.
static double cross_level(const sf_ScanEdges *e, const sf_Raster *raster, const Side *side, size_t ray, double face,
                          double ground, double reach, double inside, double *slope)
{
    double step = 0.5 * sf_raster_pitch(raster), place = NAN;
    double level = ground + side->level * (face - ground), sign = face > ground ? 1 : -1;
    double onto = sign * (sf_raster_light(raster, sf_edges_place(e, ray, side->edge[ray])) - level), off = onto;
    for (int i = 0; isnan(place) && (i * step < reach || i * step < inside); i++) {
        if (i * step < inside) { // from i steps onto the face to the next
            double d = side->edge[ray] + side->inward * (i + 1) * step;
            double next = sign * (sf_raster_light(raster, sf_edges_place(e, ray, d)) - level);
            if (onto < 0 && next >= 0) {
                place = (i - onto / (next - onto)) * step;
                *slope = (next - onto) / step;
            }
            onto = next;
        }
        if (i * step < reach) { // and as far on the ground
            double d = side->edge[ray] - side->inward * (i + 1) * step;
            double next = sign * (sf_raster_light(raster, sf_edges_place(e, ray, d)) - level);
            double here = (-i - off / (off - next)) * step;
            if (next < 0 && off >= 0 && !(fabs(place) <= fabs(here))) {
                place = here;
                *slope = (off - next) / step;
            }
            off = next;
        }
    }
    return side->edge[ray] + side->inward * place;
}

// Clears the flags within `half` rays of every ray whose edge lies deep in the wall: a sharp groove, not dust.
static void spare_grooves(const sf_ScanEdges *e, const Side *side, const double *off, size_t half)
{
    for (size_t k = 0; k < e->rays; k++) {
        if (isnan(off[k]) || side->inward * off[k] < DUST_MOST)
            continue;
        for (size_t i = 0; i <= 2 * half; i++)
            side->doubtful[(k + e->rays + i - half) % e->rays] = side->jumped[(k + e->rays + i - half) % e->rays];
    }
}

// Distances that stray from a local parabola are flagged, to be bridged; what is left gives the scatter.
static sf_Status drop_strays(const sf_ScanEdges *e, const Side *side, int rounds, double *work, sf_Error *err)
{
    double mean = sf_stats_mean(side->edge, e->rays);
    double spacing = 2 * SF_PI * mean / (double)e->rays;
    size_t half = (size_t)fmax(4, ceil(FIT_HALF_WIDTH / spacing));
    double *fit = work, *off = work + e->rays, *kept = work + 2 * e->rays;
    for (int round = 0; round < rounds; round++) {
        SF_TRY(sf_periodic_parabola(side->edge, side->doubtful, e->rays, half, true, fit, err));
        size_t count = 0;
        for (size_t k = 0; k < e->rays; k++) {
            off[k] = side->doubtful[k] ? NAN : side->edge[k] - fit[k];
            if (!side->doubtful[k])
                kept[count++] = off[k];
        }
        if (count == 0)
            return SF_OK;
        *side->scatter = sf_stats_mad_sd(kept, count);
        double limit = fmax(OUTLIER_LEAST, OUTLIER_SDS * *side->scatter);
        for (size_t k = 0; k < e->rays; k++)
            side->doubtful[k] = side->doubtful[k] || fabs(off[k]) > limit;
        spare_grooves(e, side, off, 2 * half);
    }
    return SF_OK;
}

// Walks into a run of strange rays from its end and clears them as long as the edge goes on without a jump: a groove's
// flank. `way` is +1 or -1 (as an offset modulo n).
static void walk_flank(const sf_ScanEdges *e, const Side *side, const double *found, size_t from, size_t way,
                       double most_step)
{
    size_t n = e->rays;
    for (size_t at = (from + way) % n; side->jumped[at] && at != from; at = (at + way) % n) {
        double before = found[(at + n - way) % n];
        if (isnan(found[at]) || isnan(before) || fabs(found[at] - before) > most_step)
            return;
        side->jumped[at] = false;
    }
}

// Marks the rays that are clear of grooves and of a line's mouth: the edge is smooth there over a longer way. A groove
// shows off a wide parabola over some width; a speck of dust is narrower. `off` holds each ray's distance from it.
static void find_calm(const sf_ScanEdges *e, const Side *side, const double *off, double spacing)
{
    size_t n = e->rays, zone = (size_t)ceil(GROOVE_ZONE / spacing), reach = (size_t)ceil(DUST_WIDTH / spacing);
    for (size_t k = 0; k < n; k++)
        side->calm[k] = true;
    for (size_t k = 0; k < n; k++) {
        size_t wide = 0;
        for (size_t i = 0; i <= 2 * reach; i++)
            wide += off[(k + n + i - reach) % n] > 0.5 * GROOVE_LEAST;
        bool groove = off[k] > GROOVE_LEAST && wide > reach;
        for (size_t i = 0; i <= 2 * zone && (groove || side->jumped[k]); i++)
            side->calm[(k + n + i - zone) % n] = false;
    }
}

// Where the edge is calm a wider parabola finds the low, broad bumps of dust too.
static sf_Status drop_low_bumps(const sf_ScanEdges *e, const Side *side, double *off, sf_Error *err)
{
    size_t n = e->rays;
    double spacing = 2 * SF_PI * sf_stats_mean(side->edge, n) / (double)n;
    double limit = fmax(BUMP_LEAST, OUTLIER_SDS * *side->scatter);
    size_t half = (size_t)fmax(6, ceil(WIDE_HALF_WIDTH / spacing));
    SF_TRY(sf_periodic_parabola(side->edge, side->doubtful, n, half, true, off, err));
    for (size_t k = 0; k < n; k++)
        off[k] = fabs(side->edge[k] - off[k]);
    find_calm(e, side, off, spacing);
    for (size_t k = 0; k < n; k++)
        side->doubtful[k] = side->doubtful[k] || (side->calm[k] && off[k] > limit);
    return SF_OK;
}

// Flags rays that meet no edge, or one that jumps away from its neighbours': the mouth of a line, or dust. `found`
// holds NaN where no edge was met; `median` and `scratch` are room for a value a ray.
static void flag_jumps(const sf_ScanEdges *e, const sf_Raster *raster, const Side *side, const double *found,
                       double *median, double *scratch)
{
    size_t n = e->rays;
    double spacing = 2 * SF_PI * sf_stats_mean(side->edge, n) / (double)n, pitch = sf_raster_pitch(raster);
    double margin = fmax(0.12 * SF_MM, 3 * pitch), most_step = STEEPEST_FLANK * spacing + 0.5 * pitch;
    for (size_t k = 0; k < n; k++)
        side->doubtful[k] = isnan(found[k]);
    memcpy(median, found, n * sizeof *median);
    sf_periodic_bridge(median, side->doubtful, n);
    sf_periodic_median(median, n, 1 + 2 * (size_t)ceil(JUMP_HALF_WIDTH / spacing), scratch);
    for (size_t k = 0; k < n; k++)
        side->jumped[k] = isnan(found[k]) || fabs(found[k] - median[k]) > margin;
    // A run as narrow as a line is one; a wider one is looked at from both its ends.
    size_t narrow = (size_t)(fmax(LINE_MOUTH, LINE_MOUTH_PIXELS * pitch) / spacing);
    for (size_t k = 0; k < n; k++) {
        size_t run = 0;
        while (!side->jumped[k] && run < n && side->jumped[(k + 1 + run) % n])
            run++;
        if (run > narrow) {
            walk_flank(e, side, found, k, 1, most_step);
            walk_flank(e, side, found, (k + 1 + run) % n, n - 1, most_step);
        }
    }
    // Beside a jump the spread of light rounds the corner.
    for (size_t k = 0; k < n; k++)
        side->doubtful[k] = side->jumped[k] || side->jumped[(k + 1) % n] || side->jumped[(k + n - 1) % n];
    memcpy(side->jumped, side->doubtful, n * sizeof *side->jumped);
}

// One pass over one edge: levels, crossings, and the bridging of rays that found none. Only the last pass looks for all
// strays: the first merely has to bring the edge within reach.
static sf_Status measure_side(sf_ScanEdges *e, const sf_Raster *raster, const Side *side, double reach, double deep,
                              bool last, double *work, sf_Error *err)
{
    double *found = work, *slopes = work + e->rays, *scratch = work + 2 * e->rays;
    double near = LEVEL_NEAR_PIXELS * sf_raster_pitch(raster);
    read_levels(e, raster, side, e->face, near, LEVEL_FAR, scratch);
    size_t steep = 0;
    for (size_t k = 0; k < e->rays; k++) {
        double slope = 0;
        double inside = fmax(reach, deep * fabs(side->other_edge[k] - side->edge[k]));
        found[k] = cross_level(e, raster, side, k, e->face[k], side->ground[k], reach, inside, &slope);
        if (!isnan(found[k]) && slope > 0)
            slopes[steep++] = fabs(e->face[k] - side->ground[k]) / slope / sqrt(2 * SF_PI);
    }
    if (steep > 0)
        *side->blur = sf_stats_median(slopes, steep);
    flag_jumps(e, raster, side, found, slopes, scratch);
    memcpy(side->edge, found, e->rays * sizeof *found);
    sf_periodic_bridge(side->edge, side->doubtful, e->rays);
    if (!last)
        return drop_strays(e, side, 1, work, err);
    SF_TRY(drop_strays(e, side, 2, work, err));
    return drop_low_bumps(e, side, work, err);
}

// The light across the edge on one ray, scaled to its own levels. False when something else lies across: a void in the
// wall, dust or a neighbour on the ground; few of these would pass for light that leaks all round.
static bool profile_of(const sf_ScanEdges *e, const sf_Raster *raster, const Side *side, size_t ray,
                       const sf_EdgeProfile *profile, double *row)
{
    double contrast = e->face[ray] - side->ground[ray], clear = *side->blur * EDGE_WIDTH_BLURS;
    if (side->doubtful[ray] || contrast == 0)
        return false;
    bool clean = true;
    for (size_t i = 0; i < profile->count; i++) {
        double d = ((double)i - (double)profile->middle) * profile->step;
        double light = sf_raster_light(raster, sf_edges_place(e, ray, side->edge[ray] + side->inward * d));
        row[i] = (light - side->ground[ray]) / contrast;
        clean = clean && (fabs(d) <= clear || fabs(row[i] - (d > 0)) < FOREIGN);
    }
    return clean;
}

// The mean profile across one edge gives the level that the edge is crossed at.
static sf_Status find_level(const sf_ScanEdges *e, const sf_Raster *raster, Side *side, sf_Error *err)
{
    double step = 0.5 * sf_raster_pitch(raster), wall = INFINITY;
    for (size_t k = 0; k < e->rays; k++)
        wall = fmin(wall, fabs(side->other_edge[k] - side->edge[k]));
    double reach = fmin(PROFILE_REACH, 0.45 * wall);
    size_t middle = (size_t)(reach / step), count = 2 * middle + 1;
    double *room = sf_alloc(2 * count, sizeof *room), *row = room + count;
    sf_EdgeProfile profile = { room, count, middle, step };
    if (!room)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory while measuring the ring");
    size_t used = 0, stride = 1 + e->rays / PROFILE_RAYS;
    for (size_t k = 0; k < e->rays; k += stride) {
        if (!profile_of(e, raster, side, k, &profile, row))
            continue;
        used++;
        for (size_t i = 0; i < count; i++)
            profile.light[i] += row[i];
    }
    for (size_t i = 0; i < count && used > 0; i++)
        profile.light[i] /= (double)used;
    sf_EdgeModel model = { .level = 0.5 };
    sf_Status status = used >= LEAST_PROFILES ? sf_halo_fit(&profile, *side->blur, &model, err) : SF_OK;
    side->level = 0.5 + LEAK_TRUST * (model.level - 0.5);
    // Through the steepest slope of a Gaussian edge a share of the contrast becomes a distance.
    *side->leak = fabs(side->level - 0.5) * sqrt(2 * SF_PI) * *side->blur;
    sf_free(room);
    return status;
}

// Slope of the smoothed edge beside a gap, by a straight line through the good rays next to it; per ray.
static double slope_beside(const double *edge, const bool *doubtful, size_t n, size_t at, size_t way, size_t reach)
{
    double count = 0, su = 0, suu = 0, sv = 0, suv = 0;
    for (size_t i = 0; i < reach; i++) {
        size_t k = (at + i * way) % n;
        if (doubtful[k])
            break;
        double u = (double)i, v = edge[k] - edge[at];
        count += 1;
        su += u;
        suu += u * u;
        sv += v;
        suv += u * v;
    }
    double det = count * suu - su * su;
    return det > 0 ? (count * suv - su * sv) / det : 0;
}

// Bridges each run of doubtful rays by the cubic that goes on with the edge's place and slope either side.
static void bridge_gaps(const double *edge, const bool *doubtful, size_t n, size_t reach, double *out)
{
    memcpy(out, edge, n * sizeof *out);
    for (size_t k = 0; k < n; k++) {
        if (doubtful[k] || !doubtful[(k + 1) % n])
            continue;
        size_t gap = 1;
        while (doubtful[(k + 1 + gap) % n] && gap < n)
            gap++;
        size_t end = (k + 1 + gap) % n;
        double h = (double)(gap + 1);
        double m0 = slope_beside(edge, doubtful, n, k, n - 1, reach) * -h;
        double m1 = slope_beside(edge, doubtful, n, end, 1, reach) * h;
        for (size_t g = 1; g <= gap; g++) {
            double t = (double)g / h, t2 = t * t, t3 = t2 * t;
            out[(k + g) % n] = (2 * t3 - 3 * t2 + 1) * edge[k] + (t3 - 2 * t2 + t) * m0 +
                               (3 * t2 - 2 * t3) * edge[end] + (t3 - t2) * m1;
        }
    }
}

// The final smoothing: a moving parabola over the good rays, wider where the edge is calm; then the gaps are bridged.
static sf_Status smooth_side(const sf_ScanEdges *e, const Side *side, double *work, sf_Error *err)
{
    double spacing = 2 * SF_PI * sf_stats_mean(side->edge, e->rays) / (double)e->rays;
    size_t half = (size_t)fmax(2, ceil(SMOOTH_HALF_WIDTH / spacing));
    size_t calm_half = (size_t)fmax(2, ceil(CALM_HALF_WIDTH / spacing));
    double *near = work, *wide = work + e->rays, *bridged = work + 2 * e->rays;
    SF_TRY(sf_periodic_parabola(side->edge, side->doubtful, e->rays, half, false, near, err));
    SF_TRY(sf_periodic_parabola(side->edge, side->doubtful, e->rays, calm_half, false, wide, err));
    for (size_t k = 0; k < e->rays; k++)
        if (side->calm[k])
            near[k] = wide[k];
    bridge_gaps(near, side->doubtful, e->rays, half + 2, bridged);
    memcpy(side->edge, bridged, e->rays * sizeof *bridged);
    return SF_OK;
}

static sf_Status check_doubtful(const sf_ScanEdges *e, const char *name, sf_Error *err)
{
    size_t bad = 0;
    for (size_t k = 0; k < e->rays; k++)
        bad += e->doubtful_inner[k] || e->doubtful_outer[k];
    if ((double)bad > MOST_DOUBTFUL * (double)e->rays)
        return SF_FAIL(
            err, SF_E_INPUT, name,
            "the ring's edge in %s is not clean over %.0f %% of its circle: deburr it, wipe the glass and scan "
            "again",
            name, 100.0 * (double)bad / (double)e->rays);
    return SF_OK;
}

// Light of the mid wall, for what is looked for in the face later.
static void read_face(sf_ScanEdges *e, const sf_Raster *raster, double *scratch)
{
    Side side = side_of(e, true);
    for (size_t k = 0; k < e->rays; k += LEVEL_STRIDE) {
        double wall = e->outer[k] - e->inner[k];
        e->face[k] = strip_light(e, raster, &side, k, 0.3 * wall, 0.7 * wall);
    }
    spread_levels(e->face, e->rays, FACE_WINDOW_DEG, scratch);
    for (size_t k = 0; k < e->rays; k++)
        scratch[k] = fabs(e->face[k] - 0.5 * (e->ground_inner[k] + e->ground_outer[k]));
    e->contrast = sf_stats_median(scratch, e->rays) / 65535;
}

sf_Status sf_scan_edges_measure(sf_ScanEdges *e, const sf_Raster *raster, const sf_RingPlace *place, const char *name,
                                sf_Error *err)
{
    *e = (sf_ScanEdges){ 0 };
    SF_TRY(reserve(e, raster, place, err));
    sf_Status status = SF_OK;
    double *work = sf_alloc(4 * e->rays, sizeof *work);
    if (!work) {
        status = SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory while measuring the ring");
        goto done;
    }
    double reach[2] = { fmax(FIRST_REACH, 6 * sf_raster_pitch(raster)),
                        fmax(0.25 * SF_MM, 5 * sf_raster_pitch(raster)) };
    const double deep[2] = { FIRST_DEPTH, 0 };
    for (int pass = 0; pass < 2; pass++)
        for (int inner = 0; inner < (place->disc ? 1 : 2); inner++) {
            Side side = side_of(e, inner);
            if (pass == 1)
                SF_TRY_DONE(find_level(e, raster, &side, err));
            SF_TRY_DONE(measure_side(e, raster, &side, reach[pass], deep[pass], pass == 1, work, err));
        }
    SF_TRY_DONE(check_doubtful(e, name, err));
    for (int inner = 0; inner < 2; inner++) {
        Side side = side_of(e, inner);
        SF_TRY_DONE(smooth_side(e, &side, work, err));
    }
    read_face(e, raster, work);
done:
    sf_free(work);
    if (status != SF_OK)
        sf_scan_edges_free(e);
    return status;
}
