// SPDX-License-Identifier: GPL-3.0-or-later
// Tables for a spreadsheet: comma-separated values with a heading line (RFC 4180).
#pragma once

#include "record/store.h"

#include <stdio.h>

typedef enum sf_CsvTable { SF_CSV_LIMBS, SF_CSV_FACTS, SF_CSV_ATTACHMENTS, SF_CSV_WEARERS, SF_CSV_AUDIT } sf_CsvTable;

/// "limbs|facts|attachments|wearers|audit", in the order of sf_CsvTable.
extern const char sf_csv_table_words[];

/// Writes the whole table. A text that a spreadsheet would take for a formula (it begins with = + - @ or a tab) gets an
/// apostrophe in front. SF_E_STORE when the file refuses.
sf_Status sf_table_csv(sf_Transaction *t, sf_CsvTable which, FILE *file, sf_Error *err) SF_MUST_USE;
