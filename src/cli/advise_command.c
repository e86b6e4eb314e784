// SPDX-License-Identifier: GPL-3.0-or-later
// `standfast advise TRIALS.json`: the next step from the walks so far.
#include "base/alloc.h"
#include "base/file.h"
#include "cli/arguments.h"
#include "cli/command.h"
#include "study/advise_picture.h"
#include "study/advise_study.h"

#include <stdio.h>
#include <string.h>

static const char *text_at(sf_DocNode object, const char *key)
{
    const char *text = "";
    sf_doc_text(sf_doc_member(object, key), 4096, &text);
    return text;
}

static double number_at(sf_DocNode object, const char *key)
{
    double value = 0;
    sf_doc_number(sf_doc_member(object, key), -1e9, 1e9, &value);
    return value;
}

static void print_step(sf_DocNode step)
{
    printf("%s: %+g %s (%s, from %g to %g)\n", text_at(step, "words"), number_at(step, "change"), text_at(step, "unit"),
           text_at(step, "setting"), number_at(step, "from"), number_at(step, "to"));
}

static void print_list(sf_DocNode root, const char *key, const char *title, const char *field)
{
    sf_DocNode list = sf_doc_member(root, key);
    if (sf_doc_length(list) > 0)
        printf("\n%s\n", title);
    for (size_t i = 0; i < sf_doc_length(list); i++) {
        const char *text = "";
        if (field)
            text = text_at(sf_doc_item(list, i), field);
        else
            sf_doc_text(sf_doc_item(list, i), 4096, &text);
        printf("- %s\n", text);
    }
}

static void print_advice(sf_DocNode root)
{
    sf_DocNode step = sf_doc_item(sf_doc_member(root, "next"), 0);
    if (sf_doc_there(sf_doc_member(root, "stop_reason")))
        printf("Stop: %s\n", text_at(root, "stop_reason"));
    if (sf_doc_there(step)) {
        printf("Next: ");
        print_step(step);
        printf("Why: %s.\nExpect: %s.\n", text_at(step, "why"), text_at(step, "expects"));
    }
    print_list(root, "exclude_first", "Exclude first", "text");
    sf_DocNode others = sf_doc_member(root, "not_now");
    if (sf_doc_length(others) > 0)
        printf("\nWhy not the others\n");
    for (size_t i = 0; i < sf_doc_length(others); i++) {
        printf("- ");
        print_step(sf_doc_item(others, i));
        printf("  %s\n", text_at(sf_doc_item(others, i), "why_not"));
    }
    print_list(root, "lacking", "Lacking", "text");
    print_list(root, "flags", "Flagged", "text");
    print_list(root, "settling_warnings", "Before it is settled", NULL);
    printf("\nBrackets\n");
    sf_DocNode brackets = sf_doc_member(root, "brackets");
    const char *key;
    for (size_t i = 0; (key = sf_doc_key(brackets, i)); i++) {
        sf_DocNode b = sf_doc_member(brackets, key);
        printf("- %-18s %7.1f to %7.1f (now %g)\n", key, number_at(b, "low"), number_at(b, "high"),
               number_at(b, "now"));
    }
}

static void print_signs(sf_DocNode root)
{
    sf_DocNode list = sf_doc_member(root, "signs");
    for (size_t i = 0; i < sf_doc_length(list); i++) {
        sf_DocNode sign = sf_doc_item(list, i), phases = sf_doc_member(sign, "phases");
        printf("%-22s %s\n%22s speaks of: %s; phases:", text_at(sign, "sign"), text_at(sign, "words"), "",
               text_at(sf_doc_member(sign, "speaks_of"), "says"));
        for (size_t k = 0; k < sf_doc_length(phases); k++) {
            const char *phase = "";
            sf_doc_text(sf_doc_item(phases, k), 100, &phase);
            printf(" %s", phase);
        }
        printf("\n");
    }
}

// The text for a person is written from the result itself, so that both tell the same.
static sf_Status print_result(const sf_Json *json, bool signs, sf_Error *err)
{
    char *text = NULL;
    sf_Doc *doc = NULL;
    sf_Status status;
    SF_TRY_DONE(sf_json_text(json, 10, &text, err));
    SF_TRY_DONE(sf_doc_parse(&doc, "result", text, strlen(text), err));
    sf_DocNode root = sf_doc_root(doc);
    if (signs)
        print_signs(root);
    else
        print_advice(root);
    print_list(root, "assumptions", "Assumed", NULL);
    print_list(root, "notes", "To know", NULL);
    printf("\n%s\n", text_at(root, "safety"));
done:
    sf_doc_destroy(&doc);
    sf_free(text);
    return status;
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
    status = arguments.json ? sf_command_print_json(&json, err) : print_result(json, signs, err);
done:
    sf_json_destroy(&json);
    sf_limb_destroy(&limb);
    sf_free(bytes);
    sf_free(drawn);
    return status;
}
