// SPDX-License-Identifier: GPL-3.0-or-later
// `standfast section OUTLINE.csv`
#include "base/alloc.h"
#include "base/file.h"
#include "base/units.h"
#include "cli/arguments.h"
#include "cli/command.h"
#include "cli/ring_print.h"

#include <stdio.h>

enum { MAX_TABLE = 16 * 1024 * 1024 };

sf_Status sf_section_command(int argc, char **argv, int first, sf_Error *err)
{
    double seam_deg = NAN;
    const sf_Option options[] = {
        { "--seam-deg", SF_OPTION_NUMBER, &seam_deg, -360, 720, NULL, "direction of the seam when none is found" },
    };
    sf_Arguments arguments;
    SF_TRY(sf_arguments_read(&arguments, argc, argv, first, options, 1, err));
    if (arguments.help) {
        printf(
            "standfast section OUTLINE.csv\n\nSection properties of two closed curves (header curve,x_mm,y_mm; curves "
            "outer and inner, voids as void1, void2, ...).\n\n");
        sf_arguments_print_help(options, 1);
        return SF_OK;
    }
    if (arguments.name_count != 1)
        return SF_FAIL(err, SF_E_USAGE, NULL, "name one outline file: standfast section OUTLINE.csv");
    unsigned char *bytes = NULL;
    size_t size = 0;
    sf_Result result = { 0 };
    sf_RingFinding *finding = sf_alloc(1, sizeof *finding);
    sf_Status status;
    if (!finding) {
        status = SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
        goto done;
    }
    sf_RingAsk ask = SF_RING_ASK_EMPTY;
    ask.seam_angle = seam_deg * SF_DEG;
    SF_TRY_DONE(sf_file_read(arguments.names[0], MAX_TABLE, &bytes, &size, err));
    SF_TRY_DONE(sf_ring_study(finding, SF_RING_OUTLINE, arguments.names[0], bytes, size, &ask, NULL, err));
    if (!arguments.json) {
        sf_ring_print_figures(finding);
        goto done;
    }
    SF_TRY_DONE(sf_result_begin(&result, err));
    sf_result_input(&result, bytes, size);
    sf_ring_result_figures(&result, finding);
    sf_Json *json = sf_result_finish(&result, NULL);
    status = sf_command_print_json(&json, err);
done:
    sf_result_drop(&result);
    if (finding)
        sf_ring_finding_free(finding);
    sf_free(finding);
    sf_free(bytes);
    return status;
}
