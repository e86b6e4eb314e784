// SPDX-License-Identifier: GPL-3.0-or-later
// The computations on cut-off rings, outlines and sheets.
#include "study/computation_call.h"

#include "base/alloc.h"
#include "base/file.h"
#include "base/units.h"
#include "study/form_study.h"
#include "study/ring_picture.h"
#include "study/ring_repeat.h"
#include "study/ring_study.h"
#include "study/squeeze_study.h"

#include <math.h>
#include <string.h>

enum { MOST_PICTURE = 1024 * 1024 * 1024, MOST_TABLE = 8 * 1024 * 1024, MOST_PATH = 4096 };

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

static sf_Status read_limits(sf_RingLimits *limits, sf_Error *err)
{
    sf_Doc *doc = NULL;
    SF_TRY(sf_doc_parse(&doc, "ring_limits.json", (const char *)sf_ring_limits_text, sf_ring_limits_text_size, err));
    sf_Status status = sf_ring_limits_read(limits, sf_doc_root(doc), true, err);
    sf_doc_destroy(&doc);
    return status;
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
    char path[MOST_PATH];
    if (only_outline)
        return SF_FAIL(err, SF_E_MISSING, "outline_csv", "%s needs \"outline_csv\": the text of an outline table",
                       call->computation->name);
    if (!sf_doc_text(sf_doc_member(call->request, "picture"), 64, &text)) {
        SF_TRY(sf_doc_verdict(call->request.doc, err));
        return SF_FAIL(err, SF_E_MISSING, "picture",
                       "ring needs \"picture\" (the hash of a stored one), or \"caliper_csv\" with readings");
    }
    if (!sf_compute_is_hash(text) || !call->source || !call->source->file)
        return SF_FAIL(err, SF_E_INPUT, "picture", "picture must be the hash of a stored picture: upload it first");
    SF_TRY(call->source->file(call->source->context, text, path, sizeof path, err));
    SF_TRY(sf_file_read(path, MOST_PICTURE, &ring->owned, &ring->size, err));
    ring->source = SF_RING_PICTURE;
    ring->name = "the picture";
    ring->bytes = ring->owned;
    return SF_OK;
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

static sf_Status study(sf_ComputeCall *call, sf_RingAsk *ask, const sf_RingLimits *limits, sf_Error *err)
{
    RingBytes ring;
    sf_Result result = { 0 };
    sf_RingFinding *finding = sf_alloc(1, sizeof *finding);
    sf_Status status = SF_OK;
    if (!finding)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    SF_TRY_DONE(ring_bytes(call, &ring, err));
    SF_TRY_DONE(sf_result_begin(&result, err));
    sf_result_input(&result, ring.bytes, ring.size);
    SF_TRY_DONE(sf_call_progress(call, 0.1, "read", err));
    SF_TRY_DONE(sf_ring_study(finding, ring.source, ring.name, ring.bytes, ring.size, ask, limits, err));
    if (call->draw) {
        SF_TRY_DONE(sf_ring_picture_draw(&call->answer->drawing, &call->answer->drawing_size, SF_SHEET_SVG, "ring",
                                         finding, 1, ask, limits, err));
        goto done;
    }
    sf_ring_result_figures(&result, finding);
    if (limits)
        sf_ring_result_ring(&result, finding, finding, ask);
    if (limits)
        sf_ring_repeat_result(&result, finding, 1);
    call->answer->json = sf_result_finish(&result, NULL);
done:
    sf_result_drop(&result);
    sf_ring_finding_free(finding);
    sf_free(finding);
    sf_free(ring.owned);
    return status;
}

static sf_Status run_ring(sf_ComputeCall *call, sf_Error *err)
{
    sf_RingLimits limits;
    sf_RingAsk ask = SF_RING_ASK_EMPTY;
    SF_TRY(read_limits(&limits, err));
    settle(call, &ask);
    return study(call, &ask, &limits, err);
}

static sf_Status run_section(sf_ComputeCall *call, sf_Error *err)
{
    sf_RingAsk ask = SF_RING_ASK_EMPTY;
    ask.seam_angle = sf_call_number(call, "seam_deg", NAN) * SF_DEG;
    return study(call, &ask, NULL, err);
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

static sf_Status run_squeeze(sf_ComputeCall *call, sf_Error *err)
{
    char *text = NULL, *said = NULL;
    sf_RingLimits limits;
    sf_Result result = { 0 };
    sf_Squeeze *squeeze = sf_alloc(1, sizeof *squeeze);
    sf_Status status = SF_OK;
    if (!squeeze)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    SF_TRY_DONE(read_limits(&limits, err));
    SF_TRY_DONE(squeeze_text(call, &text, err));
    SF_TRY_DONE(sf_call_node_text(sf_doc_member(call->request, "squeeze"), &said, err));
    SF_TRY_DONE(sf_result_begin(&result, err));
    sf_result_input(&result, said, strlen(said));
    SF_TRY_DONE(sf_squeeze_study(squeeze, "squeeze", text, strlen(text), &limits, err));
    sf_squeeze_result(&result, squeeze);
    call->answer->json = sf_result_finish(&result, sf_squeeze_safety());
done:
    sf_result_drop(&result);
    sf_squeeze_free(squeeze);
    sf_free(squeeze);
    sf_free(said);
    sf_free(text);
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
