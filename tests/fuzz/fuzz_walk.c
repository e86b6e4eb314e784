// SPDX-License-Identifier: GPL-3.0-or-later
// Any bytes as footfalls or an acceleration: refused with a sentence, or steps come out and nothing is left allocated.
#include "base/alloc.h"
#include "fuzz/fuzz_target.h"
#include "study/steps_study.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    size_t live = sf_alloc_live();
    for (int place = SF_SENSOR_WAIST; place <= SF_SENSOR_SHANK; place++) {
        sf_StepsAsk ask = { .prosthetic = SF_STEPS_SIDE_LEFT, .place = (sf_SensorPlace)place, .drop_ends = 1 };
        sf_Json *json = NULL;
        char *text = NULL;
        sf_Error err = { 0 };
        sf_Status status = sf_steps_study(&json, "fuzz.csv", (const char *)data, size, &ask, &err);
        FUZZ_TRUE(status == SF_OK ? json != NULL : err.status == status && err.text[0] != '\0' && json == NULL);
        if (json)
            FUZZ_TRUE(sf_json_text(json, 10, &text, &err) == SF_OK);
        sf_free(text);
        sf_json_destroy(&json);
    }
    FUZZ_TRUE(sf_alloc_live() == live);
    return 0;
}
