// SPDX-License-Identifier: GPL-3.0-or-later
// The computations on cut-off rings, outlines and sheets.
#include "study/computation_call.h"

#include "base/alloc.h"
#include "base/file.h"
#include "base/progress.h"
#include "base/units.h"
#include "study/calibration.h"
#include "study/form_study.h"
#include "study/ring_picture.h"
#include "study/ring_repeat.h"
#include "study/ring_study.h"
#include "study/squeeze_study.h"

#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

enum { MOST_PICTURE = 1024 * 1024 * 1024, MOST_TABLE = 8 * 1024 * 1024, MOST_PATH = 4096, MOST_REPEATS = 20 };

extern const unsigned char sf_ring_limits_text[];
extern const size_t sf_ring_limits_text_size;

static const char *const users[] = { "adult", "child", NULL };
static const char *const faces[] = { "limb-side", "foot-side", NULL };
static const char *const sides[] = { "left", "right", NULL };

static const sf_ComputeOption ring_options[] = {
    { "dpi", SF_TAKES_NUMBER, 1, 20000, NULL, "resolution, when the file does not state it" },
    { "user", SF_TAKES_WORD, 0, 0, users, "who the limb is for" },
    { "nominal_wall_mm", SF_TAKES_NUMBER, 1, 20, NULL, "expected formed wall (not the sheet)" },
    { "body_mass_kg", SF_TAKES_NUMBER, 5, 250, NULL, "body mass, for the least wall" },
    { "seam_deg", SF_TAKES_NUMBER, -360, 720, NULL, "seam's picture angle, when none is found" },
    { "face", SF_TAKES_WORD, 0, 0, faces, "which face lay on the glass" },
    { "posterior_deg", SF_TAKES_NUMBER, -360, 720, NULL, "picture angle of the posterior line" },
    { "side", SF_TAKES_WORD, 0, 0, sides, "side of the limb" },
    { "shank_mm", SF_TAKES_NUMBER, 5, 90, NULL, "adapter's shank diameter, for the fit" },
    { "rim_mm", SF_TAKES_NUMBER, 5, 120, NULL, "adapter's rim diameter, for the fit" },
};

static const sf_ComputeOption section_options[] = {
    { "seam_deg", SF_TAKES_NUMBER, -360, 720, NULL, "seam's picture angle, when none is found" },
};

// The bytes of the ring, and what they are.
typedef struct RingBytes {
    sf_RingSource source;
    const char *name;
    const unsigned char *bytes;
    size_t size;
    unsigned char *owned;
} RingBytes;

// The starter limits, or with "limits" those of the shop in their place.
static sf_Status read_limits(const sf_ComputeCall *call, sf_RingLimits *limits, sf_Error *err)
{
    sf_Doc *doc = NULL;
    sf_DocNode own = sf_doc_member(call->request, "limits");
    SF_TRY(sf_doc_parse(&doc, "ring_limits.json", (const char *)sf_ring_limits_text, sf_ring_limits_text_size, err));
    sf_Status status = sf_ring_limits_read(limits, sf_doc_root(doc), true, err);
    sf_doc_destroy(&doc);
    if (status == SF_OK && sf_doc_there(own))
        status = sf_ring_limits_read(limits, own, false, err);
    return status;
}

static sf_Status picture_bytes(sf_ComputeCall *call, const char *hash, const char *field, RingBytes *ring,
                               sf_Error *err)
{
    char path[MOST_PATH];
    if (!sf_compute_is_hash(hash) || !call->source || !call->source->file)
        return SF_FAIL(err, SF_E_INPUT, field, "%s must be the hash of a stored picture: upload it first", field);
    SF_TRY(call->source->file(call->source->context, hash, path, sizeof path, err));
    SF_TRY(sf_file_read(path, MOST_PICTURE, &ring->owned, &ring->size, err));
    ring->source = SF_RING_PICTURE;
    ring->name = "the picture";
    ring->bytes = ring->owned;
    return SF_OK;
}

static sf_Status ring_bytes(sf_ComputeCall *call, RingBytes *ring, sf_Error *err)
{
    static const struct {
        const char *key;
        sf_RingSource source;
    } tables[] = { { "caliper_csv", SF_RING_CALIPER }, { "outline_csv", SF_RING_OUTLINE } };
    bool only_outline = strcmp(call->computation->takes, "outline") == 0;
    *ring = (RingBytes){ 0 };
    const char *text = NULL;
    for (size_t i = 0; i < 2; i++)
        if (!(only_outline && i == 0) && sf_doc_text(sf_doc_member(call->request, tables[i].key), MOST_TABLE, &text)) {
            *ring = (RingBytes){ tables[i].source, tables[i].key, (const unsigned char *)text, strlen(text), NULL };
            return SF_OK;
        }
    SF_TRY(sf_doc_verdict(call->request.doc, err));
    if (only_outline)
        return SF_FAIL(err, SF_E_MISSING, "outline_csv", "%s needs \"outline_csv\": the text of an outline table",
                       call->computation->name);
    if (!sf_doc_text(sf_doc_member(call->request, "picture"), 64, &text)) {
        SF_TRY(sf_doc_verdict(call->request.doc, err));
        return SF_FAIL(err, SF_E_MISSING, "picture",
                       "ring needs \"picture\" (the hash of a stored one), or \"caliper_csv\" with readings");
    }
    return picture_bytes(call, text, "picture", ring, err);
}

static void settle(const sf_ComputeCall *call, sf_RingAsk *ask)
{
    size_t user = sf_call_word(call, "user"), side = sf_call_word(call, "side");
    ask->scan.dpi = sf_call_number(call, "dpi", 0);
    ask->scan.keep_view = call->draw;
    ask->seam_angle = sf_call_number(call, "seam_deg", NAN) * SF_DEG;
    ask->posterior_angle = sf_call_number(call, "posterior_deg", NAN) * SF_DEG;
    ask->face = sf_call_word(call, "face") == 1 ? SF_FACE_FOOT_SIDE : SF_FACE_LIMB_SIDE;
    ask->side = side == 0 ? SF_SIDE_LEFT : side == 1 ? SF_SIDE_RIGHT : SF_SIDE_UNKNOWN;
    ask->context.user = user == 0 ? SF_USER_ADULT : user == 1 ? SF_USER_CHILD : SF_USER_UNKNOWN;
    ask->context.nominal_wall = sf_call_number(call, "nominal_wall_mm", NAN) * SF_MM;
    ask->context.body_mass = sf_call_number(call, "body_mass_kg", NAN);
    ask->context.shank = sf_call_number(call, "shank_mm", NAN) * SF_MM;
    ask->context.rim = sf_call_number(call, "rim_mm", NAN) * SF_MM;
}

// ---- a squeeze ---------------------------------------------------------------------------------------------------

// The ring of a squeeze document with the files that it names turned into paths; NULL: a problem was noted.
static sf_Json *resolved_ring(sf_ComputeCall *call, sf_DocNode ring)
{
    static const char *const keys[] = { "image", "outline", "caliper", "calibration" };
    sf_Json *json = sf_json_from_node(ring);
    for (size_t i = 0; i < sizeof keys / sizeof *keys; i++) {
        sf_DocNode node = sf_doc_member(ring, keys[i]);
        const char *name = NULL;
        char path[MOST_PATH];
        sf_Error why = { 0 };
        if (!sf_doc_text(node, MOST_PATH, &name))
            continue;
        if (sf_call_file(call, name, path, sizeof path, &why) != SF_OK)
            sf_doc_problem(node, "%s", why.text);
        else
            sf_json_set_text(json, keys[i], path);
    }
    return json;
}

static sf_Status squeeze_text(sf_ComputeCall *call, char **text, sf_Error *err)
{
    sf_DocNode document = sf_doc_member(call->request, "squeeze"), ring = sf_doc_member(document, "ring");
    *text = NULL;
    if (!sf_doc_is_object(document))
        return SF_FAIL(err, SF_E_MISSING, "squeeze",
                       "squeeze needs \"squeeze\": a document of format standfast-squeeze/1");
    sf_call_card(sf_doc_member(document, "material"));
    sf_doc_expect_object(ring);
    sf_Json *json = sf_json_from_node(document);
    if (sf_doc_is_object(ring))
        sf_json_set(json, "ring", resolved_ring(call, ring));
    sf_Status status = sf_doc_verdict(call->request.doc, err);
    if (status == SF_OK)
        status = sf_json_text(json, 17, text, err);
    sf_json_destroy(&json);
    return status;
}

static sf_Status study_squeeze(sf_ComputeCall *call, sf_Squeeze *squeeze, const sf_RingLimits *limits,
                               sf_Result *result, sf_Error *err)
{
    char *text = NULL, *said = NULL;
    sf_Status status;
    SF_TRY_DONE(squeeze_text(call, &text, err));
    SF_TRY_DONE(sf_call_node_text(sf_doc_member(call->request, "squeeze"), &said, err));
    sf_result_input(result, said, strlen(said));
    status = sf_squeeze_study(squeeze, "squeeze", text, strlen(text), limits, err);
done:
    sf_free(said);
    sf_free(text);
    return status;
}

// ---- a ring ------------------------------------------------------------------------------------------------------

// What a ring is measured with, and what came of it; repeat scans of one ring have a finding each.
typedef struct RingWork {
    sf_RingAsk ask;
    sf_RingLimits limits;
    sf_Result result;
    sf_Limb *limb;
    sf_Squeeze *squeeze;
    char *pressed; ///< a squeeze document that names no ring: it is about this one
    sf_RingFinding *findings;
    size_t count;
} RingWork;

static void drop_work(RingWork *w)
{
    for (size_t i = 0; i < w->count; i++)
        sf_ring_finding_free(&w->findings[i]);
    sf_free(w->findings);
    sf_limb_destroy(&w->limb);
    if (w->squeeze)
        sf_squeeze_free(w->squeeze);
    sf_free(w->squeeze);
    sf_free(w->pressed);
    sf_result_drop(&w->result);
    sf_free(w);
}

static sf_Status study_one(RingWork *w, const RingBytes *ring, bool judged, size_t of, sf_Error *err)
{
    char said[40];
    sf_result_input(&w->result, ring->bytes, ring->size);
    snprintf(said, sizeof said, "ring %zu of %zu read", w->count + 1, of);
    SF_TRY(sf_progress_tell(0.1 + 0.8 * (double)w->count / (double)of, said, err));
    w->ask.result = w->count == 0 ? &w->result : NULL; // assumptions once, not for each scan
    sf_ProgressPart outer =
        sf_progress_part(0.1 + 0.8 * (double)w->count / (double)of, 0.1 + 0.8 * (double)(w->count + 1) / (double)of);
    sf_Status status = sf_ring_study(&w->findings[w->count], ring->source, ring->name, ring->bytes, ring->size, &w->ask,
                                     judged ? &w->limits : NULL, err);
    sf_progress_end(outer);
    SF_TRY(status);
    w->count++;
    return SF_OK;
}

// "pictures": repeat scans of one ring; else the one ring that the request names.
static sf_Status study_all(sf_ComputeCall *call, RingWork *w, bool judged, sf_Error *err)
{
    sf_DocNode several = sf_doc_member(call->request, "pictures");
    size_t count = sf_doc_there(several) ? sf_doc_length(several) : 1;
    sf_Status status = SF_OK;
    if (count < 1 || count > MOST_REPEATS || (sf_doc_there(several) && !sf_doc_is_array(several)))
        return SF_FAIL(err, SF_E_INPUT, "pictures",
                       "pictures must list 1 to %d repeat scans of one ring by their hashes", MOST_REPEATS);
    w->findings = sf_alloc(count, sizeof *w->findings);
    if (!w->findings)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    for (size_t i = 0; i < count && status == SF_OK; i++) {
        RingBytes ring = { 0 };
        const char *hash = "";
        if (!sf_doc_there(several))
            status = ring_bytes(call, &ring, err);
        else if (sf_doc_text(sf_doc_item(several, i), 64, &hash))
            status = picture_bytes(call, hash, "pictures", &ring, err);
        else
            status = sf_doc_verdict(call->request.doc, err);
        if (status == SF_OK)
            status = study_one(w, &ring, judged, count, err);
        sf_free(ring.owned);
    }
    return status;
}

static sf_Status answer_ring(sf_ComputeCall *call, RingWork *w, bool judged, sf_Error *err)
{
    size_t hardest = sf_ring_repeat_hardest(w->findings, w->count);
    if (call->draw)
        return sf_ring_picture_draw(&call->answer->drawing, &call->answer->drawing_size, SF_SHEET_SVG, "ring",
                                    &w->findings[hardest], w->count, &w->ask, &w->limits, err);
    sf_ring_result_figures(&w->result, &w->findings[0]);
    if (judged)
        sf_ring_result_ring(&w->result, &w->findings[0], &w->findings[hardest], &w->ask);
    if (judged)
        sf_ring_repeat_result(&w->result, w->findings, w->count);
    call->answer->json = sf_result_finish(&w->result, NULL);
    return SF_OK;
}

// The limb whose strength is judged with this ring, how its seam was proved, the scanner's calibration.
static sf_Status read_beside(sf_ComputeCall *call, RingWork *w, sf_Error *err)
{
    sf_DocNode scanner = sf_doc_member(call->request, "calibration");
    const char *picture = NULL;
    if (sf_doc_there(scanner)) {
        sf_Calibration calibration;
        sf_calibration_read(&calibration, scanner);
        SF_TRY(sf_doc_verdict(call->request.doc, err));
        w->ask.scan.factor_x = calibration.factor_x;
        w->ask.scan.factor_y = calibration.factor_y;
        w->ask.scan.scale_sd = calibration.scale_sd;
    }
    if (sf_doc_there(sf_doc_member(call->request, "document")) || sf_doc_there(sf_doc_member(call->request, "limb"))) {
        SF_TRY(sf_call_own_limb(call, &w->limb, &w->result, err));
        sf_doc_text(sf_doc_member(call->request, "picture"), 64, &picture);
        SF_TRY(sf_ring_ask_limb(&w->ask, w->limb, picture, sf_call_word(call, "face") != SIZE_MAX, err));
    }
    sf_DocNode squeeze = sf_doc_member(call->request, "squeeze");
    if (sf_doc_is_object(squeeze) && !sf_doc_there(sf_doc_member(squeeze, "ring"))) {
        sf_call_card(sf_doc_member(squeeze, "material"));
        SF_TRY(sf_doc_verdict(call->request.doc, err));
        SF_TRY(sf_call_node_text(squeeze, &w->pressed, err));
        sf_result_input(&w->result, w->pressed, strlen(w->pressed));
        w->ask.pressed = w->pressed;
    } else if (sf_doc_there(squeeze)) {
        w->squeeze = sf_alloc(1, sizeof *w->squeeze);
        if (!w->squeeze)
            return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
        SF_TRY(study_squeeze(call, w->squeeze, &w->limits, &w->result, err));
        w->ask.squeeze = w->squeeze;
    }
    return SF_OK;
}

static sf_Status run_measured(sf_ComputeCall *call, bool judged, sf_Error *err)
{
    RingWork *w = sf_alloc(1, sizeof *w);
    sf_Status status = SF_OK;
    if (!w)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    w->ask = SF_RING_ASK_EMPTY;
    if (judged)
        settle(call, &w->ask);
    else
        w->ask.seam_angle = sf_call_number(call, "seam_deg", NAN) * SF_DEG;
    SF_TRY_DONE(read_limits(call, &w->limits, err));
    SF_TRY_DONE(sf_result_begin(&w->result, err));
    if (judged)
        SF_TRY_DONE(read_beside(call, w, err));
    SF_TRY_DONE(study_all(call, w, judged, err));
    status = answer_ring(call, w, judged, err);
done:
    drop_work(w);
    return status;
}

static sf_Status run_ring(sf_ComputeCall *call, sf_Error *err)
{
    return run_measured(call, true, err);
}

static sf_Status run_section(sf_ComputeCall *call, sf_Error *err)
{
    return run_measured(call, false, err);
}

// ---- the scanner's scale ----------------------------------------------------------------------------------------

static const sf_ComputeOption calibrate_options[] = {
    { "gauge_mm", SF_TAKES_NUMBER, 15, 105, NULL, "the gauge's true diameter" },
    { "dpi", SF_TAKES_NUMBER, 1, 20000, NULL, "resolution, when the file does not state it" },
};

static sf_Status run_calibrate(sf_ComputeCall *call, sf_Error *err)
{
    double gauge = sf_call_number(call, "gauge_mm", NAN);
    const char *hash = NULL;
    RingBytes ring = { 0 };
    sf_Calibration calibration;
    sf_Result result = { 0 };
    sf_Status status;
    if (isnan(gauge))
        return SF_FAIL(err, SF_E_MISSING, "options.gauge_mm",
                       "calibrate needs options.gauge_mm: the gauge's true diameter");
    if (!sf_doc_text(sf_doc_member(call->request, "picture"), 64, &hash)) {
        SF_TRY(sf_doc_verdict(call->request.doc, err));
        return SF_FAIL(err, SF_E_MISSING, "picture",
                       "calibrate needs \"picture\": the hash of a scan of a round gauge");
    }
    SF_TRY_DONE(picture_bytes(call, hash, "picture", &ring, err));
    SF_TRY_DONE(sf_calibration_make(&calibration, ring.name, ring.bytes, ring.size, sf_call_number(call, "dpi", 0),
                                    gauge * SF_MM, err));
    SF_TRY_DONE(sf_result_begin(&result, err));
    sf_result_input(&result, ring.bytes, ring.size);
    sf_calibration_result(&result, &calibration);
    call->answer->json = sf_result_finish(&result, NULL);
done:
    sf_result_drop(&result);
    sf_free(ring.owned);
    return status;
}

// ---- the measured edges, to lie over the picture ----------------------------------------------------------------

static sf_Json *points_json(const sf_Polygon *polygon)
{
    sf_Json *list = sf_json_array();
    for (size_t i = 0; i < polygon->count; i++) {
        sf_Json *point = sf_json_array();
        sf_json_add_number(point, polygon->points[i].x / SF_MM);
        sf_json_add_number(point, polygon->points[i].y / SF_MM);
        sf_json_add(list, point);
    }
    return list;
}

static sf_Json *line_json(const sf_Outline *outline)
{
    sf_Json *list = sf_json_array();
    const sf_Point ends[] = { outline->line.start, outline->line.end };
    for (int i = 0; outline->line.present && i < 2; i++) {
        sf_Json *point = sf_json_array();
        sf_json_add_number(point, ends[i].x / SF_MM);
        sf_json_add_number(point, ends[i].y / SF_MM);
        sf_json_add(list, point);
    }
    return list;
}

static sf_Status run_outline(sf_ComputeCall *call, sf_Error *err)
{
    RingBytes ring;
    sf_RingAsk ask = SF_RING_ASK_EMPTY;
    sf_RingFinding *finding = sf_alloc(1, sizeof *finding);
    sf_Result result = { 0 };
    sf_Status status = SF_OK;
    if (!finding)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    settle(call, &ask);
    ask.torsion = false;
    SF_TRY_DONE(ring_bytes(call, &ring, err));
    SF_TRY_DONE(sf_result_begin(&result, err));
    sf_result_input(&result, ring.bytes, ring.size);
    SF_TRY_DONE(sf_ring_study(finding, ring.source, ring.name, ring.bytes, ring.size, &ask, NULL, err));
    const sf_RingScan *scan = &finding->scan;
    bool picture = ring.source == SF_RING_PICTURE;
    sf_json_set_number(result.json, "width_px", picture ? (double)scan->width : NAN);
    sf_json_set_number(result.json, "height_px", picture ? (double)scan->height : NAN);
    sf_json_set_number(result.json, "dpi", picture ? scan->dpi_x : NAN);
    sf_json_set_number(result.json, "dpi_y", picture ? scan->dpi_y : NAN);
    sf_json_set(result.json, "outer_mm", points_json(&scan->outline.outer));
    sf_json_set(result.json, "inner_mm", points_json(&scan->outline.inner));
    sf_json_set(result.json, "unjoined_mm", line_json(&scan->outline));
    sf_Json *voids = sf_json_array();
    for (size_t i = 0; i < scan->outline.void_count; i++)
        sf_json_add(voids, points_json(&scan->outline.voids[i]));
    sf_json_set(result.json, "voids_mm", voids);
    call->answer->json = sf_result_finish(&result, NULL);
done:
    sf_result_drop(&result);
    sf_ring_finding_free(finding);
    sf_free(finding);
    sf_free(ring.owned);
    return status;
}

// ---- a squeezed ring, and a sheet before it is formed -----------------------------------------------------------

static sf_Status run_squeeze(sf_ComputeCall *call, sf_Error *err)
{
    sf_RingLimits limits;
    sf_Result result = { 0 };
    sf_Squeeze *squeeze = sf_alloc(1, sizeof *squeeze);
    sf_Status status = SF_OK;
    if (!squeeze)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    SF_TRY_DONE(read_limits(call, &limits, err));
    SF_TRY_DONE(sf_result_begin(&result, err));
    SF_TRY_DONE(study_squeeze(call, squeeze, &limits, &result, err));
    sf_squeeze_result(&result, squeeze);
    call->answer->json = sf_result_finish(&result, sf_squeeze_safety());
done:
    sf_result_drop(&result);
    sf_squeeze_free(squeeze);
    sf_free(squeeze);
    return status;
}

static sf_Status run_form(sf_ComputeCall *call, sf_Error *err)
{
    sf_DocNode plan = sf_doc_member(call->request, "plan"), limb = sf_doc_member(plan, "limb");
    char *text = NULL;
    sf_Result result = { 0 };
    sf_Status status;
    if (!sf_doc_is_object(plan))
        return SF_FAIL(err, SF_E_MISSING, "plan", "form needs \"plan\": a document of format standfast-plan/1");
    sf_call_card(sf_doc_member(plan, "material"));
    sf_call_card(sf_doc_member(sf_doc_member(limb, "pylon"), "material"));
    if (sf_doc_there(limb) && !sf_doc_is_object(limb))
        sf_doc_problem(limb, "must be the limb document itself, not a file");
    SF_TRY_DONE(sf_doc_verdict(call->request.doc, err));
    SF_TRY_DONE(sf_call_node_text(plan, &text, err));
    SF_TRY_DONE(sf_result_begin(&result, err));
    sf_result_input(&result, text, strlen(text));
    SF_TRY_DONE(sf_form_study(&result, "plan", text, strlen(text), err));
    call->answer->json = sf_result_finish(&result, NULL);
done:
    sf_result_drop(&result);
    sf_free(text);
    return status;
}

const sf_Computation sf_ring_computations[] = {
    { "calibrate", "gauge", "the scanner's scale from a scan of a round gauge", calibrate_options,
      sizeof calibrate_options / sizeof *calibrate_options, false, run_calibrate },
    { "form", "plan", "which wall a sheet will leave, or which sheet a wall wants", NULL, 0, false, run_form },
    { "outline", "ring", "the measured edges of a ring, to lie over its picture", ring_options,
      sizeof ring_options / sizeof *ring_options, false, run_outline },
    { "ring", "ring", "measure a cut-off ring from a scan or from caliper readings", ring_options,
      sizeof ring_options / sizeof *ring_options, true, run_ring },
    { "section", "outline", "section properties of an outline", section_options, 1, false, run_section },
    { "squeeze", "squeeze", "a ring pressed across a diameter: modulus, and proof of its seam", NULL, 0, false,
      run_squeeze },
};
const size_t sf_ring_computation_count = sizeof sf_ring_computations / sizeof *sf_ring_computations;
