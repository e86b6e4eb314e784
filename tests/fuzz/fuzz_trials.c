// SPDX-License-Identifier: GPL-3.0-or-later
// Any bytes as a trials document: refused with a sentence, or one advice comes out whose step the adapter can make.
#include "base/alloc.h"
#include "fuzz/fuzz_target.h"
#include "study/advise_study.h"

#include <math.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    size_t live = sf_alloc_live();
    sf_Trials trials;
    sf_Error err = { 0 };
    sf_Status status = sf_trials_read(&trials, "fuzz.json", (const char *)data, size, &err);
    FUZZ_TRUE(status == SF_OK || (err.status == status && err.text[0] != '\0'));
    if (status == SF_OK) {
        sf_Advice advice = { 0 };
        FUZZ_TRUE(sf_advice_make(&advice, &trials.set, &trials.table, &err) == SF_OK &&
                  advice.count == trials.set.count);
        for (size_t i = 0; i < advice.count; i++) {
            const sf_Suggestion *s = &advice.said[i];
            if (s->kind != SF_ADVICE_CHANGE)
                continue;
            FUZZ_TRUE(isfinite(s->first.change) && s->first.change != 0);
            FUZZ_TRUE(sf_travel_reaches(&trials.set.travel, s->first.setting,
                                        s->first.to * sf_setting_factor(s->first.setting)));
        }
        for (int k = 0; k < SF_SETTING_COUNT; k++)
            FUZZ_TRUE(advice.brackets[k].low <= advice.brackets[k].high);
        sf_advice_free(&advice);
    }
    sf_trials_free(&trials);
    sf_Json *json = NULL;
    FUZZ_TRUE((sf_advise_study(&json, "fuzz.json", (const char *)data, size, &err) == SF_OK) == (status == SF_OK));
    sf_json_destroy(&json);
    FUZZ_TRUE(sf_alloc_live() == live);
    return 0;
}
