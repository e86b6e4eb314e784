// SPDX-License-Identifier: GPL-3.0-or-later
// `standfast align LIMB.json`: what a change at the clamp does.
#include "base/alloc.h"
#include "base/file.h"
#include "cli/arguments.h"
#include "cli/command.h"
#include "cli/result_print.h"
#include "study/align_picture.h"
#include "study/result.h"

#include <stdio.h>
#include <string.h>

static void print_pose(sf_DocNode root)
{
    static const struct {
        const char *key, *words;
    } ROWS[] = { { "socket_f_mm", "socket ahead of the ankle, mm" },
                 { "socket_o_mm", "socket outside the ankle, mm" },
                 { "height_mm", "socket base above the floor, mm" },
                 { "socket_flexion_deg", "socket flexion, deg" },
                 { "socket_adduction_deg", "socket adduction, deg" },
                 { "toe_out_deg", "toe-out on the floor, deg" },
                 { "sole_tilt_sagittal_deg", "sole with the pylon plumb: toe up, deg" },
                 { "sole_tilt_coronal_deg", "sole with the pylon plumb: outer edge up, deg" } };
    sf_DocNode before = sf_doc_member(root, "pose_before"), after = sf_doc_member(root, "pose_after");
    printf("%-48s %10s %10s\n", "Foot flat on the floor", "before", "after");
    for (size_t i = 0; i < sizeof ROWS / sizeof *ROWS; i++)
        printf("%-48s %10.1f %10.1f\n", ROWS[i].words, sf_result_number(before, ROWS[i].key),
               sf_result_number(after, ROWS[i].key));
}

static void print_moments(sf_DocNode root)
{
    static const char *const keys[] = { "sagittal_nm", "coronal_nm", "transverse_nm" };
    static const char *const words[] = { "+ extends the knee", "+ towards valgus", "+ turns the toe outward" };
    sf_DocNode before = sf_doc_member(root, "moments_before"), after = sf_doc_member(root, "moments_after");
    sf_DocNode percent = sf_doc_member(before, "stance_percent");
    printf("\n%-48s %10s %10s\n", "Moment of the ground force on the socket, N.m", "before", "after");
    for (size_t k = 0; k < 3; k++)
        for (size_t i = 0; i < sf_doc_length(percent); i++) {
            double at = 0, a = 0, b = 0;
            sf_doc_number(sf_doc_item(percent, i), 0, 100, &at);
            if (at != 30 && at != 75)
                continue;
            sf_doc_number(sf_doc_item(sf_doc_member(before, keys[k]), i), -1e6, 1e6, &a);
            sf_doc_number(sf_doc_item(sf_doc_member(after, keys[k]), i), -1e6, 1e6, &b);
            char row[80];
            snprintf(row, sizeof row, "%.*s at %.0f %% (%s)", (int)strlen(keys[k]) - 3, keys[k], at, words[k]);
            printf("%-48s %10.1f %10.1f\n", row, a, b);
        }
}

static void print_change(sf_DocNode root)
{
    sf_DocNode sole = sf_doc_member(root, "sole_tilt_by_change"), undone = sf_doc_member(sole, "undone_by");
    print_pose(root);
    print_moments(root);
    printf("\nSocket held where it stood, the change tilts the sole: toe up %.2f deg, outer edge up %.2f deg\n",
           sf_result_number(sole, "sagittal_deg"), sf_result_number(sole, "coronal_deg"));
    if (sf_doc_there(undone))
        printf("undone by %+.2f deg of dorsiflexion and %+.2f deg of eversion\n",
               sf_result_number(undone, "dorsiflexion_deg"), sf_result_number(undone, "eversion_deg"));
}

sf_Status sf_align_command(int argc, char **argv, int first, sf_Error *err)
{
    double steps[SF_SETTING_COUNT] = { 0 };
    const char *picture = NULL;
    const sf_Option options[] = {
        { "--toe-out-deg", SF_OPTION_NUMBER, &steps[SF_SETTING_TOE_OUT], -90, 90, NULL, "step, + toe outward" },
        { "--foot-forward-mm", SF_OPTION_NUMBER, &steps[SF_SETTING_FOOT_FORWARD], -150, 150, NULL, "step, + forward" },
        { "--foot-outset-mm", SF_OPTION_NUMBER, &steps[SF_SETTING_FOOT_OUTSET], -150, 150, NULL, "step, + outward" },
        { "--dorsiflexion-deg", SF_OPTION_NUMBER, &steps[SF_SETTING_DORSIFLEXION], -90, 90, NULL, "step, + toe up" },
        { "--eversion-deg", SF_OPTION_NUMBER, &steps[SF_SETTING_EVERSION], -90, 90, NULL, "step, + outer edge up" },
        { "--picture", SF_OPTION_TEXT, &picture, 0, 0, NULL,
          "draw limb and moments, before and after: OUT.png, .svg or .pdf" },
    };
    enum { OPTIONS = sizeof options / sizeof *options };
    sf_Arguments arguments;
    SF_TRY(sf_arguments_read(&arguments, argc, argv, first, options, OPTIONS, err));
    if (arguments.help) {
        printf("standfast align LIMB.json [signed steps]\n\nWhere the socket stands over the foot and what the ground "
               "force does to "
               "it, before and after a change at the clamp.\n\n");
        sf_arguments_print_help(options, OPTIONS);
        return SF_OK;
    }
    if (arguments.name_count != 1)
        return SF_FAIL(err, SF_E_USAGE, NULL, "name one limb file: standfast align LIMB.json --foot-outset-mm +4");
    sf_SheetKind kind = SF_SHEET_PNG;
    if (picture)
        SF_TRY(sf_sheet_kind(&kind, picture, err));
    unsigned char *bytes = NULL, *drawn = NULL;
    size_t size = 0, drawn_size = 0;
    sf_Json *json = NULL;
    sf_Status status;
    SF_TRY_DONE(sf_file_read(arguments.names[0], SF_DOC_MAX_BYTES, &bytes, &size, err));
    SF_TRY_DONE(sf_align_study(&json, arguments.names[0], (const char *)bytes, size, steps, err));
    if (picture) {
        SF_TRY_DONE(
            sf_align_picture(&drawn, &drawn_size, arguments.names[0], (const char *)bytes, size, steps, kind, err));
        SF_TRY_DONE(sf_file_write(picture, drawn, drawn_size, err));
    }
    status = arguments.json ? sf_command_print_json(&json, err) : sf_result_print_by(json, print_change, err);
done:
    sf_json_destroy(&json);
    sf_free(bytes);
    sf_free(drawn);
    return status;
}
