// SPDX-License-Identifier: GPL-3.0-or-later
// Comma-separated tables with a header line, read with the line number kept for the error.
#pragma once

#include "base/status.h"

#include <stdbool.h>
#include <stddef.h>

enum { SF_CSV_MAX_COLUMNS = 16, SF_CSV_MAX_ROWS = 2000000 };

/// A read table. Cells point into `text`, which the table owns.
typedef struct sf_Csv {
    char *text;
    const char *name; ///< what the table is called in errors; borrowed
    size_t columns, rows;
    const char *header[SF_CSV_MAX_COLUMNS];
    const char **cells; ///< rows x columns, row by row
    size_t *lines;      ///< line number of each row, from 1
} sf_Csv;

/// Reads `size` bytes of text. Blank lines and lines that start with '#' are passed over; cells lose outer blanks; a
/// byte-order mark is allowed. SF_E_PARSE with the line when a row has another number of cells than the header.
sf_Status sf_csv_read(sf_Csv *csv, const char *name, const char *text, size_t size, sf_Error *err) SF_MUST_USE;

/// Frees and empties; safe to call twice.
void sf_csv_free(sf_Csv *csv);

/// The column called `title`, or SF_E_MISSING with what the header holds.
sf_Status sf_csv_column(const sf_Csv *csv, const char *title, size_t *column, sf_Error *err) SF_MUST_USE;

/// Whether the header names `title`.
bool sf_csv_has(const sf_Csv *csv, const char *title);

/// The cell's text.
const char *sf_csv_cell(const sf_Csv *csv, size_t row, size_t column);

/// The cell as a finite number, or SF_E_PARSE with line and column.
sf_Status sf_csv_number(const sf_Csv *csv, size_t row, size_t column, double *value, sf_Error *err) SF_MUST_USE;
