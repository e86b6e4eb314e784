// SPDX-License-Identifier: GPL-3.0-or-later
#include "ring_raster.h"

#include "base/alloc.h"

#include <math.h>
#include <string.h>

sf_Status sf_field_create(sf_Field *field, size_t columns, size_t rows, sf_Error *err)
{
    *field = (sf_Field){ columns, rows, sf_alloc(columns * rows, sizeof(float)) };
    if (!field->value)
        return SF_FAIL(err, SF_E_MEMORY, "", "no memory for a picture of %zu x %zu pixels", columns, rows);
    return SF_OK;
}

void sf_field_destroy(sf_Field *field)
{
    sf_free(field->value);
    field->value = NULL;
}

/// Marks the change of coverage that one piece of edge inside one row of pixels makes: `dy` tall, from x0 to x1.
static void mark_row(float *row, size_t columns, double x0, double x1, double dy)
{
    const double limit = (double)columns;
    if (x0 > x1) {
        const double t = x0;
        x0 = x1;
        x1 = t;
    }
    if (x0 >= limit)
        return;
    if (x1 <= 0.0) {
        row[0] += (float)dy;
        return;
    }
    x0 = fmax(x0, 0.0);
    x1 = fmin(x1, limit);
    const double width = x1 - x0;
    size_t c = (size_t)x0;
    double before = 0.0; // area to the right of the edge that earlier columns have taken
    if (width < 1e-12) {
        const double inside = (double)(c + 1) - x0;
        if (c < columns)
            row[c] += (float)(dy * inside);
        if (c + 1 < columns)
            row[c + 1] += (float)(dy * (1.0 - inside));
        return;
    }
    // Running coverage of column c is dy times the mean over it of the share of the edge that lies to its left.
    for (; c < columns; c++) {
        const double a = fmax((double)c, x0), b = fmin((double)(c + 1), x1);
        const double fa = (a - x0) / width, fb = b > a ? (b - x0) / width : 1.0;
        double mean = b > a ? 0.5 * (fa + fb) * (b - a) : 0.0;
        mean += (double)(c + 1) - fmax(b, (double)c); // right of the edge's end: wholly covered
        row[c] += (float)(dy * (mean - before));
        before = mean;
        if ((double)(c + 1) >= x1) {
            if (c + 1 < columns)
                row[c + 1] += (float)(dy * (1.0 - mean));
            break;
        }
    }
}

static void mark_edge(sf_Field *field, double x0, double y0, double x1, double y1, double sign)
{
    if (y0 == y1)
        return;
    if (y0 > y1) {
        mark_edge(field, x1, y1, x0, y0, -sign);
        return;
    }
    const double slope = (x1 - x0) / (y1 - y0), top = fmax(y0, 0.0), bottom = fmin(y1, (double)field->rows);
    for (double y = top; y < bottom;) {
        const double next = fmin(floor(y) + 1.0, bottom);
        mark_row(field->value + (size_t)y * field->columns, field->columns, x0 + slope * (y - y0),
                 x0 + slope * (next - y0), sign * (next - y));
        y = next;
    }
}

void sf_field_edges(sf_Field *field, const double *xy, size_t count, double sign)
{
    for (size_t i = 0; i < count; i++) {
        const double *a = xy + 2 * i, *b = xy + 2 * ((i + 1) % count);
        mark_edge(field, a[0], a[1], b[0], b[1], sign);
    }
}

void sf_field_settle(sf_Field *field)
{
    for (size_t r = 0; r < field->rows; r++) {
        float *row = field->value + r * field->columns;
        double sum = 0.0;
        for (size_t c = 0; c < field->columns; c++) {
            sum += row[c];
            row[c] = (float)(fabs(sum) < 1e-6 ? 0.0 : sum);
        }
    }
}

// ---- blur ------------------------------------------------------------------------------------------------------

enum { KERNEL = 128, BLOCK = 64 };

static void gauss_line(const float *in, float *out, size_t n, const float *k, int reach)
{
    // `in` has `reach` values of margin on both sides.
    for (size_t i = 0; i < n; i++) {
        float sum = k[0] * in[i];
        for (int j = 1; j <= reach; j++)
            sum += k[j] * (in[(ptrdiff_t)i - j] + in[(ptrdiff_t)i + j]);
        out[i] = sum;
    }
}

static void gauss_rows(sf_Field *field, const float *k, int reach, float *line)
{
    const size_t n = field->columns;
    for (size_t r = 0; r < field->rows; r++) {
        float *row = field->value + r * n;
        memcpy(line + reach, row, n * sizeof *row);
        for (int j = 0; j < reach; j++) {
            line[j] = row[0];
            line[(size_t)reach + n + (size_t)j] = row[n - 1];
        }
        gauss_line(line + reach, row, n, k, reach);
    }
}

static void gauss_columns(sf_Field *field, const float *k, int reach, float *ring)
{
    // Columns in blocks, so that the rows read are whole cache lines: ring[] holds rows x BLOCK values.
    const size_t n = field->columns, rows = field->rows;
    for (size_t c0 = 0; c0 < n; c0 += BLOCK) {
        const size_t w = n - c0 < BLOCK ? n - c0 : BLOCK;
        for (size_t r = 0; r < rows; r++)
            memcpy(ring + r * BLOCK, field->value + r * n + c0, w * sizeof *ring);
        for (size_t r = 0; r < rows; r++) {
            float *out = field->value + r * n + c0;
            for (size_t c = 0; c < w; c++)
                out[c] = k[0] * ring[r * BLOCK + c];
            for (int j = 1; j <= reach; j++) {
                const size_t up = r >= (size_t)j ? r - (size_t)j : 0;
                const size_t down = r + (size_t)j < rows ? r + (size_t)j : rows - 1;
                const float *a = ring + up * BLOCK, *b = ring + down * BLOCK;
                for (size_t c = 0; c < w; c++)
                    out[c] += k[j] * (a[c] + b[c]);
            }
        }
    }
}

sf_Status sf_field_gauss(sf_Field *field, double sigma, sf_Error *err)
{
    float k[KERNEL];
    if (sigma <= 0.0)
        return SF_OK;
    int reach = (int)ceil(5.0 * sigma);
    reach = reach < KERNEL ? reach : KERNEL - 1;
    double sum = 0.0;
    for (int j = 0; j <= reach; j++)
        sum += (j ? 2.0 : 1.0) * exp(-0.5 * j * j / (sigma * sigma));
    for (int j = 0; j <= reach; j++)
        k[j] = (float)(exp(-0.5 * j * j / (sigma * sigma)) / sum);
    const size_t line = field->columns + 2 * (size_t)reach, block = field->rows * BLOCK;
    float *work = sf_alloc(line > block ? line : block, sizeof *work);
    if (!work)
        return SF_FAIL(err, SF_E_MEMORY, "", "no memory to blur the picture");
    gauss_rows(field, k, reach, work);
    gauss_columns(field, k, reach, work);
    sf_free(work);
    return SF_OK;
}

/// Symmetric exponential along rows: forward and backward first-order filters added, less the doubled middle.
static void decay_rows(sf_Field *field, float q, float *forth)
{
    const size_t n = field->columns;
    const float k = (1.0f - q) / (1.0f + q);
    for (size_t r = 0; r < field->rows; r++) {
        float *row = field->value + r * n, run = row[0] / (1.0f - q);
        for (size_t c = 0; c < n; c++)
            forth[c] = run = row[c] + q * run;
        forth[0] = row[0] / (1.0f - q);
        run = row[n - 1] / (1.0f - q);
        for (size_t c = n; c-- > 0;) {
            const float x = row[c];
            run = c + 1 == n ? run : x + q * run;
            row[c] = k * (forth[c] + run - x);
        }
    }
}

static void decay_columns(sf_Field *field, float q, float *forth)
{
    const size_t n = field->columns, rows = field->rows;
    const float k = (1.0f - q) / (1.0f + q);
    for (size_t c0 = 0; c0 < n; c0 += BLOCK) {
        const size_t w = n - c0 < BLOCK ? n - c0 : BLOCK;
        float run[BLOCK];
        for (size_t r = 0; r < rows; r++) {
            const float *row = field->value + r * n + c0;
            for (size_t c = 0; c < w; c++)
                forth[r * BLOCK + c] = run[c] = r ? row[c] + q * run[c] : row[c] / (1.0f - q);
        }
        for (size_t r = rows; r-- > 0;) {
            float *row = field->value + r * n + c0;
            for (size_t c = 0; c < w; c++) {
                const float x = row[c];
                run[c] = r + 1 == rows ? x / (1.0f - q) : x + q * run[c];
                row[c] = k * (forth[r * BLOCK + c] + run[c] - x);
            }
        }
    }
}

sf_Status sf_field_decay(sf_Field *field, double reach, sf_Error *err)
{
    const size_t block = field->rows * BLOCK;
    float *work = sf_alloc(field->columns > block ? field->columns : block, sizeof *work);
    if (!work)
        return SF_FAIL(err, SF_E_MEMORY, "", "no memory to blur the picture");
    const float q = (float)exp(-1.0 / reach);
    decay_rows(field, q, work);
    decay_columns(field, q, work);
    sf_free(work);
    return SF_OK;
}
