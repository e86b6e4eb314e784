// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/form_study.h"

#include "base/alloc.h"
#include "base/file.h"
#include "base/units.h"

#include <math.h>
#include <string.h>

static const double enough_chance = 0.9; // of a sheet in stock leaving the wanted wall; judgement, named in the result
static const double seam_angle = 270 * SF_DEG, cut_assumed = 110 * SF_MM, free_length_assumed = 180 * SF_MM;
static const double wave_place = 90 * SF_DEG; // first touch at the front, the seam behind

/// A plan with what its rings taught.
typedef struct Work {
    sf_FormingStart start;
    sf_FormPlan plan;
    sf_Forming forming;
    sf_Drape drape;   ///< with the sheet that is taken
    bool asked_sheet; ///< the sheet was what was asked for
} Work;

static sf_Status work_out(Work *w, const char *name, const char *text, size_t size, sf_Error *err)
{
    SF_TRY(sf_forming_start(&w->start, err));
    SF_TRY(sf_form_plan_parse(&w->plan, name, text, size, &w->start, err));
    SF_TRY(sf_forming_fit(&w->forming, &w->start, w->plan.rings, w->plan.ring_count, !isnan(w->plan.drape.strip), err));
    w->drape = w->plan.drape;
    w->asked_sheet = isnan(w->drape.sheet);
    if (w->asked_sheet)
        w->drape.sheet = sf_forming_sheet(&w->forming, &w->drape, 0, w->plan.wanted_wall).value;
    return SF_OK;
}

static sf_Json *interval_mm(sf_Expected e)
{
    return sf_json_pair(e.low / SF_MM, e.high / SF_MM);
}

static double bore(const Work *w)
{
    return w->drape.model_diameter * (1 - w->drape.shrinkage);
}

static sf_Expected outer(const Work *w, sf_Expected wall)
{
    return (sf_Expected){ bore(w) + 2 * wall.value, bore(w) + 2 * wall.low, bore(w) + 2 * wall.high };
}

static void set_profile(sf_Result *result, const Work *w)
{
    sf_Json *list = sf_json_array();
    for (int i = 0; i <= 4; i++) {
        double along = 0.25 * i;
        sf_Expected wall = sf_forming_wall(&w->forming, &w->drape, along);
        sf_Json *at = sf_json_object();
        sf_json_set_number(at, "along_percent", 100 * along);
        sf_json_set_number(at, "wall_mm", wall.value / SF_MM);
        sf_json_set(at, "wall_interval_mm", interval_mm(wall));
        sf_json_set_number(at, "outer_diameter_mm", outer(w, wall).value / SF_MM);
        sf_json_add(list, at);
    }
    sf_json_set(result->json, "profile", list);
}

static void set_least(sf_Result *result, const Work *w)
{
    sf_Expected wave = w->forming.wave, wall = sf_forming_wall(&w->forming, &w->drape, 0);
    sf_Expected least = { wall.value * (1 - wave.value), wall.low * (1 - wave.high), wall.high * (1 - wave.low) };
    sf_json_set_number(result->json, "wave_percent", 100 * wave.value);
    sf_json_set_number(result->json, "least_wall_mm", least.value / SF_MM);
    sf_json_set(result->json, "least_wall_interval_mm", interval_mm(least));
}

static void set_choices(sf_Result *result, const Work *w)
{
    const sf_FormPlan *p = &w->plan;
    sf_Json *list = sf_json_array();
    double chosen = NAN;
    for (size_t i = 0; i < p->sheet_count; i++) {
        sf_Drape drape = w->drape;
        drape.sheet = p->sheets[i];
        sf_Expected wall = sf_forming_wall(&w->forming, &drape, 0), top = sf_forming_wall(&w->forming, &drape, 1);
        double chance = isnan(p->wanted_wall) ? NAN : sf_forming_chance(&w->forming, &drape, 0, p->wanted_wall);
        sf_Json *at = sf_json_object();
        sf_json_set_number(at, "sheet_mm", drape.sheet / SF_MM);
        sf_json_set_number(at, "wall_mm", wall.value / SF_MM);
        sf_json_set(at, "wall_interval_mm", interval_mm(wall));
        sf_json_set_number(at, "top_wall_mm", top.value / SF_MM);
        sf_json_set_number(at, "outer_diameter_mm", outer(w, wall).value / SF_MM);
        sf_json_set_number(at, "chance_of_wanted", chance);
        sf_json_add(list, at);
        if (isnan(chosen) && chance >= enough_chance)
            chosen = drape.sheet;
    }
    sf_json_set(result->json, "choices", list);
    sf_json_set_number(result->json, "sheet_in_stock_mm", chosen / SF_MM);
    if (isnan(p->wanted_wall))
        sf_result_note(result, "sheet_in_stock_mm: null without wanted_wall_mm.");
    else if (p->sheet_count == 0)
        sf_result_note(result, "sheet_in_stock_mm: null without sheets_mm, the sheets in stock.");
    else if (isnan(chosen))
        sf_result_note(
            result,
            "sheet_in_stock_mm: null, as no sheet of the list leaves %.2f mm with a chance of %.0f %%: a thicker "
            "sheet, a wider strip, or calibration on the shop's own rings, which narrows the interval.",
            p->wanted_wall / SF_MM, 100 * enough_chance);
}

static void set_wanted(sf_Result *result, const Work *w)
{
    const sf_FormPlan *p = &w->plan;
    sf_json_set_number(result->json, "wanted_wall_mm", p->wanted_wall / SF_MM);
    if (isnan(p->wanted_wall)) {
        sf_result_null(result, "sheet_needed_mm", "needs wanted_wall_mm.");
        sf_result_null(result, "sheet_needed_interval_mm", "needs wanted_wall_mm.");
        sf_result_null(result, "chance_of_wanted", "needs wanted_wall_mm.");
        return;
    }
    sf_Expected sheet = sf_forming_sheet(&w->forming, &w->drape, 0, p->wanted_wall);
    sf_json_set_number(result->json, "sheet_needed_mm", sheet.value / SF_MM);
    sf_json_set(result->json, "sheet_needed_interval_mm", interval_mm(sheet));
    sf_json_set_number(result->json, "chance_of_wanted", sf_forming_chance(&w->forming, &w->drape, 0, p->wanted_wall));
}

static void set_calibration(sf_Result *result, const Work *w)
{
    const sf_Forming *f = &w->forming;
    sf_Json *json = sf_json_object(), *list = sf_json_array();
    double middle, sd;
    sf_forming_at(&middle, &sd, f, 0);
    sf_json_set_whole(json, "rings_used", (int64_t)f->used);
    sf_json_set_whole(json, "rings_left_out", (int64_t)f->left_out);
    sf_json_set_number(json, "stretch", exp(middle));
    sf_json_add_number(list, sf_drape_stretch(&w->drape, sf_forming_wall(f, &w->drape, 0).high));
    sf_json_add_number(list, sf_drape_stretch(&w->drape, sf_forming_wall(f, &w->drape, 0).low));
    sf_json_set(json, "stretch_interval", list);
    sf_json_set_number(json, "top_thinner_percent", 100 * (1 - exp(-f->b)));
    sf_json_set_flag(json, "top_fitted", f->slope_fitted);
    sf_json_set_number(json, "scatter_percent", 100 * f->scatter);
    sf_json_set_number(json, "residual_percent", 100 * f->residual);
    sf_json_set_number(json, "freedom", f->freedom);
    sf_json_set_flag(json, "wave_fitted", f->wave_fitted);
    sf_json_set(result->json, "calibration", json);
    if (!f->calibrated)
        sf_result_note(
            result,
            "calibration.residual_percent, calibration.freedom: null; not calibrated: %zu of the 3 rings it takes "
            "%s. No published share of a sheet's thickness was found, so the interval is wide; each ring that is "
            "sawn off narrows it.",
            f->fitting,
            isnan(w->plan.drape.strip) ? "without a strip's width are there" : "with their strip's width are there");
    else if (!f->slope_fitted)
        sf_result_note(result,
                       "the thinning towards the top keeps its start value: it takes four rings that spread over a "
                       "third of the pylon (along_percent).");
    if (f->left_out > 0)
        sf_result_note(result, "%zu rings are left out, as %s.", f->left_out,
                       isnan(w->plan.drape.strip) ? "the plan does not say its strip's width and they do"
                                                  : "their strip's width is not known and the plan's is");
}

static void set_blank(sf_Result *result, const Work *w)
{
    const sf_FormPlan *p = &w->plan;
    double hot = sf_forming_wall(&w->forming, &w->drape, 0).value / (1 - w->drape.shrinkage);
    double round = SF_PI * (w->drape.model_diameter + hot), strip = round + 2 * w->drape.flange;
    sf_Json *json = sf_json_object();
    sf_json_set_number(json, "wrapped_width_mm", strip / SF_MM);
    sf_json_set_number(json, "width_stretch", isnan(w->drape.strip) ? NAN : strip / w->drape.strip);
    sf_json_set_number(json, "trimmed_share", 2 * w->drape.flange / strip);
    sf_json_set_number(json, "length_mm", isnan(p->length) ? NAN : (p->length + 2 * p->trim) / SF_MM);
    sf_json_set_number(json, "length_after_shrinkage_mm",
                       isnan(p->length) ? NAN : p->length * (1 - w->drape.shrinkage) / SF_MM);
    sf_json_set(result->json, "blank", json);
    if (isnan(p->length))
        sf_result_note(result,
                       "blank.length_mm, blank.length_after_shrinkage_mm: null without length_mm, the model's length.");
    if (isnan(w->drape.strip))
        sf_result_note(result, "blank.width_stretch: null without strip_width_mm.");
}

static void assume(sf_Result *result, const Work *w)
{
    const sf_FormPlan *p = &w->plan;
    if (!p->shrinkage_said)
        sf_result_assume(result, "shrinkage_percent is not given: %.2f %% is taken (1 to 2.5 %% for moulded parts).",
                         100 * p->drape.shrinkage);
    if (!p->flange_said)
        sf_result_assume(result, "flange_mm is not given: %.0f mm on each side (judgement).", p->drape.flange / SF_MM);
    if (!p->trim_said && !isnan(p->length))
        sf_result_assume(result, "trim_mm is not given: %.0f mm beyond each end (judgement).", p->trim / SF_MM);
    if (!w->forming.wave_fitted)
        sf_result_assume(result,
                         "the wave of the wall round the limb is not calibrated: %.0f %% (2 to 20 %%, judgement); "
                         "it takes three rings with wall_least_mm and wall_most_mm.",
                         100 * w->forming.wave.value);
    if (!w->forming.slope_fitted)
        sf_result_assume(result, "the wall is taken %.0f %% thinner at the pylon's top (judgement).",
                         100 * (1 - exp(-w->forming.b)));
}

static void set_all(sf_Result *result, const Work *w)
{
    sf_Expected wall = sf_forming_wall(&w->forming, &w->drape, 0), across = outer(w, wall);
    sf_json_set_number(result->json, "wall_mm", wall.value / SF_MM);
    sf_json_set(result->json, "wall_interval_mm", interval_mm(wall));
    sf_json_set_number(result->json, "sheet_mm", w->drape.sheet / SF_MM);
    sf_json_set_flag(result->json, "calibrated", w->forming.calibrated);
    sf_json_set_number(result->json, "share_of_sheet", wall.value / w->drape.sheet);
    sf_json_set_number(result->json, "inner_diameter_mm", bore(w) / SF_MM);
    sf_json_set_number(result->json, "outer_diameter_mm", across.value / SF_MM);
    sf_json_set(result->json, "outer_diameter_interval_mm", interval_mm(across));
    set_least(result, w);
    set_wanted(result, w);
    set_profile(result, w);
    set_choices(result, w);
    set_calibration(result, w);
    set_blank(result, w);
    assume(result, w);
    if (w->asked_sheet)
        sf_result_note(result,
                       "sheet_mm is the sheet whose expected wall is the wanted one: half of all formings come out "
                       "thinner.");
    if (wall.high > w->drape.sheet)
        sf_result_note(result,
                       "the interval reaches above the sheet's own thickness: the strip is wider than what it wraps, "
                       "so the sheet would have to gather.");
}

sf_Status sf_form_study(sf_Result *result, const char *name, const char *text, size_t size, sf_Error *err)
{
    Work *w = sf_alloc(1, sizeof *w);
    if (!w)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    sf_Status status = work_out(w, name, text, size, err);
    if (status == SF_OK)
        set_all(result, w);
    sf_form_plan_free(&w->plan);
    sf_free(w);
    return status;
}

// ---- a plan's limb, for strength ----------------------------------------------------------------------------------

static sf_LimbRing expected_ring(const Work *w, double height, double along)
{
    static const double normal_90 = 1.6448536269514722; // standard deviations to either end of a 90 % interval
    sf_Expected expected = sf_forming_wall(&w->forming, &w->drape, along);
    double wall = expected.value, k = w->forming.wave.value;
    sf_LimbRing ring = { .there = true,
                         .height = height,
                         .dpi = NAN,
                         .posterior = NAN,
                         .outer_diameter = bore(w) + 2 * wall,
                         .inner_diameter = bore(w),
                         .groove_depth = NAN,
                         .groove_width = NAN,
                         .seam = seam_angle,
                         .unjoined_depth = NAN,
                         .outer_doubt = 0.5 * (expected.high - expected.low) / normal_90 };
    // The bore moved away from the first touch makes the wall t (1 + k cos).
    ring.offset[0] = -k * wall * cos(wave_place);
    ring.offset[1] = -k * wall * sin(wave_place);
    return ring;
}

static sf_Status lay_rings(sf_Limb *limb, const Work *w, sf_Result *result, const char *path, sf_Error *err)
{
    sf_LimbPylon *pylon = &limb->data.pylon;
    double cut = isnan(pylon->cut_height) ? cut_assumed : pylon->cut_height, top = pylon->top_height;
    if (isnan(top))
        top = isnan(limb->data.socket.distal_end_height) ? cut + free_length_assumed
                                                         : limb->data.socket.distal_end_height;
    pylon->rings = sf_arena_alloc(limb->arena, 2, sizeof *pylon->rings);
    if (!pylon->rings)
        return SF_FAIL(err, SF_E_MEMORY, path, "out of memory while reading %s", path);
    pylon->rings[0] = expected_ring(w, cut, 0);
    pylon->rings[1] = expected_ring(w, top, 1);
    pylon->ring_count = 2;
    if (!pylon->material && *w->plan.material)
        pylon->material = sf_arena_text(limb->arena, w->plan.material);
    sf_result_assume(
        result,
        "%s: nothing is formed yet; the pylon is taken as the plan's expected wall, %.2f mm at the cut and "
        "%.2f mm at the top (90 %% of formings from %.2f mm at the cut; the bands take this as the doubt of "
        "the edges), %s.",
        *w->plan.label ? w->plan.label : path, sf_forming_wall(&w->forming, &w->drape, 0).value / SF_MM,
        sf_forming_wall(&w->forming, &w->drape, 1).value / SF_MM,
        sf_forming_wall(&w->forming, &w->drape, 0).low / SF_MM,
        w->forming.calibrated ? "calibrated on the shop's rings" : "not calibrated");
    return SF_OK;
}

static sf_Status limb_of_plan(sf_Limb **limb, const char *path, const char *text, size_t size, sf_Result *result,
                              sf_Error *err)
{
    Work *w = sf_alloc(1, sizeof *w);
    if (!w)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    sf_Status status;
    SF_TRY_DONE(work_out(w, path, text, size, err));
    if (!w->plan.limb) {
        status = SF_FAIL(err, SF_E_MISSING, "limb",
                         "%s: the plan names no limb: give it a \"limb\" (person, heights) for "
                         "its strength",
                         path);
        goto done;
    }
    SF_TRY_DONE(lay_rings(w->plan.limb, w, result, path, err));
    *limb = w->plan.limb;
    w->plan.limb = NULL;
done:
    sf_form_plan_free(&w->plan);
    sf_free(w);
    return status;
}

bool sf_form_is_plan(sf_DocNode root)
{
    const char *format = NULL;
    return sf_doc_text(sf_doc_member(root, "format"), 100, &format)
               ? strcmp(format, "standfast-plan/1") == 0
               : sf_doc_there(sf_doc_member(root, "model_diameter_mm"));
}

static bool is_plan(const char *path, const char *text, size_t size)
{
    sf_Doc *doc = NULL;
    sf_Error unused;
    if (sf_doc_parse(&doc, path, text, size, &unused) != SF_OK)
        return false;
    bool plan = sf_form_is_plan(sf_doc_root(doc));
    sf_doc_destroy(&doc);
    return plan;
}

sf_Status sf_form_limb_text(sf_Limb **limb, const char *name, const char *text, size_t size, sf_Result *result,
                            sf_Error *err)
{
    *limb = NULL;
    return is_plan(name, text, size) ? limb_of_plan(limb, name, text, size, result, err)
                                     : sf_limb_parse(limb, name, text, size, err);
}

sf_Status sf_form_limb_read(sf_Limb **limb, const char *path, sf_Result *result, sf_Error *err)
{
    unsigned char *bytes = NULL;
    size_t size = 0;
    *limb = NULL;
    SF_TRY(sf_file_read(path, SF_DOC_MAX_BYTES, &bytes, &size, err));
    sf_Status status = is_plan(path, (const char *)bytes, size)
                           ? limb_of_plan(limb, path, (const char *)bytes, size, result, err)
                           : sf_limb_read_file(limb, path, err);
    sf_free(bytes);
    return status;
}
