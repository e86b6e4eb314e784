// SPDX-License-Identifier: GPL-3.0-or-later
// Whether polygon edges touch: edges are dropped into a grid of buckets and only bucket mates are compared.
#include "base/alloc.h"
#include "geom/polygon.h"

#include <math.h>

typedef struct Segment {
    sf_Point a, b;
    size_t index, owner;
} Segment;

typedef struct Grid {
    double x0, y0, cell;
    size_t columns, rows;
    size_t *first; // columns x rows + 1 offsets into `items`
    size_t *items;
} Grid;

static double orientation(sf_Point a, sf_Point b, sf_Point c)
{
    return sf_point_cross(sf_point_sub(b, a), sf_point_sub(c, a));
}

static bool within_box(sf_Point a, sf_Point b, sf_Point p)
{
    return p.x >= fmin(a.x, b.x) && p.x <= fmax(a.x, b.x) && p.y >= fmin(a.y, b.y) && p.y <= fmax(a.y, b.y);
}

static bool touch(const Segment *s, const Segment *t)
{
    double d1 = orientation(t->a, t->b, s->a), d2 = orientation(t->a, t->b, s->b);
    double d3 = orientation(s->a, s->b, t->a), d4 = orientation(s->a, s->b, t->b);
    if (((d1 > 0) != (d2 > 0)) && ((d3 > 0) != (d4 > 0)) && d1 != 0 && d2 != 0 && d3 != 0 && d4 != 0)
        return true;
    return (d1 == 0 && within_box(t->a, t->b, s->a)) || (d2 == 0 && within_box(t->a, t->b, s->b)) ||
           (d3 == 0 && within_box(s->a, s->b, t->a)) || (d4 == 0 && within_box(s->a, s->b, t->b));
}

static size_t bucket(double value, double start, double cell, size_t count)
{
    double k = (value - start) / cell;
    return k <= 0 ? 0 : k >= (double)count ? count - 1 : (size_t)k;
}

// Calls for every cell that the segment's box covers: counts when `grid->items` is NULL, else fills.
static void drop(Grid *grid, const Segment *s, size_t id, size_t *cursor)
{
    size_t c0 = bucket(fmin(s->a.x, s->b.x), grid->x0, grid->cell, grid->columns);
    size_t c1 = bucket(fmax(s->a.x, s->b.x), grid->x0, grid->cell, grid->columns);
    size_t r0 = bucket(fmin(s->a.y, s->b.y), grid->y0, grid->cell, grid->rows);
    size_t r1 = bucket(fmax(s->a.y, s->b.y), grid->y0, grid->cell, grid->rows);
    for (size_t r = r0; r <= r1; r++)
        for (size_t c = c0; c <= c1; c++) {
            size_t k = r * grid->columns + c;
            if (grid->items)
                grid->items[cursor[k]++] = id;
            else
                grid->first[k + 1]++;
        }
}

static bool build_grid(Grid *grid, const Segment *segments, size_t count)
{
    sf_Point low = segments[0].a, high = low;
    for (size_t i = 0; i < count; i++) {
        low = (sf_Point){ fmin(low.x, segments[i].a.x), fmin(low.y, segments[i].a.y) };
        high = (sf_Point){ fmax(high.x, segments[i].a.x), fmax(high.y, segments[i].a.y) };
    }
    double span = fmax(high.x - low.x, high.y - low.y);
    size_t side = 1 + (size_t)sqrt((double)count);
    *grid =
        (Grid){ .x0 = low.x, .y0 = low.y, .cell = span > 0 ? span / (double)side : 1, .columns = side, .rows = side };
    size_t cells = side * side;
    grid->first = sf_alloc(cells + 1, sizeof *grid->first);
    size_t *cursor = sf_alloc(cells, sizeof *cursor);
    if (!grid->first || !cursor) {
        sf_free(cursor);
        return false;
    }
    for (size_t i = 0; i < count; i++)
        drop(grid, &segments[i], i, NULL);
    for (size_t k = 0; k < cells; k++) {
        grid->first[k + 1] += grid->first[k];
        cursor[k] = grid->first[k];
    }
    grid->items = sf_alloc(grid->first[cells], sizeof *grid->items);
    if (grid->items)
        for (size_t i = 0; i < count; i++)
            drop(grid, &segments[i], i, cursor);
    sf_free(cursor);
    return grid->items != NULL;
}

static bool neighbours(const Segment *s, const Segment *t, size_t count)
{
    size_t gap = s->index > t->index ? s->index - t->index : t->index - s->index;
    return s->owner == t->owner && (gap <= 1 || gap + 1 == count);
}

// Looks for a touching pair: of one polygon among itself, or of two polygons one against the other.
static sf_Status find(const sf_Polygon *a, const sf_Polygon *b, bool *crosses, sf_Point *where, sf_Error *err)
{
    size_t count = a->count + (b ? b->count : 0);
    *crosses = false;
    Grid grid = { 0 };
    Segment *segments = sf_alloc(count, sizeof *segments);
    sf_Status status = SF_OK;
    if (!segments)
        goto memory;
    for (size_t i = 0; i < count; i++) {
        const sf_Polygon *owner = i < a->count ? a : b;
        size_t k = i < a->count ? i : i - a->count;
        segments[i] = (Segment){ owner->points[k], owner->points[(k + 1) % owner->count], k, owner == a ? 0 : 1 };
    }
    if (!build_grid(&grid, segments, count))
        goto memory;
    for (size_t cell = 0; cell < grid.columns * grid.rows && !*crosses; cell++)
        for (size_t i = grid.first[cell]; i < grid.first[cell + 1] && !*crosses; i++)
            for (size_t j = i + 1; j < grid.first[cell + 1] && !*crosses; j++) {
                const Segment *s = &segments[grid.items[i]], *t = &segments[grid.items[j]];
                bool compare = b ? s->owner != t->owner : !neighbours(s, t, count);
                if (compare && touch(s, t)) {
                    *crosses = true;
                    if (where)
                        *where = s->a;
                }
            }
    goto done;
memory:
    status = SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory while checking an outline");
done:
    sf_free(segments);
    sf_free(grid.first);
    sf_free(grid.items);
    return status;
}

sf_Status sf_polygon_crosses_itself(const sf_Polygon *polygon, bool *crosses, sf_Point *where, sf_Error *err)
{
    return find(polygon, NULL, crosses, where, err);
}

sf_Status sf_polygon_crosses(const sf_Polygon *a, const sf_Polygon *b, bool *crosses, sf_Error *err)
{
    return find(a, b, crosses, NULL, err);
}
