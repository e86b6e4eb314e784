// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/limb_case_outline.h"

#include "base/alloc.h"
#include "section/outline_table.h"

#include <math.h>

enum { SPANS = 256 }; // open spans never nest deeper than the halvings of a curve, and a long one is worked off first

typedef struct Span {
    size_t from, to; ///< `to` may be the count: the first point again
} Span;

static sf_Point point_at(const sf_Polygon *curve, size_t i)
{
    return curve->points[i < curve->count ? i : i - curve->count];
}

// How far a point lies off the chord's line, or off its end where the chord has no length.
static double away(sf_Point a, sf_Point b, sf_Point p)
{
    sf_Point chord = sf_point_sub(b, a), to = sf_point_sub(p, a);
    double length = sf_point_length(chord);
    return length > 0 ? fabs(chord.x * to.y - chord.y * to.x) / length : sf_point_length(to);
}

// The point farthest from the span's chord; `from` when none lies farther than the tolerance.
static size_t farthest(const sf_Polygon *curve, Span span, double tolerance)
{
    double most = tolerance;
    size_t found = span.from;
    for (size_t i = span.from + 1; i < span.to; i++) {
        double d = away(point_at(curve, span.from), point_at(curve, span.to), curve->points[i]);
        if (d > most) {
            most = d;
            found = i;
        }
    }
    return found;
}

static void mark(const sf_Polygon *curve, double tolerance, bool *kept)
{
    Span open[SPANS];
    size_t count = 0, half = curve->count / 2;
    kept[0] = kept[half] = true;
    open[count++] = (Span){ 0, half };
    open[count++] = (Span){ half, curve->count };
    while (count > 0) {
        Span span = open[--count];
        size_t middle = farthest(curve, span, tolerance);
        if (middle == span.from)
            continue;
        kept[middle] = true;
        Span parts[2] = { { span.from, middle }, { middle, span.to } };
        bool first_longer = parts[0].to - parts[0].from > parts[1].to - parts[1].from;
        if (count + 2 > SPANS) { // cannot be with the longer part below: all of it is kept then
            for (size_t i = span.from + 1; i < span.to; i++)
                kept[i] = true;
            continue;
        }
        open[count++] = parts[first_longer ? 0 : 1];
        open[count++] = parts[first_longer ? 1 : 0];
    }
}

static sf_Status thin(sf_Polygon *out, const sf_Polygon *curve, double tolerance, sf_Error *err)
{
    size_t count = 0;
    bool *kept = sf_alloc(curve->count, sizeof *kept);
    if (!kept)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory while keeping the outline");
    mark(curve, tolerance, kept);
    for (size_t i = 0; i < curve->count; i++)
        count += kept[i];
    sf_Status status = sf_polygon_create(out, count, err);
    for (size_t i = 0, n = 0; status == SF_OK && i < curve->count; i++)
        if (kept[i])
            out->points[n++] = curve->points[i];
    sf_free(kept);
    return status;
}

sf_Status sf_limb_case_outline(const sf_Outline *outline, double tolerance, char **text, sf_Error *err)
{
    sf_Status status;
    size_t size;
    *text = NULL;
    sf_Outline *thinned = sf_alloc(1, sizeof *thinned);
    if (!thinned)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory while keeping the outline");
    SF_TRY_DONE(sf_outline_copy(thinned, outline, err));
    sf_polygon_free(&thinned->outer);
    sf_polygon_free(&thinned->inner);
    SF_TRY_DONE(thin(&thinned->outer, &outline->outer, tolerance, err));
    SF_TRY_DONE(thin(&thinned->inner, &outline->inner, tolerance, err));
    status = sf_outline_check(thinned, NULL);
    if (status != SF_E_MEMORY) // an edge that only just does not cross itself stays as it was read
        status = sf_outline_write_csv(status == SF_OK ? thinned : outline, text, &size, err);
    else
        status = SF_FAIL(err, status, NULL, "out of memory while keeping the outline");
done:
    sf_outline_free(thinned);
    sf_free(thinned);
    return status;
}
