// SPDX-License-Identifier: GPL-3.0-or-later
#include "harness/tap.h"
#include "section/properties.h"
#include "section/shapes.h"

enum { MANY = 4000 };

// A regular polygon of the circle's own area differs from it in second moments by about (2 pi / n)^4 / 180.
#define POLYGON_FOR_CIRCLE TAP_TOLERANCE("4000-gon for a circle", 1e-9, 0)
#define POLYGON_EXTENT     TAP_TOLERANCE("4000-gon for a circle, farthest point", 2e-6, 0)
#define RELATIVE           TAP_TOLERANCE("rounding, relative only", 1e-10, 0)

static sf_Section section_of(sf_Outline *outline)
{
    sf_Section section = { 0 };
    sf_Error err = { 0 };
    TAP_OK(sf_outline_check(outline, &err));
    TAP_OK(sf_section_compute(&section, outline, &err));
    return section;
}

TAP_CASE(round_tube)
{
    sf_Outline ring = { 0 };
    const double D = 0.050, d = 0.040;
    shape_circle(&ring.outer, MANY, (sf_Point){ 0.035, 0.033 }, D / 2);
    shape_circle(&ring.inner, MANY, (sf_Point){ 0.035, 0.033 }, d / 2);
    sf_Section s = section_of(&ring);
    double I = SF_PI / 64 * (pow(D, 4) - pow(d, 4));
    TAP_NEAR(s.area, SF_PI / 4 * (D * D - d * d), POLYGON_FOR_CIRCLE,
             TAP_SOURCE("Young, Budynas, Roark's Formulas for Stress and Strain, 7th ed., table A.1, hollow circle"));
    TAP_NEAR(s.ix, I, POLYGON_FOR_CIRCLE, TAP_SOURCE("Roark's Formulas, 7th ed., table A.1, hollow circle"));
    TAP_NEAR(s.iy, I, POLYGON_FOR_CIRCLE, TAP_SOURCE("Roark's Formulas, 7th ed., table A.1, hollow circle"));
    TAP_NEAR(s.ixy / I, 0, TAP_TOLERANCE("share of I", 0, 1e-9), TAP_CLOSED_FORM);
    TAP_NEAR(s.centroid.x, 0.035, RELATIVE, TAP_CLOSED_FORM);
    TAP_NEAR(s.centroid.y, 0.033, RELATIVE, TAP_CLOSED_FORM);
    TAP_NEAR(s.elastic_max, I / (D / 2), POLYGON_EXTENT, TAP_CLOSED_FORM);
    TAP_NEAR(s.plastic_max, (pow(D, 3) - pow(d, 3)) / 6, POLYGON_EXTENT,
             TAP_SOURCE("Roark's Formulas, 7th ed., table A.1, hollow circle: plastic modulus 4 (R^3 - r^3) / 3"));
    TAP_NEAR(s.outer_diameter_mean, D, POLYGON_FOR_CIRCLE, TAP_CLOSED_FORM);
    TAP_NEAR(s.inner_diameter_mean, d, POLYGON_FOR_CIRCLE, TAP_CLOSED_FORM);
    TAP_NEAR(s.outer_perimeter, SF_PI * D, POLYGON_EXTENT, TAP_CLOSED_FORM);
    sf_outline_free(&ring);
}

TAP_CASE(turned_elliptical_tube)
{
    sf_Outline ring = { 0 };
    const double a = 0.028, b = 0.022, t = 0.005, turn = 0.6;
    const sf_Point at = { -0.04, 0.07 };
    shape_ellipse(&ring.outer, MANY, at, a, b, turn);
    shape_ellipse(&ring.inner, MANY, at, a - t, b - t, turn);
    sf_Section s = section_of(&ring);
    double share = shape_polygon_share(MANY);
    // Second moments of the inscribed polygon: the affine image of a regular one, k = share (2 + cos(2 pi / n)) / 3.
    double k = share * (2 + cos(2 * SF_PI / MANY)) / 3;
    double about_long = SF_PI / 4 * (a * b * b * b - (a - t) * pow(b - t, 3)) * k;
    double about_short = SF_PI / 4 * (b * a * a * a - (b - t) * pow(a - t, 3)) * k;
    TAP_NEAR(s.area, SF_PI * (a * b - (a - t) * (b - t)) * share, RELATIVE, TAP_CLOSED_FORM);
    TAP_NEAR(s.i_max, about_short, RELATIVE,
             TAP_SOURCE("Roark's Formulas, 7th ed., table A.1, hollow ellipse, times the polygon's closed-form share"));
    TAP_NEAR(s.i_min, about_long, RELATIVE,
             TAP_SOURCE("Roark's Formulas, 7th ed., table A.1, hollow ellipse, times the polygon's closed-form share"));
    TAP_NEAR(s.principal_angle, turn + SF_PI / 2, TAP_TOLERANCE("angle", 0, 1e-9), TAP_CLOSED_FORM);
    // ixy = +int xy dA by Mohr's circle: for axes turned by `turn` the long axis has the small second moment.
    TAP_NEAR(
        s.ixy, (about_short - about_long) / 2 * sin(2 * turn), TAP_TOLERANCE("share of I", 1e-8, 0),
        TAP_SOURCE("Timoshenko, Strength of Materials, part I, appendix A: products of inertia, sign of +int xy dA"));
    TAP_NEAR(s.elastic_max, about_short / a, POLYGON_EXTENT, TAP_CLOSED_FORM);
    TAP_NEAR(s.elastic_min, about_long / b, POLYGON_EXTENT, TAP_CLOSED_FORM);
    TAP_NEAR(sf_section_elastic_modulus(&s, &ring, turn, NULL), s.elastic_min, RELATIVE, TAP_CLOSED_FORM);
    TAP_NEAR(s.plastic_max, 4.0 / 3 * (a * a * b - (a - t) * (a - t) * (b - t)), POLYGON_EXTENT, TAP_CLOSED_FORM);
    TAP_NEAR(sf_section_second_moment(&s, turn), about_long, RELATIVE, TAP_CLOSED_FORM);
    sf_outline_free(&ring);
}

TAP_CASE(eccentric_tube)
{
    sf_Outline ring = { 0 };
    const double R = 0.025, r = 0.020, e = 0.002;
    shape_circle(&ring.outer, MANY, (sf_Point){ 0, 0 }, R);
    shape_circle(&ring.inner, MANY, (sf_Point){ e, 0 }, r);
    sf_Section s = section_of(&ring);
    double A1 = SF_PI * R * R, A2 = SF_PI * r * r, A = A1 - A2, xc = -A2 * e / A;
    TAP_NEAR(s.centroid.x, xc, TAP_TOLERANCE("4000-gon", 1e-9, 0), TAP_CLOSED_FORM);
    TAP_NEAR(s.ix, SF_PI / 4 * (pow(R, 4) - pow(r, 4)), POLYGON_FOR_CIRCLE, TAP_CLOSED_FORM);
    TAP_NEAR(s.iy, SF_PI / 4 * (pow(R, 4) - pow(r, 4)) - A2 * e * e - A * xc * xc, POLYGON_FOR_CIRCLE,
             TAP_SOURCE("parallel axis theorem: Timoshenko, Strength of Materials, part I, appendix A"));
    TAP_NEAR(s.principal_angle, 0, TAP_TOLERANCE("angle", 0, 1e-6), TAP_CLOSED_FORM);
    // About the x axis the tube stays symmetric; about y the area-halving line must be searched: the tensile and the
    // compressive half must hold the same area and the modulus must be least there.
    TAP_NEAR(sf_section_plastic_modulus(&ring, 0), 4.0 / 3 * (pow(R, 3) - pow(r, 3)), POLYGON_EXTENT, TAP_CLOSED_FORM);
    sf_outline_free(&ring);
}

TAP_CASE(rectangles_turned_and_hollow)
{
    sf_Outline box = { 0 };
    const double b = 0.030, h = 0.050, t = 0.0005, turn = 0.3;
    const sf_Point at = { 1.5, -0.7 }; // far from the origin: the sums must not lose digits
    shape_rectangle(&box.outer, at, b, h, turn);
    shape_rectangle(&box.inner, at, b - 2 * t, h - 2 * t, turn);
    sf_Section s = section_of(&box);
    double I = (b * h * h * h - (b - 2 * t) * pow(h - 2 * t, 3)) / 12;
    double Z = (b * h * h - (b - 2 * t) * pow(h - 2 * t, 2)) / 4;
    TAP_NEAR(s.area, b * h - (b - 2 * t) * (h - 2 * t), TAP_TOLERANCE("far origin", 1e-9, 0), TAP_CLOSED_FORM);
    TAP_NEAR(s.i_max, I, TAP_TOLERANCE("far origin", 1e-6, 0),
             TAP_SOURCE("Roark's Formulas, 7th ed., table A.1, hollow rectangle"));
    TAP_NEAR(s.principal_angle, turn, TAP_TOLERANCE("far origin", 0, 1e-6), TAP_CLOSED_FORM);
    TAP_NEAR(s.elastic_max, I / (h / 2), TAP_TOLERANCE("far origin", 1e-6, 0), TAP_CLOSED_FORM);
    TAP_NEAR(s.plastic_max, Z, TAP_TOLERANCE("far origin", 1e-6, 0),
             TAP_SOURCE("plastic modulus b h^2 / 4 of a rectangle: Roark's Formulas, 7th ed., table A.1"));
    // A moment about an axis that is no principal one stresses a corner: unsymmetric bending.
    double angle = turn + 0.7, mx = cos(0.7), my = sin(0.7);
    double Iy = (h * b * b * b - (h - 2 * t) * pow(b - 2 * t, 3)) / 12;
    sf_Point where;
    double W = sf_section_elastic_modulus(&s, &box, angle, &where);
    TAP_NEAR(1 / W, mx * (h / 2) / I + my * (b / 2) / Iy, TAP_TOLERANCE("far origin", 1e-6, 0),
             TAP_SOURCE("unsymmetric bending by components: Timoshenko, Strength of Materials, part I, section 47"));
    TAP_NEAR(fabs(sf_section_bending_factor(&s, where, angle)), 1 / W, RELATIVE, TAP_CLOSED_FORM);
    sf_outline_free(&box);
}

TAP_CASE(moment_along_x_pulls_at_plus_y)
{
    sf_Outline box = { 0 };
    shape_rectangle(&box.outer, (sf_Point){ 0, 0 }, 0.03, 0.05, 0);
    shape_rectangle(&box.inner, (sf_Point){ 0, 0 }, 0.02, 0.04, 0);
    sf_Section s = section_of(&box);
    TAP_TRUE(sf_section_bending_factor(&s, (sf_Point){ 0, 0.025 }, 0) > 0);
    TAP_TRUE(sf_section_bending_factor(&s, (sf_Point){ 0.015, 0 }, SF_PI / 2) < 0);
    sf_outline_free(&box);
}

TAP_CASE(plastic_axis_halves_an_unsymmetric_area)
{
    // A 4 x 4 square with a bore 2 wide and 1 high, its middle at y = 0.5: net area 14, halved at y = -2 + 7/4 = -0.25.
    sf_Outline box = { 0 };
    shape_rectangle(&box.outer, (sf_Point){ 0, 0 }, 4, 4, 0);
    shape_rectangle(&box.inner, (sf_Point){ 0, 0.5 }, 2, 1, 0);
    double below = 1.75 * 4 * 0.875;                           // int of the distance over the lower part
    double above = 4 * 2.25 * 2.25 / 2 - 2 * 1 * (0.5 + 0.25); // upper part less the bore
    sf_Section s = section_of(&box);
    TAP_NEAR(sf_section_plastic_modulus(&box, 0), below + above, TAP_TOLERANCE("rounding", 1e-9, 0), TAP_CLOSED_FORM);
    TAP_NEAR(s.area, 14, TAP_TIGHT, TAP_CLOSED_FORM);
    sf_outline_free(&box);
}

TAP_CASE(voids_come_off_the_section_but_not_off_the_diameters)
{
    sf_Outline ring = { 0 };
    const double D = 0.050, d = 0.040, v = 0.001, x = 0.0225;
    shape_circle(&ring.outer, MANY, (sf_Point){ 0, 0 }, D / 2);
    shape_circle(&ring.inner, MANY, (sf_Point){ 0, 0 }, d / 2);
    shape_circle(&ring.voids[0], 400, (sf_Point){ x, 0 }, v / 2);
    ring.void_count = 1;
    sf_Section s = section_of(&ring);
    double A0 = SF_PI / 4 * (D * D - d * d), Av = SF_PI / 4 * v * v, A = A0 - Av, xc = -Av * x / A;
    double I0 = SF_PI / 64 * (pow(D, 4) - pow(d, 4)), Iv = SF_PI / 64 * pow(v, 4);
    TAP_NEAR(s.area, A, POLYGON_FOR_CIRCLE, TAP_CLOSED_FORM);
    TAP_NEAR(s.void_area, Av, TAP_TOLERANCE("400-gon", 1e-9, 0), TAP_CLOSED_FORM);
    TAP_NEAR(s.centroid.x, xc, TAP_TOLERANCE("400-gon", 1e-7, 0), TAP_CLOSED_FORM);
    TAP_NEAR(s.iy, I0 - Iv - Av * x * x - A * xc * xc, POLYGON_FOR_CIRCLE,
             TAP_SOURCE("parallel axis theorem: Timoshenko, Strength of Materials, part I, appendix A"));
    TAP_NEAR(s.inner_diameter_mean, d, POLYGON_FOR_CIRCLE, TAP_CLOSED_FORM);
    TAP_NEAR(s.outer_diameter_mean, D, POLYGON_FOR_CIRCLE, TAP_CLOSED_FORM);
    sf_outline_free(&ring);
}

TAP_CASE(outline_that_crosses_itself_is_refused_with_its_place)
{
    sf_Outline ring = { 0 };
    sf_Error err = { 0 };
    shape_circle(&ring.outer, 200, (sf_Point){ 0.03, 0.03 }, 0.025);
    shape_circle(&ring.inner, 200, (sf_Point){ 0.03, 0.03 }, 0.020);
    sf_Point swap = ring.inner.points[10];
    ring.inner.points[10] = ring.inner.points[40];
    ring.inner.points[40] = swap;
    TAP_STATUS(sf_outline_check(&ring, &err), SF_E_GEOMETRY);
    TAP_HOLDS(err.text, "inner outline crosses itself near x");
    sf_outline_free(&ring);
}

TAP_MAIN(TAP_RUN(round_tube), TAP_RUN(turned_elliptical_tube), TAP_RUN(eccentric_tube),
         TAP_RUN(rectangles_turned_and_hollow), TAP_RUN(moment_along_x_pulls_at_plus_y),
         TAP_RUN(plastic_axis_halves_an_unsymmetric_area),
         TAP_RUN(voids_come_off_the_section_but_not_off_the_diameters),
         TAP_RUN(outline_that_crosses_itself_is_refused_with_its_place))
