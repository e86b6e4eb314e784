// SPDX-License-Identifier: GPL-3.0-or-later
#include "section/ring_doubt.h"

#include "base/units.h"
#include "num/stats.h"

#include <string.h>

// Figures that are integrals of the edges' normal shift n(s): dF = int f(s) n(s) ds.
enum { AREA, CENTROID_X, CENTROID_Y, IX, IY, IXY, I_MAX, I_MIN, I_DIFFERENCE, ANGLE, DIAMETER, INTEGRALS };

static const double GROOVE_HALF_WIDTH = 4 * SF_DEG; // at half depth; narrow ones of formed rings (judgement)
static const double EXTREME = 1.5; // how far the least of many noisy readings is off, in spreads of one (measured)
static const double ROUND_EXTREME = 2.5; // the same for a diameter of a round ring, in spreads of a radius (measured)
static const double ROUND_SWING = 10;    // spreads: about what noise alone makes of a round ring's swing (measured)
static const double LOCAL_BIAS = 0.4;    // share of the edges' bias that may differ between groove and wall (judgement)
static const double GROOVE_NOISE = 1.3;  // variance of least minus median wall, in those of one wall reading (measured)
static const double DIRECTION_SD = 0.14 * SF_DEG; // what shape alone leaves open in a groove's direction (measured)
static const double LINE_MOUTH = 0.4; // share of the line end's doubt by which its mouth blurs the groove (measured)
static const double ROUNDING =
    0.7; // share of the rounding that a plain mean over the correlation length has (measured)
static const double VOID_SHIFT = 3e-6; // m: what a void's edge may be off beside the ring's edges (measured)
static const double SHAPE_NOISE = 2;   // two-fold figures vary more than even noise makes them: variance (measured)
static const double SKIRT_REACH = 14 * SF_DEG; // how far from its bottom a groove's skirt still slopes (judgement)
static const double LINE_TORSION = 0.1; // relative loss of torsion constant per line length over wall (computed cases)

typedef struct Sums {
    double once[INTEGRALS], squared[INTEGRALS]; // int f ds, int f^2 ds
} Sums;

typedef struct Frame { // what the weights f need
    sf_Point centroid;
    double cos_axis, sin_axis, area, difference, diameter;
} Frame;

static void weights(const Frame *frame, sf_Point place, double f[INTEGRALS])
{
    double x = place.x - frame->centroid.x, y = place.y - frame->centroid.y;
    double p = x * frame->cos_axis + y * frame->sin_axis, q = y * frame->cos_axis - x * frame->sin_axis;
    f[AREA] = 1;
    f[CENTROID_X] = x / frame->area;
    f[CENTROID_Y] = y / frame->area;
    f[IX] = y * y;
    f[IY] = x * x;
    f[IXY] = x * y;
    f[I_MAX] = q * q;
    f[I_MIN] = p * p;
    f[I_DIFFERENCE] = q * q - p * p;
    f[ANGLE] = frame->difference > 0 ? p * q / frame->difference : 0;
    f[DIAMETER] = 2 / (SF_PI * frame->diameter);
}

static void add_edge(Sums *sums, const Frame *frame, const sf_Polygon *edge)
{
    for (size_t i = 0; i < edge->count; i++) {
        sf_Point a = edge->points[i], b = edge->points[i + 1 < edge->count ? i + 1 : 0];
        double ds = sf_point_distance(a, b), f[INTEGRALS];
        weights(frame, sf_point_scale(sf_point_add(a, b), 0.5), f);
        for (int k = 0; k < INTEGRALS; k++) {
            sums->once[k] += f[k] * ds;
            sums->squared[k] += f[k] * f[k] * ds;
        }
    }
}

static double square(double x)
{
    return x * x;
}

static double variance(const Sums *sums, int k, double bias, const sf_EdgeDoubt *d)
{
    double shape = k == IXY || k == I_DIFFERENCE || k == ANGLE ? SHAPE_NOISE : 1;
    return square(bias * sums->once[k]) + shape * d->random * d->random * d->correlation * sums->squared[k];
}

// 95 % half widths from a variance and a relative scale error that acts `power` times on `value`.
static sf_Doubt doubt_of(double edge_variance, double value, double power, const sf_EdgeDoubt *d)
{
    double factor = sf_stats_normal_factor(0.95);
    if (isnan(value))
        return (sf_Doubt){ NAN, NAN };
    return (sf_Doubt){ factor * sqrt(edge_variance), factor * power * d->scale * fabs(value) };
}

static void integrals(sf_RingMeasure *m, const sf_Outline *outline)
{
    const sf_Section *s = &m->section;
    const sf_EdgeDoubt *d = &outline->doubt;
    Frame frame = { s->centroid, cos(s->principal_angle), sin(s->principal_angle),
                    s->area,     s->i_max - s->i_min,     s->outer_diameter_mean };
    Sums outer = { 0 }, inner = { 0 }, voids = { 0 };
    add_edge(&outer, &frame, &outline->outer);
    frame.diameter = s->inner_diameter_mean;
    add_edge(&inner, &frame, &outline->inner);
    for (size_t i = 0; i < outline->void_count; i++)
        add_edge(&voids, &frame, &outline->voids[i]);
    double both[INTEGRALS], void_bias = hypot(fmax(d->bias_inner, d->bias_outer), 1.5 * d->bias_both);
    if (d->random > 0)
        void_bias = hypot(void_bias, VOID_SHIFT);
    for (int k = 0; k < INTEGRALS; k++)
        both[k] = variance(&outer, k, d->bias_outer, d) + variance(&inner, k, d->bias_inner, d) +
                  variance(&voids, k, void_bias, d) + square(d->bias_both * (outer.once[k] - inner.once[k]));
    sf_RingDoubt *r = &m->doubt;
    r->area = doubt_of(both[AREA], s->area, 2, d);
    r->centroid_x = doubt_of(both[CENTROID_X] + square(d->place), s->centroid.x, 1, d);
    r->centroid_y = doubt_of(both[CENTROID_Y] + square(d->place), s->centroid.y, 1, d);
    r->ix = doubt_of(both[IX], s->ix, 4, d);
    r->iy = doubt_of(both[IY], s->iy, 4, d);
    r->ixy = doubt_of(both[IXY], s->ixy, 4, d);
    r->i_max = doubt_of(both[I_MAX], s->i_max, 4, d);
    r->i_min = doubt_of(both[I_MIN], s->i_min, 4, d);
    r->principal_angle = doubt_of(both[ANGLE], 0, 0, d);
    m->i_difference_doubt = doubt_of(both[I_DIFFERENCE], 0, 0, d).edge;
    double bias_outer = hypot(d->bias_outer, d->bias_both), bias_inner = hypot(d->bias_inner, d->bias_both);
    r->outer_diameter_mean = doubt_of(variance(&outer, DIAMETER, bias_outer, d), s->outer_diameter_mean, 1, d);
    r->inner_diameter_mean = doubt_of(variance(&inner, DIAMETER, bias_inner, d), s->inner_diameter_mean, 1, d);
    r->void_area = doubt_of(variance(&voids, AREA, void_bias, d), s->void_area, 2, d);
}

// Thin-wall sensitivities of the torsion constant, closed (Bredt) or open, as a share of it.
static double torsion_variance(const sf_RingMeasure *m, const sf_EdgeDoubt *d)
{
    const sf_WallMap *w = &m->wall;
    double mean_area = (m->section.enclosed_outer + m->section.enclosed_inner) / 2;
    double flow = 0, cubes = 0, once[2] = { 0 }, squared[2] = { 0 };
    double ds = (m->section.outer_perimeter + m->section.inner_perimeter) / 2 / SF_WALL_STATIONS;
    for (size_t k = 0; k < SF_WALL_STATIONS; k++) {
        flow += ds / w->wall[k];
        cubes += ds * w->wall[k] * w->wall[k] * w->wall[k];
    }
    for (size_t k = 0; k < SF_WALL_STATIONS; k++) {
        double t = w->wall[k];
        double open = 3 * t * t / cubes, thick = 1 / (t * t * flow);
        double f[2] = { w->unjoined_through ? open : thick + 1 / mean_area,
                        w->unjoined_through ? open : thick - 1 / mean_area };
        for (int e = 0; e < 2; e++) {
            once[e] += f[e] * ds;
            squared[e] += f[e] * f[e] * ds;
        }
    }
    double noise = d->random * d->random * d->correlation;
    double line = w->unjoined_depth > 0 && !w->unjoined_through ? LINE_TORSION * d->line_end / w->median : 0;
    return square(d->bias_outer * once[0]) + square(d->bias_inner * once[1]) +
           square(d->bias_both * (once[0] - once[1])) + noise * (squared[0] + squared[1]) + line * line;
}

double sf_ring_doubt_shown_share(double spacing)
{
    double u = spacing / 2 / GROOVE_HALF_WIDTH;
    return exp2(-u * u);
}

// Just outside the seam's own part the least wall lies on the groove's skirt: there it moves with the seam's direction.
static double skirt_sd(const sf_WallMap *w)
{
    size_t k = w->off_seam_station;
    double station = 2 * SF_PI / SF_WALL_STATIONS;
    if (w->groove_width <= 0 || fabs(remainder(station * (double)k - w->seam_angle, 2 * SF_PI)) > SKIRT_REACH)
        return 0;
    double before = w->wall[(k + SF_WALL_STATIONS - 1) % SF_WALL_STATIONS], after = w->wall[(k + 1) % SF_WALL_STATIONS];
    return fabs(after - before) / 2 * (DIRECTION_SD / station + 0.25);
}

// A narrow groove's bottom is rounded off where neighbouring readings were smoothed together: curvature x length^2
// / 24.
static double rounding_sd(const sf_RingMeasure *m, const sf_EdgeDoubt *d)
{
    double half = m->wall.groove_width / 2 * m->section.inner_diameter_mean / 2;
    if (!(half > 0) || d->spacing > 0)
        return 0;
    return ROUNDING * m->wall.groove_depth * 2 * log(2) / square(half) * square(d->correlation) / 24;
}

static void walls(sf_RingMeasure *m, const sf_Outline *outline, double missed)
{
    const sf_EdgeDoubt *d = &outline->doubt;
    const sf_WallMap *w = &m->wall;
    sf_RingDoubt *r = &m->doubt;
    double bias = square(d->bias_outer) + square(d->bias_inner);
    double noise = 2 * d->random * d->random, extreme = bias + noise * (1 + square(EXTREME));
    double averaged = noise * fmin(1, 1.6 * d->correlation / m->section.inner_perimeter);
    double missed_sd = missed / sf_stats_normal_factor(0.95);
    double mouth =
        outline->line.present ? square(LINE_MOUTH * d->line_end) : 0; // the line opens into the groove's bottom
    double bottom = mouth + square(rounding_sd(m, d)), at_seam = extreme + square(missed_sd) + bottom;
    r->wall_at_seam = doubt_of(at_seam, w->wall_at_seam, 1, d);
    r->wall_min = doubt_of(w->min == w->wall_at_seam ? at_seam : extreme + square(missed_sd), w->min, 1, d);
    r->wall_max = doubt_of(extreme, w->max, 1, d);
    r->wall_median = doubt_of(bias + averaged, w->median, 1, d);
    r->wall_min_off_seam = doubt_of(extreme + square(skirt_sd(w)), w->off_seam_min, 1, d);
    double local = square(LOCAL_BIAS) * bias;
    r->groove_depth = doubt_of(local + noise * GROOVE_NOISE + square(missed_sd) + bottom, w->groove_depth, 1, d);
    r->groove_share = doubt_of(0, w->groove_share, 0, d);
    r->groove_share.edge = r->groove_depth.edge / (isfinite(w->beside_seam) ? w->beside_seam : w->median);
}

static void seam_and_line(sf_RingMeasure *m, const sf_EdgeDoubt *d, double spacing)
{
    const sf_WallMap *w = &m->wall;
    sf_RingDoubt *r = &m->doubt;
    double bore = m->section.inner_diameter_mean / 2, angle = NAN;
    if (w->seam_origin == SF_SEAM_GROOVE) {
        double arc = fmax(w->groove_width * bore, d->correlation);
        double noise = sqrt(2) * d->random / w->groove_depth * w->groove_width * sqrt(d->correlation / arc);
        angle = sqrt(DIRECTION_SD * DIRECTION_SD + noise * noise + spacing * spacing / 16);
    } else if (w->seam_origin == SF_SEAM_LINE) {
        angle = fmax(DIRECTION_SD, d->line_end / bore);
    }
    r->seam_angle = doubt_of(angle * angle, angle, 0, d);
    double line = d->line_end * d->line_end + d->bias_inner * d->bias_inner + d->random * d->random;
    double left = d->line_end * d->line_end + d->bias_outer * d->bias_outer + d->random * d->random;
    double wall = isfinite(w->wall_at_seam) ? w->wall_at_seam : w->median;
    double share = w->unjoined_through ? 0 : w->unjoined_share;
    r->unjoined_depth = doubt_of(line, w->unjoined_depth, 1, d);
    r->ligament = doubt_of(left, w->ligament, 1, d);
    r->unjoined_share = doubt_of((line + share * share * (left + line)) / (wall * wall), w->unjoined_share, 0, d);
    if (w->unjoined_through)
        r->unjoined_share.edge = 0;
}

// On a round ring the farthest point is whichever the noise pushed out most, on an oval one it is a certain place: the
// share of the noise's own extremes fades as the shape's swing grows beyond them.
static double noise_share(double swing, double noise_sd)
{
    return swing > 0 ? fmin(1, ROUND_SWING * noise_sd / swing) : 1;
}

static void roundness(sf_RingMeasure *m, const sf_EdgeDoubt *d)
{
    const sf_RingFit *f = &m->fit;
    const sf_Section *s = &m->section;
    sf_RingDoubt *r = &m->doubt;
    double sd = d->random, mean = (f->outer.least + f->outer.largest) / 2;
    double jaws = ROUND_EXTREME * 2 * sd * noise_share(f->outer.largest - f->outer.least, sd);
    r->ovality = doubt_of((4 * sd * sd + jaws * jaws) / (mean * mean), f->ovality, 0, d);
    double bore = 2 * f->inscribed.radius, rim = 2 * f->circumscribed.radius;
    double in = ROUND_EXTREME * 2 * sd * noise_share(s->inner_diameter_mean - bore, sd);
    double out = ROUND_EXTREME * 2 * sd * noise_share(rim - s->outer_diameter_mean, sd);
    double base = 2 * EXTREME * EXTREME * sd * sd;
    r->inscribed_diameter = doubt_of(4 * (square(d->bias_inner) + square(d->bias_both)) + base + in * in, bore, 1, d);
    r->circumscribed_diameter =
        doubt_of(4 * (square(d->bias_outer) + square(d->bias_both)) + base + out * out, rim, 1, d);
}

// The shear centre of a thin closed ring moves twice as far as its centroid when the wall thickens on one side, that of
// a slit ring lies about a diameter from the axis and turns with the slit.
static void shear_centre(sf_RingMeasure *m, const sf_EdgeDoubt *d)
{
    sf_RingDoubt *r = &m->doubt;
    double radius = m->section.outer_diameter_mean / 2, swing = 0;
    if (m->wall.unjoined_through) {
        double turned = fmax(DIRECTION_SD, d->line_end / radius) * 2 * radius * sf_stats_normal_factor(0.95);
        swing = hypot(turned, r->outer_diameter_mean.edge);
    }
    double scale = sf_stats_normal_factor(0.95) * d->scale;
    r->shear_centre_x = (sf_Doubt){ hypot(2 * r->centroid_x.edge, swing), scale * fabs(m->section.centroid.x) };
    r->shear_centre_y = (sf_Doubt){ hypot(2 * r->centroid_y.edge, swing), scale * fabs(m->section.centroid.y) };
    if (m->wall.unjoined_through) {
        r->shear_centre_x.scale += scale * 2 * radius;
        r->shear_centre_y.scale += scale * 2 * radius;
    }
}

void sf_ring_doubt_spread(sf_RingMeasure *measure, const sf_Outline *outline)
{
    const sf_EdgeDoubt *d = &outline->doubt;
    double spacing = d->spacing / (measure->section.inner_diameter_mean / 2);
    double shown = sf_ring_doubt_shown_share(spacing);
    double deepest_seen = fmax(measure->wall.groove_threshold, measure->wall.groove_depth);
    double missed = deepest_seen * (1 / shown - 1);
    memset(&measure->doubt, 0, sizeof measure->doubt);
    integrals(measure, outline);
    measure->doubt.torsion_constant = doubt_of(torsion_variance(measure, d), 1, 4, d);
    measure->doubt.groove_missed = fmin(missed, measure->wall.median);
    walls(measure, outline, measure->doubt.groove_missed);
    seam_and_line(measure, d, spacing);
    roundness(measure, d);
    shear_centre(measure, d);
}
