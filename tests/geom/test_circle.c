// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/units.h"
#include "geom/circle.h"
#include "harness/tap.h"

#include <math.h>
#include <stdint.h>

static void put(sf_Polygon *polygon, size_t n, const sf_Point *points)
{
    TAP_OK(sf_polygon_create(polygon, n, NULL));
    for (size_t i = 0; i < n; i++)
        polygon->points[i] = points[i];
}

TAP_CASE(triangle_has_incircle_circumcircle_and_heights)
{
    sf_Polygon p = { 0 };
    put(&p, 3, (const sf_Point[]){ { 0, 0 }, { 4, 0 }, { 0, 3 } });
    sf_Circle in, around;
    sf_CaliperWidth width;
    TAP_OK(sf_circle_within(&in, &p, NULL));
    TAP_OK(sf_circle_around(&around, &p, NULL));
    TAP_OK(sf_caliper_width(&width, &p, NULL));
    TAP_NEAR(in.radius, 1, TAP_TIGHT,
             TAP_SOURCE("Euclid, Elements IV.4: incircle of the 3-4-5 triangle, r = area / s"));
    TAP_NEAR(in.centre.x, 1, TAP_TIGHT, TAP_CLOSED_FORM);
    TAP_NEAR(around.radius, 2.5, TAP_TIGHT, TAP_SOURCE("Thales: the hypotenuse is the diameter"));
    TAP_NEAR(width.least, 2.4, TAP_TIGHT, TAP_CLOSED_FORM);
    TAP_NEAR(width.largest, 5, TAP_TIGHT, TAP_CLOSED_FORM);
    TAP_NEAR(width.least_angle, atan2(4, 3), TAP_TIGHT, TAP_CLOSED_FORM);
    sf_polygon_free(&p);
}

TAP_CASE(blunt_triangle_is_held_by_its_longest_side)
{
    sf_Polygon p = { 0 };
    put(&p, 3, (const sf_Point[]){ { -3, 0 }, { 3, 0 }, { 0, 1 } });
    sf_Circle around;
    TAP_OK(sf_circle_around(&around, &p, NULL));
    TAP_NEAR(around.radius, 3, TAP_TIGHT, TAP_CLOSED_FORM);
    sf_polygon_free(&p);
}

TAP_CASE(rectangle_and_ellipse)
{
    sf_Polygon p = { 0 };
    put(&p, 4, (const sf_Point[]){ { 0, 0 }, { 6, 0 }, { 6, 2 }, { 0, 2 } });
    sf_Circle in, around;
    sf_CaliperWidth width;
    TAP_OK(sf_circle_within(&in, &p, NULL));
    TAP_OK(sf_circle_around(&around, &p, NULL));
    TAP_NEAR(in.radius, 1, TAP_TIGHT, TAP_CLOSED_FORM);
    TAP_NEAR(around.radius, sqrt(10), TAP_TIGHT, TAP_CLOSED_FORM);
    sf_polygon_free(&p);
    TAP_OK(sf_polygon_create(&p, 3000, NULL));
    for (size_t i = 0; i < 3000; i++) {
        double t = 2 * SF_PI * (double)i / 3000;
        p.points[i] = (sf_Point){ 0.5 + 0.026 * cos(t), 0.2 + 0.022 * sin(t) };
    }
    TAP_OK(sf_circle_within(&in, &p, NULL));
    TAP_OK(sf_circle_around(&around, &p, NULL));
    TAP_OK(sf_caliper_width(&width, &p, NULL));
    TAP_NEAR(in.radius, 0.022, TAP_TOLERANCE("3000-gon", 2e-6, 0), TAP_CLOSED_FORM);
    TAP_NEAR(around.radius, 0.026, TAP_TOLERANCE("3000-gon", 2e-6, 0), TAP_CLOSED_FORM);
    TAP_NEAR(width.least, 0.044, TAP_TOLERANCE("3000-gon", 2e-6, 0), TAP_CLOSED_FORM);
    TAP_NEAR(width.largest, 0.052, TAP_TOLERANCE("3000-gon", 2e-6, 0), TAP_CLOSED_FORM);
    sf_polygon_free(&p);
}

// The best of a fine grid can only be beaten by a little: an independent search on a bumpy bore.
TAP_CASE(bumpy_bore_beats_a_fine_grid)
{
    sf_Polygon p = { 0 };
    TAP_OK(sf_polygon_create(&p, 500, NULL));
    for (size_t i = 0; i < 500; i++) {
        double t = 2 * SF_PI * (double)i / 500;
        double r = 0.018 + 0.0006 * cos(2 * t + 0.3) + 0.0004 * cos(3 * t - 1) + 0.0002 * cos(7 * t);
        p.points[i] = (sf_Point){ 0.03 + r * cos(t), 0.04 + r * sin(t) };
    }
    sf_Circle in;
    TAP_OK(sf_circle_within(&in, &p, NULL));
    TAP_NEAR(sf_polygon_distance(&p, in.centre, NULL, NULL), in.radius, TAP_TIGHT, TAP_CLOSED_FORM);
    double best = 0, step = 2e-5;
    for (int i = -60; i <= 60; i++)
        for (int j = -60; j <= 60; j++)
            best = fmax(best, sf_polygon_distance(&p, (sf_Point){ 0.03 + i * step, 0.04 + j * step }, NULL, NULL));
    TAP_TRUE(in.radius >= best - 1e-12, "circle %.9g, grid %.9g", in.radius, best);
    TAP_TRUE(in.radius <= best + step, "circle %.9g, grid %.9g", in.radius, best);
    sf_polygon_free(&p);
}

// Of points scattered in a disc: every point is held, and at least two lie on the rim.
TAP_CASE(circle_around_scattered_points)
{
    sf_Polygon p = { 0 };
    TAP_OK(sf_polygon_create(&p, 400, NULL));
    uint64_t state = 7;
    for (size_t i = 0; i < 400; i++) {
        double value[2];
        for (int k = 0; k < 2; k++) {
            state = state * 6364136223846793005u + 1442695040888963407u;
            value[k] = (double)(state >> 11) / 9007199254740992.0;
        }
        p.points[i] =
            (sf_Point){ sqrt(value[0]) * cos(2 * SF_PI * value[1]), sqrt(value[0]) * sin(2 * SF_PI * value[1]) };
    }
    sf_Circle around;
    TAP_OK(sf_circle_around(&around, &p, NULL));
    size_t on_rim = 0, outside = 0;
    for (size_t i = 0; i < 400; i++) {
        double d = sf_point_distance(p.points[i], around.centre);
        outside += d > around.radius * (1 + 1e-9);
        on_rim += fabs(d - around.radius) < 1e-9;
    }
    TAP_TRUE(outside == 0);
    TAP_TRUE(on_rim >= 2 && around.radius < 1);
    sf_polygon_free(&p);
}

TAP_CASE(line_of_points_is_refused)
{
    sf_Polygon p = { 0 };
    put(&p, 3, (const sf_Point[]){ { 0, 0 }, { 1, 1 }, { 2, 2 } });
    sf_CaliperWidth width;
    sf_Circle in;
    TAP_STATUS(sf_caliper_width(&width, &p, NULL), SF_E_GEOMETRY);
    TAP_STATUS(sf_circle_within(&in, &p, NULL), SF_E_GEOMETRY);
    sf_polygon_free(&p);
}

static sf_Status all_three(void *context)
{
    const sf_Polygon *p = context;
    sf_Circle circle;
    sf_CaliperWidth width;
    sf_Error err;
    SF_TRY(sf_circle_within(&circle, p, &err));
    SF_TRY(sf_circle_around(&circle, p, &err));
    return sf_caliper_width(&width, p, &err);
}

TAP_CASE(running_out_of_memory_is_said)
{
    sf_Polygon p = { 0 };
    put(&p, 4, (const sf_Point[]){ { 0, 0 }, { 6, 0 }, { 6, 2 }, { 0, 2 } });
    tap_every_allocation(all_three, &p, 20, "circles and widths");
    sf_polygon_free(&p);
}

TAP_MAIN(TAP_RUN(triangle_has_incircle_circumcircle_and_heights), TAP_RUN(blunt_triangle_is_held_by_its_longest_side),
         TAP_RUN(rectangle_and_ellipse), TAP_RUN(bumpy_bore_beats_a_fine_grid), TAP_RUN(circle_around_scattered_points),
         TAP_RUN(line_of_points_is_refused), TAP_RUN(running_out_of_memory_is_said))
