// SPDX-License-Identifier: GPL-3.0-or-later
// The computations on limb documents.
#include "study/computation_call.h"

#include "base/alloc.h"
#include "base/progress.h"
#include "base/units.h"
#include "growth/length.h"
#include "study/align_picture.h"
#include "study/align_study.h"
#include "study/fasten_picture.h"
#include "study/fasten_study.h"
#include "study/form_study.h"
#include "study/growth_picture.h"
#include "study/length_study.h"
#include "study/limb_picture.h"
#include "study/mass_study.h"
#include "study/parts_study.h"
#include "study/strength_growth.h"
#include "study/strength_picture.h"
#include "study/strength_study.h"
#include "study/vent_study.h"

#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

enum { MOST_NAME = 80 };

static const double GRAM = 1e-3;

/// Sets the figures of one limb into the result.
typedef sf_Status (*LimbWork)(sf_ComputeCall *call, sf_Result *result, const sf_Limb *limb, sf_Error *err);

static sf_Status run_limb(sf_ComputeCall *call, LimbWork work, const char *safety, sf_Error *err)
{
    sf_Limb *limb = NULL;
    sf_Result result = { 0 };
    sf_Status status;
    SF_TRY_DONE(sf_result_begin(&result, err));
    SF_TRY_DONE(sf_call_own_limb(call, &limb, &result, err));
    SF_TRY_DONE(sf_progress_tell(0.05, "read", err));
    sf_ProgressPart outer = sf_progress_part(0.05, 0.98);
    status = work(call, &result, limb, err);
    sf_progress_end(outer);
    if (status != SF_OK)
        goto done;
    if (!call->draw)
        call->answer->json = sf_result_finish(&result, safety);
done:
    sf_result_drop(&result);
    sf_limb_destroy(&limb);
    return status;
}

static sf_Status whole_option(const sf_ComputeCall *call, const char *name, double otherwise, double *value,
                              sf_Error *err)
{
    char path[MOST_NAME];
    *value = sf_call_number(call, name, otherwise);
    snprintf(path, sizeof path, "options.%s", name);
    return *value == floor(*value) ? SF_OK : SF_FAIL(err, SF_E_INPUT, path, "%s must be a whole number", path);
}

// ---- what is known of it ---------------------------------------------------------------------------------------

static sf_Status sight_work(sf_ComputeCall *call, sf_Result *result, const sf_Limb *limb, sf_Error *err)
{
    if (call->draw)
        return sf_limb_picture(&call->answer->drawing, &call->answer->drawing_size, limb, SF_SHEET_SVG, err);
    sf_limb_sight(result, limb);
    return SF_OK;
}

static sf_Status run_sight(sf_ComputeCall *call, sf_Error *err)
{
    return run_limb(call, sight_work, NULL, err);
}

static const char *const orders[] = { "cylinder", "factor", "mass", NULL };
static const sf_ComputeOption parts_options[] = {
    { "order", SF_TAKES_WORD, 0, 0, orders, "what the table is ordered by (cylinder)" },
};

static sf_Status parts_work(sf_ComputeCall *call, sf_Result *result, const sf_Limb *limb, sf_Error *err)
{
    sf_DocNode own = sf_doc_member(call->request, "parts");
    size_t order = sf_call_word(call, "order");
    sf_PartsList list = { 0 };
    sf_PartsAsk ask = { NULL, order == SIZE_MAX ? SF_PARTS_BY_CYLINDER : (sf_PartsOrder)order };
    char *text = NULL;
    sf_Status status = SF_OK;
    if (sf_doc_there(own)) {
        SF_TRY_DONE(sf_call_node_text(own, &text, err));
        sf_result_input(result, text, strlen(text));
        SF_TRY_DONE(sf_parts_list_parse(&list, "parts", text, strlen(text), err));
        ask.list = &list;
    }
    status = sf_parts_study(result, limb, &ask, err);
done:
    sf_parts_list_free(&list);
    sf_free(text);
    return status;
}

static sf_Status run_parts(sf_ComputeCall *call, sf_Error *err)
{
    return run_limb(call, parts_work, NULL, err);
}

// ---- strength --------------------------------------------------------------------------------------------------

static const sf_ComputeOption strength_options[] = {
    { "level", SF_TAKES_TEXT, 0, 0, NULL, "one level only: P3, P4, P5, P3-scaled" },
    { "material", SF_TAKES_TEXT, 0, 0, NULL, "card by name, in place of the limb's" },
    { "temperature_c", SF_TAKES_NUMBER, -50, 120, NULL, "of the cases (23)" },
    { "first_order", SF_TAKES_FLAG, 0, 0, NULL, "leave out what bending adds to the lever" },
    { "iso_axis", SF_TAKES_FLAG, 0, 0, NULL, "straight pylon on the standard's axis" },
    { "prismatic", SF_TAKES_FLAG, 0, 0, NULL, "one ring: keep its wall up to the top" },
    { "samples", SF_TAKES_NUMBER, 0, 1e6, NULL, "samples for the 90 % bands (10000); 0 leaves them null" },
    { "seed", SF_TAKES_NUMBER, 0, 9007199254740991, NULL, "of the samples (1): same seed, same bands" },
    { "as_of", SF_TAKES_TEXT, 0, 0, NULL, "for a growing person: day of asking (today)" },
    { "months", SF_TAKES_NUMBER, 1, 120, NULL, "and the follow-up interval (3)" },
};
enum { STRENGTH_OPTIONS = sizeof strength_options / sizeof *strength_options };

static sf_Status strength_ask(const sf_ComputeCall *call, sf_StrengthAsk *ask, sf_Error *err)
{
    double samples, seed, months;
    *ask = SF_STRENGTH_ASK_EMPTY;
    SF_TRY(whole_option(call, "samples", SF_STRENGTH_SAMPLES, &samples, err));
    SF_TRY(whole_option(call, "seed", SF_STRENGTH_SEED, &seed, err));
    SF_TRY(whole_option(call, "months", SF_STRENGTH_INTERVAL_MONTHS, &months, err));
    ask->level = sf_call_text(call, "level");
    ask->material = sf_call_text(call, "material");
    ask->temperature_c = sf_call_number(call, "temperature_c", NAN);
    ask->first_order = sf_call_flag(call, "first_order");
    ask->iso_axis = sf_call_flag(call, "iso_axis");
    ask->prismatic = sf_call_flag(call, "prismatic");
    ask->samples = (int)samples;
    ask->seed = (uint64_t)seed;
    ask->as_of = sf_call_text(call, "as_of");
    ask->interval_months = (int)months;
    if (ask->material && (strchr(ask->material, '/') || strchr(ask->material, '.')))
        return SF_FAIL(err, SF_E_INPUT, "options.material", "options.material must be the name of a card, not a file");
    return SF_OK;
}

static sf_Status strength_work(sf_ComputeCall *call, sf_Result *result, const sf_Limb *limb, sf_Error *err)
{
    sf_StrengthAsk ask;
    SF_TRY(strength_ask(call, &ask, err));
    if (call->draw)
        return sf_strength_picture_draw(&call->answer->drawing, &call->answer->drawing_size, SF_SHEET_SVG, limb, &ask,
                                        err);
    return sf_strength_study(result, limb, &ask, err);
}

static sf_Status run_strength(sf_ComputeCall *call, sf_Error *err)
{
    return run_limb(call, strength_work, sf_strength_safety(), err);
}

// ---- choices side by side ---------------------------------------------------------------------------------------

// A choice is a limb document, or a plan whose limb is taken with the wall that the plan expects.
static sf_Status choice_limb(sf_ComputeCall *call, sf_DocNode node, const char *name, sf_Limb **limb, sf_Result *result,
                             sf_Error *err)
{
    char *text = NULL;
    sf_DocNode of = sf_doc_member(node, "limb");
    if (!sf_form_is_plan(node))
        return sf_call_limb(call, node, limb, result, err);
    sf_call_card(sf_doc_member(node, "material"));
    sf_call_card(sf_doc_member(sf_doc_member(of, "pylon"), "material"));
    if (!sf_doc_is_object(of))
        sf_doc_problem(of, "must be a limb document: a plan that is compared names the limb that it is for");
    SF_TRY(sf_doc_verdict(call->request.doc, err));
    SF_TRY(sf_call_node_text(node, &text, err));
    sf_result_input(result, text, strlen(text));
    sf_Status status = sf_form_limb_text(limb, name, text, strlen(text), result, err);
    sf_free(text);
    return status;
}

// "fit": beside each document the foot and the adapter of the list of parts that stand under it, by their names.
static sf_Status choice_parts(sf_ComputeCall *call, size_t place, const sf_PartsList *list, sf_Limb *limb,
                              sf_Result *result, sf_Error *err)
{
    sf_DocNode fit = sf_doc_item(sf_doc_member(call->request, "fit"), place);
    const char *foot = NULL, *adapter = NULL;
    if (!sf_doc_is_object(fit))
        return SF_OK;
    sf_doc_text(sf_doc_member(fit, "foot"), MOST_NAME, &foot);
    sf_doc_text(sf_doc_member(fit, "adapter"), MOST_NAME, &adapter);
    SF_TRY(sf_doc_verdict(call->request.doc, err));
    if (foot)
        sf_result_input(result, foot, strlen(foot));
    if (adapter)
        sf_result_input(result, adapter, strlen(adapter));
    return sf_parts_put(limb, list, foot, adapter, err);
}

static sf_Status choice_list(sf_ComputeCall *call, sf_PartsList *list, sf_Result *result, sf_Error *err)
{
    sf_DocNode own = sf_doc_member(call->request, "parts");
    char *text = NULL;
    size_t size;
    const char *starter = sf_parts_list_starter(&size);
    if (!sf_doc_there(sf_doc_member(call->request, "fit")))
        return SF_OK;
    if (!sf_doc_there(own))
        return sf_parts_list_parse(list, "the starter set", starter, size, err);
    SF_TRY(sf_call_node_text(own, &text, err));
    sf_result_input(result, text, strlen(text));
    sf_Status status = sf_parts_list_parse(list, "parts", text, strlen(text), err);
    sf_free(text);
    return status;
}

static sf_Status run_compare(sf_ComputeCall *call, sf_Error *err)
{
    sf_PartsList parts = { 0 };
    sf_DocNode documents = sf_doc_member(call->request, "documents"), titles = sf_doc_member(call->request, "names");
    sf_Limb *limbs[SF_COMPUTE_MOST_LIMBS] = { NULL };
    const char *names[SF_COMPUTE_MOST_LIMBS];
    char own[SF_COMPUTE_MOST_LIMBS][16];
    sf_Result result = { 0 };
    sf_StrengthAsk ask;
    size_t count = sf_doc_length(documents);
    sf_Status status;
    SF_TRY(strength_ask(call, &ask, err));
    if (!sf_doc_is_array(documents) || count < 2 || count > SF_COMPUTE_MOST_LIMBS)
        return SF_FAIL(err, SF_E_INPUT, "documents", "documents must hold 2 to %d limb documents to lay side by side",
                       SF_COMPUTE_MOST_LIMBS);
    SF_TRY_DONE(sf_result_begin(&result, err));
    SF_TRY_DONE(choice_list(call, &parts, &result, err));
    for (size_t i = 0; i < count; i++) {
        snprintf(own[i], sizeof own[i], "choice %zu", i + 1);
        if (!sf_doc_text(sf_doc_item(titles, i), MOST_NAME, &names[i]))
            names[i] = own[i];
        SF_TRY_DONE(choice_limb(call, sf_doc_item(documents, i), names[i], &limbs[i], &result, err));
        SF_TRY_DONE(choice_parts(call, i, &parts, limbs[i], &result, err));
        SF_TRY_DONE(sf_progress_tell(0.05 * (double)(i + 1) / (double)count, names[i], err));
    }
    sf_ProgressPart outer = sf_progress_part(0.05, 0.98);
    status = sf_strength_compare(&result, (const sf_Limb *const *)limbs, names, count, &ask, err);
    sf_progress_end(outer);
    if (status != SF_OK)
        goto done;
    call->answer->json = sf_result_finish(&result, sf_strength_safety());
done:
    for (size_t i = 0; i < SF_COMPUTE_MOST_LIMBS; i++)
        sf_limb_destroy(&limbs[i]);
    sf_parts_list_free(&parts);
    sf_result_drop(&result);
    return status;
}

// ---- alignment -------------------------------------------------------------------------------------------------

static const sf_ComputeOption align_options[] = {
    { "toe_out_deg", SF_TAKES_NUMBER, -90, 90, NULL, "step, + toe outward" },
    { "foot_forward_mm", SF_TAKES_NUMBER, -150, 150, NULL, "step, + forward" },
    { "foot_outset_mm", SF_TAKES_NUMBER, -150, 150, NULL, "step, + outward" },
    { "dorsiflexion_deg", SF_TAKES_NUMBER, -90, 90, NULL, "step, + toe up" },
    { "eversion_deg", SF_TAKES_NUMBER, -90, 90, NULL, "step, + outer edge up" },
};

static sf_Status run_align(sf_ComputeCall *call, sf_Error *err)
{
    static const struct {
        const char *name;
        sf_Setting setting;
    } steps_of[] = { { "toe_out_deg", SF_SETTING_TOE_OUT },
                     { "foot_forward_mm", SF_SETTING_FOOT_FORWARD },
                     { "foot_outset_mm", SF_SETTING_FOOT_OUTSET },
                     { "dorsiflexion_deg", SF_SETTING_DORSIFLEXION },
                     { "eversion_deg", SF_SETTING_EVERSION } };
    double steps[SF_SETTING_COUNT] = { 0 };
    for (size_t i = 0; i < sizeof steps_of / sizeof *steps_of; i++)
        steps[steps_of[i].setting] = sf_call_number(call, steps_of[i].name, 0);
    sf_Limb *limb = NULL;
    sf_Json *json = NULL;
    char *text = NULL;
    sf_Status status;
    SF_TRY_DONE(sf_call_own_limb(call, &limb, NULL, err)); // its files are checked here, and not opened below
    json = sf_limb_json(limb);
    SF_TRY_DONE(sf_json_text(json, 17, &text, err));
    if (call->draw)
        SF_TRY_DONE(sf_align_picture(&call->answer->drawing, &call->answer->drawing_size, "document", text,
                                     strlen(text), steps, SF_SHEET_SVG, err));
    else
        SF_TRY_DONE(sf_align_study(&call->answer->json, "document", text, strlen(text), steps, err));
done:
    sf_free(text);
    sf_json_destroy(&json);
    sf_limb_destroy(&limb);
    return status;
}

// ---- length, growth, fastening, vent, mass ---------------------------------------------------------------------

static const sf_ComputeOption length_options[] = {
    { "leave_long_mm", SF_TAKES_NUMBER, 0, 60, NULL, "left long at the first cut (8)" },
};

static sf_Status length_work(sf_ComputeCall *call, sf_Result *result, const sf_Limb *limb, sf_Error *err)
{
    sf_LengthAsk ask = { sf_call_number(call, "leave_long_mm", SF_LENGTH_LEAVE_LONG / SF_MM) * SF_MM };
    return sf_length_study(result, limb, &ask, err);
}

static sf_Status run_length(sf_ComputeCall *call, sf_Error *err)
{
    return run_limb(call, length_work, NULL, err);
}

static const char *const units[] = { "metric", "inch", NULL };

static bool wants_inch(const sf_ComputeCall *call)
{
    return sf_call_word(call, "units") == 1 || sf_call_flag(call, "inch");
}

static const sf_ComputeOption growth_options[] = {
    { "as_of", SF_TAKES_TEXT, 0, 0, NULL, "day from which to look ahead, 2026-01-31 (today)" },
    { "months", SF_TAKES_NUMBER, 1, SF_GROWTH_MONTHS_MAX, NULL, "how many months ahead (24)" },
    { "remind_mm", SF_TAKES_NUMBER, 0.1, 100, NULL, "short by this much: remind (5)" },
    { "warn_mm", SF_TAKES_NUMBER, 0.1, 100, NULL, "short by this much: warn (10)" },
    { "alarm_mm", SF_TAKES_NUMBER, 0.1, 100, NULL, "short by this much: alarm (15)" },
    { "units", SF_TAKES_WORD, 0, 0, units, "lengths of the drawing (metric)" },
    { "inch", SF_TAKES_FLAG, 0, 0, NULL, "the same as units inch" },
};

static sf_Status growth_work(sf_ComputeCall *call, sf_Result *result, const sf_Limb *limb, sf_Error *err)
{
    static const char *const names[SF_GROWTH_STEPS] = { "remind_mm", "warn_mm", "alarm_mm" };
    sf_GrowthAsk ask = SF_GROWTH_ASK_DEFAULT;
    ask.as_of = sf_call_text(call, "as_of");
    double months;
    SF_TRY(whole_option(call, "months", ask.months, &months, err));
    ask.months = (int)months;
    for (int i = 0; i < SF_GROWTH_STEPS; i++)
        ask.short_by[i] = sf_call_number(call, names[i], ask.short_by[i] / SF_MM) * SF_MM;
    if (call->draw)
        return sf_growth_picture_draw(&call->answer->drawing, &call->answer->drawing_size, SF_SHEET_SVG, limb, &ask,
                                      wants_inch(call), err);
    return sf_growth_study(result, limb, &ask, err);
}

static sf_Status run_growth(sf_ComputeCall *call, sf_Error *err)
{
    return run_limb(call, growth_work, NULL, err);
}

static const sf_ComputeOption fasten_options[] = {
    { "units", SF_TAKES_WORD, 0, 0, units, "lengths of the drawing (metric)" },
    { "inch", SF_TAKES_FLAG, 0, 0, NULL, "the same as units inch" },
};

static sf_Status fasten_work(sf_ComputeCall *call, sf_Result *result, const sf_Limb *limb, sf_Error *err)
{
    if (call->draw)
        return sf_fasten_picture_draw(&call->answer->drawing, &call->answer->drawing_size, SF_SHEET_SVG, limb,
                                      wants_inch(call), err);
    return sf_fasten_study(result, limb, err);
}

static sf_Status run_fasten(sf_ComputeCall *call, sf_Error *err)
{
    return run_limb(call, fasten_work, NULL, err);
}

static sf_Status vent_work(sf_ComputeCall *call, sf_Result *result, const sf_Limb *limb, sf_Error *err)
{
    (void)call;
    return sf_vent_study(result, limb, err);
}

static sf_Status run_vent(sf_ComputeCall *call, sf_Error *err)
{
    return run_limb(call, vent_work, NULL, err);
}

static const sf_ComputeOption mass_options[] = {
    { "weighed_g", SF_TAKES_NUMBER, 1, 20000, NULL, "what the scale shows" },
    { "without_shoe", SF_TAKES_FLAG, 0, 0, NULL, "leave the shoe out" },
};

static sf_Status mass_work(sf_ComputeCall *call, sf_Result *result, const sf_Limb *limb, sf_Error *err)
{
    sf_MassAsk ask = { sf_call_number(call, "weighed_g", NAN) * GRAM, sf_call_flag(call, "without_shoe") };
    return sf_mass_study(result, limb, &ask, err);
}

static sf_Status run_mass(sf_ComputeCall *call, sf_Error *err)
{
    return run_limb(call, mass_work, NULL, err);
}

#define OPTIONS(table) table, sizeof table / sizeof *table

const sf_Computation sf_limb_computations[] = {
    { "align", "limb", "what a change at the clamp does to the socket and its moments", OPTIONS(align_options), true,
      run_align },
    { "compare", "limbs", "strength of several choices side by side", OPTIONS(strength_options), false, run_compare },
    { "fasten", "limb", "torque, screw places, and the ways out when it must move", OPTIONS(fasten_options), true,
      run_fasten },
    { "growth", "limb", "forecast growth, due dates and spacer stacks", OPTIONS(growth_options), true, run_growth },
    { "length", "limb", "where to saw, and how far that may be off", OPTIONS(length_options), false, run_length },
    { "limb", "limb", "what is known of a limb and what is missing, drawn to scale", NULL, 0, true, run_sight },
    { "mass", "limb", "mass, balance and inertia beside an intact shank", OPTIONS(mass_options), false, run_mass },
    { "parts", "limb", "each foot with each adapter of the shop's list, side by side", OPTIONS(parts_options), false,
      run_parts },
    { "strength", "limb", "how far the pylon is from first yield, and what governs", OPTIONS(strength_options), true,
      run_strength },
    { "vent", "limb", "whether a vent may be drilled, how large and where", NULL, 0, false, run_vent },
};
const size_t sf_limb_computation_count = sizeof sf_limb_computations / sizeof *sf_limb_computations;
