// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/csv.h"

#include "base/alloc.h"

#include <ctype.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

// Cuts the outer blanks off in place.
static char *trimmed(char *text)
{
    while (isspace((unsigned char)*text))
        text++;
    size_t n = strlen(text);
    while (n > 0 && isspace((unsigned char)text[n - 1]))
        text[--n] = '\0';
    return text;
}

// Splits a line at its commas in place; returns the number of cells, or one more than the limit.
static size_t split(char *line, const char *cells[SF_CSV_MAX_COLUMNS])
{
    size_t n = 0;
    for (char *rest = line; rest;) {
        char *comma = strchr(rest, ',');
        if (comma)
            *comma = '\0';
        if (n == SF_CSV_MAX_COLUMNS)
            return n + 1;
        cells[n++] = trimmed(rest);
        rest = comma ? comma + 1 : NULL;
    }
    return n;
}

static bool passed_over(const char *line)
{
    while (*line && isspace((unsigned char)*line))
        line++;
    return *line == '\0' || *line == '#';
}

static sf_Status keep_row(sf_Csv *csv, const char **cells, size_t count, size_t line, size_t *room, sf_Error *err)
{
    if (count != csv->columns)
        return SF_FAIL(err, SF_E_PARSE, csv->name, "%s line %zu has %zu cells, its header has %zu", csv->name, line,
                       count, csv->columns);
    if (csv->rows == SF_CSV_MAX_ROWS)
        return SF_FAIL(err, SF_E_INPUT, csv->name, "%s has more than %d rows, the most that is read", csv->name,
                       SF_CSV_MAX_ROWS);
    if (csv->rows == *room) {
        size_t bigger = *room ? *room * 2 : 256;
        const char **more_cells = sf_realloc(csv->cells, bigger * csv->columns, sizeof *more_cells);
        if (more_cells)
            csv->cells = more_cells;
        size_t *more_lines = sf_realloc(csv->lines, bigger, sizeof *more_lines);
        if (more_lines)
            csv->lines = more_lines;
        if (!more_cells || !more_lines)
            return SF_FAIL(err, SF_E_MEMORY, csv->name, "out of memory while reading %s", csv->name);
        *room = bigger;
    }
    memcpy(csv->cells + csv->rows * csv->columns, cells, count * sizeof *cells);
    csv->lines[csv->rows++] = line;
    return SF_OK;
}

sf_Status sf_csv_read(sf_Csv *csv, const char *name, const char *text, size_t size, sf_Error *err)
{
    *csv = (sf_Csv){ .name = name };
    if (memchr(text, '\0', size))
        return SF_FAIL(err, SF_E_PARSE, name, "%s is not a text table: it holds zero bytes", name);
    csv->text = sf_copy_text(text, size);
    if (!csv->text)
        return SF_FAIL(err, SF_E_MEMORY, name, "out of memory while reading %s", name);
    sf_Status status = SF_OK;
    size_t line_number = 0, room = 0;
    char *rest = csv->text;
    if (strncmp(rest, "\xEF\xBB\xBF", 3) == 0)
        rest += 3;
    while (rest) {
        char *line = rest;
        rest = strchr(line, '\n');
        if (rest)
            *rest++ = '\0';
        line_number++;
        if (passed_over(line))
            continue;
        const char *cells[SF_CSV_MAX_COLUMNS];
        size_t count = split(line, cells);
        if (count > SF_CSV_MAX_COLUMNS) {
            status = SF_FAIL(err, SF_E_PARSE, name, "%s line %zu has more than %d cells", name, line_number,
                             SF_CSV_MAX_COLUMNS);
            goto done;
        }
        if (csv->columns == 0) {
            csv->columns = count;
            memcpy(csv->header, cells, count * sizeof *cells);
        } else {
            SF_TRY_DONE(keep_row(csv, cells, count, line_number, &room, err));
        }
    }
    if (csv->rows == 0)
        status = SF_FAIL(err, SF_E_PARSE, name, "%s holds no rows under its header", name);
done:
    if (status != SF_OK)
        sf_csv_free(csv);
    return status;
}

void sf_csv_free(sf_Csv *csv)
{
    sf_free(csv->text);
    sf_free(csv->cells);
    sf_free(csv->lines);
    *csv = (sf_Csv){ 0 };
}

bool sf_csv_has(const sf_Csv *csv, const char *title)
{
    for (size_t i = 0; i < csv->columns; i++)
        if (strcmp(csv->header[i], title) == 0)
            return true;
    return false;
}

sf_Status sf_csv_column(const sf_Csv *csv, const char *title, size_t *column, sf_Error *err)
{
    for (size_t i = 0; i < csv->columns; i++)
        if (strcmp(csv->header[i], title) == 0) {
            *column = i;
            return SF_OK;
        }
    return SF_FAIL(err, SF_E_MISSING, title, "%s has no column '%s': its first line must name it", csv->name, title);
}

const char *sf_csv_cell(const sf_Csv *csv, size_t row, size_t column)
{
    return csv->cells[row * csv->columns + column];
}

sf_Status sf_csv_number(const sf_Csv *csv, size_t row, size_t column, double *value, sf_Error *err)
{
    const char *cell = sf_csv_cell(csv, row, column);
    char *end = NULL;
    double number = strtod(cell, &end);
    if (*cell == '\0' || *end != '\0' || !isfinite(number))
        return SF_FAIL(err, SF_E_PARSE, csv->header[column], "%s line %zu: '%.40s' in column %s is not a number",
                       csv->name, csv->lines[row], cell, csv->header[column]);
    *value = number;
    return SF_OK;
}
