// SPDX-License-Identifier: GPL-3.0-or-later
// Any bytes as a plan and as a squeeze: refused with a sentence, or worked out to a result whose walls lie in order.
#include "base/alloc.h"
#include "fuzz/fuzz_target.h"
#include "study/form_study.h"
#include "study/squeeze_study.h"

#include <math.h>

static void try_plan(const uint8_t *data, size_t size)
{
    sf_FormingStart start;
    sf_Error err = { 0 };
    FUZZ_TRUE(sf_forming_start(&start, &err) == SF_OK);
    sf_FormPlan *plan = sf_alloc(1, sizeof *plan);
    sf_Status status = sf_form_plan_parse(plan, "fuzz.json", (const char *)data, size, &start, &err);
    if (status != SF_OK)
        FUZZ_TRUE(err.status == status && err.text[0] != '\0' && status != SF_E_INTERNAL);
    sf_form_plan_free(plan);
    sf_free(plan);
    sf_Result result = { 0 };
    FUZZ_TRUE(sf_result_begin(&result, &err) == SF_OK);
    sf_Status again = sf_form_study(&result, "fuzz.json", (const char *)data, size, &err);
    FUZZ_TRUE(status != SF_OK ? again == status : again == SF_OK || again == SF_E_SINGULAR);
    sf_result_drop(&result);
}

static void try_squeeze(const uint8_t *data, size_t size)
{
    // No limits file here: what the shop wants is a number like another.
    sf_RingLimits limits = { .squeeze.seam_stress = 10e6 };
    sf_Error err = { 0 };
    sf_Squeeze *squeeze = sf_alloc(1, sizeof *squeeze);
    sf_Status status = sf_squeeze_study(squeeze, "no-such-folder/fuzz.json", (const char *)data, size, &limits, &err);
    if (status != SF_OK) {
        FUZZ_TRUE(err.status == status && err.text[0] != '\0' && status != SF_E_INTERNAL);
    } else {
        for (size_t i = 0; i < squeeze->file.count; i++) {
            const sf_SqueezeFinding *at = &squeeze->findings[i];
            FUZZ_TRUE(isnan(at->modulus) || (at->modulus_low <= at->modulus && at->modulus <= at->modulus_high));
        }
        sf_squeeze_free(squeeze);
    }
    sf_free(squeeze);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    size_t live = sf_alloc_live();
    try_plan(data, size);
    try_squeeze(data, size);
    FUZZ_TRUE(sf_alloc_live() == live);
    return 0;
}
