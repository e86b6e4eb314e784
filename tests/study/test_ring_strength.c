// SPDX-License-Identifier: GPL-3.0-or-later
// A ring judged with a limb: the same numbers as `strength` gives for that ring, mirrored limbs alike, heavier people
// and weaker rings never milder, and what is taken over from the document. Rings and people are invented.
#include "harness/tap.h"

#include "base/alloc.h"
#include "base/units.h"
#include "study/limb_ring.h"
#include "study/ring_study.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { POINTS = 240, TEXT = 40000 };

static const sf_RingLimits *limits(void)
{
    static sf_RingLimits l;
    static bool loaded;
    char path[1024];
    const char *root = getenv("TAP_ROOT");
    snprintf(path, sizeof path, "%s/data/ring_limits.json", root ? root : ".");
    if (!loaded)
        TAP_OK(sf_ring_limits_load(&l, path, NULL));
    loaded = true;
    return &l;
}

typedef struct Tube {
    double outer_mm, wall_mm, off_x_mm, off_y_mm, groove_mm, groove_deg;
} Tube;

// The ring as an outline table, as `--outline` writes it.
static size_t table(char *text, const Tube *t, bool mirrored)
{
    size_t n = (size_t)snprintf(text, TEXT, "curve,x_mm,y_mm\n");
    for (int curve = 0; curve < 2; curve++)
        for (int i = 0; i < POINTS; i++) {
            double a = 2 * SF_PI * i / POINTS, r = 0.5 * t->outer_mm - (curve ? t->wall_mm : 0);
            double s = remainder(a - t->groove_deg * SF_DEG, 2 * SF_PI) / (9 * SF_DEG);
            r += curve && fabs(s) < 1 ? 0.5 * t->groove_mm * (1 + cos(SF_PI * s)) : 0;
            double x = (curve ? t->off_x_mm : 0) + r * cos(a), y = (curve ? t->off_y_mm : 0) + r * sin(a);
            n +=
                (size_t)snprintf(text + n, TEXT - n, "%s,%.6f,%.6f\n", curve ? "inner" : "outer", mirrored ? -x : x, y);
        }
    return n;
}

static sf_Limb *limb(const char *side, double mass, const char *more)
{
    char text[2000];
    sf_Limb *l = NULL;
    sf_Error err = { 0 };
    snprintf(
        text, sizeof text,
        "{\"format\":\"standfast-limb/1\",\"person\":{\"side\":\"%s\",\"body_mass_kg\":%g,\"stature_mm\":1700,"
        "\"sound_knee_height_mm\":470},\"socket\":{\"distal_end_height_mm\":290,\"flexion_deg\":5,\"adduction_deg\":5},"
        "\"pylon\":{\"cut_height_mm\":110,\"top_height_mm\":290%s},\"shoe\":{\"heel_mm\":20},"
        "\"adapter\":{\"depth_mm\":30}}",
        side, mass, more);
    if (!TAP_OK(sf_limb_parse(&l, "limb", text, strlen(text), &err)))
        tap_note("%s", err.text);
    return l;
}

// Judges a tube for a limb; picture angles as they stand.
static sf_RingFinding *judge(const Tube *tube, bool mirrored, sf_Limb *l, double posterior_deg)
{
    static char text[TEXT];
    sf_RingAsk ask = SF_RING_ASK_EMPTY;
    sf_RingFinding *f = sf_alloc(1, sizeof *f);
    sf_Error err = { 0 };
    ask.posterior_angle = posterior_deg * SF_DEG;
    ask.context.nominal_wall = tube->wall_mm * SF_MM;
    ask.torsion = false;
    TAP_OK(sf_ring_ask_limb(&ask, l, NULL, false, &err));
    size_t size = table(text, tube, mirrored);
    if (!TAP_OK(sf_ring_study(f, SF_RING_OUTLINE, "ring.csv", (uint8_t *)text, size, &ask, limits(), &err)))
        tap_note("%s", err.text);
    return f;
}

static void release(sf_RingFinding **f)
{
    sf_ring_finding_free(*f);
    sf_free(*f);
    *f = NULL;
}

TAP_CASE(the_factors_are_those_of_the_strength_study)
{
    const Tube tube = { 50, 6, 0, 0, 0, 0 };
    sf_Limb *l = limb("left", 78, "");
    sf_Limb *ringed =
        limb("left", 78, ",\"rings\":[{\"height_mm\":110,\"outer_diameter_mm\":50,\"inner_diameter_mm\":38}]");
    sf_RingFinding *f = judge(&tube, false, l, 270);
    sf_StrengthInput *input = sf_alloc(1, sizeof *input);
    sf_StrengthCases *cases = sf_alloc(1, sizeof *cases);
    sf_StrengthAsk ask = SF_STRENGTH_ASK_EMPTY;
    sf_Result scratch = { 0 };
    TAP_OK(sf_result_begin(&scratch, NULL));
    TAP_OK(sf_strength_input_make(input, ringed, &ask, &scratch, NULL));
    TAP_OK(sf_strength_cases_solve(cases, input, &ask, 23, NULL));
    const sf_StrengthCase *proof = sf_strength_case_find(cases, "P4", "II", SF_FORCE_PROOF);
    TAP_TEXT(f->strength.load.level, "P4");
    TAP_TEXT(f->strength.proof_case, "P4-II-proof");
    TAP_NEAR(f->strength.load.proof_factor, proof->factor, TAP_TOLERANCE("circles as 240-sided polygons", 5e-3, 0),
             TAP_CLOSED_FORM);
    // Walking on condition II: 1.07 times the weight of 78 kg.
    TAP_NEAR(f->strength.load.walking_factor, proof->factor * proof->force / (1.07 * 78 * SF_GRAVITY),
             TAP_TOLERANCE("circles as 240-sided polygons", 5e-3, 0), TAP_CLOSED_FORM);
    TAP_TRUE(f->strength.at[0].proof_factor > f->strength.at[1].proof_factor &&
                 f->strength.at[1].proof_factor > f->strength.at[2].proof_factor,
             "hotter is never stronger");
    TAP_NEAR(f->strength.load.heat_temperature, 50, TAP_EXACT, TAP_INVENTED);
    sf_strength_input_free(input);
    sf_free(input);
    sf_free(cases);
    sf_result_drop(&scratch);
    release(&f);
    sf_limb_destroy(&l);
    sf_limb_destroy(&ringed);
}

TAP_CASE(a_mirrored_ring_in_the_other_limb_is_as_strong)
{
    // Bore towards one side and a groove: nothing symmetric about it. Left limb, picture mirrored, posterior mirrored.
    const Tube tube = { 50, 5.5, 1.2, 0.4, 1.0, 200 };
    sf_Limb *right = limb("right", 78, ""), *left = limb("left", 78, "");
    sf_RingFinding *a = judge(&tube, false, right, 255), *b = judge(&tube, true, left, 180 - 255);
    TAP_NEAR(b->strength.load.proof_factor, a->strength.load.proof_factor, TAP_TOLERANCE("solver", 1e-5, 0),
             TAP_CLOSED_FORM);
    TAP_NEAR(b->strength.direction, a->strength.direction, TAP_TOLERANCE("solver, rad", 0, 0.04), TAP_CLOSED_FORM);
    sf_RingFinding *turned = judge(&tube, false, right, 255 + 180);
    TAP_TRUE(fabs(turned->strength.load.proof_factor / a->strength.load.proof_factor - 1) > 0.02,
             "which way the ring sits counts");
    release(&a);
    release(&b);
    release(&turned);
    sf_limb_destroy(&right);
    sf_limb_destroy(&left);
}

TAP_CASE(heavier_thinner_or_deeper_is_never_milder)
{
    sf_Verdict last = SF_VERDICT_ACCEPT;
    for (double mass = 30; mass <= 140; mass += 10) {
        const Tube tube = { 52, 6, 0, 0, 0.4, 270 };
        sf_Limb *l = limb("left", mass, "");
        sf_RingFinding *f = judge(&tube, false, l, 270);
        TAP_TRUE(f->decision.verdict >= last, "%.0f kg: %s", mass, f->decision.words);
        if (mass > 100)
            TAP_TRUE(f->strength.load.comparison_only && f->decision.verdict >= SF_VERDICT_LIMIT);
        last = f->decision.verdict;
        release(&f);
        sf_limb_destroy(&l);
    }
    TAP_TRUE(last == SF_VERDICT_REJECT, "140 kg on such a tube");
    double factor = INFINITY;
    sf_Limb *l = limb("right", 70, "");
    for (double groove = 0; groove < 2.6; groove += 0.5) {
        const Tube tube = { 50, 6, 0, 0, groove, 270 };
        sf_RingFinding *f = judge(&tube, false, l, 270);
        TAP_TRUE(f->strength.load.proof_factor < factor + 1e-9, "groove %.1f mm", groove);
        factor = f->strength.load.proof_factor;
        release(&f);
    }
    factor = 0;
    for (double wall = 3; wall < 8; wall += 1) {
        const Tube tube = { 50, wall, 0, 0, 0, 270 };
        sf_RingFinding *f = judge(&tube, false, l, 270);
        TAP_TRUE(f->strength.load.proof_factor > factor, "wall %.1f mm", wall);
        factor = f->strength.load.proof_factor;
        release(&f);
    }
    sf_limb_destroy(&l);
}

TAP_CASE(the_document_fills_what_was_not_said)
{
    sf_RingAsk ask = SF_RING_ASK_EMPTY;
    sf_Error err = { 0 };
    sf_Limb *l =
        limb("left", 61,
             ",\"expected_wall_mm\":5.5,\"forming\":{\"model\":\"wet\",\"oven_c\":212,\"vacuum_s\":40},\"rings\":[{"
             "\"height_mm\":110,\"image\":\"scans/a.png\",\"posterior_deg\":262,\"face\":\"foot-side\",\"dpi\":600}]");
    TAP_OK(sf_ring_ask_limb(&ask, l, "elsewhere/a.png", false, &err));
    TAP_TRUE(ask.side == SF_SIDE_LEFT && ask.face == SF_FACE_FOOT_SIDE && ask.context.model == SF_MODEL_WET);
    TAP_NEAR(ask.posterior_angle, 262 * SF_DEG, TAP_ROUNDING, TAP_INVENTED);
    TAP_NEAR(ask.scan.dpi, 600, TAP_EXACT, TAP_INVENTED);
    TAP_NEAR(ask.context.body_mass, 61, TAP_ROUNDING, TAP_INVENTED);
    TAP_NEAR(ask.context.nominal_wall, 5.5e-3, TAP_ROUNDING, TAP_INVENTED);
    ask = SF_RING_ASK_EMPTY;
    ask.context.body_mass = 70;
    ask.posterior_angle = 1;
    TAP_OK(sf_ring_ask_limb(&ask, l, "a.png", true, &err));
    TAP_NEAR(ask.context.body_mass, 70, TAP_EXACT, TAP_INVENTED); // what was said wins
    TAP_NEAR(ask.posterior_angle, 1, TAP_EXACT, TAP_INVENTED);
    TAP_TRUE(ask.face == SF_FACE_LIMB_SIDE);
    ask = SF_RING_ASK_EMPTY;
    TAP_OK(sf_ring_ask_limb(&ask, l, "b.png", false, &err));
    TAP_TRUE(isnan(ask.posterior_angle), "another picture's mark is not taken");
    ask.side = SF_SIDE_RIGHT;
    TAP_STATUS(sf_ring_ask_limb(&ask, l, "b.png", false, &err), SF_E_USAGE);
    sf_limb_destroy(&l);
}

TAP_MAIN(TAP_RUN(the_factors_are_those_of_the_strength_study), TAP_RUN(a_mirrored_ring_in_the_other_limb_is_as_strong),
         TAP_RUN(heavier_thinner_or_deeper_is_never_milder), TAP_RUN(the_document_fills_what_was_not_said))
