// SPDX-License-Identifier: GPL-3.0-or-later
// Any bytes as an outline's table: refused with a sentence, or a section whose figures hold together.
#include "base/alloc.h"
#include "fuzz/fuzz_target.h"
#include "section/outline_table.h"
#include "section/properties.h"

#include <math.h>

static void check_section(const sf_Outline *outline)
{
    sf_Section s;
    sf_Error err = { 0 };
    sf_Status status = sf_section_compute(&s, outline, &err);
    if (status != SF_OK) {
        FUZZ_TRUE(status == SF_E_GEOMETRY && err.text[0] != '\0');
        return;
    }
    double outer = sf_polygon_area(&outline->outer), inner = sf_polygon_area(&outline->inner), voids = 0;
    for (size_t i = 0; i < outline->void_count; i++)
        voids += sf_polygon_area(&outline->voids[i]);
    FUZZ_TRUE(s.area > 0 && fabs(s.area - (outer - inner - voids)) <= 1e-9 * outer);
    FUZZ_TRUE(isfinite(s.ix) && isfinite(s.iy) && isfinite(s.ixy) && isfinite(s.centroid.x) && isfinite(s.centroid.y));
    FUZZ_TRUE(s.i_max >= s.i_min);
    FUZZ_TRUE(fabs(s.i_max + s.i_min - s.ix - s.iy) <= 1e-9 * (fabs(s.ix) + fabs(s.iy))); // the trace stays
    FUZZ_TRUE(s.principal_angle >= 0 && s.principal_angle < 3.14159265358980);
}

static void write_and_read(const sf_Outline *outline)
{
    char *text = NULL;
    size_t size = 0;
    sf_Error err = { 0 };
    sf_Outline again = { 0 };
    sf_Status status = sf_outline_write_csv(outline, &text, &size, &err);
    FUZZ_TRUE(status == SF_OK);
    // Six decimals of a millimetre may close a gap or a sliver: then it is refused, which is no fault.
    if (sf_outline_read_csv(&again, "again", text, size, &err) == SF_OK) {
        FUZZ_TRUE(again.outer.count == outline->outer.count && again.inner.count == outline->inner.count);
        FUZZ_TRUE(again.void_count == outline->void_count && again.line.present == outline->line.present);
    }
    sf_outline_free(&again);
    sf_free(text);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    size_t live = sf_alloc_live();
    sf_Outline outline = { 0 };
    sf_Error err = { 0 };
    sf_Status status = sf_outline_read_csv(&outline, "fuzz", (const char *)data, size, &err);
    if (status == SF_OK) {
        check_section(&outline);
        write_and_read(&outline);
    } else {
        FUZZ_TRUE(err.status == status && err.text[0] != '\0' && status != SF_E_MEMORY && status != SF_E_INTERNAL);
        FUZZ_TRUE(!outline.outer.points && !outline.inner.points);
    }
    sf_outline_free(&outline);

    sf_CaliperOptions options = { 0 };
    status = sf_outline_read_caliper(&outline, "fuzz", (const char *)data, size, &options, &err);
    if (status == SF_OK)
        check_section(&outline);
    else
        FUZZ_TRUE(err.text[0] != '\0' && !outline.outer.points && !outline.inner.points);
    sf_outline_free(&outline);
    FUZZ_TRUE(sf_alloc_live() == live);
    return 0;
}
