// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/calibration.h"

#include "base/alloc.h"
#include "base/file.h"
#include "base/units.h"

#include <string.h>

static const char *const FORMAT = "standfast-scanner/1";

sf_Status sf_calibration_make(sf_Calibration *calibration, const char *name, const uint8_t *bytes, size_t size,
                              double dpi, double true_diameter, sf_Error *err)
{
    sf_Gauge gauge;
    SF_TRY(sf_gauge_measure(&gauge, name, bytes, size, dpi, true_diameter, err));
    *calibration = (sf_Calibration){ gauge.factor_x, gauge.factor_y, gauge.scale_sd, gauge, true_diameter };
    return SF_OK;
}

static void set_figures(sf_Json *json, const sf_Calibration *c)
{
    sf_json_set_number(json, "factor_x", c->factor_x);
    sf_json_set_number(json, "factor_y", c->factor_y);
    sf_json_set_number(json, "scale_sd", c->scale_sd);
    sf_json_set_number(json, "gauge_mm", c->gauge_diameter / SF_MM);
    sf_json_set_number(json, "scanned_x_mm", c->gauge.diameter_x / SF_MM);
    sf_json_set_number(json, "scanned_y_mm", c->gauge.diameter_y / SF_MM);
    sf_json_set_number(json, "dpi", c->gauge.dpi_x);
    sf_json_set_number(json, "misfit_mm", c->gauge.misfit / SF_MM);
}

sf_Status sf_calibration_save(const sf_Calibration *calibration, const char *path, sf_Error *err)
{
    sf_Json *json = sf_json_object();
    sf_json_set_text(json, "format", FORMAT);
    set_figures(json, calibration);
    char *text = NULL;
    sf_Status status = sf_json_text(json, 12, &text, err);
    if (status == SF_OK)
        status = sf_file_write(path, text, strlen(text), err);
    sf_free(text);
    sf_json_destroy(&json);
    return status;
}

void sf_calibration_read(sf_Calibration *calibration, sf_DocNode root)
{
    static const char *const known[] = { "format",       "factor_x",     "factor_y", "scale_sd", "gauge_mm",
                                         "scanned_x_mm", "scanned_y_mm", "dpi",      "misfit_mm" };
    sf_Calibration c = { 0 };
    size_t format;
    sf_doc_expect_object(root);
    if (sf_doc_need(sf_doc_member(root, "format"), NULL))
        sf_doc_word(sf_doc_member(root, "format"), &FORMAT, 1, &format);
    static const struct {
        const char *key;
        size_t offset;
        double low, high;
    } needed[] = { { "factor_x", offsetof(sf_Calibration, factor_x), 0.9, 1.1 },
                   { "factor_y", offsetof(sf_Calibration, factor_y), 0.9, 1.1 },
                   { "scale_sd", offsetof(sf_Calibration, scale_sd), 0, 0.01 } };
    for (size_t i = 0; i < sizeof needed / sizeof *needed; i++) {
        sf_DocNode node = sf_doc_member(root, needed[i].key);
        if (sf_doc_need(node, "a scanner calibration"))
            sf_doc_number(node, needed[i].low, needed[i].high, (double *)((char *)&c + needed[i].offset));
    }
    sf_doc_only(root, known, sizeof known / sizeof *known);
    *calibration = c;
}

sf_Status sf_calibration_load(sf_Calibration *calibration, const char *path, sf_Error *err)
{
    sf_Doc *doc = NULL;
    SF_TRY(sf_doc_read_file(&doc, path, err));
    sf_calibration_read(calibration, sf_doc_root(doc));
    sf_Status status = sf_doc_verdict(doc, err);
    sf_doc_destroy(&doc);
    return status;
}

void sf_calibration_result(sf_Result *result, const sf_Calibration *calibration)
{
    set_figures(result->json, calibration);
    sf_result_assume(result, "The gauge's diameter is taken as known to %.3f mm (1 SD), a workshop gauge (judgement).",
                     SF_GAUGE_SD / SF_MM);
}
