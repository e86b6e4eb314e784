// SPDX-License-Identifier: GPL-3.0-or-later
// Any limb that can be read can be drawn: the whole limb always, and its alignment unless that refuses with a sentence.
#include "base/alloc.h"
#include "fuzz/fuzz_target.h"
#include "study/align_picture.h"
#include "study/limb_body.h"
#include "study/limb_picture.h"

#include <math.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static const double steps[SF_SETTING_COUNT] = { 3, -4, 5, 1, -2 };
    size_t live = sf_alloc_live();
    sf_Limb *limb = NULL;
    unsigned char *bytes = NULL;
    size_t length = 0;
    sf_Error err = { 0 };
    if (sf_limb_parse(&limb, "fuzz.json", (const char *)data, size, &err) == SF_OK) {
        FUZZ_TRUE(sf_limb_picture(&bytes, &length, limb, SF_SHEET_SVG, &err) == SF_OK);
        FUZZ_TRUE(length > 1000);
        sf_LimbBody body = sf_limb_body(limb);
        const sf_Settings set = { { 0 } };
        sf_Vector knee = sf_limb_figure_axis(&body, &set, body.knee_level);
        FUZZ_TRUE(isfinite(knee.x) && isfinite(knee.y) && isfinite(knee.z) && isfinite(body.mounting_face));
        FUZZ_TRUE(body.chain.cut_height < body.chain.socket_height && body.pylon_top <= body.chain.socket_height);
        sf_free(bytes);
        bytes = NULL;
        sf_Status status =
            sf_align_picture(&bytes, &length, "fuzz.json", (const char *)data, size, steps, SF_SHEET_SVG, &err);
        FUZZ_TRUE(status == SF_OK || (err.text[0] != '\0' && status != SF_E_INTERNAL && !bytes));
        sf_free(bytes);
    }
    sf_limb_destroy(&limb);
    FUZZ_TRUE(sf_alloc_live() == live);
    return 0;
}
