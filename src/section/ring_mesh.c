// SPDX-License-Identifier: GPL-3.0-or-later
#include "section/ring_mesh.h"

#include "base/alloc.h"
#include "base/units.h"
#include "num/stats.h"
#include "section/edge_curve.h"
#include "section/ring_grading.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

// Sizes of the mesh at fineness 1. What they cost in accuracy and time is in docs/theory/torsion.md.
enum { BASE_COLUMNS = 96, BASE_LAYERS = 5, CURVE_PIECES = 72, MOST_ELEMENTS = 2500 };
static const double ARC_SHARE = 1.25;        ///< of the mean: longest element side on the outer edge
static const double GROWTH = 0.5;            ///< of element size per distance
static const double TIP_SHARE = 0.02;        ///< of the wall: element size at the line's tip
static const double TIP_OF_LIGAMENT = 0.1;   ///< of ligament and of line length, if that is smaller
static const double SLIT_SHARE = 0.2;        ///< of the wall: element size along the ring at a line through
static const double VOID_SHARE = 0.7;        ///< of the void's radius: element size over the void
static const double VOID_COUNTS = 1.5e-4;    ///< share of the section's area from which a void is resolved
static const double CURVE_TOLERANCE = 0.001; ///< of the wall: misfit from which a piece of the edge is halved
static const double NOISE_FACTOR = 1.5;      ///< and that of the edge's own noise
static const double LINE_LEAST = 0.005;      ///< of the wall: shorter lines and thinner ligaments are none
static const double SLANT_MOST = 1.5;        ///< of the wall: how far a line may lean along the ring
static const double LEAST_UPRIGHT = 0.4;     ///< cosine of the line's angle to the radius below which it lies flat
static const double SAME_ANGLE = 2e-3;       ///< fixed columns nearer than this are one

sf_Status sf_ring_mesh_create(sf_RingMesh *mesh, size_t columns, size_t layers, size_t slit, sf_Error *err)
{
    assert(columns >= 2 && layers >= 1 && slit <= 2 * layers + 1);
    memset(mesh, 0, sizeof *mesh);
    size_t height = 2 * layers + 1;
    mesh->nodes = sf_alloc((2 * columns + 1) * height, sizeof *mesh->nodes);
    if (!mesh->nodes)
        return SF_FAIL(err, SF_E_MEMORY, "", "out of memory while meshing the ring");
    mesh->columns = columns;
    mesh->layers = layers;
    mesh->slit = slit;
    mesh->equations = 2 * columns * height + slit;
    return SF_OK;
}

void sf_ring_mesh_free(sf_RingMesh *mesh)
{
    sf_free(mesh->nodes);
    mesh->nodes = NULL;
}

// Noise of single points: scatter of how far each one stands off the mean of its neighbours. A smooth curve, even one
// of few points, has next to none of it.
static sf_Status edge_noise(const sf_Polygon *edge, sf_Point centre, double *noise, sf_Error *err)
{
    double *off = sf_alloc(edge->count, sizeof *off);
    if (!off)
        return SF_FAIL(err, SF_E_MEMORY, "", "out of memory while smoothing an edge");
    for (size_t i = 0; i < edge->count; i++) {
        const sf_Point *p = edge->points;
        size_t n = edge->count;
        off[i] = sf_point_distance(p[i], centre) -
                 (sf_point_distance(p[(i + 1) % n], centre) + sf_point_distance(p[(i + n - 1) % n], centre)) / 2;
    }
    *noise = fmax(*noise, sf_stats_mad_sd(off, edge->count) / sqrt(1.5));
    sf_free(off);
    return SF_OK;
}

sf_Status sf_ring_edges_fit(sf_RingEdges *edges, const sf_Outline *outline, sf_Error *err)
{
    memset(edges, 0, sizeof *edges);
    sf_Point centre = sf_polygon_centroid(&outline->inner);
    double inner_area = sf_polygon_area(&outline->inner), outer_area = sf_polygon_area(&outline->outer);
    edges->bore = sqrt(inner_area / SF_PI);
    edges->wall = sqrt(outer_area / SF_PI) - edges->bore;
    double noise = outline->doubt.random;
    SF_TRY(edge_noise(&outline->inner, centre, &noise, err));
    SF_TRY(edge_noise(&outline->outer, centre, &noise, err));
    double tolerance = fmax(CURVE_TOLERANCE * edges->wall, NOISE_FACTOR * noise);
    double kink = NAN; // the line's faces may meet the bore at an angle
    if (outline->line.present) {
        sf_Point start = sf_point_sub(outline->line.start, centre);
        kink = atan2(start.y, start.x);
    }
    SF_TRY(sf_edge_curve_fit(&edges->inner, &outline->inner, centre, CURVE_PIECES, kink, tolerance, err));
    sf_Status status = sf_edge_curve_fit(&edges->outer, &outline->outer, centre, CURVE_PIECES, NAN, tolerance, err);
    if (status != SF_OK)
        sf_ring_edges_free(edges);
    return status;
}

void sf_ring_edges_free(sf_RingEdges *edges)
{
    sf_edge_curve_free(&edges->inner);
    sf_edge_curve_free(&edges->outer);
}

// The unjoined line as the mesh sees it.
typedef struct Slit {
    bool present, through;
    double angle;  // where it leaves the inner edge
    double lean;   // how far its outward end is turned on along the ring, rad
    double spread; // over which angle the lean fades out, rad
    double share;  // of the wall
} Slit;

// Everything between outline and lattice.
typedef struct Plan {
    const sf_Outline *outline;
    const sf_RingEdges *edges;
    Slit slit;
    sf_RingGrading grading;
    double *angles, *shares; // breaks
    size_t columns, layers;
} Plan;

// Where the file that starts at `angle` on the inner edge ends on the outer one.
static double outer_angle(const Slit *slit, double angle)
{
    double away = sf_angle_from(angle - slit->angle, -SF_PI);
    if (!slit->present || fabs(away) >= slit->spread)
        return angle;
    return angle + slit->lean * 0.5 * (1 + cos(SF_PI * away / slit->spread));
}

// The other way round, by fixed point (the lean is gentle).
static double inner_angle(const Slit *slit, double outer)
{
    double angle = outer;
    for (int i = 0; i < 60; i++)
        angle += outer - outer_angle(slit, angle);
    return angle;
}

static void read_slit(Plan *plan)
{
    const sf_UnjoinedLine *line = &plan->outline->line;
    Slit *slit = &plan->slit;
    sf_Point centre = plan->edges->inner.centre;
    sf_Point start = sf_point_sub(line->start, centre), end = sf_point_sub(line->end, centre);
    slit->angle = sf_angle_from(atan2(start.y, start.x), 0);
    double bore = sf_edge_curve_radius(&plan->edges->inner, slit->angle);
    sf_Point foot = { bore * cos(slit->angle), bore * sin(slit->angle) };
    sf_Point way = sf_point_sub(end, foot);
    double length = sf_point_length(way);
    // The outward end: the line carried on straight to the outer edge (a few secant steps on the smooth radius).
    double reach = sf_edge_curve_radius(&plan->edges->outer, slit->angle) - bore;
    double wall = reach;
    sf_Point unit = length > 0 ? sf_point_scale(way, 1 / length) : sf_point_scale(foot, 1 / bore);
    bool flat = sf_point_dot(unit, foot) < LEAST_UPRIGHT * bore;
    if (flat)
        unit = sf_point_scale(foot, 1 / bore);
    sf_Point tip = foot;
    for (int i = 0; i < 50; i++) {
        tip = sf_point_add(foot, sf_point_scale(unit, reach));
        double off = sf_edge_curve_radius(&plan->edges->outer, atan2(tip.y, tip.x)) - sf_point_length(tip);
        reach += off * fmin(1, 0.3 + sf_point_dot(unit, foot) / bore);
    }
    // Share of the wall along the line, or, for one that leans further than the mesh can, straight across.
    double at_end = atan2(end.y, end.x), low = sf_edge_curve_radius(&plan->edges->inner, at_end);
    double across = (sf_point_length(end) - low) / (sf_edge_curve_radius(&plan->edges->outer, at_end) - low);
    double most = SLANT_MOST * wall / (bore + wall);
    slit->lean = sf_angle_from(atan2(tip.y, tip.x) - slit->angle, -SF_PI);
    if (flat || fabs(slit->lean) > most) {
        double way_round = sf_angle_from(at_end - slit->angle, -SF_PI);
        slit->lean = fmax(-most, fmin(most, way_round));
        slit->share = across;
    } else {
        slit->share = across > LINE_LEAST ? length / reach : 0;
    }
    slit->spread = fmin(SF_PI, fmax(0.8, 4 * fabs(slit->lean)));
    slit->present = slit->share > LINE_LEAST || line->through;
    slit->through = line->through || slit->share > 1 - LINE_LEAST;
}

static void add_spot(sf_RingGrading *grading, sf_GradingSpot spot)
{
    if (grading->spot_count < SF_GRADING_SPOTS)
        grading->spots[grading->spot_count++] = spot;
}

static void place_spots(Plan *plan)
{
    const Slit *slit = &plan->slit;
    sf_RingGrading *grading = &plan->grading;
    if (slit->present) {
        double bore = sf_edge_curve_radius(&plan->edges->inner, slit->angle);
        double wall = sf_edge_curve_radius(&plan->edges->outer, slit->angle + slit->lean) - bore;
        if (slit->through) {
            add_spot(grading,
                     (sf_GradingSpot){ .angle = slit->angle, .at = bore + wall / 2, .least_along = SLIT_SHARE * wall });
        } else {
            double least = fmin(TIP_SHARE, TIP_OF_LIGAMENT * fmin(slit->share, 1 - slit->share)) * wall;
            add_spot(grading, (sf_GradingSpot){ .angle = slit->angle,
                                                .share = slit->share,
                                                .at = bore + slit->share * wall,
                                                .least_along = least,
                                                .least_across = least * grading->wall / wall });
        }
    }
    double area = sf_polygon_area(&plan->outline->outer) - sf_polygon_area(&plan->outline->inner);
    for (size_t i = 0; i < plan->outline->void_count; i++) {
        const sf_Polygon *hole = &plan->outline->voids[i];
        double hole_area = fabs(sf_polygon_area(hole));
        if (hole_area < VOID_COUNTS * area)
            continue;
        sf_Point at = sf_point_sub(sf_polygon_centroid(hole), plan->edges->inner.centre);
        double angle = atan2(at.y, at.x), distance = sf_point_length(at), radius = sqrt(hole_area / SF_PI);
        double foot = inner_angle(slit, angle);
        double bore = sf_edge_curve_radius(&plan->edges->inner, angle),
               rim = sf_edge_curve_radius(&plan->edges->outer, angle);
        add_spot(grading, (sf_GradingSpot){ .angle = foot,
                                            .share = (distance - bore) / (rim - bore),
                                            .at = distance,
                                            .least_along = VOID_SHARE * radius,
                                            .least_across = VOID_SHARE * radius,
                                            .radius = radius });
    }
}

static int compare_angles(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

// Angles that must be files of the mesh: the line (first and last), or any corner, and all corners of both edges.
static size_t fixed_files(const Plan *plan, double *fixed)
{
    double corners[SF_GRADING_FIXED];
    double side = SF_PI / CURVE_PIECES;
    sf_Point centre = plan->edges->inner.centre;
    size_t half = (SF_GRADING_FIXED - 4) / 2;
    size_t count = sf_edge_corners(&plan->outline->inner, centre, side, corners, half);
    size_t both = count + sf_edge_corners(&plan->outline->outer, centre, side, corners + count, half);
    for (size_t i = count; i < both; i++)
        corners[i] = inner_angle(&plan->slit, corners[i]);
    double first = plan->slit.present ? plan->slit.angle : both ? corners[0] : 0;
    for (size_t i = 0; i < both; i++)
        corners[i] = sf_angle_from(corners[i], first);
    qsort(corners, both, sizeof *corners, compare_angles);
    size_t kept = 0;
    fixed[kept++] = first;
    for (size_t i = 0; i < both; i++)
        if (corners[i] - fixed[kept - 1] > SAME_ANGLE && first + 2 * SF_PI - corners[i] > SAME_ANGLE)
            fixed[kept++] = corners[i];
    fixed[kept++] = first + 2 * SF_PI;
    return kept;
}

static sf_Status choose_breaks(Plan *plan, double fineness, sf_Error *err)
{
    double files[SF_GRADING_FIXED], heights[3] = { 0, 1, 1 };
    size_t file_count = fixed_files(plan, files), height_count = 2;
    if (plan->slit.present && !plan->slit.through) {
        heights[1] = plan->slit.share;
        height_count = 3;
    }
    sf_RingGrading *grading = &plan->grading;
    grading->wall = plan->edges->wall;
    grading->bore = plan->edges->bore;
    grading->inner = &plan->edges->inner;
    grading->outer = &plan->edges->outer;
    grading->base_angle = 2 * SF_PI / BASE_COLUMNS;
    grading->base_arc = ARC_SHARE * sf_polygon_perimeter(&plan->outline->outer) / BASE_COLUMNS;
    grading->base_share = 1.0 / BASE_LAYERS;
    grading->growth = GROWTH;
    place_spots(plan);
    double most = MOST_ELEMENTS * fmax(1, fineness * fineness);
    for (grading->scale = 1 / fineness;; grading->scale *= 1.2) {
        SF_TRY(sf_ring_grading_breaks(grading, true, files, file_count, &plan->angles, &plan->columns, err));
        SF_TRY(sf_ring_grading_breaks(grading, false, heights, height_count, &plan->shares, &plan->layers, err));
        if ((double)(plan->columns * plan->layers) <= most || plan->columns <= file_count)
            return SF_OK;
        sf_free(plan->angles);
        sf_free(plan->shares);
        plan->angles = plan->shares = NULL;
    }
}

// Height j of the lattice as a share of the wall; odd ones lie midway.
static double at_half(const double *breaks, size_t j)
{
    return j % 2 ? (breaks[j / 2] + breaks[j / 2 + 1]) / 2 : breaks[j / 2];
}

static sf_Status lay_lattice(sf_RingMesh *mesh, const Plan *plan, sf_Error *err)
{
    size_t height = 2 * plan->layers + 1, slit = 0;
    if (plan->slit.through)
        slit = height;
    else if (plan->slit.present)
        while (plan->shares[slit / 2] < plan->slit.share)
            slit += 2;
    SF_TRY(sf_ring_mesh_create(mesh, plan->columns, plan->layers, slit, err));
    mesh->origin = plan->edges->inner.centre;
    mesh->line = plan->slit.present;
    mesh->through = plan->slit.present && plan->slit.through;
    mesh->misfit = hypot(plan->edges->inner.misfit, plan->edges->outer.misfit) / sqrt(2);
    for (size_t i = 0; i <= 2 * plan->columns; i++) {
        double from = at_half(plan->angles, i), to = outer_angle(&plan->slit, from);
        double bore = sf_edge_curve_radius(&plan->edges->inner, from),
               rim = sf_edge_curve_radius(&plan->edges->outer, to);
        sf_Point foot = { bore * cos(from), bore * sin(from) }, top = { rim * cos(to), rim * sin(to) };
        if (!(sf_point_dot(top, foot) > bore * bore))
            return SF_FAIL(err, SF_E_GEOMETRY, "", "the wall has no thickness near %.0f degrees: check the outline",
                           sf_angle_from(from, 0) / SF_DEG);
        for (size_t j = 0; j < height; j++)
            mesh->nodes[i * height + j] =
                sf_point_add(foot, sf_point_scale(sf_point_sub(top, foot), at_half(plan->shares, j)));
    }
    return SF_OK;
}

sf_Status sf_ring_mesh_build(sf_RingMesh *mesh, const sf_RingEdges *edges, const sf_Outline *outline, double fineness,
                             sf_Error *err)
{
    assert(fineness > 0);
    memset(mesh, 0, sizeof *mesh);
    sf_Status status = SF_OK;
    Plan *plan = sf_alloc(1, sizeof *plan);
    if (!plan)
        return SF_FAIL(err, SF_E_MEMORY, "", "out of memory while meshing the ring");
    plan->outline = outline;
    plan->edges = edges;
    if (outline->line.present)
        read_slit(plan);
    SF_TRY_DONE(choose_breaks(plan, fineness, err));
    SF_TRY_DONE(lay_lattice(mesh, plan, err));
done:
    sf_free(plan->angles);
    sf_free(plan->shares);
    sf_free(plan);
    if (status != SF_OK)
        sf_ring_mesh_free(mesh);
    return status;
}
