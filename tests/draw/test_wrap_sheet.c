// SPDX-License-Identifier: GPL-3.0-or-later
// The wrap to drill by: where limb angles and heights fall on the strip, how strips are shared out over sheets, and
// lettering that fits. All limbs are invented.
#include "harness/tap.h"

#include "base/alloc.h"
#include "base/units.h"
#include "draw/lettering.h"
#include "draw/wrap_sheet.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define MM(value) ((value)*SF_MM)

static sf_WrapSheet wrap_of(double outer_mm, double rim_mm, double grip_mm, bool left)
{
    sf_WrapSheet w = { .label = "an invented limb with rather a long label",
                       .program = "standfast",
                       .safety = "An aid to the judgement of a licensed prosthetist, not a certificate.",
                       .fingerprint = "0123456789abcdef0123456789abcdef0123456789abcdef0123456789abcdef",
                       .left = left,
                       .cut = MM(110),
                       .grip = MM(grip_mm),
                       .seam = 270 * SF_DEG,
                       .join = 90 * SF_DEG,
                       .screw_diameter = MM(6),
                       .pilot = MM(5),
                       .collar_from_clamp = true,
                       .witness = { 135 * SF_DEG, 315 * SF_DEG } };
    w.strips[w.strip_count++] =
        (sf_WrapStrip){ "Round the pylon", false, MM(outer_mm / 2), MM(104), MM(134 + grip_mm) };
    if (rim_mm > 0)
        w.strips[w.strip_count++] =
            (sf_WrapStrip){ "Round the clamp's rim", true, MM(rim_mm / 2), MM(110), MM(110 + grip_mm) };
    const double angles_deg[] = { 33, 147, 222.5, 300 };
    for (size_t i = 0; i < 4; i++)
        w.holes[w.hole_count++] = (sf_WrapHole){ .angle = angles_deg[i] * SF_DEG,
                                                 .height = MM(122 + 3 * (double)i),
                                                 .diameter = MM(6),
                                                 .role = (sf_WrapRole)(i + 1),
                                                 .wall = MM(6.2),
                                                 .collar = MM(18.2),
                                                 .distances = { .seam = MM(40), .edge = MM(12), .nearest = MM(30) } };
    return w;
}

TAP_CASE(angles_run_to_the_right_on_a_right_limb_and_to_the_left_on_a_left_one)
{
    sf_WrapSheet right = wrap_of(50, 60, 30, false), left = wrap_of(50, 60, 30, true);
    const double round = SF_PI * 50;
    // Seen from outside with the arrow up: from anterior over inward to posterior on a right limb.
    TAP_NEAR(sf_wrap_along(&right, 0, 180 * SF_DEG), round / 4, TAP_TIGHT, TAP_CLOSED_FORM);
    TAP_NEAR(sf_wrap_along(&right, 0, 270 * SF_DEG), round / 2, TAP_TIGHT, TAP_CLOSED_FORM);
    TAP_NEAR(sf_wrap_along(&right, 0, 0), 3 * round / 4, TAP_TIGHT, TAP_CLOSED_FORM);
    TAP_NEAR(sf_wrap_along(&left, 0, 180 * SF_DEG), 3 * round / 4, TAP_TIGHT, TAP_CLOSED_FORM);
    TAP_NEAR(sf_wrap_along(&left, 0, 0), round / 4, TAP_TIGHT, TAP_CLOSED_FORM);
    TAP_NEAR(sf_wrap_along(&left, 0, 360 * SF_DEG), round / 4, TAP_TIGHT, TAP_CLOSED_FORM);
    // The same angle lies further along a larger circle.
    TAP_NEAR(sf_wrap_along(&right, 1, 222.5 * SF_DEG), 132.5 / 360 * SF_PI * 60, TAP_TIGHT, TAP_CLOSED_FORM);
    for (int deg = 1; deg < 360; deg++)
        TAP_NEAR(sf_wrap_along(&right, 0, (90 + deg) * SF_DEG) + sf_wrap_along(&left, 0, (90 + deg) * SF_DEG), round,
                 TAP_TIGHT, TAP_CLOSED_FORM);
}

TAP_CASE(a_place_of_the_limb_has_one_place_on_the_sheet)
{
    sf_WrapSheet w = wrap_of(50, 60, 30, true);
    sf_WrapLayout layout;
    TAP_OK(sf_wrap_layout(&layout, &w, SF_A4_LONG, SF_A4_SHORT, NULL));
    TAP_NEAR((double)layout.pages, 1, TAP_EXACT, TAP_CLOSED_FORM);
    TAP_NEAR((double)layout.piece_count, 2, TAP_EXACT, TAP_CLOSED_FORM);
    const sf_WrapPiece *p = &layout.pieces[0];
    sf_Spot cut = sf_wrap_spot(&w, p, 90 * SF_DEG, w.cut), hole = sf_wrap_spot(&w, p, 33 * SF_DEG, MM(122));
    TAP_NEAR(cut.x, p->at.x, TAP_TIGHT, TAP_CLOSED_FORM);
    TAP_NEAR(hole.x - cut.x, 57.0 / 360 * SF_PI * 50, TAP_TIGHT, TAP_CLOSED_FORM);
    TAP_NEAR(cut.y - hole.y, 12, TAP_TIGHT, TAP_CLOSED_FORM); // full size, up the paper
}

TAP_CASE(a_long_strip_is_shared_out_with_overlap_and_nothing_is_lost)
{
    const double sizes[][2] = { { SF_A4_LONG, SF_A4_SHORT }, { SF_LETTER_LONG, SF_LETTER_SHORT }, { 210, 200 } };
    for (size_t s = 0; s < 3; s++)
        for (double outer = 30; outer <= 130; outer += 10) {
            sf_WrapSheet w = wrap_of(outer, outer + 10, 30, false);
            sf_WrapLayout layout;
            TAP_OK(sf_wrap_layout(&layout, &w, sizes[s][0], sizes[s][1], NULL));
            for (size_t strip = 0; strip < w.strip_count; strip++) {
                double reached = 0, whole = 2 * SF_PI * w.strips[strip].radius / SF_MM + SF_WRAP_FLAP;
                for (size_t i = 0; i < layout.piece_count; i++) {
                    const sf_WrapPiece *p = &layout.pieces[i];
                    if (p->strip != strip)
                        continue;
                    TAP_TRUE(p->at.x + p->to - p->from <= sizes[s][0] - 20, "part %zu runs off the paper", i);
                    TAP_TRUE(reached == 0 ? p->from == 0 : fabs(reached - p->from - SF_WRAP_OVERLAP) < 1e-9,
                             "parts meet with their overlap");
                    reached = p->to;
                }
                TAP_NEAR(reached, whole, TAP_TIGHT, TAP_CLOSED_FORM);
            }
        }
}

TAP_CASE(a_strip_higher_than_the_paper_is_refused)
{
    sf_WrapSheet w = wrap_of(50, 60, 150, false);
    sf_WrapLayout layout;
    sf_Error err = { 0 };
    TAP_STATUS(sf_wrap_layout(&layout, &w, SF_A4_LONG, SF_A4_SHORT, &err), SF_E_RANGE);
    TAP_HOLDS(err.text, "by hand");
    TAP_STATUS(sf_wrap_layout(&layout, &w, 80, 80, &err), SF_E_RANGE);
}

static size_t faults_of(const sf_WrapSheet *w, double width, double height, const char **first)
{
    static char kept[300];
    sf_WrapLayout layout;
    size_t faults = 0;
    *first = "";
    TAP_OK(sf_wrap_layout(&layout, w, width, height, NULL));
    for (size_t page = 0; page < layout.pages; page++) {
        sf_Sheet *sheet = NULL;
        const char *text;
        TAP_OK(sf_sheet_create(&sheet, SF_SHEET_SVG, width, height, NULL));
        TAP_OK(sf_wrap_page_paint(sheet, w, &layout, page, NULL));
        size_t n = sf_sheet_faults(sheet, &text);
        if (n && !faults) {
            snprintf(kept, sizeof kept, "%s", text);
            *first = kept;
        }
        faults += n;
        sf_sheet_destroy(&sheet);
    }
    return faults;
}

TAP_CASE(lettering_fits_whatever_the_limb)
{
    for (int left = 0; left < 2; left++)
        for (double outer = 28; outer <= 110; outer += 8.5)
            for (int seam = 0; seam < 4; seam++)
                for (int inch = 0; inch < 2; inch++) {
                    sf_WrapSheet w = wrap_of(outer, outer + 9, 18 + outer / 4, left);
                    const char *first;
                    w.inch = inch;
                    w.seam = seam == 3 ? NAN : (200 + 47 * seam) * SF_DEG;
                    bool letter = (seam + inch) % 2;
                    size_t faults = faults_of(&w, letter ? SF_LETTER_LONG : SF_A4_LONG,
                                              letter ? SF_LETTER_SHORT : SF_A4_SHORT, &first);
                    TAP_TRUE(faults == 0, "%.0f mm, seam %d, left %d: %s", outer, seam, left, first);
                }
}

TAP_MAIN(TAP_RUN(angles_run_to_the_right_on_a_right_limb_and_to_the_left_on_a_left_one),
         TAP_RUN(a_place_of_the_limb_has_one_place_on_the_sheet),
         TAP_RUN(a_long_strip_is_shared_out_with_overlap_and_nothing_is_lost),
         TAP_RUN(a_strip_higher_than_the_paper_is_refused), TAP_RUN(lettering_fits_whatever_the_limb))
