// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/limb_picture.h"

#include "base/alloc.h"
#include "base/units.h"
#include "study/limb_body.h"

#include <math.h>
#include <stdio.h>

static const double STACK_AGREES = 2e-3; // m: readings with a tape do not agree better (judgement)

sf_Status sf_limb_picture(unsigned char **bytes, size_t *size, const sf_Limb *limb, sf_SheetKind kind, sf_Error *err)
{
    char program[64];
    sf_LimbBody body;
    sf_LimbElevation elevation = { .program = program, .safety = sf_safety_sentence() };
    sf_Sheet *sheet = NULL;
    sf_Status status;
    snprintf(program, sizeof program, "standfast %s", sf_version());
    sf_limb_body_elevation(&elevation, &body, limb);
    SF_TRY_DONE(sf_sheet_create(&sheet, kind, SF_ELEVATION_WIDTH, SF_ELEVATION_HEIGHT, err));
    SF_TRY_DONE(sf_limb_elevation_paint(sheet, &elevation, err));
    return sf_sheet_finish(&sheet, bytes, size, err);
done:
    sf_sheet_destroy(&sheet);
    return status;
}

void sf_limb_sight(sf_Result *result, const sf_Limb *limb)
{
    static const char *const PARTS[SF_PART_COUNT] = { "knee", "socket", "pylon", "adapter", "foot", "shoe" };
    sf_LimbBody body;
    sf_LimbElevation e = { .label = "" };
    sf_limb_body_elevation(&e, &body, limb);
    sf_Json *heights = sf_json_array(), *parts = sf_json_object(), *missing = sf_json_array();
    for (size_t i = 0; i < e.height_count; i++) {
        sf_Json *item = sf_json_object();
        sf_json_set_text(item, "of", e.heights[i].word);
        if (e.heights[i].known) {
            sf_json_set_number(item, "height_mm", e.heights[i].height / SF_MM);
        } else {
            sf_json_set_null(item, "height_mm");
            sf_result_note(result, "heights: %s is null because it is not known yet", e.heights[i].word);
        }
        sf_json_add(heights, item);
    }
    for (int i = 0; i < SF_PART_COUNT; i++)
        sf_json_set_flag(parts, PARTS[i], body.known[i]);
    for (size_t i = 0; i < e.missing_count; i++) {
        sf_Json *item = sf_json_object();
        sf_json_set_text(item, "field", e.missing[i].field);
        sf_json_set_text(item, "text", e.missing[i].words);
        sf_json_add(missing, item);
    }
    double stack = sf_limb_body_stack(limb), cut = limb->data.pylon.cut_height;
    if (fabs(cut - stack) > STACK_AGREES)
        sf_result_note(
            result,
            "the cut height is told as %.1f mm, but shoe, foot, spacers and adapter add up to %.1f mm: measure "
            "again, one of them is not as told",
            cut / SF_MM, stack / SF_MM);
    sf_json_set_text(result->json, "side", body.chain.side == SF_CHAIN_LEFT ? "left" : "right");
    sf_json_set_number(result->json, "body_mass_kg", e.body_mass);
    sf_json_set(result->json, "heights", heights);
    sf_json_set(result->json, "parts_known", parts);
    sf_json_set(result->json, "missing", missing);
}
