// SPDX-License-Identifier: GPL-3.0-or-later
// The picture of an alignment: no lettering covers other lettering or runs out of its place, whatever limb and change.
// Limbs are invented.
#include "harness/tap.h"

#include "base/alloc.h"
#include "draw/lettering.h"
#include "study/align_picture.h"

#include <stdio.h>
#include <string.h>

#define HEAD(side, mass)                                                                                               \
    "{\"format\":\"standfast-limb/1\",\"person\":{\"label\":\"an invented person with a label that is far "            \
    "too long for the head of a sheet, and then some more of it\",\"side\":\"" side "\",\"body_mass_kg\":" mass "},"

static const char *const LIMBS[] = {
    HEAD("left", "78") "\"socket\":{\"distal_end_height_mm\":290,\"flexion_deg\":5,\"adduction_deg\":5},\"pylon\":{"
                       "\"cut_height_mm\":110},\"foot\":{\"length_mm\":260}}",
    HEAD("right",
         "165.5") "\"socket\":{\"distal_end_height_mm\":460,\"flexion_deg\":25,\"adduction_deg\":14},\"pylon\":{"
                  "\"cut_height_mm\":150},\"foot\":{\"length_mm\":310},\"adapter\":{\"motions\":[{\"setting\":"
                  "\"toe_out_deg\",\"range\":[-5,5]}]}}",
    HEAD("left",
         "13") "\"socket\":{\"distal_end_height_mm\":95},\"pylon\":{\"cut_height_mm\":60},\"foot\":{\"length_mm\":"
               "130},\"shoe\":{\"heel_mm\":10,\"sole_mm\":8}}",
    HEAD("right",
         "60") "\"socket\":{\"distal_end_height_mm\":200},\"pylon\":{\"cut_height_mm\":190},\"foot\":{\"length_mm\":"
               "240}}",
};
enum { LIMB_COUNT = sizeof LIMBS / sizeof *LIMBS };

static const double CHANGES[][SF_SETTING_COUNT] = {
    { 0, 0, 0, 0, 0 },         { 0, 0, 4, 0, 0 }, { 0, -8, 0, 0, 0 },   { 12.5, -15, 20, 10, -12 },
    { -30, 40, -40, -15, 15 }, { 2, 0, 0, 0, 0 }, { 0, 0, 0, 0.25, 0 }, { 45, 0, 0, 20, 20 },
};
enum { CHANGE_COUNT = sizeof CHANGES / sizeof *CHANGES };

TAP_CASE(lettering_fits_whatever_limb_and_change)
{
    for (size_t i = 0; i < LIMB_COUNT; i++)
        for (size_t k = 0; k < CHANGE_COUNT; k++) {
            sf_Sheet *sheet = NULL;
            sf_Error err = { 0 };
            const char *first = "";
            TAP_OK(sf_sheet_create(&sheet, SF_SHEET_SVG, SF_A5_LONG, SF_A5_SHORT, NULL));
            TAP_TRUE(sf_align_picture_paint(sheet, "limb", LIMBS[i], strlen(LIMBS[i]), CHANGES[k], &err) == SF_OK,
                     "limb %zu, change %zu: %s", i, k, err.text);
            TAP_TRUE(sf_sheet_faults(sheet, &first) == 0, "limb %zu, change %zu: %s", i, k, first);
            TAP_TRUE(sf_sheet_text_count(sheet) > 40);
            sf_sheet_destroy(&sheet);
        }
}

TAP_CASE(the_same_change_gives_the_same_bytes)
{
    for (int kind = 0; kind < 3; kind++) {
        unsigned char *a = NULL, *b = NULL;
        size_t a_size = 0, b_size = 0;
        TAP_OK(sf_align_picture(&a, &a_size, "limb", LIMBS[0], strlen(LIMBS[0]), CHANGES[3], (sf_SheetKind)kind, NULL));
        TAP_OK(sf_align_picture(&b, &b_size, "limb", LIMBS[0], strlen(LIMBS[0]), CHANGES[3], (sf_SheetKind)kind, NULL));
        TAP_TRUE(a_size == b_size && memcmp(a, b, a_size) == 0, "kind %d", kind);
        sf_free(a);
        sf_free(b);
    }
}

static sf_Status picture(void *context)
{
    const char *text = context;
    unsigned char *bytes = NULL;
    size_t size = 0;
    sf_Status status = sf_align_picture(&bytes, &size, "limb", text, strlen(text), CHANGES[1], SF_SHEET_SVG, NULL);
    sf_free(bytes);
    return status;
}

TAP_CASE(out_of_memory_is_told)
{
    char text[1024];
    snprintf(text, sizeof text, "%s", LIMBS[0]);
    tap_every_allocation(picture, text, 600, "drawing an alignment");
}

TAP_MAIN(TAP_RUN(lettering_fits_whatever_limb_and_change), TAP_RUN(the_same_change_gives_the_same_bytes),
         TAP_RUN(out_of_memory_is_told))
