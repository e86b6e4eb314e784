// SPDX-License-Identifier: GPL-3.0-or-later
#include "section/edge_curve.h"

#include "base/alloc.h"
#include "base/units.h"
#include "num/quadrature.h"
#include "num/sparse.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

enum { MOST_PIECES = 4096, MOST_CORNERS = 256, ROUNDS = 5 };

/// A turn sharper than this between two long sides is a corner and no sampled curve (judgement).
static const double CORNER_TURN = 10 * SF_DEG;
/// Breaks nearer to each other than this are one.
static const double SAME_ANGLE = 1e-4;
/// Pieces are not halved below this share of their first width.
static const double LEAST_SHARE = 1.0 / 16;
/// Largest misfit that is taken for a fit, in tolerances: beyond it the edge doubles back or has a step.
static const double HOPELESS = 25;

double sf_angle_from(double angle, double from)
{
    double turn = fmod(angle - from, 2 * SF_PI);
    return from + (turn < 0 ? turn + 2 * SF_PI : turn);
}

static int compare_angles(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

size_t sf_edge_corners(const sf_Polygon *polygon, sf_Point centre, double side, double *angles, size_t most)
{
    size_t found = 0, n = polygon->count;
    for (size_t i = 0; i < n && found < most; i++) {
        sf_Point p = polygon->points[i];
        sf_Point in = sf_point_sub(p, polygon->points[(i + n - 1) % n]);
        sf_Point out = sf_point_sub(polygon->points[(i + 1) % n], p);
        sf_Point arm = sf_point_sub(p, centre);
        double turn = atan2(sf_point_cross(in, out), sf_point_dot(in, out));
        double least = fmin(sf_point_length(in), sf_point_length(out));
        if (fabs(turn) > CORNER_TURN && least > side * sf_point_length(arm))
            angles[found++] = sf_angle_from(atan2(arm.y, arm.x), 0);
    }
    qsort(angles, found, sizeof *angles, compare_angles);
    return found;
}

void sf_edge_curve_free(sf_EdgeCurve *curve)
{
    sf_free(curve->breaks);
    sf_free(curve->square);
    curve->breaks = curve->square = NULL;
    curve->pieces = 0;
}

static size_t piece_at(const sf_EdgeCurve *curve, double angle)
{
    size_t low = 0, high = curve->pieces;
    while (high - low > 1) {
        size_t mid = (low + high) / 2;
        if (curve->breaks[mid] <= angle)
            low = mid;
        else
            high = mid;
    }
    return low;
}

static void shape(double t, double n[3])
{
    n[0] = t * (t - 1) / 2;
    n[1] = 1 - t * t;
    n[2] = t * (t + 1) / 2;
}

static double square_on_piece(const sf_EdgeCurve *curve, size_t piece, double angle)
{
    double a = curve->breaks[piece], b = curve->breaks[piece + 1], n[3];
    shape((2 * angle - a - b) / (b - a), n);
    const double *q = curve->square;
    return n[0] * q[2 * piece] + n[1] * q[2 * piece + 1] + n[2] * q[(2 * piece + 2) % (2 * curve->pieces)];
}

double sf_edge_curve_radius(const sf_EdgeCurve *curve, double angle)
{
    double a = sf_angle_from(angle, curve->breaks[0]);
    return sqrt(fmax(square_on_piece(curve, piece_at(curve, a), a), 0));
}

double sf_edge_curve_width(const sf_EdgeCurve *curve, double angle)
{
    size_t piece = piece_at(curve, sf_angle_from(angle, curve->breaks[0]));
    return curve->breaks[piece + 1] - curve->breaks[piece];
}

// What is done with each short stretch of a side that lies within one piece: `strength` is the stretch's share of
// int r^2 dtheta, signed, so that an edge that doubles back cancels itself.
typedef struct Stretch {
    size_t piece;
    double angle, radius, strength, turn;
} Stretch;

typedef void (*VisitStretch)(const sf_EdgeCurve *curve, const Stretch *stretch, void *context);

// One side from p to q (seen from the centre), cut at the breaks, three Gauss points on each part. r^2 dtheta is
// cross(p, q) dt exactly, with t the share of the side.
static void visit_side(const sf_EdgeCurve *curve, sf_Point p, sf_Point q, VisitStretch visit, void *context)
{
    const sf_Gauss *rule = sf_gauss_rule(3);
    sf_Point d = sf_point_sub(q, p);
    double whole = sf_point_cross(p, q);
    double turn = atan2(whole, sf_point_dot(p, q));
    double from = sf_angle_from(atan2(p.y, p.x), curve->breaks[0]);
    double t0 = 0;
    size_t piece = piece_at(curve, from);
    for (size_t guard = 0; guard <= curve->pieces && t0 < 1; guard++) {
        double next = turn >= 0 ? curve->breaks[piece + 1] : curve->breaks[piece];
        double t1 = 1;
        if (fabs(next - from) < fabs(turn)) { // the side leaves the piece: where does it meet the ray of the break?
            sf_Point ray = { cos(next), sin(next) };
            double down = sf_point_cross(d, ray);
            if (down != 0)
                t1 = fmin(fmax(-sf_point_cross(p, ray) / down, t0), 1);
        }
        for (size_t g = 0; g < rule->count; g++) {
            double t = t0 + (t1 - t0) * (1 + rule->x[g]) / 2;
            sf_Point at = sf_point_add(p, sf_point_scale(d, t));
            double middle = (curve->breaks[piece] + curve->breaks[piece + 1]) / 2;
            double angle = sf_angle_from(atan2(at.y, at.x), middle - SF_PI);
            double share = rule->w[g] / 2 * (t1 - t0);
            Stretch stretch = { piece, angle, sf_point_length(at), whole * share, turn * share };
            visit(curve, &stretch, context);
        }
        if (t1 >= 1)
            return;
        t0 = t1;
        double gone = next - from;
        turn -= gone;
        from = next;
        if (turn >= 0) {
            piece++;
            if (piece == curve->pieces) {
                piece = 0;
                from -= 2 * SF_PI;
            }
        } else {
            if (piece == 0) {
                piece = curve->pieces;
                from += 2 * SF_PI;
            }
            piece--;
        }
    }
}

static void visit_polygon(const sf_EdgeCurve *curve, const sf_Polygon *polygon, VisitStretch visit, void *context)
{
    for (size_t i = 0; i < polygon->count; i++) {
        sf_Point p = sf_point_sub(polygon->points[i], curve->centre);
        sf_Point q = sf_point_sub(polygon->points[(i + 1) % polygon->count], curve->centre);
        visit_side(curve, p, q, visit, context);
    }
}

static void gather_moment(const sf_EdgeCurve *curve, const Stretch *stretch, void *context)
{
    double *moment = context, n[3];
    double a = curve->breaks[stretch->piece], b = curve->breaks[stretch->piece + 1];
    shape((2 * stretch->angle - a - b) / (b - a), n);
    for (size_t k = 0; k < 3; k++)
        moment[(2 * stretch->piece + k) % (2 * curve->pieces)] += n[k] * stretch->strength;
}

static void gather_misfit(const sf_EdgeCurve *curve, const Stretch *stretch, void *context)
{
    double *sums = context; // two per piece: sum of squares, sum of weights
    double off = stretch->radius - sqrt(fmax(square_on_piece(curve, stretch->piece, stretch->angle), 0));
    sums[2 * stretch->piece] += off * off * fabs(stretch->turn);
    sums[2 * stretch->piece + 1] += fabs(stretch->turn);
}

// Least squares for the breaks as they are: the mass matrix of quadratic pieces against the polygon's moments.
static sf_Status project(sf_EdgeCurve *curve, const sf_Polygon *polygon, sf_Error *err)
{
    static const double mass[3][3] = { { 4, 2, -1 }, { 2, 16, 2 }, { -1, 2, 4 } };
    size_t unknowns = 2 * curve->pieces;
    sf_Sparse *sparse = NULL;
    sf_Status status = SF_OK;
    double *moment = sf_alloc(unknowns, sizeof *moment);
    double *square = sf_realloc(curve->square, unknowns, sizeof *square);
    if (square)
        curve->square = square;
    if (!moment || !square) {
        status = SF_FAIL(err, SF_E_MEMORY, "", "out of memory while smoothing an edge");
        goto done;
    }
    SF_TRY_DONE(sf_sparse_create(&sparse, unknowns, 6 * curve->pieces, err));
    for (size_t p = 0; p < curve->pieces; p++)
        for (size_t a = 0; a < 3; a++)
            for (size_t b = 0; b <= a; b++)
                sf_sparse_add(sparse, (2 * p + a) % unknowns, (2 * p + b) % unknowns,
                              (curve->breaks[p + 1] - curve->breaks[p]) / 30 * mass[a][b]);
    visit_polygon(curve, polygon, gather_moment, moment);
    SF_TRY_DONE(sf_sparse_factor(sparse, err));
    SF_TRY_DONE(sf_sparse_solve(sparse, moment, curve->square, 1, NULL, err));
done:
    sf_sparse_destroy(&sparse);
    sf_free(moment);
    return status;
}

// Breaks at the corners and the kink, and evenly between them at most `width` apart.
static sf_Status first_breaks(sf_EdgeCurve *curve, const sf_Polygon *polygon, double width, double kink, sf_Error *err)
{
    double fixed[MOST_CORNERS + 2];
    size_t count = sf_edge_corners(polygon, curve->centre, width / 2, fixed, MOST_CORNERS);
    if (isfinite(kink))
        fixed[count++] = sf_angle_from(kink, 0);
    if (count == 0)
        fixed[count++] = 0;
    qsort(fixed, count, sizeof *fixed, compare_angles);
    size_t kept = 1;
    for (size_t i = 1; i < count; i++)
        if (fixed[i] - fixed[kept - 1] > SAME_ANGLE && fixed[0] + 2 * SF_PI - fixed[i] > SAME_ANGLE)
            fixed[kept++] = fixed[i];
    fixed[kept] = fixed[0] + 2 * SF_PI;
    size_t total = 0;
    for (size_t i = 0; i < kept; i++)
        total += (size_t)ceil((fixed[i + 1] - fixed[i]) / width - SAME_ANGLE);
    curve->breaks = sf_alloc(total + 1, sizeof *curve->breaks);
    if (!curve->breaks)
        return SF_FAIL(err, SF_E_MEMORY, "", "out of memory while smoothing an edge");
    for (size_t i = 0; i < kept; i++) {
        size_t parts = (size_t)ceil((fixed[i + 1] - fixed[i]) / width - SAME_ANGLE);
        for (size_t k = 0; k < parts; k++)
            curve->breaks[curve->pieces++] = fixed[i] + (fixed[i + 1] - fixed[i]) * (double)k / (double)parts;
    }
    curve->breaks[curve->pieces] = fixed[kept];
    return SF_OK;
}

// Halves the pieces that miss by more than the tolerance; *halved says whether any was.
static sf_Status halve_pieces(sf_EdgeCurve *curve, const sf_Polygon *polygon, double tolerance, double least,
                              bool *halved, sf_Error *err)
{
    size_t pieces = curve->pieces, made = 0;
    *halved = false;
    double *sums = sf_alloc(2 * pieces, sizeof *sums), *breaks = sf_alloc(2 * pieces + 1, sizeof *breaks);
    if (!sums || !breaks) {
        sf_free(sums);
        sf_free(breaks);
        return SF_FAIL(err, SF_E_MEMORY, "", "out of memory while smoothing an edge");
    }
    visit_polygon(curve, polygon, gather_misfit, sums);
    double squares = 0, weights = 0;
    for (size_t p = 0; p < pieces; p++) {
        double a = curve->breaks[p], b = curve->breaks[p + 1];
        squares += sums[2 * p];
        weights += sums[2 * p + 1];
        breaks[made++] = a;
        if (sums[2 * p] > tolerance * tolerance * sums[2 * p + 1] && (b - a) / 2 > least) {
            breaks[made++] = (a + b) / 2;
            *halved = true;
        }
    }
    breaks[made] = curve->breaks[pieces];
    curve->misfit = sqrt(squares / weights);
    if (made > MOST_PIECES)
        *halved = false;
    if (*halved) {
        sf_free(curve->breaks);
        curve->breaks = breaks;
        curve->pieces = made;
    } else {
        sf_free(breaks);
    }
    sf_free(sums);
    return SF_OK;
}

sf_Status sf_edge_curve_fit(sf_EdgeCurve *curve, const sf_Polygon *polygon, sf_Point centre, size_t pieces, double kink,
                            double tolerance, sf_Error *err)
{
    assert(pieces >= 8 && tolerance > 0);
    memset(curve, 0, sizeof *curve);
    curve->centre = centre;
    if (!sf_polygon_contains(polygon, centre))
        return SF_FAIL(err, SF_E_GEOMETRY, "", "the bore's centre lies outside an edge: the ring cannot be meshed");
    double width = 2 * SF_PI / (double)pieces;
    sf_Status status = SF_OK;
    SF_TRY_DONE(first_breaks(curve, polygon, width, kink, err));
    bool again = true;
    for (size_t round = 0; round < ROUNDS && again; round++) {
        SF_TRY_DONE(project(curve, polygon, err));
        SF_TRY_DONE(
            halve_pieces(curve, polygon, round + 1 < ROUNDS ? tolerance : INFINITY, width * LEAST_SHARE, &again, err));
    }
    if (curve->misfit > HOPELESS * tolerance) {
        status =
            SF_FAIL(err, SF_E_GEOMETRY, "",
                    "an edge doubles back as seen from the bore's centre (the mesh would miss it by %.2f mm): check "
                    "the outline",
                    curve->misfit / SF_MM);
        goto done;
    }
done:
    if (status != SF_OK)
        sf_edge_curve_free(curve);
    return status;
}
