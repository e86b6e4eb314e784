// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/squeeze_file.h"

#include "base/alloc.h"
#include "base/doc.h"
#include "base/file.h"
#include "base/units.h"
#include "image/ring_scan.h"
#include "section/outline_table.h"
#include "study/calibration.h"
#include "study/limb_ring.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define COUNT(array) (sizeof(array) / sizeof *(array))

enum { MOST_TEXT = 2000, MOST_PATH = 4096, MOST_RING_FILE = 128 * 1024 * 1024 };

static double number(sf_DocNode object, const char *key, double low, double high, double unit)
{
    double value = NAN;
    return sf_doc_number(sf_doc_member(object, key), low, high, &value) ? value * unit : NAN;
}

static const char *text_of(sf_DocNode object, const char *key)
{
    const char *text = NULL;
    return sf_doc_text(sf_doc_member(object, key), MOST_TEXT, &text) ? text : NULL;
}

// ---- one pressing -----------------------------------------------------------------------------------------------

static const char *const OUTCOMES[] = { "held", "whitened", "cracked" };

static sf_SqueezePress read_press(sf_DocNode node)
{
    size_t word = 0;
    sf_SqueezePress press = {
        .load = number(node, "load_n", 1, 20000, 1),
        .closing = number(node, "closing_mm", 0.01, 60, SF_MM),
        .time = number(node, "loading_time_s", 0.1, 1e8, 1),
        .load_doubt = number(node, "load_doubt_n", 0, 5000, 1),
        .closing_doubt = number(node, "closing_doubt_mm", 0, 10, SF_MM),
        .turn = number(node, "seam_to_load_deg", -360, 360, SF_DEG),
    };
    if (sf_doc_word(sf_doc_member(node, "outcome"), OUTCOMES, COUNT(OUTCOMES), &word))
        press.outcome = (sf_SqueezeOutcome)(word + 1);
    return press;
}

// ---- the ring ---------------------------------------------------------------------------------------------------

/// How the ring is known: one of a file and the two diameters.
typedef struct Source {
    const char *image, *outline, *caliper, *calibration;
    double dpi;
    sf_LimbRing form;
} Source;

static void name_kind(Source *source, const char *name)
{
    size_t length = strlen(name);
    if (length > 4 && strcmp(name + length - 4, ".csv") == 0)
        source->outline = name;
    else
        source->image = name;
}

static void check_one_way(sf_DocNode node, const Source *source, bool outer, bool inner)
{
    int ways = (source->image != NULL) + (source->outline != NULL) + (source->caliper != NULL) + (outer || inner);
    if (ways != 1)
        sf_doc_problem(node,
                       "must be known in one way: a file's name, or an object with 'image', 'outline', 'caliper', or "
                       "'outer_diameter_mm' and 'inner_diameter_mm'; here are %d",
                       ways);
    else if (outer != inner)
        sf_doc_problem(sf_doc_member(node, outer ? "inner_diameter_mm" : "outer_diameter_mm"),
                       "is missing: the other diameter is given");
}

static void read_form(sf_DocNode node, sf_LimbRing *form)
{
    form->outer_diameter = number(node, "outer_diameter_mm", 10, 120, SF_MM);
    form->inner_diameter = number(node, "inner_diameter_mm", 5, 118, SF_MM);
    form->groove_depth = number(node, "groove_depth_mm", 0, 15, SF_MM);
    form->groove_width = number(node, "groove_width_mm", 0, 60, SF_MM);
    form->unjoined_depth = number(node, "unjoined_depth_mm", 0, 15, SF_MM);
    sf_DocNode offset = sf_doc_member(node, "offset_mm");
    if (sf_doc_there(offset) && sf_doc_expect_array(offset, 2))
        for (size_t i = 0; i < 2; i++) {
            sf_DocNode item = sf_doc_item(offset, i);
            sf_doc_need(item, "the bore's place");
            if (sf_doc_number(item, -30, 30, &form->offset[i]))
                form->offset[i] *= SF_MM;
        }
    if (form->groove_depth > 0)
        sf_doc_need(sf_doc_member(node, "groove_width_mm"), "a groove");
}

static Source read_source(sf_DocNode root, bool measured, double *seam)
{
    static const char *const known[] = {
        "image",           "outline",           "caliper",           "dpi",       "calibration",
        "seam_deg",        "outer_diameter_mm", "inner_diameter_mm", "offset_mm", "groove_depth_mm",
        "groove_width_mm", "unjoined_depth_mm", "height_mm",         "face",      "posterior_deg"
    };
    Source source = { .dpi = NAN, .form = { .offset = { NAN, NAN } } };
    sf_DocNode node = sf_doc_member(root, "ring");
    *seam = number(root, "seam_deg", -360, 720, SF_DEG);
    source.dpi = number(root, "dpi", 50, 4800, 1);
    if ((measured && !sf_doc_there(node)) || !sf_doc_need(node, "a squeeze"))
        return source;
    const char *name = NULL;
    if (!sf_doc_is_object(node)) {
        if (sf_doc_text(node, 500, &name))
            name_kind(&source, name);
        return source;
    }
    sf_doc_only(node, known, COUNT(known));
    source.image = text_of(node, "image");
    source.outline = text_of(node, "outline");
    source.caliper = text_of(node, "caliper");
    source.calibration = text_of(node, "calibration");
    double dpi = number(node, "dpi", 50, 4800, 1), own = number(node, "seam_deg", -360, 720, SF_DEG);
    source.dpi = isnan(dpi) ? source.dpi : dpi;
    *seam = isnan(own) ? *seam : own;
    read_form(node, &source.form);
    check_one_way(node, &source, sf_doc_there(sf_doc_member(node, "outer_diameter_mm")),
                  sf_doc_there(sf_doc_member(node, "inner_diameter_mm")));
    return source;
}

// A name beside the document.
static void beside(char out[MOST_PATH], const char *path, const char *name)
{
    const char *slash = strrchr(path, '/');
    int folder = *name == '/' || !slash ? 0 : (int)(slash - path + 1);
    snprintf(out, MOST_PATH, "%.*s%s", folder, path, name);
}

static sf_Status read_picture(sf_Outline *outline, const Source *source, const char *path, const char *file,
                              const unsigned char *bytes, size_t size, sf_Error *err)
{
    sf_RingScanOptions options = SF_RING_SCAN_DEFAULTS;
    sf_RingScan scan;
    options.dpi = isnan(source->dpi) ? 0 : source->dpi;
    if (source->calibration) {
        char name[MOST_PATH];
        sf_Calibration calibration;
        beside(name, path, source->calibration);
        SF_TRY(sf_calibration_load(&calibration, name, err));
        options.factor_x = calibration.factor_x;
        options.factor_y = calibration.factor_y;
        options.scale_sd = calibration.scale_sd;
    }
    SF_TRY(sf_ring_scan_read(&scan, file, bytes, size, &options, err));
    *outline = scan.outline;
    scan.outline = (sf_Outline){ 0 };
    sf_ring_scan_free(&scan);
    return SF_OK;
}

// A table may be an outline or caliper readings: its header tells.
static sf_Status read_table(sf_Outline *outline, const char *name, const char *text, size_t size, sf_Error *err)
{
    bool curves = strstr(text, "curve") != NULL;
    return curves ? sf_outline_read_csv(outline, name, text, size, err)
                  : sf_outline_read_caliper(outline, name, text, size, NULL, err);
}

static sf_Status read_ring(sf_SqueezeFile *file, Source *source, const char *path, sf_Error *err)
{
    const char *name = source->image ? source->image : source->outline ? source->outline : source->caliper;
    if (!name) {
        file->by_hand = true;
        source->form.seam = isnan(file->given_seam) ? 270 * SF_DEG : file->given_seam;
        return sf_limb_ring_form(&file->outline, &source->form, err);
    }
    char full[MOST_PATH];
    unsigned char *bytes = NULL;
    size_t size = 0;
    beside(full, path, name);
    SF_TRY(sf_file_read(full, MOST_RING_FILE, &bytes, &size, err));
    sf_Status status = source->image ? read_picture(&file->outline, source, path, full, bytes, size, err)
                                     : read_table(&file->outline, full, (const char *)bytes, size, err);
    sf_free(bytes);
    return status;
}

// ---- the document -----------------------------------------------------------------------------------------------

static void read_root(sf_SqueezeFile *file, sf_DocNode root)
{
    static const char *const known[] = { "format",
                                         "label",
                                         "by",
                                         "date",
                                         "note",
                                         "ring",
                                         "dpi",
                                         "seam_deg",
                                         "axial_length_mm",
                                         "axial_length_doubt_mm",
                                         "load_n",
                                         "closing_mm",
                                         "loading_time_s",
                                         "load_doubt_n",
                                         "closing_doubt_mm",
                                         "seam_to_load_deg",
                                         "outcome",
                                         "second",
                                         "wanted_seam_stress_mpa",
                                         "material",
                                         "poisson_ratio",
                                         "temperature_c" };
    static const char *const second_known[] = { "load_n",       "closing_mm",       "loading_time_s",
                                                "load_doubt_n", "closing_doubt_mm", "seam_to_load_deg",
                                                "outcome" };
    static const char *const formats[] = { "standfast-squeeze/1" };
    static const char *const texts[] = { "label", "by", "date", "note" };
    size_t word;
    if (!sf_doc_is_object(root))
        sf_doc_problem(root, "must be an object of format %s", formats[0]);
    sf_doc_only(root, known, COUNT(known));
    sf_doc_word(sf_doc_member(root, "format"), formats, COUNT(formats), &word);
    for (size_t i = 0; i < COUNT(texts); i++)
        (void)text_of(root, texts[i]);
    file->axial_length = number(root, "axial_length_mm", 2, 200, SF_MM);
    file->axial_doubt = number(root, "axial_length_doubt_mm", 0, 20, SF_MM);
    sf_doc_need(sf_doc_member(root, "axial_length_mm"), "a squeeze");
    file->wanted_stress = number(root, "wanted_seam_stress_mpa", 0.1, 200, SF_MPA);
    file->poisson_ratio = number(root, "poisson_ratio", 0, 0.499, 1);
    file->temperature_c = number(root, "temperature_c", -50, 120, 1);
    const char *material = text_of(root, "material");
    snprintf(file->material, sizeof file->material, "%s", material ? material : "");
    file->presses[0] = read_press(root);
    file->count = 1;
    sf_DocNode second = sf_doc_member(root, "second");
    if (sf_doc_there(second) && sf_doc_expect_object(second)) {
        sf_doc_only(second, second_known, COUNT(second_known));
        sf_doc_need(sf_doc_member(second, "seam_to_load_deg"), "a second pressing");
        file->presses[file->count++] = read_press(second);
    }
}

sf_Status sf_squeeze_file_read(sf_SqueezeFile *file, const char *path, const char *text, size_t size, sf_Error *err)
{
    return sf_squeeze_file_read_of(file, NULL, path, text, size, err);
}

sf_Status sf_squeeze_file_read_of(sf_SqueezeFile *file, const sf_Outline *own, const char *path, const char *text,
                                  size_t size, sf_Error *err)
{
    sf_Doc *doc = NULL;
    sf_Status status;
    *file = (sf_SqueezeFile){ .given_seam = NAN };
    SF_TRY_DONE(sf_doc_parse(&doc, path, text, size, err));
    Source source = read_source(sf_doc_root(doc), own != NULL, &file->given_seam);
    read_root(file, sf_doc_root(doc));
    SF_TRY_DONE(sf_doc_verdict(doc, err));
    bool named = sf_doc_there(sf_doc_member(sf_doc_root(doc), "ring"));
    status = own && !named ? sf_outline_copy(&file->outline, own, err) : read_ring(file, &source, path, err);
    if (status != SF_OK)
        goto done;
    SF_TRY_DONE(sf_ring_measure(&file->measure, &file->outline, file->given_seam, err));
done:
    sf_doc_destroy(&doc);
    if (status != SF_OK)
        sf_squeeze_file_free(file);
    return status;
}

void sf_squeeze_file_free(sf_SqueezeFile *file)
{
    sf_outline_free(&file->outline);
    *file = (sf_SqueezeFile){ 0 };
}
