// SPDX-License-Identifier: GPL-3.0-or-later
// `standfast steps FILE`: timing of steps.
#include "base/alloc.h"
#include "base/file.h"
#include "cli/arguments.h"
#include "cli/command.h"
#include "cli/result_print.h"
#include "study/steps_picture.h"
#include "study/steps_study.h"

#include <stdio.h>
#include <string.h>

enum { MOST_BYTES = 256 * 1024 * 1024 };

static void print_number(sf_DocNode object, const char *key, const char *words, int digits)
{
    double value;
    if (sf_doc_number(sf_doc_member(object, key), -1e12, 1e12, &value))
        printf("%-34s %.*f\n", words, digits, value);
    else
        printf("%-34s -\n", words);
}

static void print_group(sf_DocNode g)
{
    const char *support = "";
    if (sf_doc_text(sf_doc_member(g, "support"), 20, &support))
        printf("\nSupport: %s\n", support);
    print_number(g, "steps", "steps", 0);
    print_number(g, "strides", "strides used for the variation", 0);
    print_number(g, "passes", "passes", 0);
    print_number(sf_doc_member(g, "step_time_s"), "left", "step time left, s", 3);
    print_number(sf_doc_member(g, "step_time_s"), "right", "step time right, s", 3);
    print_number(sf_doc_member(g, "symmetry"), "ratio", "ratio", 3);
    print_number(sf_doc_member(g, "symmetry"), "index_percent", "index, %", 1);
    print_number(sf_doc_member(g, "cv_percent"), "left", "stride variation left, %", 1);
    print_number(sf_doc_member(g, "cv_percent"), "right", "stride variation right, %", 1);
    print_number(g, "missed_steps", "missed steps", 0);
    print_number(g, "double_contacts", "double contacts", 0);
}

static void print_walk(sf_DocNode root)
{
    sf_DocNode groups = sf_doc_member(root, "by_support");
    for (size_t i = 0; i < sf_doc_length(groups); i++)
        print_group(sf_doc_item(groups, i));
    printf("odd steps: %zu, gaps: %zu\n", sf_doc_length(sf_doc_member(root, "odd_steps")),
           sf_doc_length(sf_doc_member(root, "gaps")));
}

sf_Status sf_steps_command(int argc, char **argv, int first, sf_Error *err)
{
    size_t prosthetic = 2, first_side = 2, sensor = 0;
    double drop = 1;
    const char *picture = NULL;
    sf_StepsAsk ask = { 0 };
    const sf_Option options[] = {
        { "--prosthetic", SF_OPTION_WORD, &prosthetic, 0, 0, "L|R",
          "side of the limb: symmetry is then prosthetic over sound" },
        { "--taps", SF_OPTION_FLAG, &ask.taps, 0, 0, NULL, "tapped by hand: middle values only" },
        { "--first-side", SF_OPTION_WORD, &first_side, 0, 0, "L|R",
          "acceleration: side of the first step, or of the shank sensor" },
        { "--sensor", SF_OPTION_WORD, &sensor, 0, 0, "waist|shank", "acceleration: where the sensor was" },
        { "--drop-ends", SF_OPTION_NUMBER, &drop, 0, 20, NULL, "steps left out at either end of a pass (1)" },
        { "--picture", SF_OPTION_TEXT, &picture, 0, 0, NULL, "draw the walk as a strip: OUT.png, .svg or .pdf" },
    };
    enum { OPTIONS = sizeof options / sizeof *options };
    sf_Arguments arguments;
    SF_TRY(sf_arguments_read(&arguments, argc, argv, first, options, OPTIONS, err));
    if (arguments.help) {
        printf("standfast steps FILE.csv\n\nStep times, symmetry and variation from footfalls "
               "(time_s,side[,pass,support]) or an "
               "acceleration (time_s,ax,ay,az).\n\n");
        sf_arguments_print_help(options, OPTIONS);
        return SF_OK;
    }
    if (arguments.name_count != 1)
        return SF_FAIL(err, SF_E_USAGE, NULL, "name one table: standfast steps FOOTFALLS.csv");
    ask.prosthetic = prosthetic < 2 ? (sf_StepsSide)(prosthetic + 1) : SF_STEPS_SIDE_UNSAID;
    ask.first = first_side < 2 ? (sf_StepsSide)(first_side + 1) : SF_STEPS_SIDE_UNSAID;
    ask.place = sensor ? SF_SENSOR_SHANK : SF_SENSOR_WAIST;
    ask.drop_ends = (size_t)drop;
    sf_SheetKind kind = SF_SHEET_PNG;
    if (picture)
        SF_TRY(sf_sheet_kind(&kind, picture, err));
    unsigned char *bytes = NULL, *drawn = NULL;
    size_t size = 0, drawn_size = 0;
    sf_Json *json = NULL;
    sf_Status status;
    SF_TRY_DONE(sf_file_read(arguments.names[0], MOST_BYTES, &bytes, &size, err));
    SF_TRY_DONE(sf_steps_study(&json, arguments.names[0], (const char *)bytes, size, &ask, err));
    if (picture) {
        SF_TRY_DONE(
            sf_steps_picture(&drawn, &drawn_size, arguments.names[0], (const char *)bytes, size, &ask, kind, err));
        SF_TRY_DONE(sf_file_write(picture, drawn, drawn_size, err));
    }
    status = arguments.json ? sf_command_print_json(&json, err) : sf_result_print_by(json, print_walk, err);
done:
    sf_json_destroy(&json);
    sf_free(bytes);
    sf_free(drawn);
    return status;
}
