// SPDX-License-Identifier: GPL-3.0-or-later
// Any bytes as a limb document: refused with a sentence, or written so that reading the writing gives the same text.
#include "base/alloc.h"
#include "fuzz/fuzz_target.h"
#include "limb/limb.h"

#include <string.h>

static char *written(const sf_Limb *limb)
{
    sf_Json *json = sf_limb_json(limb);
    char *text = NULL;
    sf_Error err = { 0 };
    sf_Status status = sf_json_text(json, 15, &text, &err);
    FUZZ_TRUE(status == SF_OK);
    sf_json_destroy(&json);
    return text;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    size_t live = sf_alloc_live();
    sf_Limb *limb = NULL, *again = NULL;
    sf_Error err = { 0 };
    sf_Status status = sf_limb_parse(&limb, "fuzz.json", (const char *)data, size, &err);
    if (status != SF_OK) {
        FUZZ_TRUE(!limb && err.status == status && err.text[0] != '\0' && status != SF_E_INTERNAL);
    } else {
        char *first = written(limb);
        status = sf_limb_parse(&again, "again.json", first, strlen(first), &err);
        FUZZ_TRUE(status == SF_OK);
        char *second = written(again);
        FUZZ_TRUE(strcmp(first, second) == 0);
        sf_free(first);
        sf_free(second);
    }
    sf_limb_destroy(&limb);
    sf_limb_destroy(&again);
    FUZZ_TRUE(sf_alloc_live() == live);
    return 0;
}
