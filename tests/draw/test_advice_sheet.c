// SPDX-License-Identifier: GPL-3.0-or-later
// The picture of an advice: no lettering covers other lettering or runs out of its place, whatever was seen in the
// walks. Walks are invented.
#include "harness/tap.h"

#include "align/sign.h"
#include "base/alloc.h"
#include "base/text.h"
#include "draw/lettering.h"
#include "study/advise_picture.h"

#include <stdlib.h>
#include <string.h>

enum { DOCUMENT = 1 << 20, MOTION_SETS = 4 };

static const char *const MOTIONS[MOTION_SETS] = {
    "",
    ",\"adapter\":{\"motions\":[{\"setting\":\"toe_out_deg\",\"range\":[-20,20]}]}",
    ",\"adapter\":{\"motions\":[{\"setting\":\"dorsiflexion_deg\",\"range\":[-8,8]},{\"setting\":\"eversion_deg\","
    "\"range\":["
    "-8,8]}]}",
    ",\"adapter\":{\"motions\":[{\"setting\":\"foot_forward_mm\",\"range\":[-15,15]},{\"setting\":\"foot_outset_mm\","
    "\"range\":[-15,15]}]},\"socket_base_above_clamp_mm\":320,\"foot_length_mm\":310,\"long_worn_misalignment\":true",
};

static void write(sf_Text *text, const sf_SignTable *table, size_t sign, size_t walks, int motions, bool harsh)
{
    sf_text_format(
        text,
        "{\"format\":\"standfast-trials/1\",\"person\":{\"side\":\"%s\",\"label\":\"an invented person with a "
        "label that is far too long for the head of a sheet and goes on\"}%s,\"trials\":[",
        sign % 2 ? "left" : "right", MOTIONS[motions]);
    for (size_t i = 0; i < walks; i++)
        sf_text_format(text,
                       "%s{\"observations\":[{\"sign\":\"%s\",\"strength\":%zu},{\"sign\":\"%s\"}],\"support\":\"%s\","
                       "\"skin\":\"%s\",\"pain\":%d,\"sock_ply\":%zu,\"witness\":\"%s\"}",
                       i ? "," : "", table->signs[sign].sign, 1 + sign % 3,
                       table->signs[(sign + 7 * (i + 1)) % table->sign_count].sign, harsh ? "free" : "bars",
                       harsh && i + 1 == walks ? "stays" : "clear", harsh ? 3 : 0, 3 + i,
                       harsh ? "broken" : "unbroken");
    sf_text_add(text, "]}");
}

TAP_CASE(lettering_fits_whatever_was_seen)
{
    sf_SignTable table;
    size_t bad = 0, all = 0;
    TAP_OK(sf_sign_table_load(&table, NULL));
    for (size_t sign = 0; sign < table.sign_count; sign++)
        for (int motions = 0; motions < MOTION_SETS; motions++) {
            size_t walks = 1 + (sign + (size_t)motions) % 7;
            sf_Text text = sf_text_make(DOCUMENT);
            sf_Sheet *sheet = NULL;
            sf_Error err = { 0 };
            const char *first = "";
            write(&text, &table, sign, walks, motions, (sign + (size_t)motions) % 5 == 0);
            TAP_OK(sf_sheet_create(&sheet, SF_SHEET_SVG, SF_A5_LONG, SF_A5_SHORT, NULL));
            sf_Status status = sf_advise_picture_paint(sheet, "trials", sf_text_string(&text), text.length, NULL, &err);
            TAP_TRUE(status == SF_OK, "%s: %s", table.signs[sign].sign, err.text);
            if (sf_sheet_faults(sheet, &first) > 0 || sf_sheet_text_count(sheet) < 20) {
                tap_note("%s, motions %d, %zu walks: %s", table.signs[sign].sign, motions, walks, first);
                bad++;
            }
            all++;
            sf_sheet_destroy(&sheet);
            sf_text_free(&text);
        }
    TAP_TRUE(bad == 0, "%zu of %zu", bad, all);
    sf_sign_table_free(&table);
}

static sf_Status picture(void *context)
{
    const char *text = context;
    unsigned char *bytes = NULL;
    size_t size = 0;
    sf_Status status = sf_advise_picture(&bytes, &size, "trials", text, strlen(text), NULL, SF_SHEET_SVG, NULL);
    sf_free(bytes);
    return status;
}

// There are thousands of allocations, most of them in the result, whose own test fails each: here every eleventh, and
// all with TAP_LONG=1.
TAP_CASE(out_of_memory_is_told)
{
    char text[] =
        "{\"format\":\"standfast-trials/1\",\"trials\":[{\"observations\":[{\"sign\":\"drop-off\"}],\"support\":"
        "\"bars\",\"skin\":\"clear\",\"pain\":0}]}";
    size_t live = sf_alloc_live(), step = getenv("TAP_LONG") ? 1 : 11, tried = 0;
    bool failed = true;
    for (size_t nth = 1; failed; nth += step) {
        sf_alloc_fail_at(nth);
        sf_Status status = picture(text);
        failed = sf_alloc_failed();
        sf_alloc_fail_at(0);
        TAP_TRUE(status == (failed ? SF_E_MEMORY : SF_OK), "allocation %zu", nth);
        TAP_TRUE(sf_alloc_live() == live, "allocation %zu: %zu blocks leaked", nth, sf_alloc_live() - live);
        tried += failed;
    }
    tap_note("%zu allocations were made to fail", tried);
    TAP_TRUE(tried > 100);
}

TAP_MAIN(TAP_RUN(lettering_fits_whatever_was_seen), TAP_RUN(out_of_memory_is_told))
