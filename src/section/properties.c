// SPDX-License-Identifier: GPL-3.0-or-later
#include "section/properties.h"

#include "base/units.h"

static void add_moments(sf_Moments *sum, const sf_Moments *part, double sign)
{
    sum->area += sign * part->area;
    sum->sx += sign * part->sx;
    sum->sy += sign * part->sy;
    sum->ixx += sign * part->ixx;
    sum->iyy += sign * part->iyy;
    sum->ixy += sign * part->ixy;
}

// Largest distance of any outline point from the line through the centroid in direction `angle`. The farthest point of
// a ring always lies on its outer outline.
static double farthest(const sf_Outline *outline, sf_Point centroid, double angle)
{
    double c = cos(angle), s = sin(angle), most = 0;
    for (size_t i = 0; i < outline->outer.count; i++) {
        sf_Point d = sf_point_sub(outline->outer.points[i], centroid);
        most = fmax(most, fabs(d.y * c - d.x * s));
    }
    return most;
}

static void principal(sf_Section *section)
{
    double half_sum = (section->ix + section->iy) / 2, half_difference = (section->ix - section->iy) / 2;
    double swing = hypot(half_difference, section->ixy);
    section->i_max = half_sum + swing;
    section->i_min = half_sum - swing;
    double angle = atan2(-section->ixy, half_difference) / 2;
    if (angle < 0)
        angle += SF_PI;
    section->principal_angle = angle >= SF_PI ? 0 : angle;
}

sf_Status sf_section_compute(sf_Section *section, const sf_Outline *outline, sf_Error *err)
{
    *section = (sf_Section){ 0 };
    sf_Moments outer = sf_polygon_moments(&outline->outer), inner = sf_polygon_moments(&outline->inner);
    sf_Moments net = outer;
    add_moments(&net, &inner, -1);
    for (size_t i = 0; i < outline->void_count; i++) {
        sf_Moments hollow = sf_polygon_moments(&outline->voids[i]);
        add_moments(&net, &hollow, -1);
        section->void_area += hollow.area;
    }
    if (!(net.area > 0))
        return SF_FAIL(err, SF_E_GEOMETRY, NULL, "the outlines enclose no wall: the outer must lie round the inner");
    section->area = net.area;
    section->centroid = (sf_Point){ net.sx / net.area, net.sy / net.area };
    section->ix = net.ixx - net.sy * section->centroid.y;
    section->iy = net.iyy - net.sx * section->centroid.x;
    section->ixy = net.ixy - net.sx * section->centroid.y;
    principal(section);
    double axis = section->principal_angle;
    section->elastic_max = section->i_max / farthest(outline, section->centroid, axis);
    section->elastic_min = section->i_min / farthest(outline, section->centroid, axis + SF_PI / 2);
    section->plastic_max = sf_section_plastic_modulus(outline, axis);
    section->plastic_min = sf_section_plastic_modulus(outline, axis + SF_PI / 2);
    section->enclosed_outer = outer.area;
    section->enclosed_inner = inner.area;
    section->outer_diameter_mean = sqrt(4 * outer.area / SF_PI);
    section->inner_diameter_mean = sqrt(4 * inner.area / SF_PI);
    section->outer_perimeter = sf_polygon_perimeter(&outline->outer);
    section->inner_perimeter = sf_polygon_perimeter(&outline->inner);
    return SF_OK;
}

// sigma = along_y y + along_x x for a unit moment: solves the two equations of moment equilibrium.
static void bending_slopes(const sf_Section *section, double moment_angle, double *along_x, double *along_y)
{
    double mx = cos(moment_angle), my = sin(moment_angle);
    double det = section->ix * section->iy - section->ixy * section->ixy;
    *along_y = (mx * section->iy + my * section->ixy) / det;
    *along_x = -(my * section->ix + mx * section->ixy) / det;
}

double sf_section_bending_factor(const sf_Section *section, sf_Point point, double moment_angle)
{
    double along_x, along_y;
    bending_slopes(section, moment_angle, &along_x, &along_y);
    sf_Point d = sf_point_sub(point, section->centroid);
    return along_x * d.x + along_y * d.y;
}

double sf_section_elastic_modulus(const sf_Section *section, const sf_Outline *outline, double moment_angle,
                                  sf_Point *where)
{
    double along_x, along_y, most = 0;
    bending_slopes(section, moment_angle, &along_x, &along_y);
    for (size_t i = 0; i < outline->outer.count; i++) {
        sf_Point d = sf_point_sub(outline->outer.points[i], section->centroid);
        double stress = fabs(along_x * d.x + along_y * d.y);
        if (stress > most) {
            most = stress;
            if (where)
                *where = outline->outer.points[i];
        }
    }
    return 1 / most;
}

double sf_section_second_moment(const sf_Section *section, double axis_angle)
{
    double c = cos(axis_angle), s = sin(axis_angle);
    return section->ix * c * c + section->iy * s * s - 2 * section->ixy * s * c;
}

// Over one polygon, with u the signed distance from the line: adds int sgn(u) dA and int |u| dA, both by Green's
// theorem as -(contour integral of |u| and of u |u| / 2 along the line's direction), exact edge by edge.
static void add_split(const sf_Polygon *polygon, double sign, double c, double s, double level, double *difference,
                      double *modulus)
{
    for (size_t i = 0; i < polygon->count; i++) {
        sf_Point p = polygon->points[i], q = polygon->points[i + 1 < polygon->count ? i + 1 : 0];
        double u0 = p.y * c - p.x * s - level, u1 = q.y * c - q.x * s - level;
        double run = (q.x - p.x) * c + (q.y - p.y) * s;
        if ((u0 >= 0) == (u1 >= 0)) {
            double side = u0 >= 0 ? 1 : -1;
            *difference -= sign * run * side * (u0 + u1) / 2;
            *modulus -= sign * run * side * (u0 * u0 + u0 * u1 + u1 * u1) / 6;
        } else {
            double cut = u0 / (u0 - u1); // share of the edge before it meets the line
            *difference -= sign * run * (cut * fabs(u0) + (1 - cut) * fabs(u1)) / 2;
            *modulus -= sign * run * (cut * u0 * fabs(u0) + (1 - cut) * u1 * fabs(u1)) / 6;
        }
    }
}

static double split(const sf_Outline *outline, double c, double s, double level, double *modulus)
{
    double difference = 0;
    *modulus = 0;
    add_split(&outline->outer, 1, c, s, level, &difference, modulus);
    add_split(&outline->inner, -1, c, s, level, &difference, modulus);
    for (size_t i = 0; i < outline->void_count; i++)
        add_split(&outline->voids[i], -1, c, s, level, &difference, modulus);
    return difference;
}

double sf_section_plastic_modulus(const sf_Outline *outline, double axis_angle)
{
    double c = cos(axis_angle), s = sin(axis_angle), low = INFINITY, high = -INFINITY, modulus;
    for (size_t i = 0; i < outline->outer.count; i++) {
        double u = outline->outer.points[i].y * c - outline->outer.points[i].x * s;
        low = fmin(low, u);
        high = fmax(high, u);
    }
    double span = high - low, area = split(outline, c, s, low - span, &modulus);
    double at_low = area, at_high = -area;
    // False position with the Illinois halving; the modulus is stationary at the halving line, so 1e-9 is ample.
    for (int step = 0, kept = 0; step < 60; step++) {
        double level = (low * at_high - high * at_low) / (at_high - at_low);
        double here = split(outline, c, s, level, &modulus);
        if (fabs(here) <= 1e-9 * area || high - low < 1e-12 * span)
            break;
        if (here > 0) {
            low = level;
            at_low = here;
            if (kept == 1)
                at_high /= 2;
            kept = 1;
        } else {
            high = level;
            at_high = here;
            if (kept == -1)
                at_low /= 2;
            kept = -1;
        }
    }
    return modulus;
}
