// SPDX-License-Identifier: GPL-3.0-or-later
// The align result as a reader sees it: signs on both sides, and moments built again from its own forces and path.
#include "base/alloc.h"
#include "base/text.h"
#include "base/units.h"
#include "harness/tap.h"
#include "study/align_study.h"

#include <math.h>
#include <string.h>

// An invented limb; `%s` is the side, then flexion, adduction, shoe heel, toe-out and dorsiflexion.
static const char LIMB[] =
    "{\"format\": \"standfast-limb/1\", \"person\": {\"side\": \"%s\", \"body_mass_kg\": 80, \"stature_mm\": 1740},"
    "\"socket\": {\"distal_end_height_mm\": 290, \"flexion_deg\": %g, \"adduction_deg\": %g},"
    "\"pylon\": {\"cut_height_mm\": 110, \"top_height_mm\": 290, \"rings\": [{\"height_mm\": 110, "
    "\"outer_diameter_mm\": 50, "
    "\"inner_diameter_mm\": 38}]},"
    "\"adapter\": {\"motions\": [{\"setting\": \"toe_out_deg\", \"range\": [-20, 20]}]},"
    "\"foot\": {\"length_mm\": 260, \"build_height_mm\": 75, \"heel_height_mm\": 10}, \"shoe\": {\"heel_mm\": %g, "
    "\"sole_mm\": 10},"
    "\"alignment\": {\"toe_out_deg\": %g, \"dorsiflexion_deg\": %g}}";

typedef struct Case {
    const char *side;
    double flexion, adduction, heel, toe_out, dorsiflexion;
} Case;

static sf_Doc *run(Case c, const double steps[SF_SETTING_COUNT])
{
    sf_Text text = sf_text_make(8192);
    sf_text_format(&text, LIMB, c.side, c.flexion, c.adduction, c.heel, c.toe_out, c.dorsiflexion);
    sf_Json *json = NULL;
    sf_Doc *doc = NULL;
    char *out = NULL;
    sf_Error err = { 0 };
    bool good = sf_align_study(&json, "limb.json", sf_text_string(&text), text.length, steps, &err) == SF_OK &&
                sf_json_text(json, 15, &out, &err) == SF_OK &&
                sf_doc_parse(&doc, "result", out, strlen(out), &err) == SF_OK;
    TAP_TRUE(good, "%s", err.text);
    sf_free(out);
    sf_json_destroy(&json);
    sf_text_free(&text);
    return doc;
}

static double number(sf_DocNode node)
{
    double value = NAN;
    sf_doc_number(node, -1e9, 1e9, &value);
    return value;
}

static double at(sf_Doc *doc, const char *object, const char *key)
{
    return number(sf_doc_member(sf_doc_member(sf_doc_root(doc), object), key));
}

static double listed(sf_Doc *doc, const char *object, const char *key, size_t i)
{
    return number(sf_doc_item(sf_doc_member(sf_doc_member(sf_doc_root(doc), object), key), i));
}

#define KOBAYASHI TAP_SOURCE("Kobayashi et al., J Biomech 2012;45:2603, abstract")

static const char *const SIDES[] = { "left", "right" };

// Independent of the chain's matrices: components in forward, outward, up of the limb, and the socket's axes from the
// two angles that the pose prints.
TAP_CASE(moments_can_be_built_again_from_forces_path_and_pose)
{
    const double steps[SF_SETTING_COUNT] = { 4, 6, -9, 2, -3 };
    for (int s = 0; s < 2; s++) {
        sf_Doc *doc = run((Case){ SIDES[s], 5, 4, 26, 6, 3 }, steps);
        if (!doc)
            return;
        double F = at(doc, "pose_after", "socket_flexion_deg") * SF_DEG,
               A = at(doc, "pose_after", "socket_adduction_deg") * SF_DEG;
        // Long axis l along (tan F, tan A, 1); forward axis e in the plane of f and u; outward axis g = l x e (left
        // limb).
        double n = sqrt(1 + tan(F) * tan(F) + tan(A) * tan(A));
        double l[3] = { tan(F) / n, tan(A) / n, 1 / n }, e[3] = { cos(F), 0, -sin(F) };
        double g[3] = { l[1] * e[2] - l[2] * e[1], l[2] * e[0] - l[0] * e[2], l[0] * e[1] - l[1] * e[0] };
        for (size_t i = 0; i < 21; i++) {
            double r[3] = {
                (listed(doc, "moments_after", "cop_f_mm", i) - at(doc, "pose_after", "socket_f_mm")) * SF_MM,
                (listed(doc, "moments_after", "cop_o_mm", i) - at(doc, "pose_after", "socket_o_mm")) * SF_MM,
                -at(doc, "pose_after", "height_mm") * SF_MM
            };
            double f[3] = { listed(doc, "moments_after", "fore_aft_n", i), listed(doc, "moments_after", "side_n", i),
                            listed(doc, "moments_after", "vertical_n", i) };
            double m[3] = { r[1] * f[2] - r[2] * f[1], r[2] * f[0] - r[0] * f[2], r[0] * f[1] - r[1] * f[0] };
            TAP_NEAR(listed(doc, "moments_after", "sagittal_nm", i), -(m[0] * g[0] + m[1] * g[1] + m[2] * g[2]),
                     TAP_TIGHT, TAP_CLOSED_FORM);
            TAP_NEAR(listed(doc, "moments_after", "coronal_nm", i), m[0] * e[0] + m[1] * e[1] + m[2] * e[2], TAP_TIGHT,
                     TAP_CLOSED_FORM);
            TAP_NEAR(listed(doc, "moments_after", "transverse_nm", i), m[0] * l[0] + m[1] * l[1] + m[2] * l[2],
                     TAP_TIGHT, TAP_CLOSED_FORM);
        }
        sf_doc_destroy(&doc);
    }
}

TAP_CASE(forces_stay_in_the_floor_and_the_path_in_the_foot)
{
    const double steps[SF_SETTING_COUNT] = { 10, 0, 0, 5, -5 };
    sf_Doc *doc = run((Case){ "right", 5, 5, 20, 6, 0 }, steps);
    if (!doc)
        return;
    for (size_t i = 0; i < 21; i++) {
        TAP_NEAR(listed(doc, "moments_after", "side_n", i), listed(doc, "moments_before", "side_n", i), TAP_TIGHT,
                 TAP_CLOSED_FORM);
        double toe = at(doc, "pose_after", "toe_out_deg") * SF_DEG;
        double f = listed(doc, "moments_after", "cop_f_mm", i), o = listed(doc, "moments_after", "cop_o_mm", i);
        TAP_NEAR(o * cos(toe) - f * sin(toe), 0, TAP_TOLERANCE("rounding of printed figures", 0, 1e-9),
                 TAP_CLOSED_FORM);
        TAP_NEAR(hypot(f, o),
                 hypot(listed(doc, "moments_before", "cop_f_mm", i), listed(doc, "moments_before", "cop_o_mm", i)),
                 TAP_TIGHT, TAP_CLOSED_FORM);
    }
    sf_doc_destroy(&doc);
}

TAP_CASE(an_inverted_clamp_goes_to_valgus_on_both_sides)
{
    for (int s = 0; s < 2; s++)
        for (int way = -1; way <= 1; way += 2) {
            const double steps[SF_SETTING_COUNT] = { [SF_SETTING_EVERSION] = 3 * way };
            sf_Doc *doc = run((Case){ SIDES[s], 5, 5, 20, 6, 0 }, steps);
            if (!doc)
                return;
            double change =
                listed(doc, "moments_after", "coronal_nm", 6) - listed(doc, "moments_before", "coronal_nm", 6);
            TAP_NEAR(copysign(1, change), -way, TAP_EXACT,
                     TAP_SOURCE("r x F with the sole flat again, docs/theory/alignment.md"));
            TAP_TRUE(fabs(change) > 5);
            TAP_NEAR(at(doc, "pose_after", "socket_o_mm"), 180 * sin(3 * SF_DEG) * way,
                     TAP_TOLERANCE("heading of a flexed socket", 2e-2, 0), TAP_CLOSED_FORM);
            sf_doc_destroy(&doc);
        }
}

TAP_CASE(a_turn_under_a_leaning_pylon_is_told_with_what_undoes_it)
{
    const double steps[SF_SETTING_COUNT] = { 10, 0, 0, 0, 0 };
    sf_Doc *doc = run((Case){ "left", 0, 0, 20, 0, 5 }, steps);
    if (!doc)
        return;
    TAP_NEAR(at(doc, "sole_tilt_by_change", "coronal_deg"), 5 * sin(10 * SF_DEG),
             TAP_TOLERANCE("second order of the lean", 5e-3, 0), TAP_CLOSED_FORM);
    double undo[SF_SETTING_COUNT] = { 10, 0, 0, 0, 0 };
    sf_DocNode by = sf_doc_member(sf_doc_member(sf_doc_root(doc), "sole_tilt_by_change"), "undone_by");
    undo[SF_SETTING_DORSIFLEXION] = number(sf_doc_member(by, "dorsiflexion_deg"));
    undo[SF_SETTING_EVERSION] = number(sf_doc_member(by, "eversion_deg"));
    sf_doc_destroy(&doc);
    doc = run((Case){ "left", 0, 0, 20, 0, 5 }, undo);
    TAP_NEAR(at(doc, "sole_tilt_by_change", "coronal_deg"), 0, TAP_TOLERANCE("printed digits", 0, 1e-9),
             TAP_CLOSED_FORM);
    TAP_NEAR(at(doc, "sole_tilt_by_change", "sagittal_deg"), 0, TAP_TOLERANCE("printed digits", 0, 1e-9),
             TAP_CLOSED_FORM);
    sf_doc_destroy(&doc);
}

TAP_CASE(sensitivities_are_slopes_of_the_result)
{
    double one[SF_SETTING_COUNT] = { 0 }, other[SF_SETTING_COUNT] = { 0 };
    sf_Doc *here = run((Case){ "right", 5, 5, 20, 6, 0 }, one);
    for (int i = 0; i < SF_SETTING_COUNT && here; i++) {
        one[i] = 0.5;
        other[i] = -0.5;
        sf_Doc *up = run((Case){ "right", 5, 5, 20, 6, 0 }, one), *down = run((Case){ "right", 5, 5, 20, 6, 0 }, other);
        one[i] = other[i] = 0;
        sf_DocNode item = sf_doc_item(sf_doc_member(sf_doc_root(here), "sensitivity"), (size_t)i);
        TAP_NEAR(number(sf_doc_member(sf_doc_member(item, "d_moment_at_75_nm"), "coronal_nm")),
                 listed(up, "moments_after", "coronal_nm", 15) - listed(down, "moments_after", "coronal_nm", 15),
                 TAP_TOLERANCE("printed digits", 1e-9, 1e-9), TAP_CLOSED_FORM);
        TAP_NEAR(number(sf_doc_member(sf_doc_member(item, "d_pose"), "socket_o_mm")),
                 at(up, "pose_after", "socket_o_mm") - at(down, "pose_after", "socket_o_mm"),
                 TAP_TOLERANCE("printed digits", 1e-9, 1e-9), TAP_CLOSED_FORM);
        sf_doc_destroy(&up);
        sf_doc_destroy(&down);
    }
    sf_doc_destroy(&here);
}

TAP_CASE(what_was_measured_stands_beside_the_answer)
{
    const double steps[SF_SETTING_COUNT] = { 0 };
    for (int s = 0; s < 2; s++) {
        sf_Doc *doc = run((Case){ SIDES[s], 5, 5, 20, 6, 0 }, steps);
        if (!doc)
            return;
        sf_DocNode comparison = sf_doc_member(sf_doc_root(doc), "comparison"),
                   list = sf_doc_member(comparison, "socket_extension");
        TAP_NEAR(number(sf_doc_member(comparison, "measured_nm_per_kg")), -0.077, TAP_EXACT, KOBAYASHI);
        TAP_NEAR(number(sf_doc_member(comparison, "model_nm_per_kg")),
                 listed(doc, "moments_after", "coronal_nm", 6) / 80, TAP_TIGHT, TAP_CLOSED_FORM);
        static const double degrees[] = { 3, 6 }, measured[] = { -0.033, -0.029 }, sd[] = { 0.075, 0.071 };
        TAP_TRUE(sf_doc_length(list) == 2);
        for (size_t i = 0; i < 2; i++) {
            sf_DocNode item = sf_doc_item(list, i);
            TAP_NEAR(number(sf_doc_member(item, "extension_deg")), degrees[i], TAP_TIGHT, KOBAYASHI);
            TAP_NEAR(number(sf_doc_member(item, "measured_nm_per_kg")), measured[i], TAP_EXACT, KOBAYASHI);
            TAP_NEAR(number(sf_doc_member(item, "measured_sd_nm_per_kg")), sd[i], TAP_EXACT, KOBAYASHI);
            // The axes turn about the line from inner to outer side: the model's coronal and turning moments mix by the
            // angle.
            double coronal = listed(doc, "moments_after", "coronal_nm", 6),
                   turning = listed(doc, "moments_after", "transverse_nm", 6);
            double wanted = cos(degrees[i] * SF_DEG) * coronal + sin(degrees[i] * SF_DEG) * turning;
            TAP_NEAR(number(sf_doc_member(item, "model_nm_per_kg")), wanted / 80,
                     TAP_TOLERANCE("an adducted socket turns about a line that leans a little", 0, 0.003),
                     TAP_CLOSED_FORM);
        }
        sf_doc_destroy(&doc);
    }
}

TAP_CASE(motions_that_the_adapter_lacks_are_named)
{
    const double steps[SF_SETTING_COUNT] = { [SF_SETTING_TOE_OUT] = 20, [SF_SETTING_FOOT_OUTSET] = 5 };
    sf_Doc *doc = run((Case){ "left", 5, 5, 20, 6, 0 }, steps);
    if (!doc)
        return;
    sf_DocNode travel = sf_doc_member(sf_doc_root(doc), "travel");
    for (size_t i = 0; i < SF_SETTING_COUNT; i++) {
        bool possible = true;
        sf_doc_flag(sf_doc_member(sf_doc_item(travel, i), "possible"), &possible);
        TAP_TRUE(possible == (i != SF_SETTING_TOE_OUT && i != SF_SETTING_FOOT_OUTSET), "setting %zu", i);
    }
    sf_doc_destroy(&doc);
}

TAP_CASE(missing_fields_are_all_named_at_once)
{
    static const char text[] =
        "{\"format\": \"standfast-limb/1\", \"person\": {\"side\": \"left\", \"body_mass_kg\": 80}}";
    const double steps[SF_SETTING_COUNT] = { 0 };
    sf_Json *json = NULL;
    sf_Error err = { 0 };
    TAP_STATUS(sf_align_study(&json, "limb.json", text, strlen(text), steps, &err), SF_E_MISSING);
    TAP_HOLDS(err.text, "socket.distal_end_height_mm");
    TAP_HOLDS(err.text, "foot.length_mm");
    TAP_HOLDS(err.text, "pylon.cut_height_mm");
    TAP_TRUE(json == NULL);
}

TAP_MAIN(TAP_RUN(moments_can_be_built_again_from_forces_path_and_pose),
         TAP_RUN(forces_stay_in_the_floor_and_the_path_in_the_foot),
         TAP_RUN(an_inverted_clamp_goes_to_valgus_on_both_sides),
         TAP_RUN(a_turn_under_a_leaning_pylon_is_told_with_what_undoes_it),
         TAP_RUN(sensitivities_are_slopes_of_the_result), TAP_RUN(what_was_measured_stands_beside_the_answer),
         TAP_RUN(motions_that_the_adapter_lacks_are_named), TAP_RUN(missing_fields_are_all_named_at_once))
