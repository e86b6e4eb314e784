// SPDX-License-Identifier: GPL-3.0-or-later
// The picture of a walk: no lettering covers other lettering or runs out of its place, whatever the walk. Walks are
// invented.
#include "harness/tap.h"

#include "base/alloc.h"
#include "base/text.h"
#include "draw/lettering.h"
#include "study/steps_picture.h"

#include <string.h>

enum { TABLE = 1 << 21, SHAPES = 9 };

typedef struct Shape {
    int passes, steps, missed, doubled, slow; ///< each n-th
    double left, right;
    bool taps, one_sided;
} Shape;

static const Shape LIST[SHAPES] = {
    { 1, 3, 0, 0, 0, 0.6, 0.6, false, false },       { 1, 400, 9, 13, 17, 0.55, 0.61, false, false },
    { 30, 12, 0, 5, 7, 0.5, 0.9, false, false },     { 400, 6, 0, 0, 3, 0.6, 0.6, true, false },
    { 2, 3000, 11, 31, 29, 0.5, 0.6, false, false }, { 1, 60, 0, 0, 2, 1.9, 2.4, false, false },
    { 1, 60, 0, 0, 0, 0.6, 0.6, false, true },       { 12, 30, 3, 3, 3, 0.3, 0.34, true, false },
    { 1, 5000, 2, 0, 2, 0.55, 0.6, false, false },
};

static void write(sf_Text *text, const Shape *s)
{
    static const char *const supports[] = { "bars", "stick", "free" };
    double t = 0;
    sf_text_add(text, "time_s,side,pass,support\n");
    for (int p = 0; p < s->passes; p++) {
        t += 8;
        for (int i = 0; i < s->steps; i++) {
            t += (i % 2 ? s->right : s->left) + 0.004 * ((i * 7) % 5) +
                 (s->slow && i % s->slow == 1 && i % 5 == 3 ? 0.4 : 0);
            bool kept = !(s->missed && i % s->missed == 1) && !(s->one_sided && i % 2);
            if (kept)
                sf_text_format(text, "%.3f,%c,%d,%s\n", t, i % 2 ? 'R' : 'L', p, supports[p % 3]);
            if (kept && s->doubled && i % s->doubled == 2)
                sf_text_format(text, "%.3f,%c,%d,%s\n", t + 0.03, i % 2 ? 'R' : 'L', p, supports[p % 3]);
        }
    }
}

TAP_CASE(lettering_fits_whatever_the_walk)
{
    for (size_t i = 0; i < SHAPES; i++) {
        sf_Text text = sf_text_make(TABLE);
        sf_Sheet *sheet = NULL;
        sf_Error err = { 0 };
        const char *first = "";
        const sf_StepsAsk ask = { .taps = LIST[i].taps, .drop_ends = 1, .prosthetic = (sf_StepsSide)(i % 3) };
        write(&text, &LIST[i]);
        TAP_OK(sf_sheet_create(&sheet, SF_SHEET_SVG, SF_A5_LONG, SF_A5_SHORT, NULL));
        sf_Status status = sf_steps_picture_paint(sheet, "a folder/an invented walk.csv", sf_text_string(&text),
                                                  text.length, &ask, &err);
        TAP_TRUE(status == SF_OK, "walk %zu: %s", i, err.text);
        TAP_TRUE(sf_sheet_faults(sheet, &first) == 0, "walk %zu: %s", i, first);
        TAP_TRUE(sf_sheet_text_count(sheet) > 15);
        sf_sheet_destroy(&sheet);
        sf_text_free(&text);
    }
}

static sf_Status picture(void *context)
{
    const char *text = context;
    const sf_StepsAsk ask = { .drop_ends = 1 };
    unsigned char *bytes = NULL;
    size_t size = 0;
    sf_Status status = sf_steps_picture(&bytes, &size, "walk", text, strlen(text), &ask, SF_SHEET_SVG, NULL);
    sf_free(bytes);
    return status;
}

TAP_CASE(out_of_memory_is_told)
{
    char text[] = "time_s,side\n0,L\n0.6,R\n1.1,L\n1.14,L\n1.7,R\n2.8,R\n3.3,L\n3.9,R\n9,L\n9.6,R\n";
    tap_every_allocation(picture, text, 3000, "drawing a walk");
}

TAP_MAIN(TAP_RUN(lettering_fits_whatever_the_walk), TAP_RUN(out_of_memory_is_told))
