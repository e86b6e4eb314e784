// SPDX-License-Identifier: GPL-3.0-or-later
#include "strength/ring_squeeze.h"

#include "base/units.h"
#include "num/quadrature.h"

#include <math.h>

enum { PIECES = 180, POINTS = 3, UNKNOWNS = 3, ALL = 4 }; // pieces of each half between the two loads

static const double shear_factor = 6.0 / 5.0; // of a rectangle
static const double largest_residual = 1e-9;

// One radial section: edges from the centre, and what a curved beam needs of them.
typedef struct Cut {
    double inner, outer, wall, radius, neutral, shift;
} Cut;

static Cut make_cut(double inner, double outer)
{
    Cut c = { inner, outer, outer - inner, 0.5 * (outer + inner), 0, 0 };
    c.neutral = c.wall / log(outer / inner);
    c.shift = c.radius - c.neutral;
    return c;
}

static sf_Status cut_at(Cut *cut, const sf_Outline *outline, sf_Point centre, double angle, sf_Error *err)
{
    double inner = sf_polygon_ray_last(&outline->inner, centre, angle);
    double outer = sf_polygon_ray_last(&outline->outer, centre, angle);
    if (!(inner > 0) || !(outer > inner))
        return SF_FAIL(err, SF_E_GEOMETRY, NULL, "the ring's wall is not seen from the middle of its bore at %.0f deg",
                       angle / SF_DEG);
    *cut = make_cut(inner, outer);
    return SF_OK;
}

// Normal force, shear and straightening moment of a section as rows over (moment about the centre, force u, force v,
// load); u lies along the load line. Half 1 runs from the load at the load angle to the opposite one.
static void actions(double rows[3][ALL], const Cut *cut, double turn, bool second_half)
{
    double c = cos(turn), s = sin(turn);
    const double normal[ALL] = { 0, -s, c, second_half ? s : 0 };
    const double shear[ALL] = { 0, c, s, second_half ? -c : 0 };
    for (int i = 0; i < ALL; i++) {
        rows[0][i] = normal[i];
        rows[1][i] = shear[i];
        rows[2][i] = cut->radius * normal[i] - (i == 0 ? 1 : 0);
    }
}

// Energy per angle at unit modulus, as a symmetric form over the four.
static void add_energy(double form[ALL][ALL], const Cut *cut, double rows[3][ALL], double length, double poisson,
                       double weight)
{
    double area = length * cut->wall;
    double mm = 1 / (area * cut->shift), nn = cut->radius / area, mn = -1 / area;
    double vv = 2 * (1 + poisson) * shear_factor * cut->radius / area;
    for (int i = 0; i < ALL; i++)
        for (int k = 0; k < ALL; k++)
            form[i][k] +=
                weight * (mm * rows[2][i] * rows[2][k] + nn * rows[0][i] * rows[0][k] +
                          mn * (rows[2][i] * rows[0][k] + rows[0][i] * rows[2][k]) + vv * rows[1][i] * rows[1][k]);
}

// The three redundants for one newton: the ring closes without gap, step or kink.
static sf_Status close_ring(double x[ALL], double form[ALL][ALL], double *residual, sf_Error *err)
{
    double a[UNKNOWNS][UNKNOWNS + 1], scale = 0, left = 0;
    for (int i = 0; i < UNKNOWNS; i++) {
        for (int k = 0; k < UNKNOWNS; k++)
            a[i][k] = form[i][k];
        a[i][UNKNOWNS] = -form[i][UNKNOWNS];
    }
    for (int p = 0; p < UNKNOWNS; p++) { // symmetric and positive: no pivots to look for
        if (!(a[p][p] > 1e-14 * form[p][p]))
            return SF_FAIL(err, SF_E_SINGULAR, NULL, "the squeezed ring has no single answer");
        for (int i = p + 1; i < UNKNOWNS; i++) {
            double share = a[i][p] / a[p][p];
            for (int k = p; k <= UNKNOWNS; k++)
                a[i][k] -= share * a[p][k];
        }
    }
    for (int i = UNKNOWNS - 1; i >= 0; i--) {
        x[i] = a[i][UNKNOWNS];
        for (int k = i + 1; k < UNKNOWNS; k++)
            x[i] -= a[i][k] * x[k];
        x[i] /= a[i][i];
    }
    x[UNKNOWNS] = 1;
    for (int i = 0; i < UNKNOWNS; i++) {
        double sum = 0, size = 0;
        for (int k = 0; k < ALL; k++) {
            sum += form[i][k] * x[k];
            size += fabs(form[i][k] * x[k]);
        }
        left = fmax(left, fabs(sum));
        scale = fmax(scale, size);
    }
    *residual = scale > 0 ? left / scale : 0;
    if (*residual > largest_residual)
        return SF_FAIL(err, SF_E_INACCURATE, NULL, "the squeezed ring was solved to %.1e only", *residual);
    return SF_OK;
}

static double row_value(const double row[ALL], const double x[ALL])
{
    return row[0] * x[0] + row[1] * x[1] + row[2] * x[2] + row[3] * x[3];
}

static double edge_stress(const Cut *cut, double length, double normal, double moment, bool inner)
{
    double r = inner ? cut->inner : cut->outer, area = length * cut->wall;
    return normal / area + moment * (cut->neutral - r) / (area * cut->shift * r);
}

static double turn_of(double angle, double load_angle)
{
    double turn = fmod(angle - load_angle, 2 * SF_PI);
    return turn < 0 ? turn + 2 * SF_PI : turn;
}

// Both edges at a turn from the load line, on the section `cut`.
static void edges_at(double stress[2], double *moment, const Cut *cut, double turn, double length, const double x[ALL])
{
    double rows[3][ALL];
    actions(rows, cut, turn, turn > SF_PI);
    double n = row_value(rows[0], x), m = row_value(rows[2], x);
    stress[0] = edge_stress(cut, length, n, m, true);
    stress[1] = edge_stress(cut, length, n, m, false);
    if (moment)
        *moment = m;
}

typedef struct Work {
    const sf_Outline *outline;
    const sf_SqueezeSetup *setup;
    sf_Point centre;
    Cut cuts[2 * PIECES * POINTS];
    double turns[2 * PIECES * POINTS];
    double x[ALL];
} Work;

static sf_Status gather(Work *w, sf_RingSqueeze *s, double form[ALL][ALL], sf_Error *err)
{
    const sf_Gauss *rule = sf_gauss_rule(POINTS);
    const double piece = SF_PI / PIECES;
    for (size_t i = 0; i < 2 * PIECES; i++)
        for (size_t g = 0; g < POINTS; g++) {
            double turn = piece * ((double)i + 0.5 * (1 + rule->x[g])), weight = 0.5 * piece * rule->w[g];
            Cut *cut = &w->cuts[i * POINTS + g];
            double rows[3][ALL];
            SF_TRY(cut_at(cut, w->outline, w->centre, w->setup->load_angle + turn, err));
            w->turns[i * POINTS + g] = turn;
            actions(rows, cut, turn, i >= PIECES);
            add_energy(form, cut, rows, w->setup->axial_length, w->setup->poisson_ratio, weight);
            s->mean_radius += weight / (2 * SF_PI) * cut->radius;
            s->mean_wall += weight / (2 * SF_PI) * cut->wall;
        }
    return SF_OK;
}

// The largest tension: along the sections, and right under both loads, where the moment has its corners.
static sf_Status find_peak(const Work *w, sf_RingSqueeze *s, sf_Error *err)
{
    double stress[2], length = w->setup->axial_length;
    s->peak.stress = -INFINITY;
    for (size_t i = 0; i < 2 * PIECES * POINTS + 2; i++) {
        bool under = i >= 2 * PIECES * POINTS;
        double turn = !under ? w->turns[i] : i == 2 * PIECES * POINTS ? 0 : SF_PI;
        Cut cut = under ? (Cut){ 0 } : w->cuts[i];
        if (under)
            SF_TRY(cut_at(&cut, w->outline, w->centre, w->setup->load_angle + turn, err));
        edges_at(stress, turn == 0 ? &s->load_moment : NULL, &cut, turn, length, w->x);
        for (int edge = 0; edge < 2; edge++)
            if (stress[edge] > s->peak.stress)
                s->peak = (sf_SqueezePlace){ turn_of(w->setup->load_angle + turn, 0), edge == 0, stress[edge] };
    }
    Cut quarter;
    SF_TRY(cut_at(&quarter, w->outline, w->centre, w->setup->load_angle + SF_PI / 2, err));
    edges_at(stress, &s->quarter_moment, &quarter, SF_PI / 2, length, w->x);
    return SF_OK;
}

// Stress as of the whole wall, so that a line never makes a proof easier; beside it that on what an open line leaves.
static sf_Status look_at_seam(const Work *w, sf_RingSqueeze *s, sf_Error *err)
{
    const sf_UnjoinedLine *line = &w->outline->line;
    double stress[2], turn = turn_of(w->setup->seam_angle, w->setup->load_angle), length = w->setup->axial_length;
    Cut cut;
    SF_TRY(cut_at(&cut, w->outline, w->centre, w->setup->seam_angle, err));
    edges_at(stress, NULL, &cut, turn, length, w->x);
    s->seam_inner = stress[0];
    s->seam_outer = stress[1];
    s->wall_at_seam = cut.wall;
    s->ligament = s->ligament_stress = NAN;
    s->line_open = line->present && stress[0] > 0;
    if (s->line_open) {
        double tip = sf_point_distance(line->end, w->centre);
        cut = make_cut(fmax(cut.inner, fmin(tip, cut.outer - 1e-3 * cut.wall)), cut.outer);
        edges_at(stress, NULL, &cut, turn, length, w->x);
        s->ligament = cut.wall;
        s->ligament_stress = stress[0];
    }
    return SF_OK;
}

sf_Status sf_ring_squeeze_solve(sf_RingSqueeze *squeeze, const sf_Outline *outline, const sf_SqueezeSetup *setup,
                                sf_Error *err)
{
    if (!(setup->axial_length > 0) || !(setup->poisson_ratio >= 0) || !(setup->poisson_ratio <= 0.5))
        return SF_FAIL(err, SF_E_RANGE, NULL,
                       "a squeezed ring needs a length above 0 and a Poisson's ratio of 0 to 0.5");
    Work w = { .outline = outline, .setup = setup, .centre = sf_polygon_centroid(&outline->inner) };
    sf_RingSqueeze s = { 0 };
    double form[ALL][ALL] = { { 0 } };
    SF_TRY(gather(&w, &s, form, err));
    SF_TRY(close_ring(w.x, form, &s.loads_closed, err));
    s.compliance = row_value(form[UNKNOWNS], w.x);
    SF_TRY(find_peak(&w, &s, err));
    SF_TRY(look_at_seam(&w, &s, err));
    if (outline->line.present && outline->line.through) {
        s.slit = true;
        s.compliance = s.seam_inner = s.seam_outer = s.peak.stress = s.load_moment = s.quarter_moment =
            s.ligament_stress = NAN;
    }
    *squeeze = s;
    return SF_OK;
}

double sf_ring_squeeze_tension(const sf_RingSqueeze *squeeze, bool *inner)
{
    bool within = squeeze->seam_inner >= squeeze->seam_outer;
    if (inner)
        *inner = within;
    return within ? squeeze->seam_inner : squeeze->seam_outer;
}

double sf_ring_squeeze_width_factor(double axial_length, double radius, double wall, double poisson_ratio)
{
    double square = poisson_ratio * poisson_ratio;
    double l = axial_length * pow(3 * (1 - square), 0.25) / sqrt(radius * wall);
    if (l < 1e-3)
        return 1;
    double spread = l > 30 ? 2 / l : 2 / l * (cosh(l) - cos(l)) / (sinh(l) + sin(l));
    return (1 - square * spread) / (1 - square);
}
