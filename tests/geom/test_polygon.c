// SPDX-License-Identifier: GPL-3.0-or-later
#include "geom/outline.h"
#include "harness/tap.h"

static void rectangle(sf_Polygon *polygon, double x, double y, double w, double h)
{
    TAP_OK(sf_polygon_create(polygon, 4, NULL));
    polygon->points[0] = (sf_Point){ x, y };
    polygon->points[1] = (sf_Point){ x + w, y };
    polygon->points[2] = (sf_Point){ x + w, y + h };
    polygon->points[3] = (sf_Point){ x, y + h };
}

TAP_CASE(rectangle_far_from_the_origin_has_its_moments)
{
    sf_Polygon p = { 0 };
    rectangle(&p, 0.2, -0.1, 0.03, 0.01);
    sf_Moments m = sf_polygon_moments(&p);
    double cx = 0.215, cy = -0.095, area = 3e-4;
    TAP_NEAR(m.area, area, TAP_TIGHT, TAP_CLOSED_FORM);
    TAP_NEAR(m.sx, area * cx, TAP_TIGHT, TAP_CLOSED_FORM);
    TAP_NEAR(m.ixx, 0.03 * 1e-6 / 12 + area * cy * cy, TAP_TOLERANCE("relative only", 1e-12, 0), TAP_CLOSED_FORM);
    TAP_NEAR(m.iyy, 0.01 * 2.7e-5 / 12 + area * cx * cx, TAP_TOLERANCE("relative only", 1e-12, 0), TAP_CLOSED_FORM);
    TAP_NEAR(m.ixy, area * cx * cy, TAP_TOLERANCE("relative only", 1e-12, 0), TAP_CLOSED_FORM);
    sf_polygon_reverse(&p);
    TAP_NEAR(sf_polygon_area(&p), -area, TAP_TIGHT, TAP_CLOSED_FORM);
    sf_polygon_free(&p);
}

TAP_CASE(distance_and_rays_of_a_rectangle)
{
    sf_Polygon p = { 0 };
    rectangle(&p, -2, -1, 4, 2);
    sf_Point near;
    TAP_NEAR(sf_polygon_distance(&p, (sf_Point){ 5, 5 }, &near, NULL), 5, TAP_ROUNDING, TAP_CLOSED_FORM);
    TAP_NEAR(near.x, 2, TAP_ROUNDING, TAP_CLOSED_FORM);
    TAP_NEAR(sf_polygon_ray_last(&p, (sf_Point){ 0, 0 }, 0), 2, TAP_ROUNDING, TAP_CLOSED_FORM);
    TAP_TRUE(isnan(sf_polygon_ray_last(&p, (sf_Point){ 3, 0 }, 0)));
    TAP_TRUE(sf_polygon_contains(&p, (sf_Point){ 1.9, 0.9 }));
    TAP_TRUE(!sf_polygon_contains(&p, (sf_Point){ 2.1, 0.9 }));
    sf_polygon_free(&p);
}

TAP_CASE(bow_tie_is_found_to_cross_itself)
{
    sf_Polygon p = { 0 };
    rectangle(&p, 0, 0, 1, 1);
    bool crosses = true;
    TAP_OK(sf_polygon_crosses_itself(&p, &crosses, NULL, NULL));
    TAP_TRUE(!crosses);
    sf_Point swap = p.points[2];
    p.points[2] = p.points[3];
    p.points[3] = swap;
    TAP_OK(sf_polygon_crosses_itself(&p, &crosses, NULL, NULL));
    TAP_TRUE(crosses);
    sf_polygon_free(&p);
}

TAP_CASE(outline_check_refuses_bad_rings_and_mends_direction)
{
    sf_Outline ring = { 0 };
    sf_Error err = { 0 };
    rectangle(&ring.outer, 0, 0, 4, 4);
    rectangle(&ring.inner, 1, 1, 2, 2);
    sf_polygon_reverse(&ring.inner);
    TAP_OK(sf_outline_check(&ring, &err));
    TAP_TRUE(sf_polygon_area(&ring.inner) > 0);
    for (size_t i = 0; i < 4; i++)
        ring.inner.points[i].x += 2.5;
    TAP_STATUS(sf_outline_check(&ring, &err), SF_E_GEOMETRY);
    TAP_HOLDS(err.text, "touch");
    for (size_t i = 0; i < 4; i++)
        ring.inner.points[i].x += 10;
    TAP_STATUS(sf_outline_check(&ring, &err), SF_E_GEOMETRY);
    TAP_HOLDS(err.text, "within");
    sf_outline_free(&ring);
}

TAP_MAIN(TAP_RUN(rectangle_far_from_the_origin_has_its_moments), TAP_RUN(distance_and_rays_of_a_rectangle),
         TAP_RUN(bow_tie_is_found_to_cross_itself), TAP_RUN(outline_check_refuses_bad_rings_and_mends_direction))
