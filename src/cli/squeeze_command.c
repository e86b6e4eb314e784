// SPDX-License-Identifier: GPL-3.0-or-later
// `standfast squeeze RING.json`: a ring pressed across a diameter.
#include "base/alloc.h"
#include "base/file.h"
#include "cli/arguments.h"
#include "cli/command.h"
#include "cli/result_print.h"
#include "study/squeeze_study.h"

#include <stdio.h>

static sf_Status read_limits(sf_RingLimits *limits, const char *own, sf_Error *err)
{
    SF_TRY(sf_ring_limits_load(limits, sf_command_data("ring_limits.json"), err));
    if (!own)
        return SF_OK;
    sf_Doc *doc = NULL;
    SF_TRY(sf_doc_read_file(&doc, own, err));
    sf_Status status = sf_ring_limits_read(limits, sf_doc_root(doc), false, err);
    sf_doc_destroy(&doc);
    return status;
}

static sf_Status run(const sf_Arguments *arguments, const char *own_limits, sf_Squeeze *squeeze, sf_Error *err)
{
    const char *name = arguments->names[0];
    unsigned char *bytes = NULL;
    size_t size = 0;
    sf_RingLimits limits;
    sf_Result result = { 0 };
    sf_Json *json = NULL;
    sf_Status status;
    SF_TRY_DONE(read_limits(&limits, own_limits, err));
    SF_TRY_DONE(sf_file_read(name, SF_DOC_MAX_BYTES, &bytes, &size, err));
    SF_TRY_DONE(sf_result_begin(&result, err));
    sf_result_input(&result, bytes, size);
    SF_TRY_DONE(sf_squeeze_study(squeeze, name, (const char *)bytes, size, &limits, err));
    sf_squeeze_result(&result, squeeze);
    json = sf_result_finish(&result, sf_squeeze_safety());
    status = arguments->json ? sf_command_print_json(&json, err) : sf_result_print(&json, err);
done:
    sf_json_destroy(&json);
    sf_result_drop(&result);
    sf_free(bytes);
    return status;
}

sf_Status sf_squeeze_command(int argc, char **argv, int first, sf_Error *err)
{
    const char *own_limits = NULL;
    const sf_Option options[] = {
        { "--limits", SF_OPTION_TEXT, &own_limits, 0, 0, NULL, "the shop's own ring limits" },
    };
    sf_Arguments arguments;
    SF_TRY(sf_arguments_read(&arguments, argc, argv, first, options, 1, err));
    if (arguments.help) {
        printf("standfast squeeze RING.json\n\nA cut-off ring pressed across a diameter: modulus of the formed sheet, "
               "stress at the seam, and the load that proves it.\n\n");
        sf_arguments_print_help(options, 1);
        return SF_OK;
    }
    if (arguments.name_count != 1)
        return SF_FAIL(err, SF_E_USAGE, NULL, "name one squeeze file: standfast squeeze RING.json");
    sf_Squeeze *squeeze = sf_alloc(1, sizeof *squeeze);
    if (!squeeze)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    sf_Status status = run(&arguments, own_limits, squeeze, err);
    sf_squeeze_free(squeeze);
    sf_free(squeeze);
    return status;
}
