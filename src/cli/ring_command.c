// SPDX-License-Identifier: GPL-3.0-or-later
// `standfast ring`: pictures, caliper readings, repeat scans and the scanner's calibration.
#include "base/alloc.h"
#include "base/file.h"
#include "base/units.h"
#include "cli/arguments.h"
#include "cli/command.h"
#include "cli/ring_print.h"
#include "section/outline_table.h"
#include "study/calibration.h"
#include "study/ring_picture.h"
#include "study/ring_repeat.h"

#include <stdio.h>
#include <string.h>

enum { MAX_PICTURE = 1024 * 1024 * 1024, MOST_PICTURES = 20 };

// What the command line says.
typedef struct Ask {
    double dpi, seam_deg, nominal_mm, posterior_deg, gauge_mm, mass_kg, shank_mm, rim_mm;
    size_t user, face, side; // words; SIZE_MAX when not given
    bool calibrate;
    const char *caliper, *outline, *calibration, *limits, *out, *picture, *limb, *squeeze;
} Ask;

// What the command holds while it works.
typedef struct Work {
    Ask ask;
    sf_Arguments arguments;
    sf_RingAsk ring;
    sf_RingLimits limits;
    sf_RingFinding *findings;
    size_t count;
    sf_Limb *limb;
    sf_Squeeze *squeeze;
    sf_Result result;
} Work;

static sf_Status read_arguments(Work *w, int argc, char **argv, int first, sf_Error *err)
{
    Ask *a = &w->ask;
    *a = (Ask){ .seam_deg = NAN,
                .nominal_mm = NAN,
                .posterior_deg = NAN,
                .gauge_mm = NAN,
                .mass_kg = NAN,
                .shank_mm = NAN,
                .rim_mm = NAN,
                .user = SIZE_MAX,
                .face = SIZE_MAX,
                .side = SIZE_MAX };
    const sf_Option options[] = {
        { "--dpi", SF_OPTION_NUMBER, &a->dpi, 1, 20000, NULL, "resolution, when the file does not state it" },
        { "--user", SF_OPTION_WORD, &a->user, 0, 0, "adult|child", "who the limb is for" },
        { "--nominal-wall-mm", SF_OPTION_NUMBER, &a->nominal_mm, 1, 20, NULL, "expected formed wall (not the sheet)" },
        { "--body-mass-kg", SF_OPTION_NUMBER, &a->mass_kg, 5, 250, NULL, "body mass, for the least wall" },
        { "--seam-deg", SF_OPTION_NUMBER, &a->seam_deg, -360, 720, NULL, "seam's picture angle, when none is found" },
        { "--face", SF_OPTION_WORD, &a->face, 0, 0, "limb-side|foot-side", "which face lay on the glass" },
        { "--posterior-deg", SF_OPTION_NUMBER, &a->posterior_deg, -360, 720, NULL,
          "picture angle of the posterior line" },
        { "--side", SF_OPTION_WORD, &a->side, 0, 0, "left|right", "side of the limb" },
        { "--shank-mm", SF_OPTION_NUMBER, &a->shank_mm, 5, 90, NULL, "adapter's shank diameter, for the fit" },
        { "--rim-mm", SF_OPTION_NUMBER, &a->rim_mm, 5, 120, NULL, "adapter's rim diameter, for the fit" },
        { "--caliper", SF_OPTION_TEXT, &a->caliper, 0, 0, NULL, "readings in place of a picture" },
        { "--calibration", SF_OPTION_TEXT, &a->calibration, 0, 0, NULL, "scanner calibration to apply" },
        { "--limb", SF_OPTION_TEXT, &a->limb, 0, 0, NULL, "limb file: strength with this section and this person" },
        { "--squeeze", SF_OPTION_TEXT, &a->squeeze, 0, 0, NULL, "squeeze file: how this ring's seam was proved" },
        { "--limits", SF_OPTION_TEXT, &a->limits, 0, 0, NULL, "the shop's own limits" },
        { "--outline", SF_OPTION_TEXT, &a->outline, 0, 0, NULL, "write the outline as CSV" },
        { "--picture", SF_OPTION_TEXT, &a->picture, 0, 0, NULL, "draw the finding: OUT.png, .svg or .pdf" },
        { "--calibrate", SF_OPTION_FLAG, &a->calibrate, 0, 0, NULL, "make a calibration from a round gauge" },
        { "--gauge-mm", SF_OPTION_NUMBER, &a->gauge_mm, 15, 105, NULL, "the gauge's true diameter" },
        { "-o", SF_OPTION_TEXT, &a->out, 0, 0, NULL, "where the calibration goes" },
    };
    size_t count = sizeof options / sizeof *options;
    SF_TRY(sf_arguments_read(&w->arguments, argc, argv, first, options, count, err));
    if (w->arguments.help) {
        printf(
            "standfast ring PICTURE [PICTURE ...]\nstandfast ring --caliper READINGS.csv\nstandfast ring GAUGE "
            "--calibrate --gauge-mm N -o CAL.json\n\nMeasures a cut-off ring. Several pictures are repeat scans of one "
            "ring.\n\n");
        sf_arguments_print_help(options, count);
    }
    return SF_OK;
}

// From what was typed to what the study takes.
static sf_Status settle(Work *w, sf_Error *err)
{
    const Ask *a = &w->ask;
    w->ring = SF_RING_ASK_EMPTY;
    w->ring.scan.dpi = a->dpi;
    w->ring.scan.keep_view = a->picture != NULL;
    if (a->picture)
        SF_TRY(sf_ring_picture_check(a->picture, err));
    w->ring.seam_angle = a->seam_deg * SF_DEG;
    w->ring.posterior_angle = a->posterior_deg * SF_DEG;
    w->ring.face = a->face == 1 ? SF_FACE_FOOT_SIDE : SF_FACE_LIMB_SIDE;
    w->ring.side = a->side == 0 ? SF_SIDE_LEFT : a->side == 1 ? SF_SIDE_RIGHT : SF_SIDE_UNKNOWN;
    w->ring.context.user = a->user == 0 ? SF_USER_ADULT : a->user == 1 ? SF_USER_CHILD : SF_USER_UNKNOWN;
    w->ring.context.nominal_wall = a->nominal_mm * SF_MM;
    w->ring.context.body_mass = a->mass_kg;
    w->ring.context.shank = a->shank_mm * SF_MM;
    w->ring.context.rim = a->rim_mm * SF_MM;
    SF_TRY(sf_ring_limits_load(&w->limits, sf_command_data("ring_limits.json"), err));
    if (a->limits) {
        sf_Doc *doc = NULL;
        SF_TRY(sf_doc_read_file(&doc, a->limits, err));
        sf_Status status = sf_ring_limits_read(&w->limits, sf_doc_root(doc), false, err);
        sf_doc_destroy(&doc);
        SF_TRY(status);
    }
    if (a->calibration) {
        sf_Calibration calibration;
        SF_TRY(sf_calibration_load(&calibration, a->calibration, err));
        w->ring.scan.factor_x = calibration.factor_x;
        w->ring.scan.factor_y = calibration.factor_y;
        w->ring.scan.scale_sd = calibration.scale_sd;
    }
    if (!isnan(a->gauge_mm) || a->out)
        return SF_FAIL(err, SF_E_USAGE, NULL,
                       "--gauge-mm and -o belong to --calibrate: name it too, or leave them out");
    if (a->caliper && w->arguments.name_count > 0)
        return SF_FAIL(err, SF_E_USAGE, NULL, "give either pictures or --caliper, not both");
    if (!a->caliper && w->arguments.name_count == 0)
        return SF_FAIL(err, SF_E_USAGE, NULL, "name the picture of a ring: standfast ring PICTURE");
    if (w->arguments.name_count > MOST_PICTURES)
        return SF_FAIL(err, SF_E_USAGE, NULL, "at most %d repeat scans are read", MOST_PICTURES);
    return SF_OK;
}

// The limb document and the squeeze, with their bytes in the fingerprint.
static sf_Status read_beside(Work *w, sf_Error *err)
{
    const Ask *a = &w->ask;
    unsigned char *bytes = NULL;
    size_t size = 0;
    sf_Status status = SF_OK;
    if (a->limb) {
        SF_TRY_DONE(sf_file_read(a->limb, SF_DOC_MAX_BYTES, &bytes, &size, err));
        sf_result_input(&w->result, bytes, size);
        SF_TRY_DONE(sf_limb_read_file(&w->limb, a->limb, err));
        const char *picture = w->arguments.name_count ? w->arguments.names[0] : NULL;
        SF_TRY_DONE(sf_ring_ask_limb(&w->ring, w->limb, picture, a->face != SIZE_MAX, err));
    }
    if (a->squeeze) {
        sf_free(bytes);
        bytes = NULL;
        w->squeeze = sf_alloc(1, sizeof *w->squeeze);
        if (!w->squeeze)
            return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
        SF_TRY_DONE(sf_file_read(a->squeeze, SF_DOC_MAX_BYTES, &bytes, &size, err));
        sf_result_input(&w->result, bytes, size);
        SF_TRY_DONE(sf_squeeze_study(w->squeeze, a->squeeze, (const char *)bytes, size, &w->limits, err));
        w->ring.squeeze = w->squeeze;
    }
done:
    sf_free(bytes);
    return status;
}

static sf_Status study_file(Work *w, const char *path, sf_RingSource source, sf_Error *err)
{
    unsigned char *bytes = NULL;
    size_t size = 0;
    sf_Status status;
    SF_TRY_DONE(sf_file_read(path, MAX_PICTURE, &bytes, &size, err));
    sf_result_input(&w->result, bytes, size);
    w->ring.result = w->count == 0 ? &w->result : NULL; // assumptions once, not for each scan
    SF_TRY_DONE(sf_ring_study(&w->findings[w->count], source, path, bytes, size, &w->ring, &w->limits, err));
    w->count++;
done:
    sf_free(bytes);
    return status;
}

static sf_Status write_outline(const Work *w, sf_Error *err)
{
    char *text = NULL;
    size_t size = 0;
    sf_Status status;
    SF_TRY_DONE(sf_outline_write_csv(&w->findings[0].scan.outline, &text, &size, err));
    SF_TRY_DONE(sf_file_write(w->ask.outline, text, size, err));
done:
    sf_free(text);
    return status;
}

// Of repeat scans the one with the hardest decision is drawn.
static sf_Status write_picture(const Work *w, sf_Error *err)
{
    size_t hardest = sf_ring_repeat_hardest(w->findings, w->count);
    const char *name = w->ask.caliper ? w->ask.caliper : w->arguments.names[hardest];
    return sf_ring_picture_write(w->ask.picture, name, &w->findings[hardest], w->count, &w->ring, &w->limits, err);
}

static sf_Status report(Work *w, sf_Error *err)
{
    size_t hardest = sf_ring_repeat_hardest(w->findings, w->count);
    if (!w->arguments.json) {
        sf_ring_print_figures(&w->findings[0]);
        if (w->count > 1)
            sf_ring_print_repeats(w->findings, w->count);
        sf_ring_print_decision(&w->findings[hardest]);
        return SF_OK;
    }
    sf_ring_result_figures(&w->result, &w->findings[0]);
    sf_ring_result_ring(&w->result, &w->findings[0], &w->findings[hardest], &w->ring);
    sf_ring_repeat_result(&w->result, w->findings, w->count);
    sf_Json *json = sf_result_finish(&w->result, NULL);
    return sf_command_print_json(&json, err);
}

static sf_Status calibrate(Work *w, sf_Error *err)
{
    const Ask *a = &w->ask;
    if (w->arguments.name_count != 1 || isnan(a->gauge_mm) || !a->out)
        return SF_FAIL(err, SF_E_USAGE, NULL,
                       "calibration takes one scan, the gauge's diameter and a file to write: standfast ring GAUGE.png "
                       "--calibrate --gauge-mm 50 -o CAL.json");
    unsigned char *bytes = NULL;
    size_t size = 0;
    sf_Calibration calibration;
    sf_Status status;
    SF_TRY_DONE(sf_file_read(w->arguments.names[0], MAX_PICTURE, &bytes, &size, err));
    SF_TRY_DONE(
        sf_calibration_make(&calibration, w->arguments.names[0], bytes, size, a->dpi, a->gauge_mm * SF_MM, err));
    SF_TRY_DONE(sf_calibration_save(&calibration, a->out, err));
    if (w->arguments.json) {
        SF_TRY_DONE(sf_result_begin(&w->result, err));
        sf_result_input(&w->result, bytes, size);
        sf_calibration_result(&w->result, &calibration);
        sf_Json *json = sf_result_finish(&w->result, NULL);
        status = sf_command_print_json(&json, err);
    } else {
        printf("  the gauge scans as %.3f mm across and %.3f mm along; factors %.5f and %.5f +- %.5f (95 %%)\n  "
               "written to %s\n",
               calibration.gauge.diameter_x / SF_MM, calibration.gauge.diameter_y / SF_MM, calibration.factor_x,
               calibration.factor_y, 1.96 * calibration.scale_sd, a->out);
    }
done:
    sf_free(bytes);
    return status;
}

static sf_Status measure(Work *w, sf_Error *err)
{
    SF_TRY(settle(w, err));
    SF_TRY(sf_result_begin(&w->result, err));
    SF_TRY(read_beside(w, err));
    size_t pictures = w->arguments.name_count;
    w->findings = sf_alloc(pictures ? pictures : 1, sizeof *w->findings);
    if (!w->findings)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    if (w->ask.caliper)
        SF_TRY(study_file(w, w->ask.caliper, SF_RING_CALIPER, err));
    for (size_t i = 0; i < pictures; i++)
        SF_TRY(study_file(w, w->arguments.names[i], SF_RING_PICTURE, err));
    if (w->ask.outline)
        SF_TRY(write_outline(w, err));
    if (w->ask.picture)
        SF_TRY(write_picture(w, err));
    return report(w, err);
}

sf_Status sf_ring_command(int argc, char **argv, int first, sf_Error *err)
{
    Work *w = sf_alloc(1, sizeof *w);
    if (!w)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    sf_Status status = read_arguments(w, argc, argv, first, err);
    if (status == SF_OK && !w->arguments.help)
        status = w->ask.calibrate ? calibrate(w, err) : measure(w, err);
    for (size_t i = 0; i < w->count; i++)
        sf_ring_finding_free(&w->findings[i]);
    sf_free(w->findings);
    sf_limb_destroy(&w->limb);
    if (w->squeeze)
        sf_squeeze_free(w->squeeze);
    sf_free(w->squeeze);
    sf_result_drop(&w->result);
    sf_free(w);
    return status;
}
