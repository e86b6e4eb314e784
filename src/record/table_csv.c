// SPDX-License-Identifier: GPL-3.0-or-later
#include "record/table_csv.h"

#include "record/table_walk.h"

#include <inttypes.h>
#include <string.h>

const char sf_csv_table_words[] = "limbs|facts|attachments|wearers|audit";

typedef struct Sheet {
    FILE *file;
    size_t columns;
    bool good;
} Sheet;

static void write_text(Sheet *sheet, const char *text)
{
    bool formula = *text && strchr("=+-@\t\r", *text) != NULL;
    bool quote = formula || strpbrk(text, ",\"\r\n") != NULL;
    if (!quote) {
        sheet->good &= fputs(text, sheet->file) != EOF;
        return;
    }
    sheet->good &= fputs(formula ? "\"'" : "\"", sheet->file) != EOF;
    for (; *text; text++)
        sheet->good &= fputs(*text == '"' ? "\"\"" : (const char[]){ *text, 0 }, sheet->file) != EOF;
    sheet->good &= fputc('"', sheet->file) != EOF;
}

static sf_Status write_row(void *context, sf_Arena *arena, const sf_Value *cells, sf_Error *err)
{
    Sheet *sheet = context;
    (void)arena;
    for (size_t i = 0; i < sheet->columns; i++) {
        if (i > 0)
            sheet->good &= fputc(',', sheet->file) != EOF;
        if (cells[i].kind == SF_VALUE_WHOLE)
            sheet->good &= fprintf(sheet->file, "%" PRId64, cells[i].whole) > 0;
        else if (cells[i].kind == SF_VALUE_TEXT)
            write_text(sheet, cells[i].text);
    }
    sheet->good &= fputs("\r\n", sheet->file) != EOF;
    return sheet->good ? SF_OK : SF_FAIL(err, SF_E_STORE, NULL, "the table could not be written out");
}

sf_Status sf_table_csv(sf_Transaction *t, sf_CsvTable which, FILE *file, sf_Error *err)
{
    static const sf_SealedName names[] = { [SF_CSV_LIMBS] = SF_SEALED_LIMB,
                                           [SF_CSV_FACTS] = SF_SEALED_FACT,
                                           [SF_CSV_ATTACHMENTS] = SF_SEALED_ATTACHMENT,
                                           [SF_CSV_WEARERS] = SF_SEALED_WEARER };
    const sf_SealedTable *table = which == SF_CSV_AUDIT ? &sf_chain_table : &sf_sealed_tables[names[which]];
    bool limbs = which == SF_CSV_LIMBS, facts = which == SF_CSV_FACTS;
    const char *extra = limbs ? "w.pseudonym" : facts ? "b.id" : NULL;
    const char *extra_name = limbs ? "pseudonym" : "withdrawn_by";
    const char *join = limbs   ? "JOIN wearer w ON w.id = r.wearer"
                       : facts ? "LEFT JOIN fact b ON b.withdraws = r.id"
                               : NULL;
    Sheet sheet = { file, table->count + (extra ? 1 : 0), true };
    for (size_t i = 0; i < table->count; i++)
        sheet.good &= fprintf(file, "%s%s", i ? "," : "", table->columns[i]) > 0;
    if (extra)
        sheet.good &= fprintf(file, ",%s", extra_name) > 0;
    sheet.good &= fputs("\r\n", file) != EOF;
    if (!sheet.good)
        return SF_FAIL(err, SF_E_STORE, NULL, "the table could not be written out");
    return sf_table_walk(t, table, extra, join, write_row, &sheet, err);
}
