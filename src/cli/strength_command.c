// SPDX-License-Identifier: GPL-3.0-or-later
// `standfast strength LIMB.json`: how far a pylon is from first yield.
#include "base/alloc.h"
#include "base/file.h"
#include "base/units.h"
#include "cli/arguments.h"
#include "cli/command.h"
#include "study/form_study.h"
#include "study/strength_growth.h"
#include "study/strength_picture.h"
#include "study/strength_study.h"

#include <math.h>
#include <stdio.h>

enum { MAX_LIMB = SF_DOC_MAX_BYTES };

typedef struct Work {
    sf_StrengthAsk ask;
    sf_Arguments arguments;
    double samples, seed, months;
    const char *picture;
    bool compare, solid;
    sf_Limb *limbs[SF_ARGUMENTS_MAX_NAMES];
    size_t count;
    sf_Result result;
} Work;

static sf_Status read_arguments(Work *w, int argc, char **argv, int first, sf_Error *err)
{
    const sf_Option options[] = {
        { "--level", SF_OPTION_TEXT, &w->ask.level, 0, 0, NULL, "one level only: P3, P4, P5, P3-scaled" },
        { "--material", SF_OPTION_TEXT, &w->ask.material, 0, 0, NULL, "card by name or file, in place of the limb's" },
        { "--temperature-c", SF_OPTION_NUMBER, &w->ask.temperature_c, -50, 120, NULL, "of the cases (23)" },
        { "--first-order", SF_OPTION_FLAG, &w->ask.first_order, 0, 0, NULL,
          "leave out what bending adds to the lever" },
        { "--iso-axis", SF_OPTION_FLAG, &w->ask.iso_axis, 0, 0, NULL, "straight pylon on the standard's axis" },
        { "--prismatic", SF_OPTION_FLAG, &w->ask.prismatic, 0, 0, NULL, "one ring: keep its wall up to the top" },
        { "--samples", SF_OPTION_NUMBER, &w->samples, 0, 1e6, NULL,
          "samples for the 90 % bands (10000); 0 leaves them null" },
        { "--seed", SF_OPTION_NUMBER, &w->seed, 0, 9007199254740991, NULL,
          "of the samples (1): same seed, same bands" },
        { "--as-of", SF_OPTION_TEXT, &w->ask.as_of, 0, 0, NULL, "for a growing person: day of asking (today)" },
        { "--months", SF_OPTION_NUMBER, &w->months, 1, 120, NULL, "and the follow-up interval (3)" },
        { "--picture", SF_OPTION_TEXT, &w->picture, 0, 0, NULL, "draw the finding: OUT.png, .svg or .pdf" },
        { "--compare", SF_OPTION_FLAG, &w->compare, 0, 0, NULL, "several limb files side by side" },
        { "--solid", SF_OPTION_FLAG, &w->solid, 0, 0, NULL, "three-dimensional model as well (not in this version)" },
    };
    enum { OPTIONS = sizeof options / sizeof *options };
    SF_TRY(sf_arguments_read(&w->arguments, argc, argv, first, options, OPTIONS, err));
    if (w->arguments.help) {
        printf("standfast strength LIMB.json\nstandfast strength --compare A.json B.json ...\n\nHow far a pylon is "
               "from first "
               "yield and from collapse at the levels of ISO 10328, what governs, how sure that is, the clamp zone, "
               "gates.\n\n");
        sf_arguments_print_help(options, OPTIONS);
        return SF_OK;
    }
    if (w->solid)
        return SF_FAIL(err, SF_E_USAGE, NULL, "--solid is not in this version: leave it out");
    size_t names = w->arguments.name_count;
    if (names == 0 || (names > 1 && !w->compare) || (w->compare && names < 2))
        return SF_FAIL(err, SF_E_USAGE, NULL, "%s",
                       w->compare ? "--compare needs two limb files or more"
                                  : "name one limb file: standfast strength LIMB.json (several with --compare)");
    if (w->picture && w->compare)
        return SF_FAIL(err, SF_E_USAGE, NULL, "--picture draws one limb: leave out --compare");
    if (w->picture)
        SF_TRY(sf_strength_picture_check(w->picture, err));
    w->ask.samples = (int)w->samples;
    w->ask.seed = (uint64_t)w->seed;
    w->ask.interval_months = (int)w->months;
    return SF_OK;
}

static sf_Status read_limbs(Work *w, sf_Error *err)
{
    for (; w->count < w->arguments.name_count; w->count++) {
        const char *name = w->arguments.names[w->count];
        unsigned char *bytes = NULL;
        size_t size = 0;
        SF_TRY(sf_form_limb_read(&w->limbs[w->count], name, &w->result, err));
        SF_TRY(sf_file_read(name, MAX_LIMB, &bytes, &size, err));
        sf_result_input(&w->result, bytes, size);
        sf_free(bytes);
    }
    return SF_OK;
}

// ---- for people -------------------------------------------------------------------------------------------------

static void print_number(double value, int width, int digits)
{
    if (isnan(value))
        printf("%*s", width, "-");
    else
        printf("%*.*f", width, digits, value);
}

static void print_cases(const sf_StrengthCases *cases)
{
    printf("%-24s %8s %8s %9s %9s %8s %8s %8s %8s  %s\n", "case", "force N", "at mm", "angle deg", "moment Nm",
           "stress", "peak MPa", "yield", "collapse", "");
    for (size_t i = 0; i < cases->count; i++) {
        const sf_StrengthCase *at = &cases->items[i];
        printf("%-24s %8.0f ", at->name, at->force);
        print_number(at->balanced ? at->station / SF_MM : NAN, 8, 0);
        print_number(at->balanced ? at->peak.angle / SF_DEG : NAN, 10, 0);
        print_number(at->balanced ? sf_point_length(at->actions.moment) : NAN, 10, 1);
        print_number(at->balanced ? at->normal_stress / SF_MPA : NAN, 9, 1);
        print_number(at->balanced ? at->peak.von_mises / SF_MPA : NAN, 9, 1);
        printf(" %8.2f ", at->factor);
        print_number(at->collapse_factor, 8, 2);
        printf("  %s, %s%s\n", sf_peak_cause_word(at->peak.cause),
               isnan(at->collapse_factor) ? "-" : sf_mechanism_word(at->mechanism),
               at->governs ? ", governs its level" : "");
    }
}

static sf_Status print_people(Work *w, sf_Error *err)
{
    sf_StrengthInput *input = sf_alloc(1, sizeof *input);
    sf_StrengthCases *cases = sf_alloc(1, sizeof *cases);
    sf_Status status = SF_OK;
    double temperature = isnan(w->ask.temperature_c) ? 23 : w->ask.temperature_c;
    if (!input || !cases)
        status = SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory in strength");
    if (status == SF_OK)
        status = sf_strength_input_make(input, w->limbs[0], &w->ask, &w->result, err);
    if (status == SF_OK)
        status = sf_strength_cases_solve(cases, input, &w->ask, temperature, err);
    if (status == SF_OK) {
        printf(
            "Yield and collapse: multipliers on the force at which the pylon first yields and at which it carries no "
            "more, at %g C, card %s.\n\n",
            temperature, input->card->name);
        print_cases(cases);
        printf("\n%s\n", sf_strength_safety());
    }
    if (input)
        sf_strength_input_free(input);
    sf_free(input);
    sf_free(cases);
    return status;
}

static sf_Status run(Work *w, sf_Error *err)
{
    SF_TRY(sf_result_begin(&w->result, err));
    SF_TRY(read_limbs(w, err));
    if (w->picture)
        SF_TRY(sf_strength_picture_write(w->picture, w->limbs[0], &w->ask, err));
    if (!w->arguments.json && !w->compare)
        return print_people(w, err);
    if (w->compare)
        SF_TRY(sf_strength_compare(&w->result, (const sf_Limb *const *)w->limbs, w->arguments.names, w->count, &w->ask,
                                   err));
    else
        SF_TRY(sf_strength_study(&w->result, w->limbs[0], &w->ask, err));
    sf_Json *json = sf_result_finish(&w->result, sf_strength_safety());
    return sf_command_print_json(&json, err);
}

sf_Status sf_strength_command(int argc, char **argv, int first, sf_Error *err)
{
    Work w = { .ask = SF_STRENGTH_ASK_EMPTY,
               .samples = SF_STRENGTH_SAMPLES,
               .seed = SF_STRENGTH_SEED,
               .months = SF_STRENGTH_INTERVAL_MONTHS };
    sf_Status status = read_arguments(&w, argc, argv, first, err);
    if (status == SF_OK && !w.arguments.help)
        status = run(&w, err);
    for (size_t i = 0; i < SF_ARGUMENTS_MAX_NAMES; i++)
        sf_limb_destroy(&w.limbs[i]);
    sf_result_drop(&w.result);
    return status;
}
