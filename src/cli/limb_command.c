// SPDX-License-Identifier: GPL-3.0-or-later
// `length`, `growth`, `fasten`, `vent` and `mass`: one limb file in, one result out.
#include "cli/limb_command.h"

#include "base/alloc.h"
#include "base/file.h"
#include "base/units.h"
#include "cli/command.h"
#include "cli/result_print.h"
#include "draw/sheet.h"
#include "growth/length.h"
#include "study/fasten_picture.h"
#include "study/fasten_study.h"
#include "study/growth_picture.h"
#include "study/length_study.h"
#include "study/mass_study.h"
#include "study/vent_study.h"

#include <math.h>
#include <stdio.h>

static const double GRAM = 1e-3;

sf_Status sf_limb_command_run(const char *command, const sf_Arguments *arguments, sf_LimbWork work, const void *ask,
                              sf_Error *err)
{
    if (arguments->name_count != 1)
        return SF_FAIL(err, SF_E_USAGE, NULL, "name one limb file: standfast %s LIMB.json", command);
    unsigned char *bytes = NULL;
    size_t size = 0;
    sf_Limb *limb = NULL;
    sf_Result result = { 0 };
    sf_Json *json = NULL;
    sf_Status status;
    SF_TRY_DONE(sf_file_read(arguments->names[0], SF_DOC_MAX_BYTES, &bytes, &size, err));
    SF_TRY_DONE(sf_limb_read_file(&limb, arguments->names[0], err));
    SF_TRY_DONE(sf_result_begin(&result, err));
    sf_result_input(&result, bytes, size);
    SF_TRY_DONE(work(&result, limb, ask, err));
    json = sf_result_finish(&result, NULL);
    status = arguments->json ? sf_command_print_json(&json, err) : sf_result_print(&json, err);
done:
    sf_json_destroy(&json);
    sf_result_drop(&result);
    sf_limb_destroy(&limb);
    sf_free(bytes);
    return status;
}

static sf_Status help(const char *what, const sf_Option *options, size_t count)
{
    printf("%s\n\n", what);
    sf_arguments_print_help(options, count);
    return SF_OK;
}

/// What is asked, and where a picture of it goes.
typedef struct Pictured {
    sf_GrowthAsk growth;
    const char *picture;
    size_t units;
} Pictured;

static sf_Status growth_work(sf_Result *result, const sf_Limb *limb, const void *ask, sf_Error *err)
{
    const Pictured *asked = ask;
    SF_TRY(sf_growth_study(result, limb, &asked->growth, err));
    return asked->picture ? sf_growth_picture_write(asked->picture, limb, &asked->growth, asked->units == 1, err)
                          : SF_OK;
}

sf_Status sf_growth_command(int argc, char **argv, int first, sf_Error *err)
{
    Pictured asked = { .growth = SF_GROWTH_ASK_DEFAULT };
    sf_SheetKind kind;
    sf_GrowthAsk *ask = &asked.growth;
    double months = ask->months, mm[SF_GROWTH_STEPS];
    for (int i = 0; i < SF_GROWTH_STEPS; i++)
        mm[i] = ask->short_by[i] / SF_MM;
    const sf_Option options[] = {
        { "--as-of", SF_OPTION_TEXT, &ask->as_of, 0, 0, NULL, "day from which to look ahead, 2026-01-31 (today)" },
        { "--months", SF_OPTION_NUMBER, &months, 1, SF_GROWTH_MONTHS_MAX, NULL, "how many months ahead (24)" },
        { "--remind-mm", SF_OPTION_NUMBER, &mm[0], 0.1, 100, NULL, "short by this much: remind (5)" },
        { "--warn-mm", SF_OPTION_NUMBER, &mm[1], 0.1, 100, NULL, "short by this much: warn (10)" },
        { "--alarm-mm", SF_OPTION_NUMBER, &mm[2], 0.1, 100, NULL, "short by this much: alarm (15)" },
        { "--picture", SF_OPTION_TEXT, &asked.picture, 0, 0, NULL, "write the growth chart: .png, .svg or .pdf" },
        { "--units", SF_OPTION_WORD, &asked.units, 0, 0, "metric|inch", "lengths in the chart (metric)" },
    };
    const size_t count = sizeof options / sizeof *options;
    sf_Arguments arguments;
    SF_TRY(sf_arguments_read(&arguments, argc, argv, first, options, count, err));
    if (arguments.help)
        return help("standfast growth LIMB.json\n\nForecast of stature and of the sound side's knee height, the day on "
                    "which the prosthesis is short by each limit, spacer stacks, and which limit comes first.",
                    options, count);
    if (months != (double)(int)months)
        return SF_FAIL(err, SF_E_USAGE, "--months", "--months takes a whole number");
    if (asked.picture)
        SF_TRY(sf_sheet_kind(&kind, asked.picture, err));
    ask->months = (int)months;
    for (int i = 0; i < SF_GROWTH_STEPS; i++)
        ask->short_by[i] = mm[i] * SF_MM;
    return sf_limb_command_run("growth", &arguments, growth_work, &asked, err);
}

static sf_Status length_work(sf_Result *result, const sf_Limb *limb, const void *ask, sf_Error *err)
{
    return sf_length_study(result, limb, ask, err);
}

sf_Status sf_length_command(int argc, char **argv, int first, sf_Error *err)
{
    double leave_long_mm = SF_LENGTH_LEAVE_LONG / SF_MM;
    const sf_Option options[] = {
        { "--leave-long-mm", SF_OPTION_NUMBER, &leave_long_mm, 0, 60, NULL, "left long at the first cut (8)" },
    };
    sf_Arguments arguments;
    SF_TRY(sf_arguments_read(&arguments, argc, argv, first, options, 1, err));
    if (arguments.help)
        return help("standfast length LIMB.json\n\nWhere to saw, how far that may be off, and the spacer that mends a "
                    "limb that came out short.",
                    options, 1);
    sf_LengthAsk ask = { leave_long_mm * SF_MM };
    return sf_limb_command_run("length", &arguments, length_work, &ask, err);
}

static sf_Status fasten_work(sf_Result *result, const sf_Limb *limb, const void *ask, sf_Error *err)
{
    const Pictured *asked = ask;
    SF_TRY(sf_fasten_study(result, limb, err));
    return asked->picture ? sf_fasten_picture_write(asked->picture, limb, asked->units == 1, err) : SF_OK;
}

sf_Status sf_fasten_command(int argc, char **argv, int first, sf_Error *err)
{
    Pictured asked = { 0 };
    sf_SheetKind kind;
    const sf_Option options[] = {
        { "--picture", SF_OPTION_TEXT, &asked.picture, 0, 0, NULL, "write the screw map: .png, .svg or .pdf" },
        { "--units", SF_OPTION_WORD, &asked.units, 0, 0, "metric|inch", "lengths in the map (metric)" },
    };
    sf_Arguments arguments;
    SF_TRY(sf_arguments_read(&arguments, argc, argv, first, options, 2, err));
    if (arguments.help)
        return help("standfast fasten LIMB.json\n\nPermanent fixing: torque with its doubt, distances of holes, screw "
                    "places, and what to do if the alignment must move afterwards.",
                    options, 2);
    if (asked.picture)
        SF_TRY(sf_sheet_kind(&kind, asked.picture, err));
    return sf_limb_command_run("fasten", &arguments, fasten_work, &asked, err);
}

static sf_Status vent_work(sf_Result *result, const sf_Limb *limb, const void *ask, sf_Error *err)
{
    (void)ask;
    return sf_vent_study(result, limb, err);
}

sf_Status sf_vent_command(int argc, char **argv, int first, sf_Error *err)
{
    sf_Arguments arguments;
    SF_TRY(sf_arguments_read(&arguments, argc, argv, first, NULL, 0, err));
    if (arguments.help)
        return help(
            "standfast vent LIMB.json\n\nWhether a vent may be drilled, how large, where, and what it costs the "
            "wall.",
            NULL, 0);
    return sf_limb_command_run("vent", &arguments, vent_work, NULL, err);
}

static sf_Status mass_work(sf_Result *result, const sf_Limb *limb, const void *ask, sf_Error *err)
{
    return sf_mass_study(result, limb, ask, err);
}

sf_Status sf_mass_command(int argc, char **argv, int first, sf_Error *err)
{
    double weighed_g = NAN;
    sf_MassAsk ask = { 0 };
    const sf_Option options[] = {
        { "--weighed-g", SF_OPTION_NUMBER, &weighed_g, 1, 20000, NULL, "what the scale shows" },
        { "--without-shoe", SF_OPTION_FLAG, &ask.without_shoe, 0, 0, NULL, "leave the shoe out" },
    };
    sf_Arguments arguments;
    SF_TRY(sf_arguments_read(&arguments, argc, argv, first, options, 2, err));
    if (arguments.help)
        return help("standfast mass LIMB.json\n\nMass, centre of mass and inertia about the knee, beside an intact "
                    "shank, and against the scale.",
                    options, 2);
    ask.weighed = weighed_g * GRAM;
    return sf_limb_command_run("mass", &arguments, mass_work, &ask, err);
}
