// SPDX-License-Identifier: GPL-3.0-or-later
// Any bytes as a table: refused with a sentence, or every cell can be asked for.
#include "base/alloc.h"
#include "base/csv.h"
#include "fuzz/fuzz_target.h"

#include <math.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    size_t live = sf_alloc_live();
    sf_Csv csv = { 0 };
    sf_Error err = { 0 };
    sf_Status status = sf_csv_read(&csv, "fuzz.csv", (const char *)data, size, &err);
    if (status != SF_OK)
        FUZZ_TRUE(err.status == status && err.text[0] != '\0');
    for (size_t row = 0; status == SF_OK && row < csv.rows; row++) {
        FUZZ_TRUE(csv.lines[row] > (row ? csv.lines[row - 1] : 0));
        for (size_t column = 0; column < csv.columns; column++) {
            const char *cell = sf_csv_cell(&csv, row, column);
            FUZZ_TRUE(cell && strlen(cell) <= size);
            double value = NAN;
            if (sf_csv_number(&csv, row, column, &value, &err) == SF_OK)
                FUZZ_TRUE(isfinite(value));
            else
                FUZZ_TRUE(err.text[0] != '\0');
        }
    }
    size_t column = 0;
    if (status == SF_OK && csv.columns > 0)
        FUZZ_TRUE(sf_csv_has(&csv, csv.header[0]) && sf_csv_column(&csv, csv.header[0], &column, &err) == SF_OK);
    sf_csv_free(&csv);
    sf_csv_free(&csv);
    FUZZ_TRUE(sf_alloc_live() == live);
    return 0;
}
