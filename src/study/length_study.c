// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/length_study.h"

#include "base/units.h"
#include "growth/length.h"
#include "study/growth_plan.h"

#include <math.h>

/// `value`, or `fallback` with an assumption that names the field.
static double or_else(sf_Result *result, double value, double fallback, const char *what, const char *field)
{
    if (isfinite(value))
        return value;
    sf_result_assume(result, "%s (%s)", what, field);
    return fallback;
}

static sf_Status make_plan(sf_LengthPlan *plan, sf_Result *result, const sf_Limb *limb, sf_Json *warnings,
                           const sf_LengthAsk *ask, sf_Error *err)
{
    static const char *const needed[] = { "shoe.heel_mm", "foot.build_height_mm", "adapter.build_height_mm",
                                          "person.sound_knee_height_mm" };
    const sf_LimbData *d = &limb->data;
    double knee = sf_limb_sound_knee(limb, warnings);
    SF_TRY(sf_limb_need(limb, needed, isfinite(knee) ? 3 : 4, "length", err));
    *plan = (sf_LengthPlan){ .sound_knee_height = knee,
                             .shoe_heel = d->shoe.heel,
                             .shoe_sole = d->shoe.sole,
                             .foot_build_height = d->foot.build_height,
                             .foot_heel_height = d->foot.heel_height,
                             .foot_length = d->foot.length,
                             .spacers = sf_growth_spacers_now(limb),
                             .adapter_build_height = d->adapter.build_height,
                             .leave_long = ask->leave_long };
    plan->target_difference = or_else(result, d->person.target_difference, 0,
                                      "prosthesis and sound side shall be equally long", "person.target_difference_mm");
    plan->foot_compression = or_else(result, d->foot.compression, 0,
                                     "the foot does not give under load: the limb will "
                                     "stand lower by what it gives",
                                     "foot.compression_mm");
    plan->foot_recess = or_else(result, d->foot.recess, 0, "nothing sinks into the foot", "foot.recess_mm");
    plan->dorsiflexion =
        or_else(result, d->alignment.dorsiflexion, 0, "the foot stands square", "alignment.dorsiflexion_deg");
    plan->eversion = or_else(result, d->alignment.eversion, 0, "the foot stands square", "alignment.eversion_deg");
    return SF_OK;
}

static void set_budget(sf_Json *json, double sd)
{
    sf_Json *budget = sf_json_array();
    for (size_t i = 0; i < SF_LENGTH_ERRORS; i++) {
        const sf_LengthError *e = &sf_length_errors[i];
        sf_Json *one = sf_json_object();
        sf_json_set_text(one, "item", e->item);
        sf_json_set_number(one, "sd_mm", e->sd / SF_MM);
        sf_json_set_number(one, "share_percent", 100 * e->sd * e->sd / (sd * sd));
        sf_json_set_text(one, "origin", e->origin);
        sf_json_add(budget, one);
    }
    sf_json_set(json, "budget", budget);
}

/// The spacer that gives back what a limb that ends short lacks on average.
static sf_Status set_spacer(sf_Result *result, const sf_Limb *limb, double sd, sf_Error *err)
{
    sf_SpacerKind kinds[SF_STACK_MAX_KINDS];
    size_t n = 0;
    for (; n < limb->data.stock_count; n++)
        kinds[n] = (sf_SpacerKind){ limb->data.stock[n].thickness, limb->data.stock[n].count };
    double shortfall = sf_length_mean_shortfall(0, sd, SF_LENGTH_SHORT_LIMIT);
    sf_SpacerStack stack;
    SF_TRY(sf_spacer_stack_find(kinds, n, shortfall, SF_STACK_TOLERANCE, SF_STACK_TOLERANCE, &stack, err));
    if (!stack.found || stack.pieces == 0) {
        sf_result_null(result, "spacer",
                       n == 0 ? "the document names no stock (stock)"
                              : "no piece of the stock is near enough to the shortfall");
        return SF_OK;
    }
    sf_Json *spacer = sf_json_object();
    sf_json_set_number(spacer, "shortfall_mm", shortfall / SF_MM);
    sf_growth_set_stack(spacer, &stack);
    sf_json_set_flag(spacer, "needs_signature", stack.error > 0);
    sf_json_set(result->json, "spacer", spacer);
    return SF_OK;
}

sf_Status sf_length_study(sf_Result *result, const sf_Limb *limb, const sf_LengthAsk *ask, sf_Error *err)
{
    sf_Json *warnings = sf_json_array(), *json = result->json;
    sf_LengthPlan plan;
    sf_Status status;
    SF_TRY_DONE(make_plan(&plan, result, limb, warnings, ask, err));
    sf_CutLine line = sf_length_cut_line(&plan);
    if (!(line.below_knee > 0)) {
        status = SF_FAIL(err, SF_E_RANGE, "person.sound_knee_height_mm",
                         "the cut would lie %.0f mm above the knee line: check knee height, build heights and spacers",
                         -line.below_knee / SF_MM);
        goto done;
    }
    double sd = sf_length_sd(sf_length_errors, SF_LENGTH_ERRORS);
    double trim = sf_length_sd(sf_length_trim_errors, sf_length_trim_error_count);
    bool two_sided = limb->data.person.other_side == SF_LIMB_OTHER_PROSTHETIC;
    if (two_sided)
        sf_result_note(result, "two-sided user: the knee height is the agreed one; nothing is said about symmetry");
    sf_json_set_number(json, "knee_level_mm", line.knee_level / SF_MM);
    sf_json_set_number(json, "cut_height_mm", line.cut_height / SF_MM);
    sf_json_set_number(json, "cut_below_knee_level_mm", line.below_knee / SF_MM);
    sf_json_set_number(json, "leave_long_mm", plan.leave_long / SF_MM);
    sf_json_set_number(json, "first_cut_below_knee_level_mm", line.first_below_knee / SF_MM);
    sf_json_set_number(json, "pylon_lean_deg", line.lean / SF_DEG);
    sf_json_set_number(json, "tolerance_mm", sd / SF_MM);
    sf_json_set_number(json, "chance_short", sf_length_chance_short(0, sd, SF_LENGTH_SHORT_LIMIT));
    sf_json_set_number(json, "short_limit_mm", SF_LENGTH_SHORT_LIMIT / SF_MM);
    sf_json_set_number(json, "tolerance_after_trim_mm", trim / SF_MM);
    sf_json_set_number(json, "chance_short_after_trim", sf_length_chance_short(0, trim, SF_LENGTH_SHORT_LIMIT));
    SF_TRY_DONE(set_spacer(result, limb, sd, err));
    double left = limb->data.pylon.top_height - line.cut_height - limb->data.adapter.depth;
    sf_json_set_number(json, "recut_left_mm", left / SF_MM);
    if (!isfinite(left))
        sf_result_note(result, "recut_left_mm: wants pylon.top_height_mm and adapter.depth_mm");
    else if (left < 0)
        sf_study_warn(warnings, "no-cylinder",
                      "the grip would reach %.0f mm past the pylon's top: another foot, adapter "
                      "or fewer spacers",
                      -left / SF_MM);
    sf_json_set_flag(json, "two_sided", two_sided);
    set_budget(json, sd);
    sf_json_set(json, "warnings", warnings);
    warnings = NULL;
done:
    sf_json_destroy(&warnings);
    return status;
}
