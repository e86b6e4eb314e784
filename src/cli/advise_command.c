// SPDX-License-Identifier: GPL-3.0-or-later
// `standfast advise TRIALS.json`: the next step from the walks so far.
#include "base/alloc.h"
#include "base/file.h"
#include "cli/arguments.h"
#include "cli/command.h"
#include "cli/result_print.h"
#include "study/advise_picture.h"
#include "study/advise_study.h"

#include <stdio.h>
#include <string.h>

static void print_step(sf_DocNode step)
{
    printf("%s: %+g %s (%s, from %g to %g)\n", sf_result_text(step, "words"), sf_result_number(step, "change"),
           sf_result_text(step, "unit"), sf_result_text(step, "setting"), sf_result_number(step, "from"),
           sf_result_number(step, "to"));
}

static void print_advice(sf_DocNode root)
{
    sf_DocNode step = sf_doc_item(sf_doc_member(root, "next"), 0);
    if (sf_doc_there(sf_doc_member(root, "stop_reason")))
        printf("Stop: %s\n", sf_result_text(root, "stop_reason"));
    if (sf_doc_there(step)) {
        printf("Next: ");
        print_step(step);
        printf("Why: %s.\nExpect: %s.\n", sf_result_text(step, "why"), sf_result_text(step, "expects"));
    }
    sf_result_print_list(root, "exclude_first", "Exclude first", "text");
    sf_DocNode others = sf_doc_member(root, "not_now");
    if (sf_doc_length(others) > 0)
        printf("\nWhy not the others\n");
    for (size_t i = 0; i < sf_doc_length(others); i++) {
        printf("- ");
        print_step(sf_doc_item(others, i));
        printf("  %s\n", sf_result_text(sf_doc_item(others, i), "why_not"));
    }
    sf_result_print_list(root, "lacking", "Lacking", "text");
    sf_result_print_list(root, "flags", "Flagged", "text");
    sf_result_print_list(root, "settling_warnings", "Before it is settled", NULL);
    printf("\nBrackets\n");
    sf_DocNode brackets = sf_doc_member(root, "brackets");
    const char *key;
    for (size_t i = 0; (key = sf_doc_key(brackets, i)); i++) {
        sf_DocNode b = sf_doc_member(brackets, key);
        printf("- %-18s %7.1f to %7.1f (now %g)\n", key, sf_result_number(b, "low"), sf_result_number(b, "high"),
               sf_result_number(b, "now"));
    }
}

static void print_signs(sf_DocNode root)
{
    sf_DocNode list = sf_doc_member(root, "signs");
    for (size_t i = 0; i < sf_doc_length(list); i++) {
        sf_DocNode sign = sf_doc_item(list, i), phases = sf_doc_member(sign, "phases");
        printf("%-22s %s\n%22s speaks of: %s; phases:", sf_result_text(sign, "sign"), sf_result_text(sign, "words"), "",
               sf_result_text(sf_doc_member(sign, "speaks_of"), "says"));
        for (size_t k = 0; k < sf_doc_length(phases); k++) {
            const char *phase = "";
            sf_doc_text(sf_doc_item(phases, k), 100, &phase);
            printf(" %s", phase);
        }
        printf("\n");
    }
}

sf_Status sf_advise_command(int argc, char **argv, int first, sf_Error *err)
{
    bool signs = false;
    const char *picture = NULL, *limb_file = NULL;
    const sf_Option options[] = {
        { "--signs", SF_OPTION_FLAG, &signs, 0, 0, NULL, "list the signs that a walk can be described with" },
        { "--picture", SF_OPTION_TEXT, &picture, 0, 0, NULL, "draw where the next change lies: OUT.png, .svg or .pdf" },
        { "--limb", SF_OPTION_TEXT, &limb_file, 0, 0, NULL,
          "limb file to draw it on, in place of a limb of assumed sizes" },
    };
    enum { OPTIONS = sizeof options / sizeof *options };
    sf_Arguments arguments;
    SF_TRY(sf_arguments_read(&arguments, argc, argv, first, options, OPTIONS, err));
    if (arguments.help) {
        printf("standfast advise TRIALS.json\nstandfast advise --signs\n\nWhat to change next, and when to stop, from "
               "the walks so "
               "far (standfast-trials/1).\n\n");
        sf_arguments_print_help(options, OPTIONS);
        return SF_OK;
    }
    if (arguments.name_count != (signs ? 0 : 1) || (signs && picture))
        return SF_FAIL(err, SF_E_USAGE, NULL, "name one trials file (standfast advise TRIALS.json), or --signs alone");
    if (limb_file && !picture)
        return SF_FAIL(err, SF_E_USAGE, "--limb", "--limb names the limb to draw on: give --picture OUT.png as well");
    sf_SheetKind kind = SF_SHEET_PNG;
    if (picture)
        SF_TRY(sf_sheet_kind(&kind, picture, err));
    unsigned char *bytes = NULL, *drawn = NULL;
    size_t size = 0, drawn_size = 0;
    sf_Json *json = NULL;
    sf_Limb *limb = NULL;
    sf_Status status;
    if (signs) {
        SF_TRY_DONE(sf_advise_signs(&json, err));
    } else {
        const char *name = arguments.names[0];
        SF_TRY_DONE(sf_file_read(name, SF_DOC_MAX_BYTES, &bytes, &size, err));
        SF_TRY_DONE(sf_advise_study(&json, name, (const char *)bytes, size, err));
    }
    if (limb_file)
        SF_TRY_DONE(sf_limb_read_file(&limb, limb_file, err));
    if (picture) {
        SF_TRY_DONE(
            sf_advise_picture(&drawn, &drawn_size, arguments.names[0], (const char *)bytes, size, limb, kind, err));
        SF_TRY_DONE(sf_file_write(picture, drawn, drawn_size, err));
    }
    status = arguments.json ? sf_command_print_json(&json, err)
                            : sf_result_print_by(json, signs ? print_signs : print_advice, err);
done:
    sf_json_destroy(&json);
    sf_limb_destroy(&limb);
    sf_free(bytes);
    sf_free(drawn);
    return status;
}
