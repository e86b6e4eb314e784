// SPDX-License-Identifier: GPL-3.0-or-later
#include "geom/outline.h"

#include "base/units.h"

void sf_outline_free(sf_Outline *outline)
{
    sf_polygon_free(&outline->outer);
    sf_polygon_free(&outline->inner);
    for (size_t i = 0; i < outline->void_count; i++)
        sf_polygon_free(&outline->voids[i]);
    outline->void_count = 0;
}

sf_Status sf_outline_copy(sf_Outline *out, const sf_Outline *outline, sf_Error *err)
{
    sf_Status status;
    *out = (sf_Outline){ .line = outline->line, .line_searched = outline->line_searched, .doubt = outline->doubt };
    SF_TRY_DONE(sf_polygon_copy(&out->outer, &outline->outer, err));
    SF_TRY_DONE(sf_polygon_copy(&out->inner, &outline->inner, err));
    for (size_t i = 0; i < outline->void_count; i++) {
        SF_TRY_DONE(sf_polygon_copy(&out->voids[i], &outline->voids[i], err));
        out->void_count = i + 1;
    }
done:
    if (status != SF_OK)
        sf_outline_free(out);
    return status;
}

// Drops points that repeat the one before, as hand-made tables close their curves.
static void drop_repeats(sf_Polygon *curve)
{
    size_t kept = 0;
    for (size_t i = 0; i < curve->count; i++) {
        sf_Point next = curve->points[(i + 1) % curve->count];
        if (curve->points[i].x != next.x || curve->points[i].y != next.y)
            curve->points[kept++] = curve->points[i];
    }
    curve->count = kept;
}

// One closed curve: enough finite points, no crossing, counter-clockwise afterwards.
static sf_Status check_curve(sf_Polygon *curve, const char *name, sf_Error *err)
{
    drop_repeats(curve);
    if (curve->count < SF_POLYGON_MIN_POINTS || curve->count > SF_POLYGON_MAX_POINTS)
        return SF_FAIL(err, SF_E_GEOMETRY, name, "the %s outline has %zu points; it needs %d to %d", name, curve->count,
                       SF_POLYGON_MIN_POINTS, SF_POLYGON_MAX_POINTS);
    for (size_t i = 0; i < curve->count; i++)
        if (!isfinite(curve->points[i].x) || !isfinite(curve->points[i].y))
            return SF_FAIL(err, SF_E_GEOMETRY, name, "point %zu of the %s outline is not a number", i + 1, name);
    bool crosses;
    sf_Point where = { 0, 0 };
    SF_TRY(sf_polygon_crosses_itself(curve, &crosses, &where, err));
    if (crosses)
        return SF_FAIL(err, SF_E_GEOMETRY, name,
                       "the %s outline crosses itself near x %.2f mm, y %.2f mm: it must be one plain closed curve",
                       name, where.x / SF_MM, where.y / SF_MM);
    double area = sf_polygon_area(curve);
    if (area == 0)
        return SF_FAIL(err, SF_E_GEOMETRY, name, "the %s outline encloses nothing", name);
    if (area < 0)
        sf_polygon_reverse(curve);
    return SF_OK;
}

sf_Status sf_outline_check_void(const sf_Outline *outline, sf_Polygon *hollow, sf_Error *err)
{
    SF_TRY(check_curve(hollow, "void", err));
    bool in_wall = sf_polygon_contains(&outline->outer, hollow->points[0]) &&
                   !sf_polygon_contains(&outline->inner, hollow->points[0]);
    bool touches_outer, touches_inner;
    SF_TRY(sf_polygon_crosses(&outline->outer, hollow, &touches_outer, err));
    SF_TRY(sf_polygon_crosses(&outline->inner, hollow, &touches_inner, err));
    sf_Point middle = sf_polygon_centroid(hollow);
    if (!in_wall || touches_outer || touches_inner)
        return SF_FAIL(err, SF_E_GEOMETRY, "void",
                       "the void near x %.2f mm, y %.2f mm does not lie wholly within the wall", middle.x / SF_MM,
                       middle.y / SF_MM);
    return SF_OK;
}

sf_Status sf_outline_check(sf_Outline *outline, sf_Error *err)
{
    SF_TRY(check_curve(&outline->outer, "outer", err));
    SF_TRY(check_curve(&outline->inner, "inner", err));
    bool crosses;
    SF_TRY(sf_polygon_crosses(&outline->outer, &outline->inner, &crosses, err));
    if (crosses)
        return SF_FAIL(err, SF_E_GEOMETRY, "inner", "the inner and the outer outline touch: there is no wall there");
    if (!sf_polygon_contains(&outline->outer, outline->inner.points[0]))
        return SF_FAIL(err, SF_E_GEOMETRY, "inner", "the inner outline does not lie within the outer one");
    for (size_t i = 0; i < outline->void_count; i++)
        SF_TRY(sf_outline_check_void(outline, &outline->voids[i], err));
    return SF_OK;
}
