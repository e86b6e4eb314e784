// SPDX-License-Identifier: GPL-3.0-or-later
// The computations on walking trials and steps.
#include "study/computation_call.h"

#include "base/alloc.h"
#include "study/advise_picture.h"
#include "study/advise_study.h"
#include "study/steps_picture.h"
#include "study/steps_study.h"

#include <math.h>
#include <stdint.h>
#include <string.h>

enum { MOST_TABLE = 8 * 1024 * 1024 };

static sf_Status run_advise(sf_ComputeCall *call, sf_Error *err)
{
    sf_DocNode trials = sf_doc_member(call->request, "trials");
    if (!sf_doc_there(trials))
        return SF_FAIL(err, SF_E_MISSING, "trials", "advise needs \"trials\": a document of format standfast-trials/1");
    char *text = NULL;
    sf_Limb *limb = NULL;
    sf_Result unused = { 0 };
    sf_Status status;
    SF_TRY_DONE(sf_call_node_text(trials, &text, err));
    if (!call->draw) {
        status = sf_advise_study(&call->answer->json, "trials", text, strlen(text), err);
        goto done;
    }
    // Drawn on the limb that is named beside the trials, else on one of assumed sizes.
    if (sf_doc_there(sf_doc_member(call->request, "document")) || sf_doc_there(sf_doc_member(call->request, "limb"))) {
        SF_TRY_DONE(sf_result_begin(&unused, err));
        SF_TRY_DONE(sf_call_own_limb(call, &limb, &unused, err));
    }
    SF_TRY_DONE(sf_advise_picture(&call->answer->drawing, &call->answer->drawing_size, "trials", text, strlen(text),
                                  limb, SF_SHEET_SVG, err));
done:
    sf_result_drop(&unused);
    sf_limb_destroy(&limb);
    sf_free(text);
    return status;
}

static sf_Status run_signs(sf_ComputeCall *call, sf_Error *err)
{
    return sf_advise_signs(&call->answer->json, err);
}

static const char *const letters[] = { "L", "R", NULL };
static const char *const sensors[] = { "waist", "shank", NULL };
static const sf_ComputeOption steps_options[] = {
    { "prosthetic", SF_TAKES_WORD, 0, 0, letters, "side of the limb: symmetry is then prosthetic over sound" },
    { "taps", SF_TAKES_FLAG, 0, 0, NULL, "tapped by hand: middle values only" },
    { "first_side", SF_TAKES_WORD, 0, 0, letters, "acceleration: side of the first step, or of the shank sensor" },
    { "sensor", SF_TAKES_WORD, 0, 0, sensors, "acceleration: where the sensor was" },
    { "drop_ends", SF_TAKES_NUMBER, 0, 20, NULL, "steps left out at either end of a pass (1)" },
};

static sf_StepsSide side_of(size_t word)
{
    return word == SIZE_MAX ? SF_STEPS_SIDE_UNSAID : (sf_StepsSide)(word + 1);
}

static sf_Status run_steps(sf_ComputeCall *call, sf_Error *err)
{
    const char *text = NULL;
    double drop = sf_call_number(call, "drop_ends", 1);
    if (!sf_doc_text(sf_doc_member(call->request, "csv"), MOST_TABLE, &text)) {
        SF_TRY(sf_doc_verdict(call->request.doc, err));
        return SF_FAIL(err, SF_E_MISSING, "csv", "steps needs \"csv\": the text of a footfall or acceleration table");
    }
    if (drop != floor(drop))
        return SF_FAIL(err, SF_E_INPUT, "options.drop_ends", "options.drop_ends must be a whole number");
    const sf_StepsAsk ask = {
        .prosthetic = side_of(sf_call_word(call, "prosthetic")),
        .first = side_of(sf_call_word(call, "first_side")),
        .place = sf_call_word(call, "sensor") == 1 ? SF_SENSOR_SHANK : SF_SENSOR_WAIST,
        .taps = sf_call_flag(call, "taps"),
        .drop_ends = (size_t)drop,
    };
    if (call->draw)
        return sf_steps_picture(&call->answer->drawing, &call->answer->drawing_size, "csv", text, strlen(text), &ask,
                                SF_SHEET_SVG, err);
    return sf_steps_study(&call->answer->json, "csv", text, strlen(text), &ask, err);
}

const sf_Computation sf_walk_computations[] = {
    { "advise", "trials", "what to change next, from the walks so far", NULL, 0, true, run_advise },
    { "signs", "nothing", "the signs that a walk can be described with", NULL, 0, false, run_signs },
    { "steps", "table", "step times, symmetry and variation from footfalls or an acceleration", steps_options,
      sizeof steps_options / sizeof *steps_options, true, run_steps },
};
const size_t sf_walk_computation_count = sizeof sf_walk_computations / sizeof *sf_walk_computations;
