// SPDX-License-Identifier: GPL-3.0-or-later
#include "record/row_text.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

enum { NUMBER_DIGITS = 20, TEXT_MOST = 64 * 1024 * 1024 };

bool sf_row_text_write(FILE *file, const sf_Value *cells, size_t count)
{
    bool good = true;
    for (size_t i = 0; i < count && good; i++) {
        switch (cells[i].kind) {
        case SF_VALUE_NULL: good = fputc('-', file) != EOF; break;
        case SF_VALUE_WHOLE: good = fprintf(file, "i%" PRId64 ";", cells[i].whole) > 0; break;
        case SF_VALUE_TEXT: {
            size_t n = strlen(cells[i].text);
            good = fprintf(file, "t%zu:", n) > 0 && fwrite(cells[i].text, 1, n, file) == n;
            break;
        }
        }
    }
    return good && fputc('\n', file) != EOF;
}

/// A number up to `closing`.
static bool read_number(FILE *file, int closing, int64_t *number)
{
    char digits[NUMBER_DIGITS + 2];
    size_t n = 0;
    int sign;
    while ((sign = fgetc(file)) != closing) {
        if ((sign < '0' || sign > '9') && !(sign == '-' && n == 0))
            return false;
        if (n == NUMBER_DIGITS)
            return false;
        digits[n++] = (char)sign;
    }
    digits[n] = 0;
    *number = strtoll(digits, NULL, 10);
    return n > 0;
}

static sf_Status read_cell(FILE *file, sf_Arena *arena, sf_Value *cell, sf_Error *err)
{
    int64_t number = 0;
    int kind = fgetc(file);
    *cell = sf_words(NULL);
    if (kind == '-')
        return SF_OK;
    if (kind == 'i' && read_number(file, ';', &number)) {
        *cell = sf_whole(number);
        return SF_OK;
    }
    if (kind != 't' || !read_number(file, ':', &number) || number < 0 || number > TEXT_MOST)
        return SF_FAIL(err, SF_E_PARSE, NULL, "a row of the backup is damaged");
    char *text = sf_arena_alloc(arena, (size_t)number + 1, 1);
    if (!text)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    if (fread(text, 1, (size_t)number, file) != (size_t)number || strlen(text) != (size_t)number)
        return SF_FAIL(err, SF_E_PARSE, NULL, "a row of the backup is damaged");
    *cell = sf_words(text);
    return SF_OK;
}

sf_Status sf_row_text_read(FILE *file, sf_Arena *arena, sf_Value *cells, size_t count, bool *end, sf_Error *err)
{
    int ahead = fgetc(file);
    *end = ahead == EOF;
    if (*end)
        return ferror(file) ? SF_FAIL(err, SF_E_STORE, NULL, "the backup cannot be read") : SF_OK;
    ungetc(ahead, file);
    for (size_t i = 0; i < count; i++)
        SF_TRY(read_cell(file, arena, &cells[i], err));
    if (fgetc(file) != '\n')
        return SF_FAIL(err, SF_E_PARSE, NULL, "a row of the backup is damaged");
    return SF_OK;
}
