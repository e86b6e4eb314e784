// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/ring_figures.h"

#include "base/units.h"
#include "num/stats.h"

#include <stdio.h>
#include <string.h>

static const char *const NOT_SEARCHED = "not looked for: the edges are known at too few places or without their inside";

static sf_Figure *add(sf_RingFigures *f, const char *key, const char *label, const char *unit, int part, double value,
                      sf_Doubt doubt, double factor)
{
    sf_Figure *figure = &f->items[f->count++];
    *figure = (sf_Figure){ .key = key,
                           .label = label,
                           .unit = unit,
                           .part = part,
                           .value = value / factor,
                           .edge = doubt.edge / factor,
                           .scale = doubt.scale / factor };
    return figure;
}

// An angle a hair below the full turn would be printed as the turn itself, which the range leaves out.
static double below_turn(double angle, double turn)
{
    return angle > turn - 1e-9 ? 0 : angle;
}

// Says why, when the value does not exist.
static void because(sf_Figure *figure, const char *reason)
{
    if (isnan(figure->value))
        snprintf(figure->missing, sizeof figure->missing, "%s", reason);
}

sf_Doubt sf_torsion_doubt(const sf_Torsion *t, const sf_EdgeDoubt *e)
{
    double mesh = isfinite(t->discretisation) ? t->discretisation * t->torsion_constant : 0;
    double both = (t->rate_outer + t->rate_inner) * e->bias_both;
    double outer = t->rate_outer * e->bias_outer, inner = t->rate_inner * e->bias_inner;
    double line = t->rate_line * e->line_end;
    double random = e->random * e->random * e->correlation * t->rate_random;
    double factor = sf_stats_normal_factor(0.95);
    double variance = outer * outer + inner * inner + both * both + random + line * line;
    return (sf_Doubt){ hypot(factor * sqrt(variance), mesh), factor * 4 * e->scale * t->torsion_constant };
}

static void add_section(sf_RingFigures *f, const sf_RingMeasure *m)
{
    const sf_Section *s = &m->section;
    const sf_RingDoubt *d = &m->doubt;
    add(f, "area_mm2", "area", "mm2", -1, s->area, d->area, SF_MM2);
    add(f, "centroid_mm", "centroid x", "mm", 0, s->centroid.x, d->centroid_x, SF_MM);
    add(f, "centroid_mm", "centroid y", "mm", 1, s->centroid.y, d->centroid_y, SF_MM);
    add(f, "ix_mm4", "Ix", "mm4", -1, s->ix, d->ix, SF_MM4);
    add(f, "iy_mm4", "Iy", "mm4", -1, s->iy, d->iy, SF_MM4);
    add(f, "ixy_mm4", "Ixy", "mm4", -1, s->ixy, d->ixy, SF_MM4);
    add(f, "i_max_mm4", "I largest", "mm4", -1, s->i_max, d->i_max, SF_MM4);
    add(f, "i_min_mm4", "I least", "mm4", -1, s->i_min, d->i_min, SF_MM4);
    because(add(f, "principal_deg", "axis of largest I", "deg", -1, below_turn(m->principal_angle, SF_PI),
                d->principal_angle, SF_DEG),
            "the two principal second moments differ by less than their uncertainty");
}

static void add_torsion(sf_RingFigures *f, const sf_RingMeasure *m, const sf_EdgeDoubt *edges, const sf_Torsion *t,
                        const char *missing)
{
    double constant = t ? t->torsion_constant : NAN;
    sf_Point centre = t ? t->shear_centre : (sf_Point){ NAN, NAN };
    sf_Doubt doubt = t ? sf_torsion_doubt(t, edges) : (sf_Doubt){ NAN, NAN };
    because(add(f, "torsion_constant_mm4", "torsion constant", "mm4", -1, constant, doubt, SF_MM4), missing);
    because(add(f, "shear_centre_mm", "shear centre x", "mm", 0, centre.x, m->doubt.shear_centre_x, SF_MM), missing);
    because(add(f, "shear_centre_mm", "shear centre y", "mm", 1, centre.y, m->doubt.shear_centre_y, SF_MM), missing);
}

static void add_wall(sf_RingFigures *f, const sf_RingMeasure *m)
{
    const sf_WallMap *w = &m->wall;
    const sf_RingDoubt *d = &m->doubt;
    const char *no_seam = sf_seam_origin_text(w->seam_origin);
    add(f, "wall_min_mm", "least wall", "mm", -1, w->min, d->wall_min, SF_MM);
    add(f, "wall_median_mm", "median wall", "mm", -1, w->median, d->wall_median, SF_MM);
    add(f, "wall_max_mm", "largest wall", "mm", -1, w->max, d->wall_max, SF_MM);
    add(f, "wall_min_off_seam_mm", "least wall off the seam", "mm", -1, w->off_seam_min, d->wall_min_off_seam, SF_MM);
    because(add(f, "wall_at_seam_mm", "wall at the seam", "mm", -1, w->wall_at_seam, d->wall_at_seam, SF_MM), no_seam);
    because(add(f, "groove_depth_mm", "groove depth", "mm", -1, w->groove_depth, d->groove_depth, SF_MM), NOT_SEARCHED);
    because(add(f, "seam_direction_deg", "seam direction", "deg", -1, below_turn(w->seam_angle, 2 * SF_PI),
                d->seam_angle, SF_DEG),
            no_seam);
    because(add(f, "seam_unjoined_depth_mm", "unjoined line", "mm", -1, w->unjoined_depth, d->unjoined_depth, SF_MM),
            NOT_SEARCHED);
}

static void add_fit(sf_RingFigures *f, const sf_RingMeasure *m)
{
    const sf_RingDoubt *d = &m->doubt;
    add(f, "outer_diameter_mean_mm", "outer diameter, mean", "mm", -1, m->section.outer_diameter_mean,
        d->outer_diameter_mean, SF_MM);
    add(f, "inner_diameter_mean_mm", "inner diameter, mean", "mm", -1, m->section.inner_diameter_mean,
        d->inner_diameter_mean, SF_MM);
    add(f, "ovality_percent", "ovality", "%", -1, m->fit.ovality, d->ovality, 0.01);
    add(f, "inscribed_diameter_mm", "largest circle in the bore", "mm", -1, 2 * m->fit.inscribed.radius,
        d->inscribed_diameter, SF_MM);
    add(f, "circumscribed_diameter_mm", "least circle round the ring", "mm", -1, 2 * m->fit.circumscribed.radius,
        d->circumscribed_diameter, SF_MM);
    add(f, "void_area_mm2", "voids, area", "mm2", -1, m->section.void_area, d->void_area, SF_MM2);
}

void sf_ring_figures_fill(sf_RingFigures *figures, const sf_RingMeasure *measure, const sf_EdgeDoubt *edges,
                          const sf_Torsion *torsion, const char *torsion_missing, bool doubt_known)
{
    figures->count = 0;
    add_section(figures, measure);
    add_torsion(figures, measure, edges, torsion, torsion_missing);
    add_wall(figures, measure);
    add_fit(figures, measure);
    for (size_t i = 0; i < figures->count; i++)
        if (!doubt_known || isnan(figures->items[i].value))
            figures->items[i].edge = figures->items[i].scale = NAN;
}

const sf_Figure *sf_ring_figure(const sf_RingFigures *figures, const char *key, int part)
{
    for (size_t i = 0; i < figures->count; i++)
        if (figures->items[i].part == part && strcmp(figures->items[i].key, key) == 0)
            return &figures->items[i];
    return NULL;
}
