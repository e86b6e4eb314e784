// SPDX-License-Identifier: GPL-3.0-or-later
// Rows as text, for backups: "-" for NULL, "i17;" for a whole number, "t5:words" for a text; a line feed ends a row.
// Internal to record.
#pragma once

#include "record/database.h"

#include <stdio.h>

/// Writes one row; false when the file refuses.
bool sf_row_text_write(FILE *file, const sf_Value *cells, size_t count);

/// Reads one row of exactly `count` cells into the arena; *end tells that there was none. SF_E_PARSE, SF_E_MEMORY.
sf_Status sf_row_text_read(FILE *file, sf_Arena *arena, sf_Value *cells, size_t count, bool *end,
                           sf_Error *err) SF_MUST_USE;
