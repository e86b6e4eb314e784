// SPDX-License-Identifier: GPL-3.0-or-later
// Any bytes as a shop's list of parts: refused with a sentence, or a table comes out in which no pair with a shut gate
// stands before one without.
#include "base/alloc.h"
#include "fuzz/fuzz_target.h"
#include "study/figures.h"
#include "study/parts_study.h"

#include <stdio.h>
#include <string.h>

static const char LIMB[] =
    "{\"format\":\"standfast-limb/1\",\"person\":{\"side\":\"left\",\"body_mass_kg\":70,\"activity\":"
    "\"moderate\"},\"shoe\":{\"heel_mm\":20},\"pylon\":{\"top_height_mm\":290}}";

static void table_of(const sf_PartsList *list)
{
    sf_Limb *limb = NULL;
    sf_Result result = { 0 };
    sf_Figures figures = { 0 };
    sf_Error err = { 0 };
    sf_PartsAsk ask = { list, SF_PARTS_BY_MASS };
    bool shut = false;
    FUZZ_TRUE(sf_limb_parse(&limb, "limb.json", LIMB, strlen(LIMB), &err) == SF_OK);
    FUZZ_TRUE(sf_result_begin(&result, &err) == SF_OK);
    sf_Status status = sf_parts_study(&result, limb, &ask, &err);
    FUZZ_TRUE(status == SF_OK || (status == SF_E_LIMIT && err.text[0]));
    FUZZ_TRUE(sf_figures_take(&figures, &result, status, &err, &err) == SF_OK);
    for (size_t i = 0; i < sf_figures_length(&figures, "pairs"); i++) {
        char path[40];
        bool open = true;
        snprintf(path, sizeof path, "pairs[%zu].open", i);
        sf_DocNode node = sf_figures_at(&figures, path);
        bool its_shut = sf_doc_there(node) && sf_doc_flag(node, &open) && !open;
        FUZZ_TRUE(its_shut || !shut);
        shut = its_shut;
    }
    sf_figures_free(&figures);
    sf_limb_destroy(&limb);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    size_t live = sf_alloc_live();
    sf_PartsList list;
    sf_Error err = { 0 };
    sf_Status status = sf_parts_list_parse(&list, "fuzz.json", (const char *)data, size, &err);
    if (status != SF_OK)
        FUZZ_TRUE(err.status == status && err.text[0] != '\0' && status != SF_E_INTERNAL && !list.arena);
    else if (list.foot_count * list.adapter_count < 40)
        table_of(&list);
    sf_parts_list_free(&list);
    FUZZ_TRUE(sf_alloc_live() == live);
    return 0;
}
