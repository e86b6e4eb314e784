// SPDX-License-Identifier: GPL-3.0-or-later
// `standfast form PLAN.json`: the wall that a sheet will leave, or the sheet for a wanted wall.
#include "base/alloc.h"
#include "base/file.h"
#include "cli/arguments.h"
#include "cli/command.h"
#include "cli/result_print.h"
#include "study/form_study.h"

#include <stdio.h>

static sf_Status run(const sf_Arguments *arguments, sf_Error *err)
{
    const char *name = arguments->names[0];
    unsigned char *bytes = NULL;
    size_t size = 0;
    sf_Result result = { 0 };
    sf_Json *json = NULL;
    sf_Status status;
    SF_TRY_DONE(sf_file_read(name, SF_DOC_MAX_BYTES, &bytes, &size, err));
    SF_TRY_DONE(sf_result_begin(&result, err));
    sf_result_input(&result, bytes, size);
    SF_TRY_DONE(sf_form_study(&result, name, (const char *)bytes, size, err));
    json = sf_result_finish(&result, NULL);
    status = arguments->json ? sf_command_print_json(&json, err) : sf_result_print(&json, err);
done:
    sf_json_destroy(&json);
    sf_result_drop(&result);
    sf_free(bytes);
    return status;
}

sf_Status sf_form_command(int argc, char **argv, int first, sf_Error *err)
{
    sf_Arguments arguments;
    SF_TRY(sf_arguments_read(&arguments, argc, argv, first, NULL, 0, err));
    if (arguments.help) {
        printf("standfast form PLAN.json\n\nBefore forming: the wall that a sheet will leave at the pylon, with its "
               "interval, "
               "or the sheet for a wanted wall; calibrated on the shop's own rings when the plan lists them.\n\n");
        sf_arguments_print_help(NULL, 0);
        return SF_OK;
    }
    if (arguments.name_count != 1)
        return SF_FAIL(err, SF_E_USAGE, NULL, "name one plan file: standfast form PLAN.json");
    return run(&arguments, err);
}
