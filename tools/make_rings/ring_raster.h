// SPDX-License-Identifier: GPL-3.0-or-later
// Pixels: exact area coverage of polygons, blurs, and shapes by distance.
#pragma once

#include "base/status.h"

#include <stddef.h>

/// A field of floats, row by row from the top. x and y below are in pixels, y DOWN from the top edge, pixel corners at
/// whole numbers.
typedef struct sf_Field {
    size_t columns, rows;
    float *value;
} sf_Field;

sf_Status sf_field_create(sf_Field *field, size_t columns, size_t rows, sf_Error *err) SF_MUST_USE;
void sf_field_destroy(sf_Field *field);

/// Adds the closed polygon's edges to a coverage field under construction (clipped to the picture). Call
/// sf_field_settle() once after all edges; the field then holds the covered share of each pixel, exact to rounding,
/// positive for one winding and negative for the other, whichever `sign` makes of it.
void sf_field_edges(sf_Field *field, const double *xy, size_t count, double sign);
void sf_field_settle(sf_Field *field);

/// Gaussian blur, pixels beyond the border as the border; sigma in pixels, 0 does nothing.
sf_Status sf_field_gauss(sf_Field *field, double sigma, sf_Error *err) SF_MUST_USE;

/// Two-sided exponential blur along rows and columns; reach in pixels.
sf_Status sf_field_decay(sf_Field *field, double reach, sf_Error *err) SF_MUST_USE;
