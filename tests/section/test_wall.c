// SPDX-License-Identifier: GPL-3.0-or-later
#include "harness/tap.h"
#include "section/shapes.h"
#include "section/wall.h"

static const tap_Tolerance GON = { "3000-gon for a circle", 0, 4e-8 };

static void map_ring(sf_WallMap *map, sf_Outline *outline, const ShapeRing *ring, double given)
{
    sf_Error err = { 0 };
    shape_ring(outline, ring);
    TAP_OK(sf_outline_check(outline, &err));
    TAP_OK(sf_wall_map(map, outline, given, &err));
}

TAP_CASE(off_centre_bore_has_the_nearest_distance_not_the_radial_one)
{
    // From a point of the bore, the nearest point of the outer circle lies R - |point - centre| away.
    const double R = 0.0228, r = 0.0172, e = 0.0021;
    sf_Outline outline = { .line_searched = true };
    shape_circle(&outline.outer, 3000, (sf_Point){ 0.03, 0.03 }, R);
    shape_circle(&outline.inner, 3000, (sf_Point){ 0.03 + e, 0.03 }, r);
    sf_WallMap map;
    TAP_OK(sf_wall_map(&map, &outline, NAN, NULL));
    TAP_NEAR(map.origin.x, 0.03 + e, TAP_TIGHT, TAP_CLOSED_FORM);
    double worst = 0, radial_error = 0;
    for (size_t k = 0; k < SF_WALL_STATIONS; k++) {
        double t = SF_PI * (double)k / 360, x = e + r * cos(t), y = r * sin(t);
        worst = fmax(worst, fabs(map.wall[k] - (R - hypot(x, y))));
        double along = -e * cos(t) + sqrt(R * R - e * e * sin(t) * sin(t)) - r; // along the ray from the bore's middle
        radial_error = fmax(radial_error, fabs(along - (R - hypot(x, y))));
    }
    TAP_NEAR(worst, 0, GON, TAP_CLOSED_FORM);
    TAP_TRUE(radial_error > 3e-5, "the ray's length would be wrong by %g", radial_error);
    TAP_NEAR(map.min, R - r - e, GON, TAP_CLOSED_FORM);
    TAP_NEAR(map.max, R - r + e, GON, TAP_CLOSED_FORM);
    TAP_NEAR(map.eccentricity, e, TAP_TOLERANCE("third harmonic of the wall", 0.02, 0), TAP_CLOSED_FORM);
    TAP_NEAR(map.thick_angle, SF_PI, TAP_TOLERANCE("angle", 0, 0.01), TAP_CLOSED_FORM);
    TAP_TRUE(map.seam_origin == SF_SEAM_NONE_FOUND && isnan(map.seam_angle) && isnan(map.wall_at_seam));
    TAP_TRUE(map.groove_depth == 0 && map.unjoined_depth == 0 && map.off_seam_min == map.min);
    sf_outline_free(&outline);
}

TAP_CASE(every_station_agrees_with_a_search_through_all_edges)
{
    sf_Outline outline;
    sf_WallMap map;
    const ShapeRing ring = { .outer = 0.0215,
                             .wall = 0.0052,
                             .offset = { 0.0006, -0.0009 },
                             .wave = { 0, 0.0003, 0.0004, 0.0001, 0.00008 },
                             .phase = 1.1,
                             .groove = { 4.5, 0.0009, 4 * SF_DEG },
                             .centre = { 0.03, 0.04 },
                             .points = 701 };
    map_ring(&map, &outline, &ring, NAN);
    double worst = 0, worst_ray = 0;
    for (size_t k = 0; k < SF_WALL_STATIONS; k += 7) {
        double d = sf_polygon_distance(&outline.outer, map.inner[k], NULL, NULL);
        double ray = sf_polygon_ray_last(&outline.inner, map.origin, SF_PI * (double)k / 360);
        worst = fmax(worst, fabs(d - map.wall[k]));
        worst = fmax(worst, fabs(sf_point_distance(map.inner[k], map.outer[k]) - map.wall[k]));
        worst_ray = fmax(worst_ray, fabs(ray - sf_point_distance(map.inner[k], map.origin)));
    }
    TAP_NEAR(worst, 0, TAP_TOLERANCE("rounding", 0, 1e-14), TAP_CLOSED_FORM);
    TAP_NEAR(worst_ray, 0, TAP_TOLERANCE("rounding", 0, 1e-14), TAP_CLOSED_FORM);
    sf_outline_free(&outline);
}

// The easy version takes the thinnest place for the seam: here it lies 139 degrees away from the groove.
// Corners that lie on the very rays of the map fall to one side or the other by rounding; none may be lost.
TAP_CASE(corners_on_the_rays_are_met)
{
    size_t lost = 0;
    for (int i = 0; i < 60; i++) {
        ShapeRing ring = { .outer = 22.5e-3, .wall = 5.5e-3, .centre = { i * 1.37e-3, 32e-3 - i * 0.61e-3 } };
        ring.points = SF_WALL_STATIONS;
        sf_Outline outline;
        static sf_WallMap map;
        shape_ring(&outline, &ring);
        TAP_OK(sf_outline_check(&outline, NULL));
        if (sf_wall_map(&map, &outline, NAN, NULL) != SF_OK || fabs(map.max - 5.5e-3) > 1e-6)
            lost++;
        sf_outline_free(&outline);
    }
    TAP_TRUE(lost == 0, "%zu of 60 rings", lost);
}

TAP_CASE(groove_is_found_where_the_global_least_wall_is_elsewhere)
{
    sf_Outline outline;
    sf_WallMap map;
    const ShapeRing ring = { .outer = 0.023,
                             .wall = 0.0052,
                             .wave = { 0, 0.0016, 0.0003 },
                             .phase = 216 * SF_DEG,
                             .groove = { 275 * SF_DEG, 0.00045, 4 * SF_DEG },
                             .centre = { 0.03, 0.03 },
                             .points = 3000 };
    map_ring(&map, &outline, &ring, NAN);
    TAP_TRUE(map.seam_origin == SF_SEAM_GROOVE);
    // Directions are about the bore's own middle, which lies off the centre that the shape is drawn about.
    double bore = shape_bore_radius(&ring, ring.groove.angle);
    sf_Point bottom = { ring.centre.x + bore * cos(ring.groove.angle), ring.centre.y + bore * sin(ring.groove.angle) };
    double truth = atan2(bottom.y - map.origin.y, bottom.x - map.origin.x);
    TAP_NEAR(remainder(map.seam_angle - truth, 2 * SF_PI) / SF_DEG, 0, TAP_TOLERANCE("direction, degrees", 0, 1),
             TAP_INVENTED);
    TAP_TRUE(map.min_station / 2 < 60 || map.min_station / 2 > 330, "least wall at %zu degrees", map.min_station / 2);
    TAP_TRUE(map.off_seam_min == map.min);
    TAP_TRUE(map.wall_at_seam > map.min + 0.001);
    // Depth by its definition, from the stations themselves.
    double sides[200], least = 1;
    size_t n = 0;
    for (size_t k = 0; k < SF_WALL_STATIONS; k++) {
        double off = fabs(remainder((double)k / 2 - map.seam_angle / SF_DEG, 360));
        if (off <= 12.25)
            least = fmin(least, map.wall[k]);
        if (off >= 15 && off <= 40)
            sides[n++] = map.wall[k];
    }
    for (size_t i = 1; i < n; i++) // insertion sort: no code shared with the product
        for (size_t j = i; j > 0 && sides[j] < sides[j - 1]; j--) {
            double swap = sides[j];
            sides[j] = sides[j - 1];
            sides[j - 1] = swap;
        }
    double median = n % 2 ? sides[n / 2] : (sides[n / 2 - 1] + sides[n / 2]) / 2;
    TAP_NEAR(map.groove_depth, median - least, TAP_TIGHT, TAP_CLOSED_FORM);
    TAP_NEAR(map.wall_at_seam, least, TAP_EXACT, TAP_CLOSED_FORM);
    sf_outline_free(&outline);
}

TAP_CASE(direction_is_found_to_a_degree_on_many_rings)
{
    int worst_case = -1, missed = 0;
    double worst = 0;
    for (int i = 0; i < 72; i++) {
        double angle = (5 * i + 0.37 * i) * SF_DEG;
        ShapeRing ring = { .outer = 0.014 + 0.0004 * i,
                           .wall = 0.0038 + 0.00003 * i,
                           .offset = { 0.0009 * cos(i), 0 },
                           .wave = { 0, 0.0004 * sin(3 * i), 0.0003 * cos(2 * i), 0.00006, 0.00004 },
                           .phase = 0.9 * i,
                           .groove = { angle, 0.0003 + 0.00002 * (i % 30), (3 + i % 4) * SF_DEG },
                           .centre = { 0.04, 0.04 },
                           .points = 1500 };
        // Directions are about the bore's own middle; the shape's angle is about its offset centre.
        sf_Outline outline;
        sf_WallMap map;
        map_ring(&map, &outline, &ring, NAN);
        sf_Point bottom = { ring.centre.x + ring.offset.x + shape_bore_radius(&ring, angle) * cos(angle),
                            ring.centre.y + ring.offset.y + shape_bore_radius(&ring, angle) * sin(angle) };
        double truth = atan2(bottom.y - map.origin.y, bottom.x - map.origin.x);
        double off = fabs(remainder(map.seam_angle - truth, 2 * SF_PI)) / SF_DEG;
        if (map.seam_origin != SF_SEAM_GROOVE)
            missed++;
        else if (off > worst) {
            worst = off;
            worst_case = i;
        }
        sf_outline_free(&outline);
    }
    TAP_TRUE(missed == 0, "%d of 72 missed", missed);
    TAP_NEAR(worst, 0, TAP_TOLERANCE("direction, degrees", 0, 1.0), TAP_INVENTED);
    tap_note("worst direction %.2f degrees, ring %d", worst, worst_case);
}

TAP_CASE(waves_of_the_wall_are_no_groove)
{
    for (int h = 1; h < 6; h++) {
        ShapeRing ring = { .outer = 0.022, .wall = 0.0052, .phase = 0.4, .points = 1500 };
        ring.wave[h] = h <= 2 ? 0.0008 : 0.00025;
        sf_Outline outline;
        sf_WallMap map;
        map_ring(&map, &outline, &ring, NAN);
        TAP_TRUE(map.seam_origin == SF_SEAM_NONE_FOUND, "harmonic %d gave a groove of %g m at %g degrees", h,
                 map.groove_depth, map.seam_angle / SF_DEG);
        TAP_TRUE(map.groove_depth == 0 && map.off_seam_min == map.min);
        sf_outline_free(&outline);
    }
}

TAP_CASE(shallow_groove_does_not_count_and_a_given_seam_steps_in)
{
    sf_Outline outline;
    sf_WallMap map;
    const ShapeRing ring = { .outer = 0.022, .wall = 0.0052, .groove = { 3, 0.0001, 4 * SF_DEG }, .points = 1500 };
    map_ring(&map, &outline, &ring, 200 * SF_DEG - 2 * SF_PI);
    TAP_TRUE(map.seam_origin == SF_SEAM_GIVEN);
    TAP_NEAR(map.seam_angle, 200 * SF_DEG, TAP_TIGHT, TAP_INVENTED);
    TAP_TRUE(map.groove_depth == 0 && map.off_seam_min == map.min && isfinite(map.wall_at_seam));
    sf_outline_free(&outline);
    const ShapeRing deeper = { .outer = 0.022, .wall = 0.0052, .groove = { 3, 0.0002, 4 * SF_DEG }, .points = 1500 };
    map_ring(&map, &outline, &deeper, 200 * SF_DEG);
    TAP_TRUE(map.seam_origin == SF_SEAM_GROOVE, "a groove of 0.2 mm counts; what was given does not move it");
    TAP_NEAR(map.seam_angle, 3, TAP_TOLERANCE("direction", 0, 1 * SF_DEG), TAP_INVENTED);
    sf_outline_free(&outline);
}

TAP_CASE(unjoined_line_its_share_and_the_bridge_left)
{
    const ShapeRing ring = { .outer = 0.0225, .wall = 0.0055, .groove = { 0, 0.0009, 4 * SF_DEG }, .points = 3000 };
    sf_Outline outline;
    sf_WallMap map;
    shape_ring(&outline, &ring);
    double foot = 0.0225 - 0.0046; // the groove's bottom, at angle 0
    outline.line = (sf_UnjoinedLine){ true, false, { foot, 0 }, { foot + 0.0026, 0 } };
    TAP_OK(sf_wall_map(&map, &outline, NAN, NULL));
    const tap_Tolerance gon = TAP_TOLERANCE("3000-gon", 1e-4, 0);
    TAP_TRUE(map.seam_origin == SF_SEAM_GROOVE);
    TAP_NEAR(map.unjoined_depth, 0.0026, gon, TAP_INVENTED);
    TAP_NEAR(map.unjoined_share, 2.6 / 4.6, gon, TAP_CLOSED_FORM);
    TAP_NEAR(map.ligament, 0.0020, gon, TAP_CLOSED_FORM);
    TAP_TRUE(!map.unjoined_through);
    outline.line.end.x = 0.0225 - 0.00029;
    TAP_OK(sf_wall_map(&map, &outline, NAN, NULL));
    TAP_TRUE(map.unjoined_through && map.unjoined_share == 1, "a bridge of 0.29 mm counts as none");
    outline.line.end.x = 0.0225 - 0.00040;
    TAP_OK(sf_wall_map(&map, &outline, NAN, NULL));
    TAP_TRUE(!map.unjoined_through);
    outline.doubt.line_end = 0.00025; // 95 %: 0.49 mm, more than the bridge
    TAP_OK(sf_wall_map(&map, &outline, NAN, NULL));
    TAP_TRUE(map.unjoined_through && map.unjoined_share == 1, "a bridge below its own doubt counts as none");
    sf_outline_free(&outline);
}

TAP_CASE(line_without_groove_gives_the_direction)
{
    const ShapeRing ring = { .outer = 0.0225, .wall = 0.0055, .points = 1500 };
    sf_Outline outline;
    sf_WallMap map;
    shape_ring(&outline, &ring);
    outline.line = (sf_UnjoinedLine){ true, false, { 0, -0.0170 }, { 0.0001, -0.0180 } };
    TAP_OK(sf_wall_map(&map, &outline, 1, NULL));
    TAP_TRUE(map.seam_origin == SF_SEAM_LINE);
    TAP_NEAR(map.groove_depth, 0, TAP_TOLERANCE("1500-gon", 0, 1e-7), TAP_CLOSED_FORM);
    TAP_NEAR(map.seam_angle, 1.5 * SF_PI, TAP_TOLERANCE("direction", 0, 1e-6), TAP_CLOSED_FORM);
    sf_outline_free(&outline);
}

TAP_CASE(outlines_alone_say_nothing_of_a_line)
{
    const ShapeRing ring = { .outer = 0.0225, .wall = 0.0055, .points = 360 };
    sf_Outline outline;
    sf_WallMap map;
    shape_ring(&outline, &ring);
    outline.line_searched = false;
    outline.doubt.spacing = 0.0130; // readings every 44 degrees of the bore
    TAP_OK(sf_wall_map(&map, &outline, NAN, NULL));
    TAP_TRUE(isnan(map.unjoined_depth) && isnan(map.unjoined_share) && isnan(map.groove_depth));
    TAP_TRUE(map.seam_origin == SF_SEAM_NOT_SEARCHED);
    TAP_OK(sf_wall_map(&map, &outline, 1, NULL));
    TAP_TRUE(map.seam_origin == SF_SEAM_GIVEN_UNSEARCHED && isnan(map.groove_depth) && isfinite(map.wall_at_seam));
    sf_outline_free(&outline);
}

TAP_CASE(bore_that_is_no_bore_is_refused)
{
    // A crescent: its own middle lies outside of it.
    sf_Outline outline = { 0 };
    sf_WallMap map;
    sf_Error err = { 0 };
    shape_circle(&outline.outer, 200, (sf_Point){ 0, 0 }, 0.05);
    TAP_OK(sf_polygon_create(&outline.inner, 200, NULL));
    for (size_t i = 0; i < 200; i++) {
        double t = SF_PI * (double)(i % 100) / 100, r = i < 100 ? 0.020 : 0.018;
        t = i < 100 ? t : SF_PI - t;
        outline.inner.points[i] = (sf_Point){ r * cos(t), r * sin(t) };
    }
    TAP_OK(sf_outline_check(&outline, &err));
    TAP_STATUS(sf_wall_map(&map, &outline, NAN, &err), SF_E_GEOMETRY);
    TAP_HOLDS(err.text, "bore");
    sf_outline_free(&outline);
}

static sf_Status body(void *context)
{
    sf_WallMap map;
    sf_Error err;
    return sf_wall_map(&map, context, NAN, &err);
}

TAP_CASE(running_out_of_memory_is_said)
{
    const ShapeRing ring = { .outer = 0.0225, .wall = 0.0055, .points = 360 };
    sf_Outline outline;
    shape_ring(&outline, &ring);
    tap_every_allocation(body, &outline, 40, "wall map");
    sf_outline_free(&outline);
}

TAP_MAIN(TAP_RUN(off_centre_bore_has_the_nearest_distance_not_the_radial_one),
         TAP_RUN(every_station_agrees_with_a_search_through_all_edges), TAP_RUN(corners_on_the_rays_are_met),
         TAP_RUN(groove_is_found_where_the_global_least_wall_is_elsewhere),
         TAP_RUN(direction_is_found_to_a_degree_on_many_rings), TAP_RUN(waves_of_the_wall_are_no_groove),
         TAP_RUN(shallow_groove_does_not_count_and_a_given_seam_steps_in),
         TAP_RUN(unjoined_line_its_share_and_the_bridge_left), TAP_RUN(line_without_groove_gives_the_direction),
         TAP_RUN(outlines_alone_say_nothing_of_a_line), TAP_RUN(bore_that_is_no_bore_is_refused),
         TAP_RUN(running_out_of_memory_is_said))
