// SPDX-License-Identifier: GPL-3.0-or-later
// The drawing of a whole limb: no lettering covers other lettering or runs out of its place whatever is known of the
// limb. Limbs are invented.
#include "harness/tap.h"

#include "base/alloc.h"
#include "draw/lettering.h"
#include "study/limb_body.h"
#include "study/limb_picture.h"

#include <stdio.h>
#include <string.h>

static const char *const LIMBS[] = {
    "{\"format\":\"standfast-limb/1\",\"person\":{\"side\":\"left\",\"body_mass_kg\":70}}",
    "{\"format\":\"standfast-limb/1\",\"person\":{\"label\":\"an invented person with a label that is far too long for "
    "the head of such a small drawing\",\"side\":\"right\",\"body_mass_kg\":170,\"stature_mm\":2050,"
    "\"sound_knee_height_mm\":610},\"socket\":{\"distal_end_height_mm\":420,\"flexion_deg\":20,\"adduction_deg\":12},"
    "\"pylon\":{\"cut_height_mm\":112},\"foot\":{\"length_mm\":310,\"build_height_mm\":75}}",
    "{\"format\":\"standfast-limb/1\",\"person\":{\"side\":\"left\",\"body_mass_kg\":14,\"stature_mm\":950,"
    "\"sound_knee_height_mm\":230},\"socket\":{\"distal_end_height_mm\":120},\"pylon\":{\"cut_height_mm\":60,"
    "\"top_height_mm\":100,\"rings\":[{\"height_mm\":60,\"outer_diameter_mm\":30,\"inner_diameter_mm\":22}]},"
    "\"adapter\":{\"depth_mm\":15,\"build_height_mm\":5},\"foot\":{\"length_mm\":140,\"build_height_mm\":40},"
    "\"shoe\":{\"heel_mm\":10,\"sole_mm\":8},\"alignment\":{\"foot_outset_mm\":-15,\"toe_out_deg\":20,"
    "\"eversion_deg\":6}}",
    "{\"format\":\"standfast-limb/1\",\"person\":{\"side\":\"right\",\"body_mass_kg\":80,\"sound_knee_height_mm\":470},"
    "\"socket\":{\"distal_end_height_mm\":130},\"pylon\":{\"cut_height_mm\":105},\"shoe\":{\"heel_mm\":0,\"sole_mm\":0}"
    "}",
    "{\"format\":\"standfast-limb/1\",\"person\":{\"side\":\"right\",\"body_mass_kg\":80,\"sound_knee_height_mm\":300},"
    "\"socket\":{\"distal_end_height_mm\":330},\"foot\":{\"length_mm\":260,\"build_height_mm\":30}}",
};

static sf_Status paint(sf_Sheet **sheet, const char *text, sf_Error *err)
{
    sf_Limb *limb = NULL;
    sf_LimbBody body;
    sf_LimbElevation e = { .program = "standfast", .safety = sf_safety_sentence() };
    sf_Status status;
    SF_TRY_DONE(sf_limb_parse(&limb, "limb", text, strlen(text), err));
    sf_limb_body_elevation(&e, &body, limb);
    SF_TRY_DONE(sf_sheet_create(sheet, SF_SHEET_SVG, SF_ELEVATION_WIDTH, SF_ELEVATION_HEIGHT, err));
    SF_TRY_DONE(sf_limb_elevation_paint(*sheet, &e, err));
done:
    sf_limb_destroy(&limb);
    return status;
}

TAP_CASE(lettering_fits_whatever_is_known)
{
    for (size_t i = 0; i < sizeof LIMBS / sizeof *LIMBS; i++) {
        sf_Sheet *sheet = NULL;
        sf_Error err = { 0 };
        const char *first = "";
        TAP_TRUE(paint(&sheet, LIMBS[i], &err) == SF_OK, "limb %zu: %s", i, err.text);
        TAP_TRUE(sf_sheet_faults(sheet, &first) == 0, "limb %zu: %s", i, first);
        TAP_TRUE(sf_sheet_text_count(sheet) > 8);
        sf_sheet_destroy(&sheet);
    }
}

TAP_CASE(the_drawing_keeps_within_the_paper)
{
    for (size_t i = 0; i < sizeof LIMBS / sizeof *LIMBS; i++) {
        sf_Limb *limb = NULL;
        sf_LimbBody body;
        sf_LimbElevation e = { .program = "standfast", .safety = "" };
        TAP_OK(sf_limb_parse(&limb, "limb", LIMBS[i], strlen(LIMBS[i]), NULL));
        sf_limb_body_elevation(&e, &body, limb);
        sf_ElevationPlaces places = sf_limb_elevation_places(&e);
        sf_Spot knee = sf_limb_eye_spot(&places.side, sf_limb_figure_axis(&body, &e.settings, body.knee_level));
        TAP_TRUE(knee.y > 9 && knee.x > 30 && knee.x < 130, "limb %zu: knee at %.1f, %.1f", i, knee.x, knee.y);
        TAP_TRUE(places.front.at.x - places.side.at.x > 0.75 * body.foot_length * 1000 * places.side.scale);
        sf_limb_destroy(&limb);
    }
}

static sf_Status picture(void *context)
{
    sf_Limb *limb = NULL;
    unsigned char *bytes = NULL;
    size_t size = 0;
    const char *text = context;
    sf_Status status;
    SF_TRY_DONE(sf_limb_parse(&limb, "limb", text, strlen(text), NULL));
    SF_TRY_DONE(sf_limb_picture(&bytes, &size, limb, SF_SHEET_SVG, NULL));
done:
    sf_free(bytes);
    sf_limb_destroy(&limb);
    return status;
}

TAP_CASE(out_of_memory_is_told)
{
    char text[2048];
    snprintf(text, sizeof text, "%s", LIMBS[2]);
    tap_every_allocation(picture, text, 600, "drawing a limb");
}

TAP_MAIN(TAP_RUN(lettering_fits_whatever_is_known), TAP_RUN(the_drawing_keeps_within_the_paper),
         TAP_RUN(out_of_memory_is_told))
